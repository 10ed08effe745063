//! From a table of observations to a defensible sentence: finds the structure, picks and states
//! the method, and says no more than the data bear.

mod bad_input;
mod belief;
pub mod best;
mod checks;
mod components;
mod continuous;
mod contrasts;
mod counts;
mod estimates;
pub mod from_sheet;
pub mod keeping;
mod look;
pub mod model;
mod ordinal;
mod rows;
mod sentence;
pub mod several;
mod structure;
mod table;

pub use belief::{BeliefLine, Prior};
pub use contrasts::{ContrastLine, WantedContrast};
pub use look::{LookLine, PlannedLook};
pub use table::{Cell, Column, Table};

use crate::Code;
use crate::response::{Better, Kind, Response};
use crate::stats::anova::SumsType;
use measure::{Finding, Severity};
use serde::{Deserialize, Serialize};

/// Which differences are wanted.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Wanted {
    /// With the control when one is named, else all pairs.
    #[default]
    Auto,
    /// All pairs.
    AllPairs,
    /// Each with the control.
    WithControl,
}

/// How to treat unequal variances.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Variances {
    /// Welch's way when Brown and Forsythe's test finds them unequal.
    #[default]
    Auto,
    /// Taken as equal.
    Equal,
    /// Taken as unequal.
    Unequal,
}

/// What the comparison of treatments that were made several times on each block is to hold for.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Claim {
    /// Blocks (days) like these: treatment × block is part of the error.
    #[default]
    New,
    /// Only the blocks that were tried.
    These,
}

/// A row left out, with the reason.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Exclusion {
    /// Row of the file; the header is row 1.
    pub row: usize,
    /// Why, in words. An empty reason is refused.
    pub reason: String,
}

/// What is asked of a table. Start from [`AnalysisRequest::of`] and set what is known.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct AnalysisRequest {
    /// Column of the response.
    pub response: String,
    /// Columns of the treatment factors; found when empty.
    #[serde(default)]
    pub treatments: Vec<String>,
    /// The control's level of the treatment.
    #[serde(default)]
    pub control: Option<String>,
    /// Columns of blocks (bake day; rows and columns of a square); found when empty.
    #[serde(default)]
    pub blocks: Vec<String>,
    /// Column of the experimental unit: what was mixed and baked on its own.
    #[serde(default)]
    pub unit: Option<String>,
    /// Treatment factors laid on whole plots (oven setting), when no unit column tells.
    #[serde(default)]
    pub whole_plot: Vec<String>,
    /// Column that numbers the whole plots (oven loads) themselves.
    #[serde(default)]
    pub plots: Option<String>,
    /// Column that says when the same unit was measured again; found when none is named.
    #[serde(default)]
    pub time: Option<String>,
    /// Column of the feeding period of a crossover; found when none is named.
    #[serde(default)]
    pub period: Option<String>,
    /// Column of the sequence of a crossover; found when none is named.
    #[serde(default)]
    pub sequence: Option<String>,
    /// Columns of amounts measured before or beside the treatment, whose part is taken out.
    #[serde(default)]
    pub covariates: Vec<String>,
    /// Column of how much was looked at, for counts that have no total.
    #[serde(default)]
    pub exposure: Option<String>,
    /// What a comparison over blocks with several units of a treatment each is to hold for.
    #[serde(default)]
    pub claim: Claim,
    /// Column of the number counted, for a response that counts so many of n.
    #[serde(default)]
    pub out_of: Option<String>,
    /// What kind of number the response is, when the list of responses doesn't know it.
    #[serde(default)]
    pub kind: Option<Kind>,
    /// Which way is better, when the list doesn't know it.
    #[serde(default)]
    pub better: Option<Better>,
    /// Unit of measure, when the list doesn't know it.
    #[serde(default)]
    pub measure: Option<String>,
    /// Which differences are wanted.
    #[serde(default)]
    pub wanted: Wanted,
    /// How to treat unequal variances.
    #[serde(default)]
    pub variances: Variances,
    /// Type of the sums of squares; III when none is named.
    #[serde(default)]
    pub sums: Option<SumsType>,
    /// A difference from the control too small to matter, in the response's unit.
    #[serde(default)]
    pub margin: Option<f64>,
    /// Questions of one's own: weighted sums of means.
    #[serde(default)]
    pub contrasts: Vec<WantedContrast>,
    /// Whether all pairs are also compared by ranks (Dunn).
    #[serde(default)]
    pub by_ranks: bool,
    /// Which planned look before the end this is; none at the end of a trial without looks.
    #[serde(default)]
    pub look: Option<PlannedLook>,
    /// Whether differences are also read as beliefs, and from which prior.
    #[serde(default)]
    pub belief: Option<Prior>,
    /// Rows left out, each with a reason.
    #[serde(default)]
    pub exclude: Vec<Exclusion>,
}

