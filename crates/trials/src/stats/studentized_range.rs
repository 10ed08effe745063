//! The studentised range: the spread of k means over an error standard deviation with v degrees
//! of freedom. Numeric kernels: NaN outside their domain, as in [`super::distribution`].

use super::distribution::{
    mean_over_scaled_chi, normal_below, normal_below_quick, normal_density, root_between,
    t_quantile, t_two_sided,
};
use super::quadrature::{between, legendre};
use std::f64::consts::SQRT_2;
use std::sync::OnceLock;

/// Where the normal is cut: the density beyond is below 1e-16.
///
/// - Units: \[standard deviations\]
/// - Source: a numerical choice
const EDGE: f64 = 8.5;

/// Nodes over the normal with weight times density and the probability below each.
fn nodes() -> &'static [(f64, f64, f64)] {
    static NODES: OnceLock<Vec<(f64, f64, f64)>> = OnceLock::new();
    NODES.get_or_init(|| {
        between(&legendre(128), -EDGE, EDGE)
            .map(|(z, w)| (z, w * normal_density(z), normal_below(z)))
            .collect()
    })
}

/// Probability that the range of `k` standard normals is below `w`:
/// `k ∫ φ(z) (Φ(z) - Φ(z - w))^(k-1) dz`.
fn range_below(w: f64, k: usize) -> f64 {
    let power = i32::try_from(k).unwrap_or(i32::MAX) - 1;
    let total: f64 = nodes()
        .iter()
        .map(|&(z, weight, below)| {
            let lower = z - w;
            let inside = if lower < -EDGE {
                below
            } else {
                below - normal_below_quick(lower)
            };
            weight * inside.powi(power)
        })
        .sum();
    (k as f64 * total).min(1.0)
}

/// Probability that the studentised range of `k` means with `df` error degrees of freedom
/// (infinite allowed, fractions allowed) is below `q`.
///
/// - Equation: mean over s of k ∫ φ(z)(Φ(z) − Φ(z − q s))^(k−1) dz
/// - Units: q \[1\], ν \[degrees of freedom\], probability \[1\]
/// - Valid: two means or more, ν above 0 or infinite
/// - Source: definition; R in the example
///
/// ```
/// let p = trials::stats::studentized_range::below(3.5, 3, 20.0);
/// assert!((p - 0.944108150917941).abs() < 1e-9); // R 4.2.2
/// ```
pub fn below(q: f64, k: usize, df: f64) -> f64 {
    if q.is_nan() || df.is_nan() || df <= 0.0 || k < 2 {
        return f64::NAN;
    }
    if q <= 0.0 {
        return 0.0;
    }
    if q.is_infinite() {
        return 1.0;
    }
    if k == 2 {
        return 1.0 - t_two_sided(q / SQRT_2, df);
    }
    mean_over_scaled_chi(df, 10.0 / q, |s| range_below(q * s, k)).clamp(0.0, 1.0)
}

/// Probability above `q`: the p-value of a Tukey comparison.
///
/// - Equation: 1 − P(Q < q)
/// - Units: q \[1\], ν \[degrees of freedom\], p \[1\]
/// - Valid: two means or more, ν above 0 or infinite
/// - Source: R: P(Q < 3.5) is 0.9441082 for 3 means on 20
///
/// ```
/// let p = trials::stats::studentized_range::above(3.5, 3, 20.0);
/// assert!((p - (1.0 - 0.944_108_150_917_941)).abs() < 1e-9);
/// ```
pub fn above(q: f64, k: usize, df: f64) -> f64 {
    if q.is_nan() || df.is_nan() || df <= 0.0 || k < 2 {
        return f64::NAN;
    }
    if q <= 0.0 {
        return 1.0;
    }
    if k == 2 {
        return t_two_sided(q / SQRT_2, df);
    }
    mean_over_scaled_chi(df, 10.0 / q, |s| 1.0 - range_below(q * s, k)).clamp(0.0, 1.0)
}

/// The quantile: the critical value of Tukey's method.
///
/// - Equation: q with P(Q < q) = p
/// - Units: p and q \[1\], ν \[degrees of freedom\]
/// - Valid: p between 0 and 1
/// - Source: R in the example
///
/// ```
/// let q = trials::stats::studentized_range::quantile(0.95, 3, 10.0);
/// assert!((q - 3.87677674919156).abs() < 1e-7); // R 4.2.2
/// ```
pub fn quantile(p: f64, k: usize, df: f64) -> f64 {
    if !(p > 0.0 && p < 1.0) || k < 2 || df.is_nan() || df <= 0.0 {
        return f64::NAN;
    }
    // Between one pair by itself and all of them by Bonferroni.
    let least = SQRT_2 * t_quantile(0.5 * (1.0 + p), df);
    if k == 2 {
        return least;
    }
    let many = (k * (k - 1)) as f64;
    let most = SQRT_2 * t_quantile(1.0 - (1.0 - p) / many, df);
    root_between(|q| below(q, k, df) - p, least, most)
}
