//! Amounts: one-way, factorial, blocks, squares, split plots and mixed models.

mod augmented;
mod covariance;
mod fixed;
mod plain;
mod random;
mod repeated;
mod report;

pub(super) use random::with_covariates;

use super::bad_input::confounding;
use super::estimates::{Estimates, Guard};
use super::structure::Laid;
use super::{
    Analysis, AnalysisRequest, CheckLine, Claim, EffectSize, MeanLine, Scale, TableLine,
    VarianceLine,
};
use crate::Code;
use crate::stats::design::{Factor, cross};
use crate::stats::least_squares;
use crate::stats::one_way::{FTest, one_way};
use measure::{Finding, Severity};

/// What a model gives, whatever the model.
pub(super) struct Fitted {
    pub method: String,
    pub table: Vec<TableLine>,
    pub estimates: Vec<(Estimates, bool)>,
    pub guard: Guard,
    pub variance: Vec<VarianceLine>,
    pub checks: Vec<CheckLine>,
    pub test: Option<(String, FTest)>,
    pub fitted: Vec<f64>,
    pub residuals: Vec<f64>,
    pub studentised: Vec<Option<f64>>,
    pub df: f64,
}

/// A line of the table; a ratio that isn't a finite number is told as absent.
pub(super) fn line(term: &str, df: f64, sum_sq: f64, test: Option<(f64, f64, f64)>) -> TableLine {
    let test = test.filter(|(f, p, df)| f.is_finite() && p.is_finite() && df.is_finite());
    TableLine {
        term: term.into(),
        df,
        sum_sq: Some(sum_sq),
        mean_sq: (df > 0.0).then(|| sum_sq / df),
        f: test.map(|t| t.0),
        p: test.map(|t| t.1),
        denominator_df: test.map(|t| t.2),
    }
}

/// Analyses amounts.
pub(super) fn analyse(
    laid: &Laid,
    request: &AnalysisRequest,
    risk: f64,
) -> Result<Analysis, Vec<Finding>> {
    on_scale(laid, request, Scale::Amount, risk)
}

/// Analyses amounts that stand on some scale: means are carried back from it.
pub(crate) fn on_scale(
    laid: &Laid,
    request: &AnalysisRequest,
    scale: Scale,
    risk: f64,
) -> Result<Analysis, Vec<Finding>> {
    let mut findings = laid.findings.clone();
    let combined = laid.combined();
    let mut aliased = false;
    for block in &laid.blocks {
        for treatment in &laid.treatments {
            aliased |= confounding(treatment, block, &mut findings);
        }
    }
    if aliased {
        findings.retain(|f| f.severity == Severity::Stop);
        return Err(findings);
    }
    if let Some(again) = &laid.again {
        if let Some(too_many) = too_many_terms(laid, &combined, true) {
            return Err(too_many);
        }
        let fitted = repeated::repeated(laid, again, &mut findings)?;
        return report::assemble(laid, request, findings, fitted, (scale, risk));
    }
    let random = laid.whole_plots.is_some()
        || several_per_block(laid, &combined)
        || needs_random_blocks(laid, &combined);
    if let Some(too_many) = too_many_terms(laid, &combined, random) {
        return Err(too_many);
    }
    if laid.y.len() == combined.levels.len() && laid.treatments.len() == 1 && laid.blocks.is_empty()
    {
        return Ok(single(laid, request, findings));
    }
    if let Some(reason) = no_spread(laid, &combined) {
        return Err(reason);
    }
    let several = several_per_block(laid, &combined);
    let fitted = if laid.whole_plots.is_some() {
        random::split_plot(laid, &mut findings)?
    } else if several && request.claim == Claim::New {
        random::new_blocks(laid, &mut findings)?
    } else if !laid.covariates.is_empty() {
        covariance::covariance(laid, &mut findings)?
    } else if laid.treatments.len() == 1 && laid.blocks.is_empty() {
        plain::plain(laid, request, &mut findings)?
    } else if needs_random_blocks(laid, &combined) {
        random::mixed(laid, &mut findings)?
    } else if let Some(control) = augmented::augmented(laid) {
        augmented::factorial_and_control(laid, control)?
    } else {
        fixed::fixed(laid, request, several, &mut findings)?
    };
    if fitted.df <= 0.0 {
        return Err(no_error_left());
    }
    report::assemble(laid, request, findings, fitted, (scale, risk))
}

