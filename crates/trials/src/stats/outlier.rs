//! Values that stand out: flagged, never dropped by the program.

use super::distribution::{t_quantile, t_two_sided};

/// Externally studentised residuals: each judged against the error left when its row is out.
///
/// NaN where leverage is 1 or nothing is left to judge against.
pub fn studentised(residuals: &[f64], leverage: &[f64], rss: f64, df: f64) -> Vec<f64> {
    residuals
        .iter()
        .zip(leverage)
        .map(|(&e, &h)| {
            let rest = 1.0 - h;
            let left = (rss - e * e / rest) / (df - 1.0);
            if rest < 1e-10 || df <= 1.0 || left <= 0.0 {
                f64::NAN
            } else {
                e / (left * rest).sqrt()
            }
        })
        .collect()
}

/// Bonferroni p-value of the largest of `n` studentised residuals (may be above 1: cut there).
pub fn bonferroni_p(residual: f64, n: usize, df: f64) -> f64 {
    (n as f64 * t_two_sided(residual, df - 1.0)).min(1.0)
}

/// Grubbs's critical value, two-sided, level `alpha`.
///
/// ```
/// let g = trials::stats::outlier::grubbs_critical(10, 0.05);
/// assert!((g - 2.2899540844796).abs() < 1e-9); // R 4.2.2
/// ```
pub fn grubbs_critical(n: usize, alpha: f64) -> f64 {
    let size = n as f64;
    let t = t_quantile(1.0 - alpha / (2.0 * size), size - 2.0);
    (size - 1.0) / size.sqrt() * (t * t / (size - 2.0 + t * t)).sqrt()
}
