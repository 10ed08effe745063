//! Analysis of variance in strata: split plots and other layouts where some treatments were laid
//! on larger units than others.
//!
//! Exact for balanced layouts. Terms that are constant within the units of a stratum are judged
//! against the spread of those units.

use super::anova::Line;
use super::design::{Coding, Design, Factor};
use super::distribution::f_above;
use super::least_squares::fit;

/// One stratum: its terms and its own error line.
#[derive(Clone, Debug, PartialEq)]
pub struct Stratum {
    /// Name of the units.
    pub unit: String,
    /// Terms judged here.
    pub lines: Vec<Line>,
    /// Error degrees of freedom.
    pub error_df: f64,
    /// Error sum of squares.
    pub error_sum_sq: f64,
}

/// Splits the variation of `y` into strata. `units` are the grouping factors from the largest to
/// the smallest, each nested in the one before (e.g. block, then whole plot); the rows themselves
/// are the last stratum. The treatment terms come from `design`.
///
/// - Rule: treatment terms judged in the stratum of the unit that they were dealt to, each with its own error
/// - Units: sums of squares \[square of the values'\], F and p \[1\]
/// - Valid: units nested in each other
/// - Source: textbook of split plots; a block's sum of squares by hand in the example
///
/// ```
/// use trials::stats::{design::{Coding, Design, Factor}, strata::strata};
/// let design = Design::factorial(vec![Factor::new("mix", &["a", "b", "a", "b"])], 1, Coding::SumToZero);
/// let days = Factor::new("day", &["1", "1", "2", "2"]);
/// // Day means 2 and 8 about 5: 4 · 3².
/// let found = strata(&design, &[days], &[1.0, 3.0, 6.0, 10.0]);
/// assert!((found[0].error_sum_sq - 36.0).abs() < 1e-9);
/// ```
pub fn strata(design: &Design, units: &[Factor], y: &[f64]) -> Vec<Stratum> {
    let design = Design {
        coding: Coding::SumToZero,
        ..design.clone()
    };
    let columns = design.columns();
    let owners = design.owners();
    let mut order: Vec<Vec<f64>> = vec![columns[0].clone()];
    // Owner of each column in the order: (stratum, term), term none for the units themselves.
    let mut places: Vec<(usize, Option<usize>)> = vec![(0, None)];
    let mut done = vec![false; design.terms.len()];
    for (at, unit) in units.iter().enumerate() {
        for (term, placed) in done.iter_mut().enumerate() {
            let own: Vec<&Vec<f64>> = columns
                .iter()
                .zip(&owners)
                .filter(|(_, o)| **o == Some(term))
                .map(|(c, _)| c)
                .collect();
            if *placed || !own.iter().all(|c| constant_within(c, unit)) {
                continue;
            }
            *placed = true;
            places.extend(own.iter().map(|_| (at, Some(term))));
            order.extend(own.into_iter().cloned());
        }
        for level in 0..unit.levels.len() {
            order.push(
                unit.codes
                    .iter()
                    .map(|&c| f64::from(u8::from(c == level)))
                    .collect(),
            );
            places.push((at, None));
        }
    }
    let last = units.len();
    for (term, _) in done.iter().enumerate().filter(|(_, placed)| !**placed) {
        for (column, _) in columns
            .iter()
            .zip(&owners)
            .filter(|(_, o)| **o == Some(term))
        {
            order.push(column.clone());
            places.push((last, Some(term)));
        }
    }
    let fitted = fit(&order, y);
    let total = |stratum: usize, term: Option<usize>| {
        let own: Vec<usize> = fitted
            .kept
            .iter()
            .copied()
            .filter(|&k| k > 0 && places[k] == (stratum, term))
            .collect();
        (
            own.len() as f64,
            own.iter().map(|&k| fitted.sequential[k]).sum::<f64>(),
        )
    };
    (0..=last)
        .map(|stratum| {
            let (error_df, error_sum_sq) = if stratum == last {
                (fitted.df, fitted.rss)
            } else {
                total(stratum, None)
            };
            let lines = (0..design.terms.len())
                .filter(|&term| places.contains(&(stratum, Some(term))))
                .map(|term| {
                    let (df, sum_sq) = total(stratum, Some(term));
                    let f = (df > 0.0 && error_df > 0.0)
                        .then(|| (sum_sq / df) / (error_sum_sq / error_df))
                        .filter(|f| f.is_finite());
                    Line {
                        term: design.term_name(term),
                        df,
                        sum_sq,
                        f,
                        p: f.map(|f| f_above(f, df, error_df)),
                        denominator_df: error_df,
                    }
                })
                .collect();
            Stratum {
                unit: units
                    .get(stratum)
                    .map_or_else(|| "within".into(), |u| u.name.clone()),
                lines,
                error_df,
                error_sum_sq,
            }
        })
        .collect()
}

fn constant_within(column: &[f64], unit: &Factor) -> bool {
    let mut first: Vec<Option<f64>> = vec![None; unit.levels.len()];
    column
        .iter()
        .zip(&unit.codes)
        .all(|(&v, &u)| match first[u] {
            None => {
                first[u] = Some(v);
                true
            }
            Some(seen) => seen == v,
        })
}
