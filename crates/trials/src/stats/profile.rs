//! How far a parameter may move while the others make up for it: profiles, which tell lopsided intervals where an ellipse
//! would mislead.

use super::map::{Closeness, Likeliest, Problem, likeliest};
use nalgebra::DMatrix;

/// A profile's point: the parameter held at a value, and the others at their likeliest there.
#[derive(Clone, Debug, PartialEq)]
pub struct Held {
    /// Every parameter.
    pub parameters: Vec<f64>,
    /// What holding it costs in the sum of squares (twice the logarithm of the posterior).
    pub cost: f64,
}

/// The likeliest parameters with one held at a value, beginning from `near`.
///
/// - Rule: the other parameters at their likeliest, and what that costs beside the best
/// - Units: parameters \[as theirs\], cost \[1\]
/// - Valid: models that are smooth about the answer
/// - Source: an identity: for a straight model the cost is ((b − b̂)/s)²
///
/// ```
/// use nalgebra::DMatrix;
/// use trials::stats::map::Problem;
/// use trials::stats::profile::held_at;
/// let problem = Problem {
///     values: &|b: &[f64]| vec![b[0]; 4],
///     slopes: &|_: &[f64]| DMatrix::from_element(4, 1, 1.0),
///     observed: &[3.0; 4], sd: &[1.0; 4], beliefs: &[None],
/// };
/// // Four readings of 3, each ±1: one away costs 4.
/// assert!((held_at(&problem, 0, 4.0, &[3.0], 0.0).cost - 4.0).abs() < 1e-9);
/// ```
pub fn held_at(problem: &Problem<'_>, which: usize, value: f64, near: &[f64], best: f64) -> Held {
    let whole = |free: &[f64]| {
        let mut b = free.to_vec();
        b.insert(which, value);
        b
    };
    let values = |free: &[f64]| (problem.values)(&whole(free));
    let slopes =
        |free: &[f64]| -> DMatrix<f64> { (problem.slopes)(&whole(free)).remove_column(which) };
    let beliefs: Vec<_> = (0..near.len())
        .filter(|i| *i != which)
        .map(|i| problem.beliefs.get(i).copied().flatten())
        .collect();
    let mut start = near.to_vec();
    start.remove(which);
    let own = problem.beliefs.get(which).copied().flatten();
    let own = own.map_or(0.0, |b| ((value - b.mean) / b.sd).powi(2));
    let (parameters, total) = if start.is_empty() {
        let seen = values(&[]);
        let rows = seen.iter().zip(problem.observed).zip(problem.sd);
        (
            vec![value],
            rows.map(|((v, y), sd)| ((y - v) / sd).powi(2)).sum::<f64>(),
        )
    } else {
        let inner = Problem {
            values: &values,
            slopes: &slopes,
            observed: problem.observed,
            sd: problem.sd,
            beliefs: &beliefs,
        };
        let found = likeliest(&inner, &start, Closeness::WhatMatters);
        (whole(&found.parameters), found.total())
    };
    Held {
        parameters,
        cost: total + own - best,
    }
}

/// The two values at which holding a parameter costs `threshold` (3.84 for 95 %): none on a side where it never does within
/// `reach` times the ellipse's half width.
///
/// - Rule: the two places at which holding a parameter costs the threshold
/// - Units: parameter \[as its own\], threshold \[1\]
/// - Valid: models that are smooth about the answer
/// - Source: an identity: for a straight model it is b̂ ± √threshold · s
///
/// ```
/// use nalgebra::DMatrix;
/// use trials::stats::map::{Closeness, Problem, likeliest};
/// use trials::stats::profile::interval;
/// let problem = Problem {
///     values: &|b: &[f64]| vec![b[0]; 4],
///     slopes: &|_: &[f64]| DMatrix::from_element(4, 1, 1.0),
///     observed: &[3.0; 4], sd: &[1.0; 4], beliefs: &[None],
/// };
/// let best = likeliest(&problem, &[0.0], Closeness::LastDigit);
/// let [low, high] = interval(&problem, &best, 0, 3.841_459, 5.0);
/// assert!((low.unwrap() - (3.0 - 0.98)).abs() < 1e-3 && (high.unwrap() - (3.0 + 0.98)).abs() < 1e-3);
/// ```
pub fn interval(
    problem: &Problem<'_>,
    best: &Likeliest,
    which: usize,
    threshold: f64,
    reach: f64,
) -> [Option<f64>; 2] {
    let sd = best
        .covariance
        .as_ref()
        .map_or(1.0, |c| c[(which, which)].sqrt());
    let total = best.total();
    [-1.0, 1.0].map(|side| {
        let centre = best.parameters[which];
        let at =
            |place: f64, near: &[f64]| held_at(problem, which, centre + side * place, near, total);
        let (mut low, mut high) = (0.0, 0.5 * sd * threshold.sqrt());
        let mut near = best.parameters.clone();
        let mut beyond = at(high, &near);
        while beyond.cost.is_nan() || beyond.cost < threshold {
            if beyond.cost.is_finite() {
                near.clone_from(&beyond.parameters);
            }
            low = high;
            high *= 1.4;
            if high > reach * sd * threshold.sqrt() {
                return None;
            }
            beyond = at(high, &near);
        }
        for _ in 0..60 {
            if high - low < 1e-7 * sd {
                break;
            }
            let middle = 0.5 * (low + high);
            let there = at(middle, &near);
            if there.cost >= threshold {
                high = middle;
            } else {
                near.clone_from(&there.parameters);
                low = middle;
            }
        }
        Some(centre + side * 0.5 * (low + high))
    })
}
