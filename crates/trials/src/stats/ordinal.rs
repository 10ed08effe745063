//! Ordinal scores honestly: the proportional-odds model (McCullagh 1980).

use super::distribution::chi_square_above;
use super::glm::expit;
use super::optimise::minimise;
use nalgebra::DMatrix;

/// A fitted proportional-odds model, `logit P(score ≤ j) = θ_j - x'β`.
#[derive(Clone, Debug)]
pub struct ProportionalOdds {
    /// Cut points θ between the scores, rising.
    pub cuts: Vec<f64>,
    /// Effects β: positive means higher scores; `exp(β)` is an odds ratio.
    pub effects: Vec<f64>,
    /// Covariance of the effects.
    pub covariance: DMatrix<f64>,
    /// Log likelihood.
    pub ln_likelihood: f64,
    /// Likelihood ratio against no effects at all.
    pub likelihood_ratio: f64,
    /// Its p-value.
    pub p: f64,
    /// Whether it settled.
    pub converged: bool,
}

/// Fits scores 0..levels to the columns (no intercept: the cuts take its place).
pub fn proportional_odds(
    columns: &[Vec<f64>],
    scores: &[usize],
    levels: usize,
) -> ProportionalOdds {
    let cuts = levels - 1;
    let p = columns.len();
    let n = scores.len() as f64;
    // The first cut and the logs of the steps, so that cuts stay in order.
    let minus_ln = |at: &[f64], with: bool| -> f64 {
        let mut thetas = Vec::with_capacity(cuts);
        let mut theta = at[0];
        thetas.push(theta);
        for step in &at[1..cuts] {
            theta += step.clamp(-30.0, 30.0).exp();
            thetas.push(theta);
        }
        -scores
            .iter()
            .enumerate()
            .map(|(i, &s)| {
                let eta: f64 = if with {
                    columns.iter().zip(&at[cuts..]).map(|(c, b)| c[i] * b).sum()
                } else {
                    0.0
                };
                let upper = if s == cuts {
                    1.0
                } else {
                    expit(thetas[s] - eta)
                };
                let lower = if s == 0 {
                    0.0
                } else {
                    expit(thetas[s - 1] - eta)
                };
                (upper - lower).max(1e-300).ln()
            })
            .sum::<f64>()
    };
    let mut start = Vec::with_capacity(cuts + p);
    let mut before = f64::NAN;
    for j in 0..cuts {
        let share = (scores.iter().filter(|&&s| s <= j).count() as f64 + 0.5) / (n + 1.0);
        let theta = (share / (1.0 - share)).ln();
        start.push(if j == 0 {
            theta
        } else {
            (theta - before).max(1e-3).ln()
        });
        before = theta;
    }
    let bare = minimise(|at| minus_ln(at, false), &start);
    start = bare.at.clone();
    start.extend(std::iter::repeat_n(0.0, p));
    let found = minimise(|at| minus_ln(at, true), &start);
    let mut thetas = vec![found.at[0]];
    for step in &found.at[1..cuts] {
        thetas.push(thetas[thetas.len() - 1] + step.exp());
    }
    let likelihood_ratio = (2.0 * (bare.value - found.value)).max(0.0);
    let covariance = found.hessian.clone().try_inverse().map_or_else(
        || DMatrix::from_element(p, p, f64::NAN),
        |c| c.view((cuts, cuts), (p, p)).into_owned(),
    );
    ProportionalOdds {
        cuts: thetas,
        effects: found.at[cuts..].to_vec(),
        covariance,
        ln_likelihood: -found.value,
        likelihood_ratio,
        p: chi_square_above(likelihood_ratio, p as f64),
        converged: found.converged && found.at[cuts..].iter().all(|b| b.abs() < 20.0),
    }
}
