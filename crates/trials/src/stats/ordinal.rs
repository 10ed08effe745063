//! Ordinal scores honestly: the proportional-odds model (McCullagh 1980).

use super::distribution::chi_square_above;
use super::glm::expit;
use nalgebra::{DMatrix, DVector};

/// A fitted proportional-odds model, `logit P(score ≤ j) = θ_j - x'β`.
#[derive(Clone, Debug)]
pub struct ProportionalOdds {
    /// Cut points θ between the scores, rising.
    pub cuts: Vec<f64>,
    /// Effects β: positive means higher scores; `exp(β)` is an odds ratio.
    pub effects: Vec<f64>,
    /// Covariance of the effects; none where the likelihood is flat.
    pub covariance: Option<DMatrix<f64>>,
    /// Covariance of cuts and effects together, likewise.
    pub with_cuts: Option<DMatrix<f64>>,
    /// Log likelihood.
    pub ln_likelihood: f64,
    /// Likelihood ratio against no effects at all.
    pub likelihood_ratio: f64,
    /// Its p-value.
    pub p: f64,
    /// Whether it settled.
    pub converged: bool,
}

/// Fits scores 0..levels to the columns (no intercept: the cuts take its place), by Newton's steps
/// with the likelihood's own derivatives.
///
/// - Equation: P(score ≤ j) = 1/(1 + exp(−(cⱼ − η)))
/// - Units: scores \[counted from 0\], effects \[log odds\]
/// - Valid: odds ratios alike at every cut
/// - Source: McCullagh 1980 (from memory, to be confirmed); two scores are logistic regression, log odds ratio ln 3
///   by hand
///
/// ```
/// use trials::stats::ordinal::proportional_odds;
/// // 10 of 40 and 20 of 40 have the higher score.
/// let group: Vec<f64> = (0..80).map(|i| f64::from(u8::from(i >= 40))).collect();
/// let scores: Vec<usize> = (0..80).map(|i| usize::from((30..40).contains(&i) || i >= 60)).collect();
/// let found = proportional_odds(&[group], &scores, 2);
/// assert!((found.effects[0] - 3.0_f64.ln()).abs() < 1e-6);
/// ```
pub fn proportional_odds(
    columns: &[Vec<f64>],
    scores: &[usize],
    levels: usize,
) -> ProportionalOdds {
    let cuts = levels - 1;
    let p = columns.len();
    let n = scores.len() as f64;
    let start: Vec<f64> = (0..cuts)
        .map(|j| {
            let below = scores.iter().filter(|&&s| s <= j).count() as f64;
            ((below + 1e-9) / (n - below + 1e-9)).ln()
        })
        .collect();
    // Without effects the cuts are the observed shares.
    let bare: f64 = (0..levels)
        .map(|j| {
            let k = scores.iter().filter(|&&s| s == j).count() as f64;
            if k > 0.0 { k * (k / n).ln() } else { 0.0 }
        })
        .sum();
    let mut at = start;
    at.resize(cuts + p, 0.0);
    let mut now = derivatives(columns, scores, cuts, &at);
    let mut settled = false;
    for _ in 0..100 {
        let mut curve = now.bend.clone();
        let step = loop {
            if let Some(factor) = curve.clone().cholesky() {
                break Some(factor.solve(&now.slope));
            }
            let scale = curve.diagonal().amax().max(1e-8);
            for i in 0..cuts + p {
                curve[(i, i)] += 1e-3 * scale;
            }
            if !scale.is_finite() || scale > 1e12 {
                break None;
            }
        };
        let Some(step) = step else { break };
        let longest = step.amax();
        let mut size = (4.0 / longest).min(1.0);
        let mut moved = false;
        for _ in 0..40 {
            let next: Vec<f64> = at
                .iter()
                .zip(step.iter())
                .map(|(a, s)| a + size * s)
                .collect();
            if next[..cuts].windows(2).all(|w| w[0] < w[1]) {
                let tried = derivatives(columns, scores, cuts, &next);
                if tried.ln_likelihood >= now.ln_likelihood - 1e-13 * now.ln_likelihood.abs() {
                    (at, now, moved) = (next, tried, true);
                    break;
                }
            }
            size *= 0.5;
        }
        if !moved || longest < 1e-10 {
            settled = longest < 1e-6;
            break;
        }
    }
    let likelihood_ratio = (2.0 * (now.ln_likelihood - bare)).max(0.0);
    let both = now.bend.clone().try_inverse();
    let with_cuts = both.map(|c| (&c + c.transpose()) * 0.5);
    ProportionalOdds {
        cuts: at[..cuts].to_vec(),
        converged: settled && at[cuts..].iter().all(|b| b.abs() < 12.0),
        effects: at[cuts..].to_vec(),
        covariance: with_cuts
            .as_ref()
            .map(|c| c.view((cuts, cuts), (p, p)).into_owned()),
        with_cuts,
        ln_likelihood: now.ln_likelihood,
        likelihood_ratio,
        p: chi_square_above(likelihood_ratio, p as f64),
    }
}