/// Levels that are compared with each other at most.
pub(super) const MOST_LEVELS: usize = 150;
/// Whole blocks beyond this many are taken as random.
const MOST_FIXED_BLOCKS: usize = 100;
/// Rows times squared terms that a fit may take: a second or so for 10,000 rows.
///
/// - Units: rows times squared terms \[1\]
/// - Source: a limit on time, measured here
const MOST_WORK: f64 = 5e8;

/// Why a layout is refused that would keep a person waiting: nothing may take more than some seconds
/// for 10,000 rows.
pub(super) fn too_many_terms(laid: &Laid, combined: &Factor, random: bool) -> Option<Vec<Finding>> {
    let stop = |what: String, help: &str| {
        vec![
            Finding::new(
                Severity::Stop,
                Code::TooManyTerms,
                combined.name.clone(),
                what,
            )
            .help(help),
        ]
    };
    let levels = combined.levels.len();
    if let Some(own) = laid
        .treatments
        .iter()
        .find(|t| t.levels.len() > MOST_LEVELS)
    {
        return Some(stop(
            format!(
                "{} levels of {} are more than the {MOST_LEVELS} that can be compared at once",
                own.levels.len(),
                own.name
            ),
            "name the column that tells the treatments, or analyse a part of them; an amount that was varied is a trend",
        ));
    }
    let times = laid.again.as_ref().map_or(1, |a| a.time.levels.len());
    let blocks: usize = if random {
        0
    } else {
        laid.blocks.iter().map(|b| b.levels.len()).sum()
    };
    let alone = laid.blocks.is_empty() && laid.treatments.len() == 1 && times == 1;
    let terms = (levels * times + blocks) as f64;
    // Times are also compared one by one.
    let often = if laid.again.is_some() { 10.0 } else { 1.0 };
    let work = often * (laid.y.len().min(10_000) as f64) * terms * terms;
    (!alone && laid.covariates.is_empty() && work > MOST_WORK).then(|| {
        stop(
            format!("the model would have {terms} terms for {} units", laid.y.len()),
            "name fewer blocks or times, or take the mean of several times: of many times the trend tells more",
        )
    })
}

/// What is said where no degrees of freedom are left for the error.
fn no_error_left() -> Vec<Finding> {
    vec![
        Finding::new(
            Severity::Stop,
            Code::NoErrorLeft,
            "residual",
            "the treatments and blocks use up every batch: nothing is left to judge a difference by",
        )
        .help("repeat some treatments, or compare fewer factors at once"),
    ]
}

/// Whether treatments were made several times on the same block, so that treatment × block can be
/// told from the spread of units.
pub(super) fn several_per_block(laid: &Laid, combined: &Factor) -> bool {
    let [block] = laid.blocks.as_slice() else {
        return false;
    };
    let cells = cross(&[block, combined]);
    // With a lone pair the variance of treatment × block would rest on next to nothing.
    let spare = laid.y.len() - cells.levels.len();
    let joined = cells.levels.len() > block.levels.len().max(combined.levels.len());
    !laid.repeated && joined && spare >= 3
}

/// Blocks that don't hold every treatment tell something of their own: they are taken as random. So
/// are very many blocks: where they are whole the answer is the same.
fn needs_random_blocks(laid: &Laid, combined: &Factor) -> bool {
    let [block] = laid.blocks.as_slice() else {
        return false;
    };
    if laid.treatments.len() == 1 && block.levels.len() > MOST_FIXED_BLOCKS {
        return true;
    }
    let cells = cross(&[block, combined]).levels.len();
    cells < block.levels.len() * combined.levels.len() && block.levels.len() >= 3
        && laid.y.len() > combined.levels.len() + 2
        // A factorial confounded in blocks on purpose keeps its blocks fixed.
        && laid.treatments.len() == 1
}

fn no_spread(laid: &Laid, combined: &Factor) -> Option<Vec<Finding>> {
    let scale = laid.y.iter().fold(0.0_f64, |m, v| m.max(v.abs()));
    let floor = (1e-13 * scale).powi(2) * laid.y.len() as f64;
    let left = if laid.blocks.is_empty() {
        one_way(&combined.codes, &laid.y, combined.levels.len()).within
    } else {
        left_by_blocks(laid, combined)?
    };
    let replicated = laid.y.len() > combined.levels.len();
    (replicated && left <= floor).then(|| {
        vec![
            Finding::new(
                Severity::Stop,
                Code::ZeroVariance,
                "residual",
                "batches of the same treatment are all exactly alike: there is no spread to judge a difference by",
            )
            .help("check that each row is a batch of its own and that the instrument shows enough digits"),
        ]
    })
}

