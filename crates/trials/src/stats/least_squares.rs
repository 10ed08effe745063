//! Linear least squares by Householder reflections with scaled columns.
//!
//! Columns are taken in the order given; one that the earlier ones already explain is set aside
//! as aliased, never divided by.

use super::moments;
use nalgebra::DMatrix;

/// A column is aliased when less than this part of its length is its own.
///
/// - Units: \[1\]
/// - Source: a numerical tolerance, chosen here
pub const ALIAS: f64 = 1e-7;

/// A fitted linear model.
#[derive(Clone, Debug)]
pub struct Fit {
    /// Coefficients in the order of the columns; none for an aliased column.
    pub coefficients: Vec<Option<f64>>,
    /// Standard errors, likewise; none either without residual degrees of freedom.
    pub standard_errors: Vec<Option<f64>>,
    /// Columns kept, in order.
    pub kept: Vec<usize>,
    /// Sequential sum of squares of each column (0 when aliased).
    pub sequential: Vec<f64>,
    /// Residual sum of squares.
    pub rss: f64,
    /// Residual degrees of freedom.
    pub df: f64,
    /// Fitted values.
    pub fitted: Vec<f64>,
    /// Residuals.
    pub residuals: Vec<f64>,
    /// Leverage of each row, the diagonal of the hat matrix.
    pub leverage: Vec<f64>,
    /// (X'X)⁻¹ over the kept columns.
    pub inverse: DMatrix<f64>,
    /// What each aliased column is made of: (column, weights over the kept columns).
    pub aliased: Vec<(usize, Vec<f64>)>,
}

impl Fit {
    /// Residual variance; none without residual degrees of freedom.
    ///
    /// - Equation: s² = RSS/ν
    /// - Units: \[square of the values'\]
    /// - Valid: a degree of freedom left
    /// - Source: definition
    ///
    /// ```
    /// use trials::stats::least_squares::fit;
    /// // About the mean 2: 1 + 1 over 2.
    /// assert!((fit(&[vec![1.0; 3]], &[1.0, 2.0, 3.0]).variance().unwrap() - 1.0).abs() < 1e-14);
    /// ```
    pub fn variance(&self) -> Option<f64> {
        (self.df > 0.0).then(|| self.rss / self.df)
    }

    /// Whether the combination `row` of all coefficients can be estimated in spite of aliasing.
    pub(crate) fn estimable(&self, row: &[f64]) -> bool {
        let scale = row.iter().fold(0.0_f64, |m, v| m.max(v.abs()));
        self.aliased.iter().all(|(column, weights)| {
            let implied: f64 = self
                .kept
                .iter()
                .zip(weights)
                .map(|(&k, w)| w * row[k])
                .sum();
            (row[*column] - implied).abs() <= 1e-6 * scale.max(1e-300)
        })
    }

    /// The estimate and `row (X'X)⁻¹ row'` of a combination; none when not estimable.
    pub(crate) fn combine(&self, row: &[f64]) -> Option<(f64, f64)> {
        if !self.estimable(row) {
            return None;
        }
        let estimate = moments::sum(
            self.kept
                .iter()
                .map(|&k| row[k] * self.coefficients[k].unwrap_or(0.0)),
        );
        let kept: Vec<f64> = self.kept.iter().map(|&k| row[k]).collect();
        let mut form = 0.0;
        for (i, a) in kept.iter().enumerate() {
            for (j, b) in kept.iter().enumerate() {
                form += a * b * self.inverse[(i, j)];
            }
        }
        Some((estimate, form))
    }
}