impl AnalysisRequest {
    /// The request for a response with everything else to be found.
    pub fn of(response: impl Into<String>) -> Self {
        Self {
            response: response.into(),
            treatments: Vec::new(),
            control: None,
            blocks: Vec::new(),
            unit: None,
            whole_plot: Vec::new(),
            plots: None,
            time: None,
            period: None,
            sequence: None,
            covariates: Vec::new(),
            exposure: None,
            claim: Claim::New,
            out_of: None,
            kind: None,
            better: None,
            measure: None,
            wanted: Wanted::Auto,
            variances: Variances::Auto,
            sums: None,
            margin: None,
            contrasts: Vec::new(),
            by_ranks: false,
            look: None,
            belief: None,
            exclude: Vec::new(),
        }
    }
}

/// A line of the analysis table. What does not apply is null.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct TableLine {
    /// Name of the term.
    pub term: String,
    /// Degrees of freedom.
    pub df: f64,
    /// Sum of squares.
    pub sum_sq: Option<f64>,
    /// Mean square.
    pub mean_sq: Option<f64>,
    /// Test ratio (F; for counts and scores chi-square over its degrees of freedom).
    pub f: Option<f64>,
    /// p-value.
    pub p: Option<f64>,
    /// Denominator degrees of freedom; none for a chi-square.
    pub denominator_df: Option<f64>,
}

/// A mean with its 95 % interval and letters.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct MeanLine {
    /// Level of the treatment; combinations are joined by colons.
    pub level: String,
    /// The factor or combination of factors.
    pub term: String,
    /// Experimental units behind it.
    pub n: usize,
    /// The mean; null when it can't be estimated.
    pub mean: Option<f64>,
    /// Standard error.
    pub se: Option<f64>,
    /// Lower end of the 95 % interval.
    pub low95: Option<f64>,
    /// Upper end.
    pub high95: Option<f64>,
    /// Compact letters: treatments that share one are not significantly different.
    pub letters: String,
}

/// The scale a difference stands on.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Scale {
    /// The response's own unit.
    #[default]
    Amount,
    /// Logarithm of the odds of an event.
    LogOdds,
    /// Logarithm of the odds of a higher score.
    LogOddsOfHigher,
    /// Logarithm of how often something occurs.
    LogRate,
    /// A share, told in per cent.
    Share,
}

impl Scale {
    /// What it is called beside a method; none for the response's own.
    pub const fn word(self) -> Option<&'static str> {
        match self {
            Self::Amount => None,
            Self::LogOdds => Some("log odds"),
            Self::LogOddsOfHigher => Some("log odds of a higher score"),
            Self::LogRate => Some("log rate"),
            Self::Share => Some("shares"),
        }
    }

    /// A value on this scale in the unit people read: a share, a rate, an amount.
    fn back(self, value: f64) -> f64 {
        match self {
            Self::Amount | Self::LogOddsOfHigher | Self::Share => value,
            Self::LogOdds => crate::stats::glm::expit(value),
            Self::LogRate => value.exp(),
        }
    }

    /// Carries a mean with its interval back.
    fn carry_back(self, mean: &mut MeanLine) {
        let slope = mean.mean.map_or(1.0, |m| match self {
            Self::Amount | Self::LogOddsOfHigher | Self::Share => 1.0,
            Self::LogOdds => self.back(m) * (1.0 - self.back(m)),
            Self::LogRate => m.exp(),
        });
        mean.se = mean.se.map(|se| se * slope);
        for value in [&mut mean.mean, &mut mean.low95, &mut mean.high95] {
            *value = value.map(|v| self.back(v));
        }
    }
}

/// A difference `a - b`.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ComparisonLine {
    /// First level.
    pub a: String,
    /// Second level.
    pub b: String,
    /// The factor or combination of factors.
    pub term: String,
    /// The scale of difference, interval and standard error.
    pub scale: Scale,
    /// Mean of a less mean of b.
    pub difference: f64,
    /// Lower end of the 95 % interval (for the whole family, and over all planned looks).
    pub low95: Option<f64>,
    /// Upper end.
    pub high95: Option<f64>,
    /// p-value, adjusted for there being several, and for the planned looks: below 0.05 just where
    /// the interval leaves 0 out.
    pub p_adjusted: f64,
    /// How it was adjusted, and on which scale when not the response's own.
    pub method: String,
    /// Standard error.
    pub se: f64,
    /// Degrees of freedom; null when infinite.
    pub df: Option<f64>,
}

/// A variance.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct VarianceLine {
    /// Where it comes from.
    pub term: String,
    /// Its value.
    pub value: f64,
}

/// A check of the assumptions, or a second opinion.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CheckLine {
    /// Name.
    pub check: String,
    /// Statistic.
    pub statistic: Option<f64>,
    /// p-value.
    pub p: Option<f64>,
    /// What it means here.
    pub says: String,
}

