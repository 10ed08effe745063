//! Latin square: every treatment once in every row and once in every column.

use crate::Code;
use crate::plan::error::{distinct, within};
use crate::plan::{Draft, DraftRun, PlanError};
use crate::random::{SplitMix64, permutation};
use measure::{Finding, Severity};
use serde::{Deserialize, Serialize};

/// One or more Latin squares: rows and columns carry two nuisances, e.g. bake day and place in
/// the day's order.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct LatinSquare {
    /// The treatments; there are as many rows and columns.
    pub treatments: Vec<String>,
    /// What a row is, e.g. `bake day`.
    pub row_name: String,
    /// What a column is, e.g. `place in the day`.
    pub column_name: String,
    /// Number of squares, each with rows of its own and the same columns.
    pub squares: usize,
}

impl LatinSquare {
    pub(super) fn draw(&self, seed: u64) -> Result<Draft, PlanError> {
        distinct("treatment", &self.treatments)?;
        let (t, s) = (self.treatments.len(), self.squares);
        within(
            "treatments",
            t,
            3,
            26,
            "; a square of two leaves nothing for error",
        )?;
        within("squares", s, 1, 50, "")?;
        let mut generator = SplitMix64::new(seed);
        let mut runs = Vec::with_capacity(s * t * t);
        for square in 0..s {
            let (rows, columns, letters) = (
                permutation(t, &mut generator),
                permutation(t, &mut generator),
                permutation(t, &mut generator),
            );
            for (i, row) in rows.iter().enumerate() {
                runs.extend(columns.iter().enumerate().map(|(j, column)| DraftRun {
                    places: vec![(square * t + i + 1).to_string(), (j + 1).to_string()],
                    treatment: self.treatments[letters[(row + column) % t]].clone(),
                    ..DraftRun::default()
                }));
            }
        }
        let mut draft = Draft {
            place_names: vec![self.row_name.clone(), self.column_name.clone()],
            runs,
            error_df: Some(s * t * t - s * t - 2 * (t - 1)),
            ..Draft::default()
        };
        if t >= 4 {
            draft.findings.push(Finding::new(
                Severity::Note,
                Code::SquaresReached,
                "plan",
                "The square is a cyclic one with rows, columns and treatments shuffled; from four treatments on this does not reach every possible square. The analysis stays valid.",
            ));
        }
        Ok(draft)
    }
}
