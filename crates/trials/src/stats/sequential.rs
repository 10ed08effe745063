//! Looking before the end: how the 5 % is spent over the looks of a trial that may stop early.
//!
//! Sums of independent increments at information times `t₁ < … < t_K = 1`; crossing probabilities
//! by recursive integration (Armitage, McPherson and Rowe 1969).

use super::distribution::{normal_below, normal_density, normal_quantile, root_between};
use super::quadrature::{between, legendre};

/// How the error is spent.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Spending {
    /// Little early, most at the end: `2(1 − Φ(z/√t))` per side (Lan and DeMets 1983).
    LateLikeOBrienFleming,
    /// About evenly: `α ln(1 + (e − 1)t)`.
    EvenLikePocock,
}

impl Spending {
    /// Error spent up to information time `t`.
    fn spent(self, t: f64, alpha: f64, two_sided: bool) -> f64 {
        let sides = if two_sided { 2.0 } else { 1.0 };
        match self {
            Self::LateLikeOBrienFleming => {
                let z = normal_quantile(1.0 - alpha / sides / 2.0);
                sides * 2.0 * normal_below(-z / t.sqrt())
            }
            Self::EvenLikePocock => alpha * (1.0 + (1f64.exp() - 1.0) * t).ln(),
        }
    }
}

/// A look at the data.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Look {
    /// Information time: the share of the planned units that are in.
    pub time: f64,
    /// Stop when the statistic lies beyond.
    pub z: f64,
    /// The p-value that a look has to fall below.
    pub nominal_p: f64,
    /// Error spent so far.
    pub spent: f64,
}

/// Probability that the statistic first crosses its bound at each look.
pub fn crossing(bounds: &[f64], times: &[f64], two_sided: bool) -> Vec<f64> {
    // The standing of a trial that has not stopped: points with weight times density.
    let rule = legendre(200);
    let mut out = Vec::with_capacity(bounds.len());
    let mut standing: Vec<(f64, f64)> = Vec::new();
    for (k, (&bound, &t)) in bounds.iter().zip(times).enumerate() {
        let top = bound * t.sqrt();
        let bottom = if two_sided { -top } else { -9.0 * t.sqrt() };
        let own: Vec<(f64, f64)> = if top > bottom {
            between(&rule, bottom, top).collect()
        } else {
            Vec::new()
        };
        if k == 0 {
            out.push(normal_below(-bound) * if two_sided { 2.0 } else { 1.0 });
            let scale = t.sqrt();
            standing = own
                .iter()
                .map(|&(x, w)| (x, w * normal_density(x / scale) / scale))
                .collect();
            continue;
        }
        let scale = (t - times[k - 1]).sqrt();
        let crossed: f64 = standing
            .iter()
            .map(|&(x, w)| {
                let over = normal_below((x - top) / scale);
                let under = if two_sided {
                    normal_below((-top - x) / scale)
                } else {
                    0.0
                };
                w * (over + under)
            })
            .sum();
        out.push(crossed);
        standing = own
            .iter()
            .map(|&(y, w)| {
                let density: f64 = standing
                    .iter()
                    .map(|&(x, v)| v * normal_density((y - x) / scale) / scale)
                    .sum();
                (y, w * density)
            })
            .collect();
    }
    out
}

/// The same bound at each of `looks` evenly spaced looks (Pocock 1977).
///
/// ```
/// let c = trials::stats::sequential::pocock(2, 0.05, true);
/// assert!((c - 2.178_272_088_73).abs() < 1e-8); // 2.178 in print
/// ```
pub fn pocock(looks: usize, alpha: f64, two_sided: bool) -> f64 {
    let times: Vec<f64> = (1..=looks).map(|k| k as f64 / looks as f64).collect();
    root_between(
        |c| {
            alpha
                - crossing(&vec![c; looks], &times, two_sided)
                    .iter()
                    .sum::<f64>()
        },
        0.5,
        6.0,
    )
}

/// O'Brien and Fleming's constant (1979): the bound at look k of K is C √(K/k).
///
/// ```
/// let c = trials::stats::sequential::obrien_fleming(5, 0.05, true);
/// assert!((c - 2.040).abs() < 5e-4); // in print
/// ```
pub fn obrien_fleming(looks: usize, alpha: f64, two_sided: bool) -> f64 {
    let times: Vec<f64> = (1..=looks).map(|k| k as f64 / looks as f64).collect();
    root_between(
        |c| {
            let bounds: Vec<f64> = times.iter().map(|t| c / t.sqrt()).collect();
            alpha - crossing(&bounds, &times, two_sided).iter().sum::<f64>()
        },
        0.5,
        6.0,
    )
}

/// The looks of a plan at rising information times, the last 1.
pub fn spend(how: Spending, times: &[f64], alpha: f64, two_sided: bool) -> Vec<Look> {
    let mut bounds: Vec<f64> = Vec::with_capacity(times.len());
    let mut before = 0.0;
    times
        .iter()
        .enumerate()
        .map(|(k, &time)| {
            let spent = how.spent(time, alpha, two_sided);
            let own = spent - before;
            before = spent;
            let z = root_between(
                |z| {
                    let mut tried = bounds.clone();
                    tried.push(z);
                    own - crossing(&tried, &times[..=k], two_sided)[k]
                },
                0.1,
                9.0,
            );
            bounds.push(z);
            Look {
                time,
                z,
                nominal_p: normal_below(-z) * if two_sided { 2.0 } else { 1.0 },
                spent,
            }
        })
        .collect()
}