/// Fits `y` to the columns.
///
/// - Equation: b = argmin |y − X b|², by reflections
/// - Units: \[as the values\]
/// - Valid: any columns; those that others determine are set aside
/// - Source: Householder; certified values of NIST in the tests; the example is a line through its points
///
/// ```
/// use trials::stats::least_squares::fit;
/// let line = fit(&[vec![1.0; 3], vec![0.0, 1.0, 2.0]], &[1.0, 3.0, 5.0]);
/// assert!((line.coefficients[1].unwrap() - 2.0).abs() < 1e-14);
/// ```
pub fn fit(columns: &[Vec<f64>], y: &[f64]) -> Fit {
    let n = y.len();
    let lengths: Vec<f64> = columns.iter().map(|c| norm(c)).collect();
    let mut reflectors: Vec<Vec<f64>> = Vec::new();
    let mut kept = Vec::new();
    // Upper triangle by kept column, in the scaled columns' units.
    let mut r: Vec<Vec<f64>> = Vec::new();
    let mut aliased_heads: Vec<(usize, Vec<f64>)> = Vec::new();
    for (at, column) in columns.iter().enumerate() {
        let rank = kept.len();
        if lengths[at] == 0.0 {
            aliased_heads.push((at, vec![0.0; rank]));
            continue;
        }
        let mut work: Vec<f64> = column.iter().map(|v| v / lengths[at]).collect();
        for (k, reflector) in reflectors.iter().enumerate() {
            reflect(reflector, k, &mut work);
        }
        let own = if rank < n { norm(&work[rank..]) } else { 0.0 };
        if own < ALIAS {
            aliased_heads.push((at, work[..rank.min(n)].to_vec()));
            continue;
        }
        let diagonal = if work[rank] > 0.0 { -own } else { own };
        let mut reflector = work[rank..].to_vec();
        reflector[0] -= diagonal;
        let length = norm(&reflector);
        for v in &mut reflector {
            *v /= length;
        }
        let mut head = work[..rank].to_vec();
        head.push(diagonal);
        r.push(head);
        reflectors.push(reflector);
        kept.push(at);
    }
    let rank = kept.len();
    let forward = |vector: &mut [f64]| {
        for (k, reflector) in reflectors.iter().enumerate() {
            reflect(reflector, k, vector);
        }
    };
    let back_solve = |head: &[f64]| -> Vec<f64> {
        let size = head.len();
        let mut b = head.to_vec();
        for i in (0..size).rev() {
            let rest: f64 = (i + 1..size).map(|j| r[j][i] * b[j]).sum();
            b[i] = (b[i] - rest) / r[i][i];
        }
        b
    };
    let mut work = y.to_vec();
    forward(&mut work);
    let mut sequential = vec![0.0; columns.len()];
    for (k, &at) in kept.iter().enumerate() {
        sequential[at] = work[k] * work[k];
    }
    let mut scaled = back_solve(&work[..rank]);
    // Two rounds of refinement with compensated residuals.
    let residuals_of = |scaled: &[f64]| -> Vec<f64> {
        (0..n)
            .map(|i| {
                let mut total = moments::Sum::default();
                total.add(y[i]);
                for (k, &at) in kept.iter().enumerate() {
                    let x = columns[at][i];
                    let b = scaled[k] / lengths[at];
                    let product = x * b;
                    total.add(-product);
                    total.add(-x.mul_add(b, -product));
                }
                total.value()
            })
            .collect()
    };
    for _ in 0..2 {
        let mut rest = residuals_of(&scaled);
        forward(&mut rest);
        for (b, change) in scaled.iter_mut().zip(back_solve(&rest[..rank])) {
            *b += change;
        }
    }
    let residuals = residuals_of(&scaled);
    let fitted = y.iter().zip(&residuals).map(|(y, e)| y - e).collect();
    let rss = moments::sum(residuals.iter().map(|e| e * e));
    let df = n as f64 - rank as f64;
    // R⁻¹ column by column gives the covariance.
    let mut root = DMatrix::zeros(rank, rank);
    for j in 0..rank {
        let mut unit = vec![0.0; j + 1];
        unit[j] = 1.0;
        for (i, v) in back_solve(&unit).into_iter().enumerate() {
            root[(i, j)] = v / lengths[kept[i]];
        }
    }
    let inverse = &root * root.transpose();
    let variance = (df > 0.0).then(|| rss / df);
    let mut coefficients = vec![None; columns.len()];
    let mut standard_errors = vec![None; columns.len()];
    for (k, &at) in kept.iter().enumerate() {
        coefficients[at] = Some(scaled[k] / lengths[at]);
        standard_errors[at] = variance.map(|v| (v * inverse[(k, k)]).sqrt());
    }
    let leverage = leverage(&reflectors, n);
    let aliased = aliased_heads
        .into_iter()
        .map(|(at, head)| {
            let mut weights = back_solve(&head);
            weights.resize(rank, 0.0);
            for (w, &k) in weights.iter_mut().zip(&kept) {
                *w *= lengths[at] / lengths[k];
            }
            (at, weights)
        })
        .collect();
    Fit {
        coefficients,
        standard_errors,
        kept,
        sequential,
        rss,
        df,
        fitted,
        residuals,
        leverage,
        inverse,
        aliased,
    }
}

/// The diagonal of Q Q' from the reflectors: each unit vector of the rank is sent back.
fn leverage(reflectors: &[Vec<f64>], n: usize) -> Vec<f64> {
    let rank = reflectors.len();
    let mut total = vec![0.0; n];
    for k in 0..rank {
        let mut unit = vec![0.0; n];
        unit[k] = 1.0;
        for (at, reflector) in reflectors.iter().enumerate().take(k + 1).rev() {
            reflect(reflector, at, &mut unit);
        }
        for (t, u) in total.iter_mut().zip(&unit) {
            *t += u * u;
        }
    }
    total
}

fn reflect(reflector: &[f64], from: usize, vector: &mut [f64]) {
    let tail = &mut vector[from..];
    let dot: f64 = reflector.iter().zip(tail.iter()).map(|(a, b)| a * b).sum();
    for (v, u) in tail.iter_mut().zip(reflector) {
        *v -= 2.0 * dot * u;
    }
}

fn norm(values: &[f64]) -> f64 {
    let largest = values.iter().fold(0.0_f64, |m, v| m.max(v.abs()));
    if largest == 0.0 || !largest.is_finite() {
        return largest;
    }
    largest
        * values
            .iter()
            .map(|v| (v / largest).powi(2))
            .sum::<f64>()
            .sqrt()
}
