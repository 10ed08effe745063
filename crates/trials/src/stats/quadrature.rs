//! Gauss–Legendre quadrature.

use std::sync::OnceLock;

/// Nodes and weights on [-1, 1], found by Newton steps on the Legendre polynomial.
///
/// - Rule: Newton's steps on the polynomial of Legendre
/// - Units: nodes and weights \[1\]
/// - Valid: one point or more; exact for polynomials of degree 2 n − 1
/// - Source: textbook; ∫x⁸ from −1 to 1 is 2/9
///
/// ```
/// let rule = trials::stats::quadrature::legendre(5);
/// let integral: f64 = rule.iter().map(|(x, w)| w * x.powi(8)).sum();
/// assert!((integral - 2.0 / 9.0).abs() < 1e-15);
/// ```
pub fn legendre(points: usize) -> Vec<(f64, f64)> {
    let n = points as f64;
    (0..points)
        .map(|i| {
            let mut x = (std::f64::consts::PI * (i as f64 + 0.75) / (n + 0.5)).cos();
            let mut slope = 0.0;
            for _ in 0..100 {
                let (mut p0, mut p1) = (1.0, x);
                for k in 2..=points {
                    let k = k as f64;
                    (p0, p1) = (p1, ((2.0 * k - 1.0) * x * p1 - (k - 1.0) * p0) / k);
                }
                slope = n * (x * p1 - p0) / (x * x - 1.0);
                let step = p1 / slope;
                x -= step;
                if step.abs() < 1e-16 {
                    break;
                }
            }
            (-x, 2.0 / ((1.0 - x * x) * slope * slope))
        })
        .collect()
}

/// The 64-point rule, worked out once.
pub(crate) fn legendre_64() -> &'static [(f64, f64)] {
    static RULE: OnceLock<Vec<(f64, f64)>> = OnceLock::new();
    RULE.get_or_init(|| legendre(64))
}

/// The rule carried to [low, high].
///
/// - Equation: x′ = centre + half · x, w′ = half · w
/// - Units: \[as the limits\]
/// - Valid: any limits
/// - Source: an identity; ∫x² from 0 to 3 is 9
///
/// ```
/// use trials::stats::quadrature::{between, legendre};
/// let integral: f64 = between(&legendre(5), 0.0, 3.0).map(|(x, w)| w * x * x).sum();
/// assert!((integral - 9.0).abs() < 1e-12);
/// ```
pub fn between(rule: &[(f64, f64)], low: f64, high: f64) -> impl Iterator<Item = (f64, f64)> + '_ {
    let (centre, half) = (0.5 * (low + high), 0.5 * (high - low));
    rule.iter().map(move |(x, w)| (centre + half * x, half * w))
}
