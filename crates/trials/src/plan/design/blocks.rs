//! Randomised blocks: every treatment in every block, usually a bake day.

use crate::plan::error::{distinct, within};
use crate::plan::{Draft, DraftRun, MOST_BLOCKS, MOST_RUNS, PlanError};
use crate::random::{SplitMix64, shuffle};
use serde::{Deserialize, Serialize};

/// Every treatment `per_block` times in every block, in an order drawn anew for each block.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Blocks {
    /// The treatments, control first.
    pub treatments: Vec<String>,
    /// What a block is, e.g. `bake day`.
    pub block_name: String,
    /// The blocks.
    pub blocks: Vec<String>,
    /// Units per treatment and block, usually 1.
    pub per_block: usize,
}

impl Blocks {
    pub(super) fn draw(&self, seed: u64) -> Result<Draft, PlanError> {
        distinct("treatment", &self.treatments)?;
        distinct("block", &self.blocks)?;
        let (t, b, r) = (self.treatments.len(), self.blocks.len(), self.per_block);
        within("treatments", t, 2, 200, "")?;
        within(
            "blocks",
            b,
            2,
            MOST_BLOCKS,
            "; with one block draw a completely randomised plan",
        )?;
        within("units per treatment and block", r, 1, MOST_RUNS, "")?;
        within("runs", t * b * r, 2, MOST_RUNS, "")?;
        let mut generator = SplitMix64::new(seed);
        let mut runs = Vec::with_capacity(t * b * r);
        for block in &self.blocks {
            let mut order: Vec<&String> = self
                .treatments
                .iter()
                .flat_map(|t| std::iter::repeat_n(t, r))
                .collect();
            shuffle(&mut order, &mut generator);
            runs.extend(order.into_iter().map(|t| DraftRun {
                places: vec![block.clone()],
                treatment: t.clone(),
                ..DraftRun::default()
            }));
        }
        Ok(Draft {
            place_names: vec![self.block_name.clone()],
            runs,
            error_df: Some(t * b * r - b - (t - 1)),
            ..Draft::default()
        })
    }
}