/// The size of the treatment's effect.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct EffectSize {
    /// The term it belongs to.
    pub term: String,
    /// Share of the variation it explains (partial η²).
    pub eta2: Option<f64>,
    /// The same, corrected for chance (partial ω²).
    pub omega2: Option<f64>,
    /// The same, corrected for chance (partial ε²).
    pub epsilon2: Option<f64>,
    /// Lower end of the 90 % interval of η², which matches a 5 % F test.
    pub eta2_low90: Option<f64>,
    /// Upper end.
    pub eta2_high90: Option<f64>,
}

/// Is it as good as the control?
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct EquivalenceLine {
    /// Treatment.
    pub a: String,
    /// Control.
    pub b: String,
    /// The factor or combination of factors.
    pub term: String,
    /// The scale of margin, difference and interval.
    pub scale: Scale,
    /// Difference too small to matter.
    pub margin: f64,
    /// Mean of a less mean of b.
    pub difference: f64,
    /// Its standard error.
    pub se: f64,
    /// Degrees of freedom; null when infinite.
    pub df: Option<f64>,
    /// Lower end of the 90 % interval of the difference.
    pub low90: f64,
    /// Upper end.
    pub high90: f64,
    /// p-value of the two one-sided tests.
    pub p: f64,
    /// Whether the difference is shown to be too small to matter.
    pub equivalent: bool,
    /// Which way is better; null when nobody said.
    pub better: Option<Better>,
    /// One-sided 95 % bound of the difference, on the side of *worse*; null when neither way is better.
    pub bound95: Option<f64>,
    /// p-value of the one-sided test.
    pub p_not_worse: Option<f64>,
    /// Whether being worse by the margin or more is ruled out.
    pub not_worse: Option<bool>,
}

/// A residual with what is needed to draw and judge it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ResidualPoint {
    /// Rows of the file behind the unit.
    pub rows: Vec<usize>,
    /// Treatment (combination).
    pub level: String,
    /// Observed value of the unit.
    pub observed: f64,
    /// Fitted value.
    pub fitted: f64,
    /// Residual.
    pub residual: f64,
    /// Externally studentised residual; null where it can't be formed.
    pub studentised: Option<f64>,
}

/// Dogs or judges, where each gives several units.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Subjects {
    /// What they are called.
    pub name: String,
    /// How many there are.
    pub number: usize,
    /// The period that parts their units, where one does; else it is the treatment.
    pub period: Option<String>,
    /// How many periods there are.
    pub periods: Option<usize>,
}

/// An analysis.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Analysis {
    /// The response.
    pub response: String,
    /// Its unit of measure.
    pub measure: String,
    /// The experimental unit, in words.
    pub unit: String,
    /// How many units.
    pub units: usize,
    /// Dogs or judges behind the units, where each gives several.
    pub subjects: Option<Subjects>,
    /// Rows behind them.
    pub rows: usize,
    /// The layout that was found, in words.
    pub layout: String,
    /// The method, in words.
    pub method: String,
    /// The analysis table.
    pub table: Vec<TableLine>,
    /// Means.
    pub means: Vec<MeanLine>,
    /// Differences.
    pub comparisons: Vec<ComparisonLine>,
    /// Contrasts that were asked for.
    pub contrasts: Vec<ContrastLine>,
    /// Differences of mean ranks, when asked for.
    pub by_ranks: Vec<ComparisonLine>,
    /// Variances.
    pub variance: Vec<VarianceLine>,
    /// Checks.
    pub checks: Vec<CheckLine>,
    /// Size of the effect.
    pub effect: EffectSize,
    /// Equivalence with the control, when a margin was given.
    pub equivalence: Vec<EquivalenceLine>,
    /// The limit of the look before the end, when it is one.
    pub look: Option<LookLine>,
    /// Differences read as beliefs, when asked for.
    pub beliefs: Vec<BeliefLine>,
    /// What it says, in plain words.
    pub sentence: String,
    /// What to know beside it.
    pub findings: Vec<Finding>,
    /// Residuals, for pictures.
    #[serde(skip)]
    pub residuals: Vec<ResidualPoint>,
    /// Rows left out, with reasons.
    pub excluded: Vec<Exclusion>,
    /// The same analysis with nothing left out, when something was.
    pub with_all_rows: Option<Box<Analysis>>,
}

