//! Values that stand out: flagged, never dropped by the program.

use super::distribution::t_two_sided;

/// Externally studentised residuals: each judged against the error left when its row is out.
///
/// None where leverage is 1 or nothing is left to judge against.
pub fn studentised(residuals: &[f64], leverage: &[f64], rss: f64, df: f64) -> Vec<Option<f64>> {
    residuals
        .iter()
        .zip(leverage)
        .map(|(&e, &h)| {
            let rest = 1.0 - h;
            let left = (rss - e * e / rest) / (df - 1.0);
            let judged = rest >= 1e-10 && df > 1.0 && left > 0.0;
            judged
                .then(|| e / (left * rest).sqrt())
                .filter(|t| t.is_finite())
        })
        .collect()
}

/// Bonferroni p-value of the largest of `n` studentised residuals (may be above 1: cut there); none
/// where fewer than two degrees of freedom leave nothing to judge against.
pub fn bonferroni_p(residual: f64, n: usize, df: f64) -> Option<f64> {
    (df > 1.0).then(|| (n as f64 * t_two_sided(residual, df - 1.0)).min(1.0))
}