/// The log likelihood with its slope and (negative) bend along cuts and effects.
struct Derivatives {
    ln_likelihood: f64,
    slope: DVector<f64>,
    bend: DMatrix<f64>,
}

fn derivatives(columns: &[Vec<f64>], scores: &[usize], cuts: usize, at: &[f64]) -> Derivatives {
    let size = at.len();
    let mut out = Derivatives {
        ln_likelihood: 0.0,
        slope: DVector::zeros(size),
        bend: DMatrix::zeros(size, size),
    };
    for (i, &s) in scores.iter().enumerate() {
        let eta: f64 = columns.iter().zip(&at[cuts..]).map(|(c, b)| c[i] * b).sum();
        // Probability, density and its slope at a cut; 0 or 1 beyond the ends.
        let below = |cut: Option<usize>, end: f64| match cut {
            Some(j) => {
                let f = expit(at[j] - eta);
                (f, f * (1.0 - f), f * (1.0 - f) * (1.0 - 2.0 * f))
            }
            None => (end, 0.0, 0.0),
        };
        let (upper_cut, lower_cut) = ((s < cuts).then_some(s), s.checked_sub(1));
        let (upper, lower) = (below(upper_cut, 1.0), below(lower_cut, 0.0));
        let chance = (upper.0 - lower.0).max(1e-300);
        out.ln_likelihood += chance.ln();
        // Directions: the two cuts and the effects, each with the slope of the chance.
        let mut parts: Vec<(usize, f64)> = Vec::with_capacity(columns.len() + 2);
        if let Some(j) = upper_cut {
            parts.push((j, upper.1));
        }
        if let Some(j) = lower_cut {
            parts.push((j, -lower.1));
        }
        for (k, c) in columns.iter().enumerate() {
            parts.push((cuts + k, -c[i] * (upper.1 - lower.1)));
        }
        for &(a, da) in &parts {
            out.slope[a] += da / chance;
            for &(b, db) in &parts {
                out.bend[(a, b)] += da * db / (chance * chance);
            }
        }
        // Second derivatives of the chance.
        let mut second = |a: usize, b: usize, v: f64| out.bend[(a, b)] -= v / chance;
        for (cut, bend) in [(upper_cut, upper.2), (lower_cut, -lower.2)] {
            let Some(j) = cut else { continue };
            second(j, j, bend);
            for (k, c) in columns.iter().enumerate() {
                second(j, cuts + k, -c[i] * bend);
                second(cuts + k, j, -c[i] * bend);
            }
        }
        for (k, c) in columns.iter().enumerate() {
            for (l, d) in columns.iter().enumerate() {
                second(cuts + k, cuts + l, c[i] * d[i] * (upper.2 - lower.2));
            }
        }
    }
    out
}
