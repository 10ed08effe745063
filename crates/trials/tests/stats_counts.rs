//! Counts and scores: identities that tie the models to simpler ones, and known probabilities.
#![allow(
    clippy::unwrap_used,
    reason = "a test may stop where its data are not as written"
)]

mod stats_common;

use stats_common::close;
use trials::stats::beta_binomial::{beta_binomial, ln_probability};
use trials::stats::distribution::*;
use trials::stats::equivalence::tost;
use trials::stats::glm::{binomial, expit};
use trials::stats::glmm::{binomial_mixed, hermite};
use trials::stats::ordinal::proportional_odds;
use trials::stats::proportion::{exact_interval, score_interval};

fn two_groups() -> (Vec<Vec<f64>>, Vec<f64>, Vec<f64>) {
    let columns = vec![vec![1.0; 8], vec![0.0, 0.0, 0.0, 0.0, 1.0, 1.0, 1.0, 1.0]];
    let k = vec![3.0, 9.0, 1.0, 7.0, 12.0, 22.0, 8.0, 18.0];
    (columns, k, vec![40.0; 8])
}

#[test]
fn two_groups_by_hand() {
    let (columns, k, n) = two_groups();
    let found = binomial(&columns, &k, &n);
    // Saturated in the two groups: shares 20/160 and 60/160.
    close(expit(found.coefficients[0]), 0.125, 1e-10);
    close(
        found.coefficients[1],
        (60.0f64 * 140.0 / (20.0 * 100.0)).ln(),
        1e-10,
    );
    let variance = 1.0 / 20.0 + 1.0 / 140.0 + 1.0 / 60.0 + 1.0 / 100.0;
    close(found.covariance[(1, 1)], variance, 1e-9);
    assert!(found.dispersion.unwrap() > 1.5);
}

#[test]
fn beta_binomial_is_a_probability_and_meets_the_binomial() {
    for (p, rho) in [(0.1, 0.2), (0.5, 0.02), (0.9, 0.6)] {
        let chances: Vec<f64> = (0..=30)
            .map(|k| ln_probability(f64::from(k), 30.0, p, rho).exp())
            .collect();
        close(chances.iter().sum(), 1.0, 1e-10);
        let mean: f64 = chances.iter().enumerate().map(|(k, c)| k as f64 * c).sum();
        close(mean, 30.0 * p, 1e-9);
        let spread: f64 = chances
            .iter()
            .enumerate()
            .map(|(k, c)| (k as f64 - mean).powi(2) * c)
            .sum();
        close(spread, 30.0 * p * (1.0 - p) * (1.0 + 29.0 * rho), 1e-8);
    }
    let (columns, k, n) = two_groups();
    let spread = beta_binomial(&columns, &k, &n);
    let plain = binomial(&columns, &k, &n);
    assert!(spread.converged && spread.correlation > 0.01);
    assert!(spread.ln_likelihood > plain.ln_likelihood);
    assert!(spread.covariance[(1, 1)] > plain.covariance[(1, 1)]);
    // Alike batches: nothing beyond counting, and the plain answer comes back.
    let even = [5.0, 5.0, 5.0, 5.0, 10.0, 10.0, 10.0, 10.0];
    let found = beta_binomial(&columns, &even, &n);
    assert!(found.correlation < 1e-3);
    close(
        found.coefficients[1],
        binomial(&columns, &even, &n).coefficients[1],
        1e-3,
    );
}

#[test]
fn quadrature_and_laplace_agree_where_they_must() {
    let rule = hermite(9);
    close(
        rule.iter().map(|(_, w)| w).sum(),
        std::f64::consts::PI.sqrt(),
        1e-12,
    );
    close(
        rule.iter().map(|(x, w)| w * x.powi(4)).sum(),
        0.75 * std::f64::consts::PI.sqrt(),
        1e-12,
    );
    let (columns, _, n) = two_groups();
    let even = [5.0, 5.0, 5.0, 5.0, 10.0, 10.0, 10.0, 10.0];
    let group = [0, 1, 2, 3, 0, 1, 2, 3];
    let found = binomial_mixed(&columns, &even, &n, &group, 1);
    assert!(found.singular && found.sd == 0.0);
    close(
        found.coefficients[1],
        binomial(&columns, &even, &n).coefficients[1],
        1e-5,
    );
}