/// What treatments and blocks leave of the values, as a sum of squares; none where they use up every
/// unit. The blocks with most levels are taken out as means of each: as columns of their own
/// thousands of them would take minutes.
fn left_by_blocks(laid: &Laid, combined: &Factor) -> Option<f64> {
    let most = laid.blocks.iter().max_by_key(|b| b.levels.len())?;
    let counts = most.counts();
    let centred = |values: &[f64]| -> Vec<f64> {
        let mut sums = vec![0.0; counts.len()];
        for (v, &code) in values.iter().zip(&most.codes) {
            sums[code] += v;
        }
        let means: Vec<f64> = sums
            .iter()
            .zip(&counts)
            .map(|(s, n)| s / *n as f64)
            .collect();
        values
            .iter()
            .zip(&most.codes)
            .map(|(v, &code)| v - means[code])
            .collect()
    };
    let others = laid.blocks.iter().filter(|b| b.name != most.name);
    let columns: Vec<Vec<f64>> = std::iter::once(combined)
        .chain(others)
        .flat_map(|f| {
            let own = |level: usize| -> Vec<f64> {
                let codes = f.codes.iter();
                codes.map(|c| f64::from(u8::from(*c == level))).collect()
            };
            (1..f.levels.len()).map(move |level| centred(&own(level)))
        })
        .collect();
    let fit = least_squares::fit(&columns, &centred(&laid.y));
    let used = counts.iter().filter(|n| **n > 0).count() + fit.kept.len();
    (laid.y.len() > used).then_some(fit.rss)
}

/// One batch of each treatment: the means, and what can't be said.
fn single(laid: &Laid, request: &AnalysisRequest, mut findings: Vec<Finding>) -> Analysis {
    findings.push(
        Finding::new(
            Severity::Stop,
            Code::OneBatchPerTreatment,
            laid.treatments[0].name.clone(),
            "there is one batch of each treatment: the difference between treatments can't be told from the difference between batches",
        )
        .help("pieces of one batch only say how even it is; bake each treatment at least twice more, on different days"),
    );
    let treatment = &laid.treatments[0];
    let means = treatment
        .levels
        .iter()
        .enumerate()
        .map(|(level, name)| {
            let at = treatment.codes.iter().position(|c| *c == level);
            MeanLine {
                level: name.clone(),
                term: treatment.name.clone(),
                n: 1,
                mean: at.map(|at| laid.y[at]),
                se: None,
                low95: None,
                high95: None,
                letters: String::new(),
            }
        })
        .collect();
    let mut variance = Vec::new();
    if laid.pieces.1 > 0.0 {
        variance.push(VarianceLine {
            term: "pieces within batches".into(),
            value: laid.pieces.0 / laid.pieces.1,
        });
    }
    Analysis {
        method: "means only: one batch of each treatment".into(),
        means,
        variance,
        findings,
        ..empty(laid, request)
    }
}

/// An analysis that says nothing yet.
pub(super) fn empty(laid: &Laid, request: &AnalysisRequest) -> Analysis {
    Analysis {
        response: request.response.clone(),
        measure: laid.measure.clone(),
        unit: laid.unit.clone(),
        units: laid
            .again
            .as_ref()
            .map_or(laid.y.len(), |again| again.subject.levels.len()),
        subjects: laid.subjects.clone(),
        rows: laid.rows.iter().map(Vec::len).sum(),
        layout: laid.layout.clone(),
        method: String::new(),
        table: Vec::new(),
        means: Vec::new(),
        comparisons: Vec::new(),
        contrasts: Vec::new(),
        by_ranks: Vec::new(),
        variance: Vec::new(),
        checks: Vec::new(),
        effect: EffectSize::default(),
        equivalence: Vec::new(),
        look: None,
        beliefs: Vec::new(),
        sentence: String::new(),
        findings: Vec::new(),
        residuals: Vec::new(),
        excluded: Vec::new(),
        with_all_rows: None,
    }
}
