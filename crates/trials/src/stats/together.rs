//! Several estimates guarded at once whatever their correlation: the multivariate t, integrated
//! after Genz's transformation (1992; Genz and Bretz 2002).

use super::distribution::{mean_over_scaled_chi, normal_below, normal_quantile};
use super::quadrature::{between, legendre};
use nalgebra::DMatrix;

/// Points of the lattice where there are too many directions for a product rule.
const POINTS: usize = 3_000;

/// Multipliers of the lattice: fractional parts of roots of primes (Richtmyer).
///
/// - Units: \[1\]
/// - Source: the first twenty primes
const PRIMES: [f64; 20] = [
    2.0, 3.0, 5.0, 7.0, 11.0, 13.0, 17.0, 19.0, 23.0, 29.0, 31.0, 37.0, 41.0, 43.0, 47.0, 53.0,
    59.0, 61.0, 67.0, 71.0,
];

/// Estimates over their standard errors with a correlation and common degrees of freedom.
pub struct Together {
    /// For each independent direction the estimates that it is the last to move: their weights on
    /// the directions up to it.
    layers: Vec<Vec<Vec<f64>>>,
    /// Where the directions but the last are looked at, with weights.
    places: Vec<(Vec<f64>, f64)>,
    df: f64,
}

impl Together {
    /// Prepares the integral; none beyond 20 estimates.
    ///
    /// - Rule: places and weights of an integral over the estimates' joint t
    /// - Units: correlation \[1\], ν \[degrees of freedom\]
    /// - Valid: one to twenty estimates, ν above 0 or infinite
    /// - Source: Genz (from memory, to be confirmed); one estimate is Student's t
    ///
    /// ```
    /// use nalgebra::DMatrix;
    /// use trials::stats::together::Together;
    /// assert!(Together::new(&DMatrix::identity(21, 21), 10.0).is_none());
    /// let alone = Together::new(&DMatrix::identity(1, 1), 10.0).unwrap();
    /// assert!((alone.within(2.228_138_851_986_164) - 0.95).abs() < 1e-6);
    /// ```
    pub fn new(correlation: &DMatrix<f64>, df: f64) -> Option<Self> {
        let m = correlation.nrows();
        if m == 0 || m > 20 {
            return None;
        }
        // Cholesky that allows estimates which others determine.
        let mut rows: Vec<Vec<f64>> = Vec::with_capacity(m);
        let mut pivots: Vec<usize> = Vec::new();
        for i in 0..m {
            let mut row: Vec<f64> = Vec::with_capacity(pivots.len() + 1);
            for (k, &p) in pivots.iter().enumerate() {
                let sum: f64 = (0..k).map(|l| row[l] * rows[p][l]).sum();
                row.push((correlation[(i, p)] - sum) / rows[p][k]);
            }
            let left = 1.0 - row.iter().map(|v| v * v).sum::<f64>();
            if left > 1e-9 {
                row.push(left.sqrt());
                pivots.push(i);
            }
            rows.push(row);
        }
        let rank = pivots.len();
        let mut layers = vec![Vec::new(); rank];
        for mut row in rows {
            while row.last().is_some_and(|v| v.abs() < 1e-9) {
                row.pop();
            }
            if let Some(last) = row.len().checked_sub(1) {
                layers[last].push(row);
            }
        }
        let line = |n: usize| -> Vec<(f64, f64)> { between(&legendre(n), 0.0, 1.0).collect() };
        let places = match rank - 1 {
            0 => vec![(vec![], 1.0)],
            1 => line(128).into_iter().map(|(u, w)| (vec![u], w)).collect(),
            2 => {
                let one = line(88);
                one.iter()
                    .flat_map(|&(u, w)| one.iter().map(move |&(v, x)| (vec![u, v], w * x)))
                    .collect()
            }
            many => (0..POINTS)
                .map(|point| {
                    let fold = |a: f64| {
                        let x = ((point as f64 + 0.5) * a.sqrt()).fract();
                        (2.0 * x - 1.0).abs()
                    };
                    let place = PRIMES[..many].iter().map(|a| fold(*a)).collect();
                    (place, 1.0 / POINTS as f64)
                })
                .collect(),
        };
        Some(Self { layers, places, df })
    }

