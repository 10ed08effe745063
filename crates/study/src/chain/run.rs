//! The one call: a treatment worked through from materials to cost.

use super::dough_and_piece::{DoughAndPiece, DoughAndPieceError, dough_and_piece};
use super::label_and_cost::{LabelAndCost, label_and_cost};
use super::line_load::line_load;
use super::shelf_life::{ShelfLife, shelf_life};
use super::timed_bake::{BakeChecks, TimedBake, bake_checks, packed_moisture, timed_bake};
use super::{BakeOptions, Sample, browning, learned};
use crate::model::Treatment;
use baking::bake::{BakeError, Workspace};
use baking::line::{self, LineError, LineResult};
use formula::{BakeBalance, FormulaError};
use measure::{Given, Grade, Source, WetBasis};

/// Name of what an answer takes from the description of its oven.
pub const OVEN_DESCRIPTION: &str = "description of the oven";
/// Name of what an answer takes from the description of its line.
pub const LINE_DESCRIPTION: &str = "description of the line";

/// Why a treatment has no answer.
#[derive(Debug, thiserror::Error)]
#[error("treatment {id}: {why}")]
pub struct RunError {
    /// The treatment.
    pub id: String,
    /// What went wrong, by name and value.
    pub why: Why,
}

/// What went wrong.
#[derive(Debug, thiserror::Error)]
pub enum Why {
    /// Up to the oven's mouth.
    #[error(transparent)]
    DoughAndPiece(#[from] DoughAndPieceError),
    /// In the oven.
    #[error(transparent)]
    Bake(#[from] BakeError),
    /// A bake without an oven.
    #[error("the bake has no stage in an oven")]
    NoOven,
    /// On the line.
    #[error(transparent)]
    Line(#[from] LineError),
    /// In the formula.
    #[error(transparent)]
    Formula(#[from] FormulaError),
}

impl Why {
    /// The same, with the treatment it concerns.
    pub fn of(self, treatment: &Treatment) -> RunError {
        RunError {
            id: treatment.id.clone(),
            why: self,
        }
    }
}

/// One treatment, worked through: what every view and comparison is told from.
#[derive(Clone, Debug)]
pub struct Run {
    /// The treatment.
    pub treatment: Treatment,
    /// How it was asked for.
    pub options: BakeOptions,
    /// Which sample of everything uncertain it is.
    pub sample: Sample,
    /// The dough and the piece at the oven's mouth.
    pub made: DoughAndPiece,
    /// The bake at its time.
    pub baked: TimedBake,
    /// Factor on the rate of browning.
    pub browning: f64,
    /// Moisture as it goes into the pack.
    pub packed: WetBasis,
    /// What the oven takes off the formula.
    pub balance: BakeBalance,
    /// Mass of a packed piece, kg.
    pub baked_kg: f64,
    /// Edge correction and grid error, when they were asked for.
    pub checks: Option<BakeChecks>,
    /// Checking and crispness in the pack, when they were asked for.
    pub shelf_life: ShelfLife,
    /// What it contains, its label, its ingredients' cost.
    pub sold: LabelAndCost,
    /// The line.
    pub line: LineResult,
    /// Every default it stands on.
    pub given: Vec<Given>,
}

/// Works a treatment through: dough and piece, bake, shelf life, label, line and cost.
///
/// # Errors
/// What can't be computed, by treatment, field and value.
///
/// ```
/// use study::{BakeOptions, Sample, Workspace, run};
///
/// let study = study::written::read(include_str!("../../../../examples/spent-grain.toml")).unwrap();
/// let control = run(study.control(), &BakeOptions::QUICK, Sample::Centre, &mut Workspace::new()).unwrap();
/// assert!(control.packed.percent() < control.made.dough_moisture.percent());
/// ```
pub fn run(
    treatment: &Treatment,
    options: &BakeOptions,
    sample: Sample,
    workspace: &mut Workspace,
) -> Result<Run, RunError> {
    worked_through(treatment, options, sample, workspace).map_err(|why| why.of(treatment))
}

fn worked_through(
    treatment: &Treatment,
    options: &BakeOptions,
    sample: Sample,
    workspace: &mut Workspace,
) -> Result<Run, Why> {
    let made = dough_and_piece(treatment, options, sample)?;
    let baked = timed_bake(treatment, &made, options, workspace)?;
    let packed = packed_moisture(&baked, made.dough_moisture);
    let balance = made.formula.bake_balance(packed)?;
    let baked_kg = made.green_kg * balance.yield_fraction();
    let mut given = made.given.clone();
    given.extend(learned::whole_given(treatment));
    let browning = browning::factor(
        made.solids.sugars.at_least,
        &made.formula.leavening(),
        sample,
        &mut given,
    );
    let checks = if options.checks && !sample.varies() {
        Some(bake_checks(treatment, &made, &baked, workspace)?)
    } else {
        None
    };
    let shelf_life = if options.checks {
        // A pack that can't be followed takes nothing away from the bake.
        shelf_life(treatment, &made, &baked, sample, workspace)
            .unwrap_or_else(|e| ShelfLife::none(e.to_string()))
    } else {
        ShelfLife::none("it wasn't asked for".to_owned())
    };
    given.extend(shelf_life.given.iter().cloned());
    let sold = label_and_cost(treatment, &made.formula, packed, shelf_life.end_moisture)?;
    let load = line_load(
        treatment,
        &made,
        &baked,
        packed,
        baked_kg,
        &sold.ingredients,
    );
    let line = line::evaluate(&treatment.setting.line, &load)?;
    given.push(described(OVEN_DESCRIPTION, &treatment.setting.oven.source));
    given.push(described(LINE_DESCRIPTION, &treatment.setting.line.source));
    Ok(Run {
        treatment: treatment.clone(),
        options: *options,
        sample,
        made,
        baked,
        browning,
        packed,
        balance,
        baked_kg,
        checks,
        shelf_life,
        sold,
        line,
        given,
    })
}

/// Where the description of a machine comes from; it is no number.
fn described(name: &'static str, source: &Source) -> Given {
    Given {
        name: name.into(),
        value: None,
        unit: "".into(),
        source: Source {
            text: source.text.clone(),
            grade: source.grade.worse(Grade::Measured),
        },
    }
}