#[test]
fn scores_with_two_steps_are_a_logistic_regression() {
    let x = vec![0.0, 0.0, 0.0, 0.0, 0.0, 1.0, 1.0, 1.0, 1.0, 1.0];
    let scores = [0, 0, 0, 1, 1, 0, 1, 1, 1, 1];
    let ordinal = proportional_odds(std::slice::from_ref(&x), &scores, 2);
    let k: Vec<f64> = scores.iter().map(|s| *s as f64).collect();
    let plain = binomial(&[vec![1.0; 10], x], &k, &[1.0; 10]);
    close(ordinal.effects[0], plain.coefficients[1], 1e-6);
    close(
        ordinal.covariance.unwrap()[(0, 0)],
        plain.covariance[(1, 1)],
        1e-4,
    );
    close(ordinal.cuts[0], -plain.coefficients[0], 1e-6);
    close(ordinal.ln_likelihood, plain.ln_likelihood, 1e-9);
}

#[test]
fn intervals_of_shares() {
    // R 4.2.2: binom.test and prop.test without correction.
    for (k, n, exact, score) in [
        (
            14,
            20,
            (0.457210817723711, 0.881068409594272),
            (0.481027181646477, 0.854522755132396),
        ),
        (
            9,
            10,
            (0.554983882971805, 0.997471421455538),
            (0.595849973204762, 0.982123786904927),
        ),
        (10, 10, (0.691502892181239, 1.0), (0.722467200137111, 1.0)),
        (
            30,
            40,
            (0.58803801984857, 0.873085201067155),
            (0.59806038579232, 0.858128813609037),
        ),
    ] {
        let (low, high) = exact_interval(k, n, 0.95);
        close(low, exact.0, 1e-10);
        close(high, exact.1, 1e-10);
        let (low, high) = score_interval(k, n, 0.95);
        close(low, score.0, 1e-10);
        close(high, score.1, 1e-10);
    }
}

#[test]
fn distributions_invert_and_meet_each_other() {
    for p in [1e-8, 1e-3, 0.02, 0.3, 0.5, 0.8, 0.975, 0.9999] {
        close(normal_below(normal_quantile(p)), p, 1e-11);
        for df in [1.0, 2.5, 7.0, 40.0, 3000.0] {
            close(t_below(t_quantile(p, df), df), p, 1e-9);
            close(chi_square_below(chi_square_quantile(p, df), df), p, 1e-9);
            close(1.0 - f_above(f_quantile(p, 3.0, df), 3.0, df), p, 1e-9);
        }
    }
    for df in [1.0, 3.0, 12.0, 250.0] {
        for t in [0.1, 0.9, 2.0, 6.0] {
            close(f_above(t * t, 1.0, df), t_two_sided(t, df), 1e-10);
            close(
                noncentral_f_below(t, 3.0, df, 0.0),
                1.0 - f_above(t, 3.0, df),
                1e-9,
            );
        }
    }
    // Cauchy in closed form.
    close(t_below(1.0, 1.0), 0.75, 1e-13);
    // With a normal denominator the noncentral F is a noncentral chi-square: mean λ + df.
    let steps = 4000;
    let mean: f64 = (0..steps)
        .map(|i| {
            let x = (f64::from(i) + 0.5) * 0.01;
            (1.0 - noncentral_f_below(x, 4.0, 1e7, 6.0)) * 0.01
        })
        .sum();
    close(mean * 4.0, 10.0, 1e-4);
}

#[test]
fn equivalence_is_the_ninety_percent_interval_inside() {
    for (difference, se, df, margin) in [
        (0.2, 0.5, 20.0, 1.5),
        (0.2, 0.5, 20.0, 1.0),
        (-3.0, 1.0, 8.0, 2.0),
    ] {
        let found = tost(difference, se, df, margin);
        assert_eq!(found.equivalent, found.p < 0.05);
        close(found.high90 - difference, t_quantile(0.95, df) * se, 1e-10);
    }
}
