//! What other ways of judging the same counts say: batches dealt anew, and models of the spread between them.

use crate::analyse::{CheckLine, checks};
use crate::stats::beta_binomial::beta_binomial;
use crate::stats::design::Factor;
use crate::stats::distribution::chi_square_above;
use crate::stats::glm::binomial;
use crate::stats::glmm::binomial_mixed;
use crate::stats::permutation::{between, exchange, pearson};
use crate::stats::quasi::{Family, fit, negative_binomial};

/// Deals of batches among the treatments that are looked through, or drawn.
const DEALS: usize = 4_999;
/// Points of the quadrature over units.
const POINTS: usize = 9;

/// What exchanging the batches among the treatments says: the line, and its p-value.
pub(super) fn dealt_anew(
    combined: &Factor,
    block: Option<&Factor>,
    (k, n): (&[f64], &[f64]),
    single: bool,
) -> (CheckLine, f64) {
    let groups = combined.levels.len();
    let none = vec![0; k.len()];
    let blocks = block.map_or(none.as_slice(), |b| b.codes.as_slice());
    let found = if single && block.is_none() {
        exchange(&combined.codes, blocks, DEALS, 1, pearson(k, n, groups))
    } else {
        let shares: Vec<f64> = k.iter().zip(n).map(|(k, n)| k / n).collect();
        exchange(&combined.codes, blocks, DEALS, 1, between(&shares, groups))
    };
    let says = if found.exact {
        format!(
            "exact, {} ways to deal the units to the treatments",
            found.deals
        )
    } else {
        format!(
            "{} seeded ways to deal the units to the treatments",
            found.deals
        )
    };
    (
        checks::line(
            "units dealt anew among the treatments",
            found.statistic,
            found.p,
            says,
        ),
        found.p,
    )
}

/// Whether counts vary by more than counting alone would make them.
pub(super) fn negative_binomial_line(columns: &[Vec<f64>], k: &[f64], n: &[f64]) -> CheckLine {
    let kept = crate::stats::least_squares::fit(columns, k).kept;
    let own: Vec<Vec<f64>> = kept.iter().map(|&c| columns[c].clone()).collect();
    let found = negative_binomial(&own, k, n);
    let plain = fit(Family::Poisson, &own, k, n, false, None);
    let ratio = (2.0 * (found.ln_likelihood - plain.ln_likelihood)).max(0.0);
    checks::line(
        "negative binomial against Poisson (likelihood ratio)",
        ratio,
        0.5 * chi_square_above(ratio, 1.0),
        if found.theta > 1e5 {
            "counts vary as counting alone would make them".to_owned()
        } else {
            format!("θ = {:.3}: variance μ + μ²/θ", found.theta)
        },
    )
}

/// How much batches differ beyond counting, by two models of it.
pub(super) fn batches_at_random(columns: &[Vec<f64>], k: &[f64], n: &[f64]) -> Vec<CheckLine> {
    let kept = crate::stats::least_squares::fit(columns, k).kept;
    let own: Vec<Vec<f64>> = kept.iter().map(|&c| columns[c].clone()).collect();
    let plain = binomial(&own, k, n);
    let batches: Vec<usize> = (0..k.len()).collect();
    let mixed = binomial_mixed(&own, k, n, &batches, POINTS);
    let spread = beta_binomial(&own, k, n);
    let line = |name: &str, ln_likelihood: f64, settled: bool, says: String| {
        let ratio = (2.0 * (ln_likelihood - plain.ln_likelihood)).max(0.0);
        // At the edge of what a variance can be, half of the chance lies at 0.
        let p = 0.5 * chi_square_above(ratio, 1.0);
        settled.then(|| checks::line(name, ratio, p, says))
    };
    [
        line(
            "batches at random on log odds (likelihood ratio)",
            mixed.ln_likelihood,
            mixed.converged,
            format!("sd {:.3} between batches", mixed.sd),
        ),
        line(
            "beta-binomial against binomial (likelihood ratio)",
            spread.ln_likelihood,
            spread.converged,
            format!(
                "correlation {:.3} of two pieces of a batch",
                spread.correlation
            ),
        ),
    ]
    .into_iter()
    .flatten()
    .collect()
}
