//! Contrasts: weighted sums of means.

use super::distribution::{f_quantile, t_two_sided};
use super::one_way::Group;

/// A contrast and its test.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Contrast {
    /// The weighted sum.
    pub estimate: f64,
    /// Its standard error.
    pub se: f64,
    /// Estimate over standard error.
    pub t: f64,
    /// Two-sided p-value, unadjusted.
    pub p: f64,
    /// Degrees of freedom.
    pub df: f64,
}

/// The contrast of group means with a common error variance.
///
/// - Equation: Σ wᵢ x̄ᵢ with se = √(σ² Σ wᵢ²/nᵢ)
/// - Units: \[as the values\], weights \[1\]
/// - Valid: independent groups, errors of one variance
/// - Source: textbook; the example by hand
///
/// ```
/// use trials::stats::{contrast::contrast, one_way::Group};
/// let groups = [Group::of(&[1.0, 3.0]), Group::of(&[6.0, 10.0])];
/// let c = contrast(&[-1.0, 1.0], &groups, 5.0, 2.0);
/// assert!((c.estimate - 6.0).abs() < 1e-12 && (c.se - 5.0_f64.sqrt()).abs() < 1e-12);
/// ```
pub fn contrast(weights: &[f64], groups: &[Group], error_variance: f64, df: f64) -> Contrast {
    let estimate: f64 = weights.iter().zip(groups).map(|(w, g)| w * g.mean).sum();
    let form: f64 = weights
        .iter()
        .zip(groups)
        .map(|(w, g)| w * w / g.n as f64)
        .sum();
    of(estimate, (form * error_variance).sqrt(), df)
}

/// A contrast from its estimate and standard error.
///
/// - Equation: t = estimate/se, p two-sided on ν
/// - Units: estimate and se \[as the values\], t and p \[1\], ν \[degrees of freedom\]
/// - Valid: se above 0
/// - Source: definition; 2.228139 on 10 degrees of freedom has p 0.05
///
/// ```
/// let c = trials::stats::contrast::of(2.228_138_851_986_164, 1.0, 10.0);
/// assert!((c.p - 0.05).abs() < 1e-12);
/// ```
pub fn of(estimate: f64, se: f64, df: f64) -> Contrast {
    let t = estimate / se;
    Contrast {
        estimate,
        se,
        t,
        p: t_two_sided(t, df),
        df,
    }
}

/// Scheffé's critical |t| for any contrast whatever of `k` means: `sqrt((k-1) F)`.
pub(crate) fn scheffe_critical(k: usize, df: f64, confidence: f64) -> f64 {
    let df1 = k as f64 - 1.0;
    (df1 * f_quantile(confidence, df1, df)).sqrt()
}

/// Orthogonal polynomial weights for `k` equally spaced levels, degree by degree from linear,
/// scaled so that the smallest non-zero weight is 1.
///
/// - Rule: orthogonal polynomials over equally spaced levels by Gram and Schmidt
/// - Units: weights \[1\]
/// - Valid: two levels or more
/// - Source: tables of orthogonal polynomials, −3 −1 1 3 for four levels
///
/// ```
/// let weights = trials::stats::contrast::polynomial(4);
/// assert!(weights[0].iter().zip([-3.0, -1.0, 1.0, 3.0]).all(|(a, b)| (a - b).abs() < 1e-9));
/// ```
pub fn polynomial(k: usize) -> Vec<Vec<f64>> {
    let centre = (k as f64 - 1.0) / 2.0;
    let mut basis: Vec<Vec<f64>> = vec![vec![1.0; k]];
    for degree in 1..k {
        let mut next: Vec<f64> = (0..k)
            .map(|i| (i as f64 - centre).powi(i32::try_from(degree).unwrap_or(i32::MAX)))
            .collect();
        for _ in 0..2 {
            for earlier in &basis {
                let dot: f64 = next.iter().zip(earlier).map(|(a, b)| a * b).sum();
                let own: f64 = earlier.iter().map(|a| a * a).sum();
                for (n, e) in next.iter_mut().zip(earlier) {
                    *n -= dot / own * e;
                }
            }
        }
        let largest = next.iter().fold(0.0_f64, |m, v| m.max(v.abs()));
        let smallest = next
            .iter()
            .map(|v| v.abs())
            .filter(|v| *v > 1e-9 * largest)
            .fold(f64::INFINITY, f64::min);
        basis.push(next.iter().map(|v| v / smallest).collect());
    }
    basis.remove(0);
    basis
}
