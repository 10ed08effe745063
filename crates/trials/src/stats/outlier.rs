//! Values that stand out: flagged, never dropped by the program.

use super::distribution::t_two_sided;

/// Externally studentised residuals: each judged against the error left when its row is out.
///
/// None where leverage is 1 or nothing is left to judge against.
///
/// - Equation: tᵢ = eᵢ/√(s₍ᵢ₎² (1 − hᵢ)), s₍ᵢ₎² = (RSS − eᵢ²/(1 − hᵢ))/(ν − 1)
/// - Units: residuals \[as the values\], leverage and t \[1\]
/// - Valid: leverage under 1, two degrees of freedom left
/// - Source: textbook; the example by hand
///
/// ```
/// use trials::stats::outlier::studentised;
/// // Four values about their mean 0, −1 −1 −1 3: RSS 12 − 9/0.75 leaves nothing for the last but 0.
/// let t = studentised(&[-1.0, -1.0, -1.0, 3.0], &[0.25; 4], 12.0, 3.0);
/// assert_eq!(t[3], None);
/// // (12 − 1/0.75)/2 · 0.75 = 4.
/// assert!((t[0].unwrap() + 0.5).abs() < 1e-12);
/// ```
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
///
/// - Equation: p = min(n · p_t(t, ν − 1), 1)
/// - Units: t and p \[1\], ν \[degrees of freedom\]
/// - Valid: ν above 1
/// - Source: Bonferroni; R for a public data set: 2.537341 of 30 on 27 has 0.525256
///
/// ```
/// let p = trials::stats::outlier::bonferroni_p(2.537_341_382_347_85, 30, 27.0).unwrap();
/// assert!((p - 0.525_256_134_029_8).abs() < 1e-9);
/// ```
pub fn bonferroni_p(residual: f64, n: usize, df: f64) -> Option<f64> {
    (df > 1.0).then(|| (n as f64 * t_two_sided(residual, df - 1.0)).min(1.0))
}
