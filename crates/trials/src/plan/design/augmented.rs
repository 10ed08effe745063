//! Factorial with a control that stands outside the factors.

use super::factorial::{combinations, replicated};
use crate::plan::error::{distinct, within};
use crate::plan::{Draft, DraftRun, Level, MOST_RUNS, Named, PlanError};
use serde::{Deserialize, Serialize};

/// Every combination and, in each replicate, the control.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Augmented {
    /// The factors of the new treatments.
    pub factors: Vec<Named>,
    /// The control.
    pub control: String,
    /// Control units in each replicate; a number near the square root of the combinations suits
    /// comparisons with the control.
    pub controls_per_replicate: usize,
    /// Replicates of the whole set.
    pub replicates: usize,
    /// What a replicate is when it is run as a block.
    pub block_name: Option<String>,
}

impl Augmented {
    pub(super) fn draw(&self, seed: u64) -> Result<Draft, PlanError> {
        Named::check_all(&self.factors)?;
        within("factors", self.factors.len(), 1, 10, "")?;
        within("replicates", self.replicates, 1, MOST_RUNS, "")?;
        within(
            "control units per replicate",
            self.controls_per_replicate,
            1,
            100,
            "",
        )?;
        let mut set = combinations(&self.factors)?;
        distinct(
            "treatment",
            set.iter().map(|r| &r.treatment).chain([&self.control]),
        )?;
        let control = DraftRun {
            treatment: self.control.clone(),
            levels: vec![Level::Name("–".into()); self.factors.len()],
            ..DraftRun::default()
        };
        set.extend(std::iter::repeat_n(control, self.controls_per_replicate));
        let mut draft = replicated(
            &self.factors,
            set,
            self.replicates,
            self.block_name.as_deref(),
            seed,
        )?;
        draft.fact(
            "analysis",
            "control against the rest with one degree of freedom, then the factors among the rest",
        );
        Ok(draft)
    }
}
