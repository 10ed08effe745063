//! Shapiro and Wilk's test of normal shape, by Royston's approximation (1995, 3 to 5000 values).

use super::distribution::{normal_below, normal_quantile};
use super::moments;

/// The statistic W and its p-value.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ShapiroWilk {
    /// Near 1 for normal data.
    pub w: f64,
    /// p-value.
    pub p: f64,
}

/// The test; none below 3 or above 5000 values, or without spread.
///
/// - Equation: W = (Σ aᵢ x₍ᵢ₎)²/Σ(x − x̄)²
/// - Units: W and p \[1\]
/// - Valid: 3 to 5000 values
/// - Source: Royston 1995, algorithm AS R94 (from memory, to be confirmed); R for residuals of a public data set of
///   plant weights: 0.966068, p 0.437899
///
/// ```
/// let grams = [
///     4.17, 5.58, 5.18, 6.11, 4.50, 4.61, 5.17, 4.53, 5.33, 5.14, 4.81, 4.17, 4.41, 3.59, 5.87, 3.83, 6.03, 4.89,
///     4.32, 4.69, 6.31, 5.12, 5.54, 5.50, 5.37, 5.29, 4.92, 6.15, 5.80, 5.26,
/// ];
/// let left: Vec<f64> = (0..30).map(|i| grams[i] - [5.032, 4.661, 5.526][i / 10]).collect();
/// let found = trials::stats::shapiro::shapiro_wilk(&left).unwrap();
/// assert!((found.w - 0.966_068_118_874).abs() < 1e-7 && (found.p - 0.437_898_595_5).abs() < 1e-5);
/// ```
pub fn shapiro_wilk(values: &[f64]) -> Option<ShapiroWilk> {
    let n = values.len();
    if !(3..=5000).contains(&n) {
        return None;
    }
    let mut x = values.to_vec();
    x.sort_by(f64::total_cmp);
    let spread = moments::sum_of_squares(&x);
    if spread <= 0.0 || x[n - 1] - x[0] <= 0.0 {
        return None;
    }
    let size = n as f64;
    let half = n / 2;
    // Weights of the upper half, largest first.
    let mut a = vec![0.0; half];
    if n == 3 {
        a[0] = 0.5f64.sqrt();
    } else {
        let m: Vec<f64> = (1..=half)
            .map(|i| -normal_quantile((i as f64 - 0.375) / (size + 0.25)))
            .collect();
        let sum2 = 2.0 * m.iter().map(|v| v * v).sum::<f64>();
        let root = sum2.sqrt();
        let r = 1.0 / size.sqrt();
        let a1 = m[0] / root
            + poly(
                &[0.0, 0.221157, -0.147981, -2.07119, 4.434685, -2.706056],
                r,
            );
        a[0] = a1;
        let (from, scale) = if n > 5 {
            let a2 = m[1] / root
                + poly(
                    &[0.0, 0.042981, -0.293762, -1.752461, 5.682633, -3.582633],
                    r,
                );
            a[1] = a2;
            let top = sum2 - 2.0 * m[0] * m[0] - 2.0 * m[1] * m[1];
            (2, (top / (1.0 - 2.0 * a1 * a1 - 2.0 * a2 * a2)).sqrt())
        } else {
            let top = sum2 - 2.0 * m[0] * m[0];
            (1, (top / (1.0 - 2.0 * a1 * a1)).sqrt())
        };
        for i in from..half {
            a[i] = m[i] / scale;
        }
    }
    let slope: f64 = (0..half).map(|i| a[i] * (x[n - 1 - i] - x[i])).sum();
    let w = (slope * slope / spread).min(1.0);
    let p = if n == 3 {
        let p = 6.0 / std::f64::consts::PI * (w.sqrt().asin() - 0.75f64.sqrt().asin());
        p.clamp(0.0, 1.0)
    } else {
        let mut y = (1.0 - w).ln();
        let (m, s) = if n <= 11 {
            let gamma = poly(&[-2.273, 0.459], size);
            if y >= gamma {
                return Some(ShapiroWilk { w, p: 1e-99 });
            }
            y = -(gamma - y).ln();
            (
                poly(&[0.544, -0.39978, 0.025054, -6.714e-4], size),
                poly(&[1.3822, -0.77857, 0.062767, -0.0020322], size).exp(),
            )
        } else {
            let l = size.ln();
            (
                poly(&[-1.5861, -0.31082, -0.083751, 0.0038915], l),
                poly(&[-0.4803, -0.082676, 0.0030302], l).exp(),
            )
        };
        normal_below(-(y - m) / s)
    };
    Some(ShapiroWilk { w, p })
}

fn poly(c: &[f64], x: f64) -> f64 {
    c.iter().rev().fold(0.0, |total, c| total * x + c)
}
