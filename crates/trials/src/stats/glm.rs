//! Binomial regression: k of n with a logit link, by iteratively reweighted least squares.

use super::least_squares::fit;
use libm::lgamma as ln_gamma;
use nalgebra::DMatrix;

/// Logistic function.
///
/// - Equation: 1/(1 + e^(−x))
/// - Units: x \[log odds\], result \[share\]
/// - Valid: any x
/// - Source: definition
///
/// ```
/// use trials::stats::glm::expit;
/// assert!((expit(3.0_f64.ln()) - 0.75).abs() < 1e-15 && expit(-800.0) == 0.0);
/// ```
pub fn expit(x: f64) -> f64 {
    if x >= 0.0 {
        1.0 / (1.0 + (-x).exp())
    } else {
        let e = x.exp();
        e / (1.0 + e)
    }
}

/// ln(1 + eˣ) without overflow.
pub(crate) fn ln_1p_exp(x: f64) -> f64 {
    if x > 0.0 {
        x + (-x).exp().ln_1p()
    } else {
        x.exp().ln_1p()
    }
}

/// ln of n over k.
pub(crate) fn ln_choose(n: f64, k: f64) -> f64 {
    ln_gamma(n + 1.0) - ln_gamma(k + 1.0) - ln_gamma(n - k + 1.0)
}

/// A fitted binomial model.
#[derive(Clone, Debug)]
pub struct Binomial {
    /// Coefficients on the logit scale.
    pub coefficients: Vec<f64>,
    /// Their covariance, no extra spread assumed.
    pub covariance: DMatrix<f64>,
    /// Residual deviance.
    pub deviance: f64,
    /// Residual degrees of freedom.
    pub df: f64,
    /// Pearson's chi-square over its degrees of freedom: above 1 means more spread than binomial. None
    /// without degrees of freedom.
    pub dispersion: Option<f64>,
    /// Log likelihood.
    pub ln_likelihood: f64,
    /// Whether it settled; a treatment with none or all counts as not settled.
    pub converged: bool,
}

/// Fits k of n to the columns, none of which may be aliased.
///
/// - Rule: maximum likelihood of the log odds, by weighted least squares again and again
/// - Units: k and n \[counted\], coefficients \[log odds\]
/// - Valid: columns without alias; shares off 0 and 1
/// - Source: textbook; two groups have the log of their odds ratio, with variance Σ 1/count
///
/// ```
/// let columns = [vec![1.0, 1.0], vec![0.0, 1.0]];
/// let found = trials::stats::glm::binomial(&columns, &[10.0, 20.0], &[40.0, 40.0]);
/// assert!((found.coefficients[1] - 3.0_f64.ln()).abs() < 1e-9);
/// assert!((found.covariance[(1, 1)] - (1.0 / 10.0 + 1.0 / 30.0 + 2.0 / 20.0)).abs() < 1e-9);
/// ```
pub fn binomial(columns: &[Vec<f64>], k: &[f64], n: &[f64]) -> Binomial {
    let rows = k.len();
    let mut eta: Vec<f64> = k
        .iter()
        .zip(n)
        .map(|(k, n)| ((k + 0.5) / (n - k + 0.5)).ln())
        .collect();
    let mut coefficients = vec![0.0; columns.len()];
    let mut covariance = DMatrix::zeros(columns.len(), columns.len());
    let mut converged = false;
    for _ in 0..60 {
        let weights: Vec<f64> = eta
            .iter()
            .zip(n)
            .map(|(e, n)| (n * expit(*e) * expit(-*e)).max(1e-12).sqrt())
            .collect();
        let working: Vec<f64> = (0..rows)
            .map(|i| weights[i] * eta[i] + (k[i] - n[i] * expit(eta[i])) / weights[i])
            .collect();
        let scaled: Vec<Vec<f64>> = columns
            .iter()
            .map(|c| c.iter().zip(&weights).map(|(c, w)| c * w).collect())
            .collect();
        let step = fit(&scaled, &working);
        let next: Vec<f64> = step.coefficients.iter().map(|c| c.unwrap_or(0.0)).collect();
        let moved = next
            .iter()
            .zip(&coefficients)
            .map(|(a, b)| (a - b).abs())
            .fold(0.0, f64::max);
        coefficients = next;
        covariance = step.inverse.clone();
        eta = (0..rows)
            .map(|i| {
                columns
                    .iter()
                    .zip(&coefficients)
                    .map(|(c, b)| c[i] * b)
                    .sum::<f64>()
                    .clamp(-30.0, 30.0)
            })
            .collect();
        if moved < 1e-12 {
            converged = true;
            break;
        }
    }
    converged &= eta.iter().all(|e| e.abs() < 20.0);
    let term = |k: f64, expected: f64| {
        if k > 0.0 {
            k * (k / expected).ln()
        } else {
            0.0
        }
    };
    let mut deviance = 0.0;
    let mut pearson = 0.0;
    let mut ln_likelihood = 0.0;
    for i in 0..rows {
        let p = expit(eta[i]);
        deviance += 2.0 * (term(k[i], n[i] * p) + term(n[i] - k[i], n[i] * expit(-eta[i])));
        pearson += (k[i] - n[i] * p).powi(2) / (n[i] * p * expit(-eta[i])).max(1e-300);
        ln_likelihood += ln_choose(n[i], k[i]) + k[i] * eta[i] - n[i] * ln_1p_exp(eta[i]);
    }
    let df = rows as f64 - columns.len() as f64;
    Binomial {
        coefficients,
        covariance,
        deviance,
        df,
        dispersion: (df > 0.0).then(|| pearson / df),
        ln_likelihood,
        converged,
    }
}
