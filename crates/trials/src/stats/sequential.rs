//! Looking before the end: how the 5 % is spent over the looks of a trial that may stop early.
//!
//! Sums of independent increments at information times `t₁ < … < t_K = 1`; crossing probabilities
//! by recursive integration (Armitage, McPherson and Rowe 1969).

use super::distribution::{normal_below, normal_density, normal_quantile, root_between};
use super::quadrature::{between, legendre};
use serde::{Deserialize, Serialize};

/// How the error is spent.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
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

/// A trial that goes on: where its sum stands at an information time, as points with weight times
/// density.
struct Going {
    time: f64,
    standing: Vec<(f64, f64)>,
    two_sided: bool,
}

impl Going {
    /// Before the first look.
    fn start(two_sided: bool) -> Self {
        Self {
            time: 0.0,
            standing: vec![(0.0, 1.0)],
            two_sided,
        }
    }

    /// Probability that the statistic crosses its bound at the next look and not before.
    fn crossing(&self, bound: f64, time: f64) -> f64 {
        let top = bound * time.sqrt();
        let scale = (time - self.time).sqrt();
        self.standing
            .iter()
            .map(|&(x, w)| {
                let over = normal_below((x - top) / scale);
                let under = if self.two_sided {
                    normal_below((-top - x) / scale)
                } else {
                    0.0
                };
                w * (over + under)
            })
            .sum()
    }

    /// What goes on after a look with that bound.
    fn after(&self, bound: f64, time: f64, rule: &[(f64, f64)]) -> Self {
        let top = bound * time.sqrt();
        let bottom = if self.two_sided {
            -top
        } else {
            -9.0 * time.sqrt()
        };
        let scale = (time - self.time).sqrt();
        let standing = if top > bottom {
            between(rule, bottom, top)
                .map(|(y, w)| {
                    let density: f64 = self
                        .standing
                        .iter()
                        .map(|&(x, v)| v * normal_density((y - x) / scale) / scale)
                        .sum();
                    (y, w * density)
                })
                .collect()
        } else {
            Vec::new()
        };
        Self {
            time,
            standing,
            two_sided: self.two_sided,
        }
    }
}

/// Probability that the statistic first crosses its bound at each look.
///
/// - Rule: the chance of a first crossing at each look, by integrals from look to look
/// - Units: bounds \[z\], times \[share of the information\], probabilities \[1\]
/// - Valid: rising times, the last at most 1
/// - Source: Armitage, McPherson and Rowe 1969 (from memory, to be confirmed): 1.96 at two even looks is crossed
///   with 0.083
///
/// ```
/// let p = trials::stats::sequential::crossing(&[1.959_964, 1.959_964], &[0.5, 1.0], true);
/// assert!((p[0] - 0.05).abs() < 1e-6 && (p[0] + p[1] - 0.083).abs() < 5e-4);
/// ```
pub fn crossing(bounds: &[f64], times: &[f64], two_sided: bool) -> Vec<f64> {
    let rule = legendre(200);
    let mut going = Going::start(two_sided);
    bounds
        .iter()
        .zip(times)
        .map(|(&bound, &time)| {
            let crossed = going.crossing(bound, time);
            going = going.after(bound, time, &rule);
            crossed
        })
        .collect()
}

/// The looks of a plan at rising information times, the last 1.
///
/// - Rule: the bound of each look so that as much of the risk is used as its time allows
/// - Units: times \[share of the information\], risk and p \[1\], bounds \[z\]
/// - Valid: rising times, the last 1
/// - Source: Lan and DeMets 1983 (from memory, to be confirmed); one look alone has 1.96
///
/// ```
/// use trials::stats::sequential::{Spending, spend};
/// let alone = spend(Spending::LateLikeOBrienFleming, &[1.0], 0.05, true);
/// assert!((alone[0].z - 1.959_964).abs() < 1e-5 && (alone[0].spent - 0.05).abs() < 1e-9);
/// ```
pub fn spend(how: Spending, times: &[f64], alpha: f64, two_sided: bool) -> Vec<Look> {
    let rule = legendre(200);
    let mut going = Going::start(two_sided);
    let mut before = 0.0;
    times
        .iter()
        .map(|&time| {
            let spent = how.spent(time, alpha, two_sided);
            let own = spent - before;
            before = spent;
            let z = root_between(|z| own - going.crossing(z, time), 0.1, 9.0);
            going = going.after(z, time, &rule);
            Look {
                time,
                z,
                nominal_p: normal_below(-z) * if two_sided { 2.0 } else { 1.0 },
                spent,
            }
        })
        .collect()
}
