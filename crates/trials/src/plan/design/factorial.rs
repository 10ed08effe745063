//! Factorial: every combination of the levels.

use crate::plan::error::within;
use crate::plan::{Column, Draft, DraftRun, Level, MOST_RUNS, Named, PlanError};
use crate::random::{SplitMix64, shuffle};
use serde::{Deserialize, Serialize};

/// Every combination of named levels, `replicates` times; each replicate is a block if named.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Factorial {
    /// The factors.
    pub factors: Vec<Named>,
    /// Units per combination.
    pub replicates: usize,
    /// What a replicate is when it is run as a block, e.g. `bake day`; none for one random order
    /// over everything.
    pub block_name: Option<String>,
}

impl Factorial {
    pub(super) fn draw(&self, seed: u64) -> Result<Draft, PlanError> {
        Named::check_all(&self.factors)?;
        within("factors", self.factors.len(), 1, 10, "")?;
        within("replicates", self.replicates, 1, MOST_RUNS, "")?;
        replicated(
            &self.factors,
            combinations(&self.factors)?,
            self.replicates,
            self.block_name.as_deref(),
            seed,
        )
    }
}

/// Every combination of the levels, the last factor changing fastest.
pub(super) fn combinations(factors: &[Named]) -> Result<Vec<DraftRun>, PlanError> {
    let count: usize = factors.iter().map(|f| f.levels.len()).product();
    within("combinations", count, 2, MOST_RUNS, "")?;
    let mut all: Vec<Vec<&String>> = vec![Vec::new()];
    for factor in factors {
        all = all
            .into_iter()
            .flat_map(|head| {
                factor.levels.iter().map(move |level| {
                    let mut next = head.clone();
                    next.push(level);
                    next
                })
            })
            .collect();
    }
    Ok(all
        .into_iter()
        .map(|levels| DraftRun {
            treatment: levels
                .iter()
                .map(|l| l.as_str())
                .collect::<Vec<_>>()
                .join(" / "),
            levels: levels.into_iter().map(|l| Level::Name(l.clone())).collect(),
            ..DraftRun::default()
        })
        .collect())
}

/// Repeats a set of runs: shuffled within each block, or over everything.
pub(super) fn replicated(
    factors: &[Named],
    set: Vec<DraftRun>,
    replicates: usize,
    block_name: Option<&str>,
    seed: u64,
) -> Result<Draft, PlanError> {
    let distinct: std::collections::BTreeSet<&String> = set.iter().map(|r| &r.treatment).collect();
    let (n, cells) = (set.len() * replicates, distinct.len());
    within("runs", n, 2, MOST_RUNS, "")?;
    let mut generator = SplitMix64::new(seed);
    let mut runs = Vec::with_capacity(n);
    for replicate in 0..replicates {
        let mut order = set.clone();
        if block_name.is_some() {
            for run in &mut order {
                run.places = vec![(replicate + 1).to_string()];
            }
            shuffle(&mut order, &mut generator);
        }
        runs.extend(order);
    }
    let mut error_df = n - cells;
    match block_name {
        Some(_) => error_df = error_df.saturating_sub(replicates - 1),
        None => shuffle(&mut runs, &mut generator),
    }
    Ok(Draft {
        place_names: block_name.map(str::to_owned).into_iter().collect(),
        factors: factors.iter().map(|f| Column::named(&f.name)).collect(),
        runs,
        error_df: Some(error_df),
        ..Draft::default()
    })
}
