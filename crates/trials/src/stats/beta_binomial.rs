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
pub fn ln_probability(k: f64, n: f64, p: f64, rho: f64) -> f64 {
    let strength = (1.0 - rho) / rho;
    let (a, b) = (p * strength, (1.0 - p) * strength);
    super::glm::ln_choose(n, k) + ln_gamma(k + a) + ln_gamma(n - k + b) + ln_gamma(strength)
        - ln_gamma(n + strength)
        - ln_gamma(a)
        - ln_gamma(b)
}

/// Fits k of n to the columns with a common correlation.
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
