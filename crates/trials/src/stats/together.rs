//! Several estimates guarded at once whatever their correlation: the multivariate t, integrated
//! over a lattice of points after Genz's transformation (1992; Genz and Bretz 2002).

use super::distribution::{chi_square_quantile, normal_below, normal_quantile, root_between};
use nalgebra::DMatrix;

/// Points of the lattice; errors of p stay near 1e-5.
const POINTS: usize = 20_000;

/// Multipliers of the lattice: fractional parts of roots of primes (Richtmyer).
const PRIMES: [f64; 24] = [
    2.0, 3.0, 5.0, 7.0, 11.0, 13.0, 17.0, 19.0, 23.0, 29.0, 31.0, 37.0, 41.0, 43.0, 47.0, 53.0,
    59.0, 61.0, 67.0, 71.0, 73.0, 79.0, 83.0, 89.0,
];

/// Estimates over their standard errors with a correlation and common degrees of freedom.
pub struct Together {
    /// Rows of a lower root of the correlation; a row's last non-zero is its own.
    root: Vec<Vec<f64>>,
    df: f64,
}

impl Together {
    /// Prepares the integral; none beyond 20 estimates.
    pub fn new(correlation: &DMatrix<f64>, df: f64) -> Option<Self> {
        let m = correlation.nrows();
        if m == 0 || m > 20 {
            return None;
        }
        // Cholesky that allows estimates which others determine.
        let mut root = vec![vec![0.0; m]; m];
        for i in 0..m {
            for j in 0..=i {
                let sum: f64 = (0..j).map(|k| root[i][k] * root[j][k]).sum();
                let left = correlation[(i, j)] - sum;
                root[i][j] = if i == j {
                    if left > 1e-10 { left.sqrt() } else { 0.0 }
                } else if root[j][j] > 0.0 {
                    left / root[j][j]
                } else {
                    0.0
                };
            }
        }
        Some(Self { root, df })
    }

    /// Probability that all stay within `c` of 0.
    pub fn within(&self, c: f64) -> f64 {
        let m = self.root.len();
        let ranks = self.root.iter().enumerate().filter(|(i, r)| r[*i] > 0.0).count();
        let multipliers: Vec<f64> = PRIMES[..=ranks].iter().map(|p| p.sqrt().fract()).collect();
        let mut total = 0.0;
        let mut u = vec![0.0; ranks + 1];
        let mut y = vec![0.0; m];
        for point in 0..POINTS {
            for (u, a) in u.iter_mut().zip(&multipliers) {
                // Folded, so that the integrand is periodic.
                let x = ((point as f64 + 0.5) * a).fract();
                *u = (2.0 * x - 1.0).abs().clamp(1e-12, 1.0 - 1e-12);
            }
            let s = if self.df.is_finite() {
                (chi_square_quantile(u[0], self.df) / self.df).sqrt()
            } else {
                1.0
            };
            let reach = c * s;
            let mut value = 1.0;
            let mut used = 1;
            for i in 0..m {
                let before: f64 = (0..i).map(|k| self.root[i][k] * y[k]).sum();
                let own = self.root[i][i];
                if own > 0.0 {
                    let low = normal_below((-reach - before) / own);
                    let high = normal_below((reach - before) / own);
                    value *= high - low;
                    let at = low + u[used] * (high - low);
                    y[i] = normal_quantile(at.clamp(1e-300, 1.0 - 1e-16));
                    used += 1;
                } else {
                    y[i] = 0.0;
                    if before.abs() > reach {
                        value = 0.0;
                    }
                }
                if value == 0.0 {
                    break;
                }
            }
            total += value;
        }
        total / POINTS as f64
    }

    /// p-value of an estimate `t` standard errors from 0, for all of them together.
    pub fn p(&self, t: f64) -> f64 {
        (1.0 - self.within(t.abs())).clamp(0.0, 1.0)
    }

    /// What `t` must exceed, with family confidence `p`.
    pub fn quantile(&self, p: f64) -> f64 {
        root_between(|c| self.within(c) - p, 0.5, 60.0)
    }
}
