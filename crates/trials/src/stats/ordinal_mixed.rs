//! Scores of dogs or judges: the cumulative logit model with a random level per subject, by
//! adaptive Gauss–Hermite quadrature (one point: Laplace's approximation).

use super::glm::expit;
use super::glmm::hermite;
use super::optimise::minimise;
use super::ordinal::proportional_odds;
use nalgebra::DMatrix;
use std::f64::consts::PI;

/// A fitted model, `logit P(score ≤ j | u) = θ_j − x'β − u`, u normal per subject.
#[derive(Clone, Debug)]
pub struct OrdinalMixed {
    /// Cut points θ, rising.
    pub cuts: Vec<f64>,
    /// Effects β: positive means higher scores.
    pub effects: Vec<f64>,
    /// Covariance of cuts and effects together; none where the likelihood is flat.
    pub covariance: Option<DMatrix<f64>>,
    /// Standard deviation between subjects on the logit scale.
    pub sd: f64,
    /// Log likelihood.
    pub ln_likelihood: f64,
    /// Whether it settled.
    pub converged: bool,
}

/// Fits scores 0..levels to the columns (no intercept) with one random level per group code.
///
/// - Rule: as `proportional_odds` with one normal level per group, integral by adaptive Gauss and Hermite
/// - Units: scores \[counted from 0\], effects and sd \[log odds\]
/// - Valid: odds ratios alike at every cut
/// - Source: textbook; R's answers in the tests; groups that don't differ give the plain odds
///
/// ```
/// use trials::stats::ordinal_mixed::cumulative_mixed;
/// // Two dogs with the same scores: 10 of 40 without, 20 of 40 with.
/// let group: Vec<f64> = (0..80).map(|i| f64::from(u8::from(i >= 40))).collect();
/// let scores: Vec<usize> = (0..80).map(|i| usize::from((30..40).contains(&i) || i >= 60)).collect();
/// let dogs: Vec<usize> = (0..80).map(|i| i % 2).collect();
/// let found = cumulative_mixed(&[group], &scores, 2, &dogs, 9);
/// assert!((found.effects[0] - 3.0_f64.ln()).abs() < 0.01 && found.sd < 0.05);
/// ```
pub fn cumulative_mixed(
    columns: &[Vec<f64>],
    scores: &[usize],
    levels: usize,
    groups: &[usize],
    points: usize,
) -> OrdinalMixed {
    let cuts = levels - 1;
    let p = columns.len();
    let count = groups.iter().max().map_or(0, |m| m + 1);
    let mut members = vec![Vec::new(); count];
    for (row, &g) in groups.iter().enumerate() {
        members[g].push(row);
    }
    let rule = hermite(points);
    let thetas_of = |at: &[f64]| -> Vec<f64> {
        let mut theta = at[0];
        let mut out = vec![theta];
        for step in &at[1..cuts] {
            theta += step.clamp(-30.0, 30.0).exp();
            out.push(theta);
        }
        out
    };
    let minus_ln = |at: &[f64]| -> f64 {
        let thetas = thetas_of(at);
        let sd = at[cuts + p].abs();
        let eta: Vec<f64> = (0..scores.len())
            .map(|i| {
                columns
                    .iter()
                    .zip(&at[cuts..cuts + p])
                    .map(|(c, b)| c[i] * b)
                    .sum()
            })
            .collect();
        // Value, slope and bend of a row's log probability along its predictor.
        let row = |i: usize, e: f64| -> (f64, f64, f64) {
            let s = scores[i];
            let (upper, du) = if s == cuts {
                (1.0, 0.0)
            } else {
                let f = expit(thetas[s] - e);
                (f, f * (1.0 - f))
            };
            let (lower, dl) = if s == 0 {
                (0.0, 0.0)
            } else {
                let f = expit(thetas[s - 1] - e);
                (f, f * (1.0 - f))
            };
            let chance = (upper - lower).max(1e-300);
            // With logistic F: F' = F(1-F), d ln(F_u - F_l)/de = -(F'_u - F'_l)/(F_u - F_l) = F_u + F_l - 1.
            (chance.ln(), upper + lower - 1.0, -(du + dl))
        };
        let mut total = 0.0;
        for rows in &members {
            let height = |u: f64| -> f64 {
                rows.iter().map(|&i| row(i, eta[i] + sd * u).0).sum::<f64>() - 0.5 * u * u
            };
            let mut mode = 0.0_f64;
            let mut curve = 1.0;
            for _ in 0..100 {
                let mut slope = -mode;
                curve = 1.0;
                for &i in rows {
                    let (_, first, second) = row(i, eta[i] + sd * mode);
                    slope += sd * first;
                    curve -= sd * sd * second;
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
    let plain = proportional_odds(columns, scores, levels);
    let mut start = vec![plain.cuts[0]];
    for pair in plain.cuts.windows(2) {
        start.push((pair[1] - pair[0]).max(1e-3).ln());
    }
    start.extend(plain.effects.iter().map(|b| b.clamp(-8.0, 8.0)));
    start.push(0.7);
    let found = minimise(minus_ln, &start);
    let thetas = thetas_of(&found.at);
    let sd = found.at[cuts + p].abs();
    let size = cuts + p;
    // From the steps' logarithms to the cut points themselves.
    let mut jacobian = DMatrix::<f64>::identity(size, size);
    for j in 0..cuts {
        jacobian[(j, 0)] = 1.0;
        for l in 1..cuts {
            jacobian[(j, l)] = if l <= j { found.at[l].exp() } else { 0.0 };
        }
    }
    let singular = sd < 1e-3;
    let hessian = if singular {
        found.hessian.view((0, 0), (size, size)).into_owned()
    } else {
        found.hessian.clone()
    };
    let covariance = hessian
        .try_inverse()
        .map(|c| &jacobian * c.view((0, 0), (size, size)) * jacobian.transpose());
    let separated = found.at[cuts..size].iter().any(|b| b.abs() > 12.0);
    OrdinalMixed {
        cuts: thetas,
        effects: found.at[cuts..size].to_vec(),
        converged: found.converged
            && !separated
            && covariance
                .as_ref()
                .is_some_and(|c| c.diagonal().iter().all(|v| *v > 0.0 && *v < 400.0)),
        covariance,
        sd: if singular { 0.0 } else { sd },
        ln_likelihood: -found.value,
    }
}
