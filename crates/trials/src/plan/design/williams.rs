//! Williams crossover: every dog gets every food, each food follows each other equally often.

use crate::Code;
use crate::plan::error::{distinct, within};
use crate::plan::{Draft, DraftRun, PlanError};
use crate::random::{SplitMix64, permutation};
use measure::{Finding, Severity};
use serde::{Deserialize, Serialize};

/// More than two foods offered one after another to the same dogs.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Williams {
    /// The foods.
    pub foods: Vec<String>,
    /// The number of dogs; best a multiple of the number of sequences.
    pub dogs: usize,
}

fn sequences(n: usize) -> Vec<Vec<usize>> {
    // First row 0, 1, n−1, 2, n−2 …: neighbours differ by every non-zero step once.
    let mut first = vec![0];
    let (mut low, mut high) = (1, n - 1);
    while first.len() < n {
        first.push(low);
        low += 1;
        if first.len() < n {
            first.push(high);
            high -= 1;
        }
    }
    let square: Vec<Vec<usize>> = (0..n)
        .map(|k| first.iter().map(|f| (f + k) % n).collect())
        .collect();
    if n.is_multiple_of(2) {
        return square;
    }
    let mirror = square.iter().map(|row| row.iter().rev().copied().collect());
    square.iter().cloned().chain(mirror).collect()
}

impl Williams {
    /// The sequences of a Williams design for `n` ≥ 2 foods: one square for even `n`, a square and
    /// its mirror for odd `n` (Williams 1949).
    ///
    /// Check: the four-food square, computed independently.
    ///
    /// ```
    /// assert_eq!(
    ///     trials::plan::Williams::sequences(4),
    ///     [[0, 1, 3, 2], [1, 2, 0, 3], [2, 3, 1, 0], [3, 0, 2, 1]]
    /// );
    /// ```
    pub fn sequences(n: usize) -> Vec<Vec<usize>> {
        if n < 2 {
            return vec![(0..n).collect()];
        }
        sequences(n)
    }

    pub(super) fn draw(&self, seed: u64) -> Result<Draft, PlanError> {
        distinct("food", &self.foods)?;
        let (t, dogs) = (self.foods.len(), self.dogs);
        within("foods", t, 2, 26, "")?;
        let sequences = Self::sequences(t);
        within("dogs", dogs, 2, 500, "")?;
        let mut draft = Draft {
            place_names: vec!["sequence".into(), "period".into()],
            error_df: Some((dogs * t).saturating_sub(dogs + (t - 1) + (t - 1) + (t - 1))),
            ..Draft::default()
        };
        if dogs % sequences.len() != 0 {
            draft.findings.push(
                Finding::new(
                    Severity::Warn,
                    Code::SequencesUneven,
                    "plan",
                    format!(
                        "{dogs} dogs do not share out over {} sequences, so some foods follow others more often.",
                        sequences.len()
                    ),
                )
                .help(format!("Use a multiple of {} dogs.", sequences.len())),
            );
        }
        let mut labels = SplitMix64::stream(seed, 0);
        let mut allot = SplitMix64::stream(seed, 1);
        let letters = permutation(t, &mut labels);
        // Sequences are dealt in whole rounds to dogs in random order.
        let order = permutation(dogs, &mut allot);
        let mut of_dog = vec![0; dogs];
        for (place, &dog) in order.iter().enumerate() {
            of_dog[dog] = place % sequences.len();
        }
        let width = dogs.to_string().len().max(2);
        for period in 0..t {
            draft.runs.extend((0..dogs).map(|dog| DraftRun {
                unit_id: Some(format!("D{:0width$}", dog + 1)),
                places: vec![(of_dog[dog] + 1).to_string(), (period + 1).to_string()],
                treatment: self.foods[letters[sequences[of_dog[dog]][period]]].clone(),
                ..DraftRun::default()
            }));
        }
        Ok(draft)
    }
}
