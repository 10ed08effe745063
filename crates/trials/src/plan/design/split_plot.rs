//! Split plot: one factor per oven load, the other per batch within the load.

use crate::plan::error::{distinct, within};
use crate::plan::{Column, Draft, DraftRun, Level, MOST_BLOCKS, Named, PlanError};
use crate::random::{SplitMix64, permutation};
use serde::{Deserialize, Serialize};

/// Oven setting by formula: in each block every whole-plot level once in random order, and within
/// it every sub-plot level once in random order.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct SplitPlot {
    /// The factor that is hard to change, e.g. the oven setting.
    pub whole: Named,
    /// The factor that changes within a whole plot, e.g. the formula.
    pub sub: Named,
    /// What a block is, e.g. `bake day`.
    pub block_name: String,
    /// The blocks.
    pub blocks: Vec<String>,
}

impl SplitPlot {
    pub(super) fn draw(&self, seed: u64) -> Result<Draft, PlanError> {
        Named::check_all(&[self.whole.clone(), self.sub.clone()])?;
        distinct("block", &self.blocks)?;
        let (a, b, r) = (
            self.whole.levels.len(),
            self.sub.levels.len(),
            self.blocks.len(),
        );
        within(
            "blocks",
            r,
            2,
            MOST_BLOCKS,
            "; with one block the oven setting has no replicate",
        )?;
        // Two streams: the whole plots can be redrawn without moving the sub-plots.
        let (mut whole_stream, mut sub_stream) =
            (SplitMix64::stream(seed, 0), SplitMix64::stream(seed, 1));
        let mut runs = Vec::with_capacity(a * b * r);
        let mut load = 0;
        for block in &self.blocks {
            for w in permutation(a, &mut whole_stream) {
                load += 1;
                for s in permutation(b, &mut sub_stream) {
                    let (wl, sl) = (&self.whole.levels[w], &self.sub.levels[s]);
                    runs.push(DraftRun {
                        places: vec![block.clone(), format!("L{load:02}")],
                        treatment: format!("{wl} / {sl}"),
                        levels: vec![Level::Name(wl.clone()), Level::Name(sl.clone())],
                        ..DraftRun::default()
                    });
                }
            }
        }
        let mut draft = Draft {
            place_names: vec![self.block_name.clone(), "oven load".into()],
            factors: vec![
                Column::named(&self.whole.name),
                Column::named(&self.sub.name),
            ],
            runs,
            error_df: Some(a * (b - 1) * (r - 1)),
            ..Draft::default()
        };
        draft.fact(
            "whole-plot error",
            format!(
                "{} degrees of freedom for {}",
                (a - 1) * (r - 1),
                self.whole.name
            ),
        );
        draft.fact(
            "sub-plot error",
            format!(
                "{} degrees of freedom for {} and the interaction",
                a * (b - 1) * (r - 1),
                self.sub.name
            ),
        );
        Ok(draft)
    }
}
