//! Beta-binomial regression: counts k of n whose chance itself varies from batch to batch.

use super::glm::{binomial, expit};
use super::optimise::minimise;
use libm::lgamma as ln_gamma;
use nalgebra::DMatrix;

/// A fitted beta-binomial model.
#[derive(Clone, Debug)]
pub struct BetaBinomial {
    /// Coefficients on the logit scale.
    pub coefficients: Vec<f64>,
    /// Their covariance.
    pub covariance: DMatrix<f64>,
    /// Correlation of two pieces of one batch, 0 when plain binomial.
    pub correlation: f64,
    /// Log likelihood.
    pub ln_likelihood: f64,
    /// Whether it settled.
    pub converged: bool,
}

/// ln of the probability of k of n with mean chance `p` and correlation `rho` in (0, 1).
///
/// - Equation: ln(C(n, k) B(k + a, n − k + b)/B(a, b)), a = p (1 − ρ)/ρ, b = (1 − p)(1 − ρ)/ρ
/// - Units: k and n \[counted\], p and ρ \[1\]
/// - Valid: 0 ≤ k ≤ n, p and ρ between 0 and 1
/// - Source: definition; with a = b = 1 (p ½, ρ ⅓) every count is as likely, 1/(n + 1)
///
/// ```
/// let p = trials::stats::beta_binomial::ln_probability(2.0, 4.0, 0.5, 1.0 / 3.0).exp();
/// assert!((p - 0.2).abs() < 1e-12);
/// ```
pub fn ln_probability(k: f64, n: f64, p: f64, rho: f64) -> f64 {
    let strength = (1.0 - rho) / rho;
    let (a, b) = (p * strength, (1.0 - p) * strength);
    super::glm::ln_choose(n, k) + ln_gamma(k + a) + ln_gamma(n - k + b) + ln_gamma(strength)
        - ln_gamma(n + strength)
        - ln_gamma(a)
        - ln_gamma(b)
}

/// Fits k of n to the columns with a common correlation.
///
/// - Rule: maximum likelihood over coefficients of the log odds and one correlation
/// - Units: k and n \[counted\], coefficients \[log odds\], correlation \[1\]
/// - Valid: counts of groups of pieces, n above 0
/// - Source: Williams 1975 (from memory, to be confirmed); without more spread than chance gives it is logistic
///   regression
///
/// ```
/// // Shares that lie closer together than chance lets them: the correlation is 0, the share the pooled one.
/// let found = trials::stats::beta_binomial::beta_binomial(&[vec![1.0; 4]], &[10.0; 4], &[40.0; 4]);
/// assert!(found.correlation < 1e-3 && (found.coefficients[0] - (0.25_f64 / 0.75).ln()).abs() < 1e-4);
/// ```
pub fn beta_binomial(columns: &[Vec<f64>], k: &[f64], n: &[f64]) -> BetaBinomial {
    let start = binomial(columns, k, n);
    let p = columns.len();
    let minus_ln = |at: &[f64]| -> f64 {
        let rho = expit(at[p].clamp(-14.0, 14.0));
        -(0..k.len())
            .map(|i| {
                let eta: f64 = columns.iter().zip(at).map(|(c, b)| c[i] * b).sum();
                let chance = expit(eta).clamp(1e-12, 1.0 - 1e-12);
                ln_probability(k[i], n[i], chance, rho)
            })
            .sum::<f64>()
    };
    let mut from: Vec<f64> = start
        .coefficients
        .iter()
        .map(|c| c.clamp(-8.0, 8.0))
        .collect();
    from.push(-3.0);
    let found = minimise(minus_ln, &from);
    let plain = found.at[p] < -10.0;
    let covariance = if plain {
        start.covariance.clone()
    } else {
        found.hessian.clone().try_inverse().map_or_else(
            || start.covariance.clone(),
            |c| c.view((0, 0), (p, p)).into_owned(),
        )
    };
    BetaBinomial {
        coefficients: found.at[..p].to_vec(),
        covariance,
        correlation: if plain { 0.0 } else { expit(found.at[p]) },
        ln_likelihood: -found.value,
        converged: found.converged && start.converged,
    }
}
