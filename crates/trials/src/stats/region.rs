//! Where predictions may be made: inside the region that was tried.

use super::least_squares::Fit;

/// Why a point is outside.
#[derive(Clone, Debug, PartialEq)]
pub enum Outside {
    /// Beyond the tried range of one variable.
    Range {
        /// Index of the variable.
        variable: usize,
        /// The value asked for.
        value: f64,
        /// Lowest tried.
        low: f64,
        /// Highest tried.
        high: f64,
    },
    /// Within each range, but not between the tried points (outside their convex hull).
    Hull,
    /// Leverage above that of every tried point: the model would be stretched.
    Leverage {
        /// Leverage at the point.
        at: f64,
        /// Highest leverage tried.
        highest: f64,
    },
}

impl Outside {
    /// In words, with the variables' names.
    pub fn words(&self, names: &[String]) -> String {
        match self {
            Self::Range {
                variable,
                value,
                low,
                high,
            } => format!(
                "{} = {value} lies outside the {low} to {high} that was tried",
                names.get(*variable).map_or("a variable", String::as_str)
            ),
            Self::Hull => "the point lies outside the convex hull of the tried points".into(),
            Self::Leverage { at, highest } => {
                format!("the point's leverage {at:.3} is above the highest tried, {highest:.3}")
            }
        }
    }
}

/// Checks a point: range of each variable, then the convex hull, then leverage of its model row.
///
/// - Rule: outside where a variable leaves its range, the point the hull, or its leverage that of every run
/// - Units: \[as the variables\], leverage \[1\]
/// - Valid: fits to those points
/// - Source: geometry; house rule that a model isn't asked outside what was tried
///
/// ```
/// use trials::stats::{least_squares::fit, region::{Outside, check}};
/// let points = [vec![0.0], vec![1.0], vec![2.0]];
/// let line = fit(&[vec![1.0; 3], vec![0.0, 1.0, 2.0]], &[1.0, 3.0, 5.0]);
/// assert_eq!(check(&points, &[1.5], &[1.0, 1.5], &line), None);
/// assert!(matches!(check(&points, &[2.5], &[1.0, 2.5], &line), Some(Outside::Range { high, .. }) if high == 2.0));
/// ```
pub fn check(points: &[Vec<f64>], point: &[f64], model_row: &[f64], fit: &Fit) -> Option<Outside> {
    for (variable, &value) in point.iter().enumerate() {
        let low = points
            .iter()
            .map(|p| p[variable])
            .fold(f64::INFINITY, f64::min);
        let high = points
            .iter()
            .map(|p| p[variable])
            .fold(f64::NEG_INFINITY, f64::max);
        let slack = 1e-9 * (high - low).abs().max(1e-12);
        if value < low - slack || value > high + slack {
            return Some(Outside::Range {
                variable,
                value,
                low,
                high,
            });
        }
    }
    if !in_hull(points, point) {
        return Some(Outside::Hull);
    }
    let (_, at) = fit.combine(model_row)?;
    let highest = fit.leverage.iter().copied().fold(0.0, f64::max);
    (at > highest * (1.0 + 1e-9)).then_some(Outside::Leverage { at, highest })
}

/// Whether the point is a weighted mean of the points: non-negative least squares (Lawson and
/// Hanson) on their coordinates and the sum of weights.
pub(crate) fn in_hull(points: &[Vec<f64>], point: &[f64]) -> bool {
    let size = point.len();
    let spans: Vec<f64> = (0..size)
        .map(|d| {
            let spread = points.iter().map(|p| (p[d] - point[d]).abs());
            spread.fold(0.0, f64::max).max(1e-300)
        })
        .collect();
    // Columns: coordinates relative to the point, and 1; target: 0 … 0, 1.
    let columns: Vec<Vec<f64>> = points
        .iter()
        .map(|p| {
            let mut c: Vec<f64> = (0..size).map(|d| (p[d] - point[d]) / spans[d]).collect();
            c.push(1.0);
            c
        })
        .collect();
    let mut target = vec![0.0; size];
    target.push(1.0);
    let m = columns.len();
    let mut weights = vec![0.0; m];
    let mut active = vec![false; m];
    for _ in 0..10 * m.max(10) {
        let rest: Vec<f64> = (0..=size)
            .map(|d| target[d] - (0..m).map(|j| columns[j][d] * weights[j]).sum::<f64>())
            .collect();
        if rest.iter().map(|r| r * r).sum::<f64>().sqrt() < 1e-8 {
            return true;
        }
        let gain = |j: usize| {
            columns[j]
                .iter()
                .zip(&rest)
                .map(|(c, r)| c * r)
                .sum::<f64>()
        };
        let Some(best) = (0..m)
            .filter(|&j| !active[j])
            .max_by(|&a, &b| gain(a).total_cmp(&gain(b)))
        else {
            return false;
        };
        if gain(best) < 1e-10 {
            return false;
        }
        active[best] = true;
        loop {
            let own: Vec<usize> = (0..m).filter(|&j| active[j]).collect();
            let chosen: Vec<Vec<f64>> = own.iter().map(|&j| columns[j].clone()).collect();
            let solved = super::least_squares::fit(&chosen, &target);
            let trial: Vec<f64> = solved
                .coefficients
                .iter()
                .map(|c| c.unwrap_or(0.0))
                .collect();
            if trial.iter().all(|t| *t > 0.0) {
                weights = vec![0.0; m];
                for (&j, t) in own.iter().zip(trial) {
                    weights[j] = t;
                }
                break;
            }
            let part = own
                .iter()
                .zip(&trial)
                .filter(|(_, t)| **t <= 0.0)
                .map(|(&j, t)| weights[j] / (weights[j] - t).max(1e-300))
                .fold(1.0, f64::min);
            for (&j, t) in own.iter().zip(&trial) {
                weights[j] += part * (t - weights[j]);
                if weights[j] <= 1e-14 {
                    weights[j] = 0.0;
                    active[j] = false;
                }
            }
            if !active.iter().any(|a| *a) {
                break;
            }
        }
    }
    false
}
