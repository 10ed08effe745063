//! Dunnett's comparison of several treatments with one control, exact for unequal numbers.
//!
//! The differences share the control, so their correlation is a product,
//! `ρ_ij = λ_i λ_j` with `λ_i = sqrt(n_i / (n_i + n_0))`, and one integral over the control's
//! error and one over the error standard deviation suffice. The two-sided table of 1955 is
//! approximate; the values here are those of the exact integral. Numeric kernels: NaN outside their
//! domain, as in [`super::distribution`].

use super::distribution::{
    mean_over_scaled_chi, normal_below_quick, normal_density, root_above, root_between, t_below,
    t_quantile, t_two_sided,
};
use super::quadrature::{between, legendre};
use std::sync::OnceLock;

/// Which differences count.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sides {
    /// Either direction.
    Two,
    /// Only treatments above the control.
    Greater,
    /// Only treatments below the control.
    Less,
}

/// The control's share in each difference, `sqrt(n_i / (n_i + n_0))`.
///
/// - Equation: λᵢ = √(nᵢ/(nᵢ + n₀))
/// - Units: n \[counted\], λ \[1\]
/// - Valid: a control with a value
/// - Source: Dunnett 1955 (from memory, to be confirmed); equal numbers give √½
///
/// ```
/// let l = trials::stats::dunnett::loadings(&[5, 20], 5);
/// assert!((l[0] - 0.5_f64.sqrt()).abs() < 1e-15 && (l[1] - 0.8_f64.sqrt()).abs() < 1e-15);
/// ```
pub fn loadings(treatment_n: &[usize], control_n: usize) -> Vec<f64> {
    treatment_n
        .iter()
        .map(|&n| (n as f64 / (n + control_n) as f64).sqrt())
        .collect()
}

fn rule() -> &'static [(f64, f64)] {
    static RULE: OnceLock<Vec<(f64, f64)>> = OnceLock::new();
    RULE.get_or_init(|| legendre(48))
}

/// Probability that every difference over its standard error stays within `d` (two-sided) or
/// below `d` (one-sided).
///
/// - Equation: mean over the error's spread s and a common normal z of Π (Φ((ds + λᵢz)/√(1 − λᵢ²)) − Φ((−ds +
///   λᵢz)/√(1 − λᵢ²)))
/// - Units: d \[1\], ν \[degrees of freedom\], probability \[1\]
/// - Valid: λ between 0 and 1, ν above 0 or infinite
/// - Source: Dunnett 1955, integral done again; 2.758997 by two other programs, 2.76 in the table of 1964 (from
///   memory, to be confirmed)
///
/// ```
/// use trials::stats::dunnett::{Sides, below, loadings};
/// let p = below(2.7589969783734816, &loadings(&[5, 5, 5], 5), 10.0, Sides::Two);
/// assert!((p - 0.95).abs() < 1e-9); // exact; the table of 1955 prints 2.81
/// ```
pub fn below(d: f64, loadings: &[f64], df: f64, sides: Sides) -> f64 {
    if d.is_nan() || df.is_nan() {
        return f64::NAN;
    }
    let two = sides == Sides::Two;
    if two && d <= 0.0 {
        return 0.0;
    }
    if d.is_infinite() {
        return if d > 0.0 { 1.0 } else { 0.0 };
    }
    if loadings.len() == 1 {
        return if two {
            1.0 - t_two_sided(d, df)
        } else {
            t_below(d, df)
        };
    }
    // Two-sided the integrand is even in z.
    let cuts: &[f64] = if two {
        &[0.0, 4.0, 8.5]
    } else {
        &[-8.5, -3.0, 3.0, 8.5]
    };
    let nodes: Vec<(f64, f64)> = cuts
        .windows(2)
        .flat_map(|cut| between(rule(), cut[0], cut[1]))
        .map(|(z, w)| (z, w * normal_density(z) * if two { 2.0 } else { 1.0 }))
        .collect();
    let own: Vec<(f64, f64)> = loadings
        .iter()
        .map(|l| (*l, (1.0 - l * l).sqrt()))
        .collect();
    mean_over_scaled_chi(df, (8.0 / d.abs()).min(1e9), |s| {
        let reach = d * s;
        nodes
            .iter()
            .map(|&(z, weight)| {
                let mut all = weight;
                for &(l, rest) in &own {
                    let upper = normal_below_quick((reach + l * z) / rest);
                    all *= if two {
                        upper - normal_below_quick((-reach + l * z) / rest)
                    } else {
                        upper
                    };
                    if all == 0.0 {
                        break;
                    }
                }
                all
            })
            .sum()
    })
    .clamp(0.0, 1.0)
}

/// Adjusted p-value of a difference over its standard error `t`.
///
/// - Equation: 1 − P(all within |t|)
/// - Units: t and p \[1\], ν \[degrees of freedom\]
/// - Valid: as `below`
/// - Source: one treatment alone is Student's t, an identity
///
/// ```
/// use trials::stats::dunnett::{Sides, p_value};
/// let p = p_value(2.228_138_851_986_164, &[0.5_f64.sqrt()], 10.0, Sides::Two);
/// assert!((p - 0.05).abs() < 1e-10);
/// ```
pub fn p_value(t: f64, loadings: &[f64], df: f64, sides: Sides) -> f64 {
    match sides {
        Sides::Two => 1.0 - below(t.abs(), loadings, df, sides),
        Sides::Greater => 1.0 - below(t, loadings, df, sides),
        Sides::Less => 1.0 - below(-t, loadings, df, sides),
    }
    .clamp(0.0, 1.0)
}

/// The critical value with family confidence `p`.
///
/// - Equation: d with P(all within d) = p
/// - Units: p and d \[1\], ν \[degrees of freedom\]
/// - Valid: p between 0 and 1
/// - Source: 2.758997 for three treatments and 10 degrees of freedom by two other programs
///
/// ```
/// use trials::stats::dunnett::{Sides, loadings, quantile};
/// let d = quantile(0.95, &loadings(&[5, 5, 5], 5), 10.0, Sides::Two);
/// assert!((d - 2.758_997).abs() < 1e-5);
/// ```
pub fn quantile(p: f64, loadings: &[f64], df: f64, sides: Sides) -> f64 {
    let rest = |d: f64| below(d, loadings, df, sides) - p;
    let tail = if sides == Sides::Two { 0.5 } else { 1.0 } * (1.0 - p);
    if tail >= 0.5 || loadings.is_empty() {
        return root_above(rest, 0.0, 3.0);
    }
    // Between one difference by itself and all of them by Bonferroni.
    let least = t_quantile(1.0 - tail, df);
    if loadings.len() == 1 {
        return least;
    }
    let most = t_quantile(1.0 - tail / loadings.len() as f64, df);
    root_between(rest, least, most)
}