    /// Probability that all normals stay within `reach` of 0.
    fn normals_within(&self, reach: f64) -> f64 {
        let rank = self.layers.len();
        let mut y = vec![0.0; rank];
        let mut total = 0.0;
        for (place, weight) in &self.places {
            let mut value = *weight;
            for (at, layer) in self.layers.iter().enumerate() {
                let (mut low, mut high) = (f64::NEG_INFINITY, f64::INFINITY);
                for row in layer {
                    let before: f64 = row[..at].iter().zip(&y).map(|(r, y)| r * y).sum();
                    let own = row[at];
                    let (a, b) = ((-reach - before) / own, (reach - before) / own);
                    low = low.max(a.min(b));
                    high = high.min(a.max(b));
                }
                if high <= low {
                    value = 0.0;
                    break;
                }
                let (below, above) = (normal_below(low), normal_below(high));
                value *= above - below;
                if at + 1 < rank {
                    let chance = below + place[at] * (above - below);
                    y[at] = normal_quantile(chance.clamp(1e-300, 1.0 - 1e-16));
                }
            }
            total += value;
        }
        total
    }

    /// Probability that all stay within `c` of 0.
    ///
    /// - Equation: P(all |tᵢ| < c)
    /// - Units: c \[1\], probability \[1\]
    /// - Valid: c from 0
    /// - Source: independent normals: a product, 0.95³ for three at 1.96
    ///
    /// ```
    /// use nalgebra::DMatrix;
    /// use trials::stats::together::Together;
    /// let three = Together::new(&DMatrix::identity(3, 3), f64::INFINITY).unwrap();
    /// assert!((three.within(1.959_963_984_54) - 0.95_f64.powi(3)).abs() < 1e-5);
    /// ```
    pub fn within(&self, c: f64) -> f64 {
        if self.df.is_finite() {
            mean_over_scaled_chi(self.df, None, |s| self.normals_within(c * s))
        } else {
            self.normals_within(c)
        }
    }

    /// p-value of an estimate `t` standard errors from 0, for all of them together.
    ///
    /// - Equation: 1 − P(all within |t|)
    /// - Units: t and p \[1\]
    /// - Valid: any t
    /// - Source: one estimate is Student's t
    ///
    /// ```
    /// use nalgebra::DMatrix;
    /// use trials::stats::together::Together;
    /// let alone = Together::new(&DMatrix::identity(1, 1), 10.0).unwrap();
    /// assert!((alone.p(-2.228_138_851_986_164) - 0.05).abs() < 1e-6);
    /// ```
    pub fn p(&self, t: f64) -> f64 {
        (1.0 - self.within(t.abs())).clamp(0.0, 1.0)
    }

    /// What `t` must exceed, with family confidence `p`.
    ///
    /// - Equation: c with P(all |tᵢ| < c) = p
    /// - Units: p and c \[1\]
    /// - Valid: p between 0 and 1
    /// - Source: one estimate is Student's t, 2.228139 on 10
    ///
    /// ```
    /// use nalgebra::DMatrix;
    /// use trials::stats::together::Together;
    /// let alone = Together::new(&DMatrix::identity(1, 1), 10.0).unwrap();
    /// assert!((alone.quantile(0.95) - 2.228_138_85).abs() < 1e-4);
    /// ```
    pub fn quantile(&self, p: f64) -> f64 {
        // A few digits suffice for a limit; each step is an integral.
        let (mut low, mut high) = (0.5, 8.0);
        let (mut f_low, mut f_high) = (self.within(low) - p, self.within(high) - p);
        while f_high < 0.0 && high < 1e4 {
            high *= 2.0;
            f_high = self.within(high) - p;
        }
        for round in 0..40 {
            let mut c = low - f_low * (high - low) / (f_high - f_low);
            if round % 3 == 2 || !(c > low && c < high) {
                c = 0.5 * (low + high);
            }
            let f = self.within(c) - p;
            if f.abs() < 1e-8 || high - low < 1e-8 {
                return c;
            }
            if f < 0.0 {
                (low, f_low) = (c, f);
            } else {
                (high, f_high) = (c, f);
            }
        }
        0.5 * (low + high)
    }
}
