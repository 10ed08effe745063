//! Binomial regression with a random intercept per group, by Laplace's approximation or adaptive
//! Gauss–Hermite quadrature.

use super::glm::{binomial, expit, ln_1p_exp, ln_choose};
use super::optimise::minimise;
use nalgebra::{DMatrix, SymmetricEigen};
use std::f64::consts::PI;

/// A fitted mixed binomial model.
#[derive(Clone, Debug)]
pub struct BinomialMixed {
    /// Fixed coefficients on the logit scale.
    pub coefficients: Vec<f64>,
    /// Their covariance, from the curvature of the likelihood.
    pub covariance: DMatrix<f64>,
    /// Standard deviation between groups on the logit scale.
    pub sd: f64,
    /// Log likelihood.
    pub ln_likelihood: f64,
    /// Whether it settled.
    pub converged: bool,
    /// Whether the groups differ no more than chance alone would make them (sd at zero).
    pub singular: bool,
}

/// Nodes and weights of Gauss–Hermite quadrature for ∫ f(x) e^(-x²) dx (Golub and Welsch).
///
/// - Equation: nodes and weights of ∫ f(x) e^(−x²) dx, eigenvalues of Jacobi's matrix
/// - Units: nodes and weights \[1\]
/// - Valid: one point or more
/// - Source: Golub and Welsch 1969 (from memory, to be confirmed); ∫ x² e^(−x²) dx = √π/2
///
/// ```
/// let rule = trials::stats::glmm::hermite(5);
/// let second: f64 = rule.iter().map(|(x, w)| w * x * x).sum();
/// assert!((second - std::f64::consts::PI.sqrt() / 2.0).abs() < 1e-12);
/// ```
pub fn hermite(points: usize) -> Vec<(f64, f64)> {
    let mut jacobi = DMatrix::<f64>::zeros(points, points);
    for i in 1..points {
        let b = (i as f64 / 2.0).sqrt();
        jacobi[(i, i - 1)] = b;
        jacobi[(i - 1, i)] = b;
    }
    let eigen = SymmetricEigen::new(jacobi);
    (0..points)
        .map(|i| {
            (
                eigen.eigenvalues[i],
                PI.sqrt() * eigen.eigenvectors[(0, i)].powi(2),
            )
        })
        .collect()
}

/// Fits k of n to the columns with one random intercept per group code; `points` 1 is Laplace.
///
/// - Rule: maximum likelihood with one normal intercept per group, integral by adaptive Gauss and Hermite
/// - Units: k and n \[counted\], coefficients and sd \[log odds\]
/// - Valid: columns without alias
/// - Source: the model of R's glmer, whose answer for a public data set is met in the tests; groups that don't
///   differ have spread 0
///
/// ```
/// let found = trials::stats::glmm::binomial_mixed(&[vec![1.0; 4]], &[10.0; 4], &[40.0; 4], &[0, 0, 1, 1], 9);
/// assert!(found.singular && (found.coefficients[0] - (0.25_f64 / 0.75).ln()).abs() < 1e-4);
/// ```
pub fn binomial_mixed(
    columns: &[Vec<f64>],
    k: &[f64],
    n: &[f64],
    groups: &[usize],
    points: usize,
) -> BinomialMixed {
    let count = groups.iter().max().map_or(0, |m| m + 1);
    let mut members = vec![Vec::new(); count];
    for (row, &g) in groups.iter().enumerate() {
        members[g].push(row);
    }
    let start = binomial(columns, k, n);
    let p = columns.len();
    let rule = hermite(points);
    let constant: f64 = k.iter().zip(n).map(|(k, n)| ln_choose(*n, *k)).sum();
    let minus_ln = |at: &[f64]| -> f64 {
        let sd = at[p].abs();
        let eta: Vec<f64> = (0..k.len())
            .map(|i| columns.iter().zip(at).map(|(c, b)| c[i] * b).sum())
            .collect();
        let mut total = constant;
        for rows in &members {
            // Standardised random effect u: ln density at u.
            let height = |u: f64| -> f64 {
                rows.iter()
                    .map(|&i| {
                        let e = eta[i] + sd * u;
                        k[i] * e - n[i] * ln_1p_exp(e)
                    })
                    .sum::<f64>()
                    - 0.5 * u * u
            };
            let mut mode = 0.0_f64;
            let mut curve = 1.0;
            for _ in 0..100 {
                let mut slope = -mode;
                curve = 1.0;
                for &i in rows {
                    let e = eta[i] + sd * mode;
                    slope += sd * (k[i] - n[i] * expit(e));
                    curve += sd * sd * n[i] * expit(e) * expit(-e);
                }
                let step = slope / curve;
                mode += step.clamp(-3.0, 3.0);
                if step.abs() < 1e-13 {
                    break;
                }
            }
            let top = height(mode);
            if points == 1 {
                total += top - 0.5 * curve.ln();
            } else {
                let width = (2.0 / curve).sqrt();
                let area: f64 = rule
                    .iter()
                    .map(|(x, w)| w * (x * x + height(mode + width * x) - top).exp())
                    .sum();
                total += top + (width * area / (2.0 * PI).sqrt()).ln();
            }
        }
        -total
    };
    let mut from = start.coefficients.clone();
    from.push(0.5);
    let found = minimise(minus_ln, &from);
    let sd = found.at[p].abs();
    let singular = sd < 1e-3;
    let covariance = if singular {
        start.covariance.clone()
    } else {
        found.hessian.clone().try_inverse().map_or_else(
            || start.covariance.clone(),
            |c| c.view((0, 0), (p, p)).into_owned(),
        )
    };
    BinomialMixed {
        coefficients: found.at[..p].to_vec(),
        covariance,
        sd: if singular { 0.0 } else { sd },
        ln_likelihood: -found.value,
        converged: found.converged && start.coefficients.iter().all(|c| c.abs() < 20.0),
        singular,
    }
}
