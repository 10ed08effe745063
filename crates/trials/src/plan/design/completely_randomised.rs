//! Completely randomised: every treatment equally often, one random order over all.

use crate::plan::error::{distinct, within};
use crate::plan::{Draft, DraftRun, MOST_RUNS, PlanError};
use crate::random::{SplitMix64, shuffle};
use serde::{Deserialize, Serialize};

/// Treatments, each `replicates` times, in one random order.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct CompletelyRandomised {
    /// The treatments, control first.
    pub treatments: Vec<String>,
    /// Units per treatment.
    pub replicates: usize,
}

impl CompletelyRandomised {
    pub(super) fn draw(&self, seed: u64) -> Result<Draft, PlanError> {
        distinct("treatment", &self.treatments)?;
        within("treatments", self.treatments.len(), 2, 200, "")?;
        within("replicates", self.replicates, 1, MOST_RUNS, "")?;
        let mut order: Vec<&String> = self
            .treatments
            .iter()
            .flat_map(|t| std::iter::repeat_n(t, self.replicates))
            .collect();
        shuffle(&mut order, &mut SplitMix64::new(seed));
        Ok(Draft {
            error_df: Some(self.treatments.len() * (self.replicates - 1)),
            runs: order
                .into_iter()
                .map(|t| DraftRun {
                    treatment: t.clone(),
                    ..DraftRun::default()
                })
                .collect(),
            ..Draft::default()
        })
    }
}