/// Analyses a table. Problems that make any answer wrong come back as findings to be settled.
///
/// ```
/// use trials::analyse::{AnalysisRequest, Cell, Table, analyse};
/// let rows = [("A", 10.0), ("A", 12.0), ("A", 11.0), ("B", 15.0), ("B", 17.0), ("B", 16.0)];
/// let rows = rows.iter().enumerate().map(|(i, (treatment, force))| {
///     let batch = Cell::Number(i as f64 + 1.0);
///     (i + 2, vec![Cell::of(treatment, None), batch, Cell::Number(*force)])
/// });
/// let header = ["treatment", "batch", "force"].map(String::from).to_vec();
/// let table = Table::from_rows(header, rows.collect()).unwrap();
/// let found = analyse(&table, &AnalysisRequest::of("force")).unwrap();
/// assert!((found.comparisons[0].difference - 5.0).abs() < 1e-12);
/// assert_eq!(found.unit, "batch");
/// ```
pub fn analyse(table: &Table, request: &AnalysisRequest) -> Result<Analysis, Vec<Finding>> {
    if let Some(missing) = request.exclude.iter().find(|e| e.reason.trim().is_empty()) {
        return Err(vec![
            Finding::new(
                Severity::Stop,
                Code::ExclusionWithoutReason,
                format!("row {}", missing.row),
                format!("row {} may only be left out with a reason", missing.row),
            )
            .help("type what went wrong with that batch; both answers, with and without it, are shown"),
        ]);
    }
    let request = &from_sheet::filled(table, request);
    let mut found = once(table, request)?;
    if !request.exclude.is_empty() {
        let all = AnalysisRequest {
            exclude: Vec::new(),
            ..request.clone()
        };
        let whole = once(table, &all)?;
        found.sentence = format!(
            "{} With nothing left out: {}",
            found.sentence, whole.sentence
        );
        found.excluded = request.exclude.clone();
        found.with_all_rows = Some(Box::new(whole));
    }
    Ok(found)
}

fn once(table: &Table, request: &AnalysisRequest) -> Result<Analysis, Vec<Finding>> {
    if let Some(groups) = structure::only_groups(table, request) {
        return components::analyse(table, request, &groups);
    }
    let look = look::limit(request)?;
    let laid = structure::lay_out(table, request)?;
    let mut analysis = match laid.kind {
        Kind::CountOf | Kind::Binary | Kind::Count => {
            counts::analyse(&laid, request, look::risk(look.as_ref()))?
        }
        Kind::Ordinal => ordinal::analyse(&laid, request, look::risk(look.as_ref()))?,
        Kind::Continuous => continuous::analyse(&laid, request, look::risk(look.as_ref()))?,
    };
    if request.by_ranks {
        analysis.by_ranks = contrasts::by_ranks(&laid)?;
    }
    if analysis.contrasts.len() < request.contrasts.len() {
        return Err(vec![
            Finding::new(
                Severity::Stop,
                Code::Contrast,
                request.contrasts[0].name.clone(),
                "contrasts are worked out for amounts measured on two batches or more of each treatment",
            )
            .help("leave --contrast out: shares and scores are compared on the scale of log odds"),
        ]);
    }
    analysis.look = look;
    analysis.beliefs = belief::beliefs(&analysis, request)?;
    analysis.sentence = sentence::write(&analysis, &laid, request);
    analysis
        .findings
        .sort_by_key(|f| std::cmp::Reverse(f.severity));
    Ok(analysis)
}

/// The control's level among those that there are: as it is written, else whatever the case. An
/// option that can't be used is an error, never passed over.
fn control_of<'a>(
    request: &AnalysisRequest,
    terms: impl Iterator<Item = &'a [String]> + Clone,
) -> Result<Option<String>, Vec<Finding>> {
    let stop = |code: Code, about: &str, message: String, help: &str| {
        vec![Finding::new(Severity::Stop, code, about, message).help(help)]
    };
    if let Some(margin) = request.margin
        && !(margin > 0.0 && margin.is_finite())
    {
        return Err(stop(
            Code::Margin,
            "margin",
            format!("a margin of {margin} is no difference too small to matter"),
            "give a number above 0 in the unit of the response",
        ));
    }
    let Some(control) = &request.control else {
        if request.margin.is_some() || request.wanted == Wanted::WithControl {
            return Err(stop(
                Code::MarginWithoutControl,
                "margin",
                "a margin was given but no control to be as good as".into(),
                "name the control",
            ));
        }
        return Ok(None);
    };
    let all = || terms.clone().flatten();
    let found = all()
        .find(|l| *l == control)
        .or_else(|| all().find(|l| l.eq_ignore_ascii_case(control)));
    match found {
        Some(level) => Ok(Some(level.clone())),
        None => Err(stop(
            Code::NoSuchControl,
            control,
            format!("no treatment is called {control}"),
            &format!(
                "the treatments are: {}",
                terms.clone().next().unwrap_or_default().join(", ")
            ),
        )),
    }
}

/// What the list of responses, or the request, says of the response.
fn known(request: &AnalysisRequest) -> Option<crate::response::About> {
    Response::find(&request.response).map(Response::about)
}
