//! Plans, one file per design in `design/`: what to bake or offer, in which order, so that the answer stands.

mod design;
pub(crate) mod error;
mod factor;
mod model;
pub mod optimal;
mod sheet;
mod unit;
pub mod vertices;

pub use design::*;
pub use error::PlanError;
pub use factor::{Component, Factor, Named};
pub use model::{Degree, Model};
pub use optimal::{Exchange, exchange};
pub use sheet::{Column, Fact, Level, Run, RunSheet};
pub use unit::Unit;

use crate::Code;
use measure::{Finding, Severity};

/// Most runs a plan may have; beyond it the wish is taken for a slip of the pen.
pub const MOST_RUNS: usize = 2000;

/// Most blocks that a plan may have.
pub const MOST_BLOCKS: usize = 200;

/// Draws a plan.
///
/// The same request, unit and seed give the same sheet for ever; the seed and the algorithm stand
/// on the sheet.
///
/// ```
/// use trials::plan::{Design, Request, Unit, plan};
/// let request = Request::example(Design::Blocks);
/// let sheet = plan(&request, Unit::Batch, 42).unwrap();
/// assert_eq!(sheet.runs.len(), 12);
/// assert!(plan(&request, Unit::Piece, 42).is_err());
/// ```
///
/// # Errors
/// A [`PlanError`] that says what to change.
pub fn plan(request: &Request, unit: Unit, seed: u64) -> Result<RunSheet, PlanError> {
    unit.check()?;
    let design = request.design();
    if !design.units().contains(&unit) {
        return Err(PlanError::WrongUnit { design, unit });
    }
    let draft = request.draw(seed)?;
    if draft.runs.len() > MOST_RUNS {
        return Err(PlanError::TooMany {
            what: "runs",
            given: draft.runs.len(),
            most: MOST_RUNS,
        });
    }
    let mut findings = draft.findings;
    match draft.error_df {
        Some(0) => findings.push(
            Finding::new(
                Severity::Warn,
                Code::NoErrorEstimate,
                "plan",
                "Nothing is left to tell a difference from chance: the trial will give differences without intervals.",
            )
            .help("Repeat every treatment, or repeat the centre, with batches of their own."),
        ),
        Some(df @ 1..=5) => findings.push(
            Finding::new(
                Severity::Note,
                Code::FewErrorDegrees,
                "plan",
                format!("Only {df} degrees of freedom are left for error; intervals will be wide."),
            )
            .help("One more block or replicate narrows them more than more pieces per batch do."),
        ),
        _ => {}
    }
    let width = draft.runs.len().to_string().len().max(2);
    let runs = draft
        .runs
        .into_iter()
        .enumerate()
        .map(|(i, r)| Run {
            order: i + 1,
            unit_id: r
                .unit_id
                .unwrap_or_else(|| format!("{}{:0width$}", unit.letter(), i + 1)),
            places: r.places,
            treatment: r.treatment,
            levels: r.levels,
        })
        .collect();
    let sheet = RunSheet {
        design,
        seed,
        algorithm: crate::random::ALGORITHM.to_owned(),
        unit,
        unit_statement: design.unit_statement(unit),
        place_names: draft.place_names,
        factors: draft.factors,
        runs,
        error_df: draft.error_df,
        facts: draft.facts,
        findings,
    };
    error::distinct("column", &sheet.headings())?;
    Ok(sheet)
}

/// What a design file hands back: the runs in the order of work, not yet numbered.
#[derive(Clone, Debug, Default)]
pub(crate) struct Draft {
    pub place_names: Vec<String>,
    pub factors: Vec<Column>,
    pub runs: Vec<DraftRun>,
    pub error_df: Option<usize>,
    pub facts: Vec<Fact>,
    pub findings: Vec<Finding>,
}

#[derive(Clone, Debug, Default)]
pub(crate) struct DraftRun {
    pub unit_id: Option<String>,
    pub places: Vec<String>,
    pub treatment: String,
    pub levels: Vec<Level>,
}

impl Draft {
    fn fact(&mut self, name: &str, value: impl Into<String>) {
        self.facts.push(Fact {
            name: name.to_owned(),
            value: value.into(),
        });
    }
}

/// Runs at coded settings of number factors, each `times` over in random order, with a label per
/// distinct setting, the degrees of freedom against a model, and findings where a setting
/// cannot be run.
fn coded_runs(factors: &[Factor], points: &[Vec<f64>], model: Model, seed: u64) -> Draft {
    let mut draft = Draft {
        factors: factors
            .iter()
            .map(|f| Column {
                name: f.name.clone(),
                unit: f.unit.clone(),
            })
            .collect(),
        ..Draft::default()
    };
    let labels = point_labels(points);
    let order = crate::random::permutation(points.len(), &mut crate::random::SplitMix64::new(seed));
    draft.runs = order
        .iter()
        .map(|&i| DraftRun {
            treatment: labels[i].clone(),
            levels: factors
                .iter()
                .zip(&points[i])
                .map(|(f, &c)| Level::Number(f.at(c)))
                .collect(),
            ..DraftRun::default()
        })
        .collect();
    for (k, f) in factors.iter().enumerate() {
        let Some(allowed) = f.allowed else { continue };
        let outside: Vec<String> = points
            .iter()
            .map(|p| f.at(p[k]))
            .filter(|&v| !allowed.contains(v))
            .map(|v| v.to_string())
            .collect();
        if let Some(first) = outside.first() {
            draft.findings.push(
                Finding::new(
                    Severity::Stop,
                    Code::SettingOutOfReach,
                    format!("factor:{}", f.name),
                    format!("{} would be set to {first} {}, but only {allowed} can be run.", f.name, f.unit),
                )
                .help("Bring the low and high end closer together, or choose a design that stays inside them."),
            );
        }
    }
    degrees(&mut draft, points, model);
    draft
}

/// Error degrees of freedom of a model over points, and how many of them are pure repeats.
fn degrees(draft: &mut Draft, points: &[Vec<f64>], model: Model) {
    let terms = model.exponents().len();
    let labels = point_labels(points);
    let distinct = labels
        .iter()
        .collect::<std::collections::BTreeSet<_>>()
        .len();
    draft.error_df = Some(points.len().saturating_sub(terms));
    draft.fact("model", format!("{}, {terms} terms", model.degree.word()));
    draft.fact(
        "degrees of freedom",
        format!(
            "{} from repeats, {} to show lack of fit",
            points.len() - distinct,
            distinct.saturating_sub(terms)
        ),
    );
    if points.len() == distinct {
        draft.findings.push(
            Finding::new(
                Severity::Note,
                Code::NoRepeats,
                "plan",
                "No setting is run twice, so a model that does not fit cannot be told from chance.",
            )
            .help("Repeat three or more of the settings with batches of their own."),
        );
    }
}

/// A label per point: the same settings share one, numbered as they first appear.
fn point_labels(points: &[Vec<f64>]) -> Vec<String> {
    let mut seen: Vec<&Vec<f64>> = Vec::new();
    points
        .iter()
        .map(|p| {
            let same = |s: &&Vec<f64>| s.iter().zip(p).all(|(a, b)| (a - b).abs() < 1e-9);
            let at = seen.iter().position(same).unwrap_or_else(|| {
                seen.push(p);
                seen.len() - 1
            });
            format!("P{}", at + 1)
        })
        .collect()
}
