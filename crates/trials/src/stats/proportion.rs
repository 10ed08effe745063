//! A proportion k of n with its interval.

use super::distribution::{beta_quantile, normal_quantile};

/// Clopper and Pearson's interval: never narrower than it says.
///
/// ```
/// let (low, high) = trials::stats::proportion::exact_interval(15, 20, 0.95);
/// assert!((low - 0.508954128292042).abs() < 1e-10); // R 4.2.2
/// assert!((high - 0.913428530898565).abs() < 1e-10);
/// ```
pub fn exact_interval(k: u64, n: u64, confidence: f64) -> (f64, f64) {
    let half = 0.5 * (1.0 - confidence);
    let (k, n) = (k as f64, n as f64);
    let low = if k == 0.0 {
        0.0
    } else {
        beta_quantile(half, k, n - k + 1.0)
    };
    let high = if k == n {
        1.0
    } else {
        beta_quantile(1.0 - half, k + 1.0, n - k)
    };
    (low, high)
}

/// Wilson's score interval: about right on average.
///
/// ```
/// let (low, high) = trials::stats::proportion::score_interval(15, 20, 0.95);
/// assert!((low - 0.531299122381256).abs() < 1e-12); // R 4.2.2
/// assert!((high - 0.888138298592334).abs() < 1e-12);
/// ```
pub fn score_interval(k: u64, n: u64, confidence: f64) -> (f64, f64) {
    let z = normal_quantile(0.5 + 0.5 * confidence);
    let (k, n) = (k as f64, n as f64);
    let share = k / n;
    let centre = (share + z * z / (2.0 * n)) / (1.0 + z * z / n);
    let half = z / (1.0 + z * z / n) * (share * (1.0 - share) / n + z * z / (4.0 * n * n)).sqrt();
    ((centre - half).max(0.0), (centre + half).min(1.0))
}
