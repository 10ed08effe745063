//! Whole or broken: the logistic model against what can be worked out another way.

#![allow(clippy::unwrap_used, reason = "a failed read fails the test")]

use proptest::prelude::*;
use trials::learn::*;
use trials::plan::{Degree, Model};

fn prior(name: &str, sd: f64) -> ReleasePrior {
    ReleasePrior {
        name: name.into(),
        mean: 0.0,
        sd,
    }
}

fn logit(p: f64) -> f64 {
    (p / (1.0 - p)).ln()
}

#[test]
fn flat_prior_gives_the_maximum_likelihood_answer() {
    // Two groups, saturated: estimates and standard errors are logits of the shares and
    // 1/(np(1−p)) in closed form (textbook).
    let cuts = [
        Cut {
            x: vec![1.0, 0.0],
            whole: 30,
            cut: 50,
        },
        Cut {
            x: vec![1.0, 1.0],
            whole: 45,
            cut: 50,
        },
    ];
    let m = fit(&[prior("level", 1e4), prior("binder", 1e4)], &cuts, 0.0).unwrap();
    assert!((m.mean[0] - logit(0.6)).abs() < 1e-6);
    assert!((m.mean[1] - (logit(0.9) - logit(0.6))).abs() < 1e-6);
    let v0 = 1.0 / (50.0 * 0.24);
    assert!((m.covariance[0][0] - v0).abs() < 1e-6);
    assert!((m.covariance[1][1] - v0 - 1.0 / (50.0 * 0.09)).abs() < 1e-6);
    assert!(m.steps < 15);
}

#[test]
fn laplace_is_close_to_the_exact_posterior() {
    // One effect: the exact posterior by fine quadrature.
    let (whole, cut, sd) = (9u32, 12u32, 1.5_f64);
    let m = fit(
        &[prior("level", sd)],
        &[Cut {
            x: vec![1.0],
            whole,
            cut,
        }],
        0.0,
    )
    .unwrap();
    let density = |b: f64| {
        let p = 1.0 / (1.0 + (-b).exp());
        p.powi(whole as i32)
            * (1.0 - p).powi((cut - whole) as i32)
            * (-0.5 * (b / sd).powi(2)).exp()
    };
    let grid: Vec<f64> = (-8000..=8000).map(|i| f64::from(i) / 1000.0).collect();
    let total: f64 = grid.iter().map(|b| density(*b)).sum();
    let mean_p: f64 = grid
        .iter()
        .map(|b| density(*b) / (1.0 + (-b).exp()))
        .sum::<f64>()
        / total;
    let evidence = (total * 0.001 / (sd * (2.0 * std::f64::consts::PI).sqrt())).ln();
    let got = m.whole(&[1.0]).unwrap();
    println!(
        "P exact {mean_p}, Laplace {}; ln evidence {evidence} {}",
        got.probability, m.ln_evidence
    );
    assert!((got.probability - mean_p).abs() < 0.015);
    assert!((m.ln_evidence - evidence).abs() < 0.05);
}

#[test]
fn first_day_is_honest_about_how_little_is_known() {
    let m = fit(&[prior("level", 1.5)], &[], 0.0).unwrap();
    let p = m.whole(&[1.0]).unwrap();
    assert!((p.probability - 0.5).abs() < 1e-9);
    assert!(p.low95 < 0.06 && p.high95 > 0.94);
    // All whole: the prior keeps the answer finite and below one.
    let all = fit(
        &[prior("level", 1.5)],
        &[Cut {
            x: vec![1.0],
            whole: 40,
            cut: 40,
        }],
        0.0,
    )
    .unwrap();
    let p = all.whole(&[1.0]).unwrap();
    assert!(p.probability > 0.9 && p.probability < 1.0 && p.low95 > 0.8);
    // Pieces that share a dough tell less.
    let shared = fit(
        &[prior("level", 1.5)],
        &[Cut {
            x: vec![1.0],
            whole: 40,
            cut: 40,
        }],
        0.2,
    )
    .unwrap();
    let q = shared.whole(&[1.0]).unwrap();
    assert!(q.logit_sd > p.logit_sd && q.low95 < p.low95);
}

#[test]
fn bad_counts_are_named() {
    let say = |cut: Cut, rho: f64| {
        fit(&[prior("level", 1.0)], &[cut], rho)
            .unwrap_err()
            .to_string()
    };
    assert!(
        say(
            Cut {
                x: vec![1.0],
                whole: 5,
                cut: 4
            },
            0.0
        )
        .contains("5 whole of 4")
    );
    assert!(
        say(
            Cut {
                x: vec![1.0, 2.0],
                whole: 1,
                cut: 4
            },
            0.0
        )
        .contains("2 values for 1")
    );
    assert!(
        say(
            Cut {
                x: vec![1.0],
                whole: 1,
                cut: 4
            },
            1.5
        )
        .contains("from 0 to 1")
    );
    assert!(fit(&[prior("level", 0.0)], &[], 0.0).is_err());
}

#[test]
fn next_dose_learns_at_the_edge_and_wins_at_the_top() {
    // Invented truth: whole pieces peak at the predicted need, z = 0.
    let priors = [
        prior("level", 1.5),
        prior("water", 1.0),
        prior("water squared", 1.0),
    ];
    let x = |z: f64| vec![1.0, z, z * z];
    let cuts: Vec<Cut> = [(-1.0, 20), (0.0, 46), (1.0, 30)]
        .iter()
        .map(|&(z, whole)| Cut {
            x: x(z),
            whole,
            cut: 50,
        })
        .collect();
    let m = fit(&priors, &cuts, 0.05).unwrap();
    let doses = [-2.0, -1.5, -1.0, -0.5, 0.0, 0.5, 1.0, 1.5, 2.0];
    let next = next_dose(&m, &doses, 50, x).unwrap();
    assert!(doses[next.likeliest].abs() <= 0.5);
    assert!(doses[next.teaches_most].abs() >= 1.5, "{}", next.sentence);
    assert!(next.doses.iter().all(|d| d.expected_information > 0.0));
    // What was learned is no longer there to learn.
    let mut more = cuts.clone();
    let at = doses[next.teaches_most];
    more.push(Cut {
        x: x(at),
        whole: 10,
        cut: 50,
    });
    let after = fit(&priors, &more, 0.05).unwrap();
    assert!(
        after.expected_information(&x(at), 50).unwrap()
            < next.doses[next.teaches_most].expected_information
    );
    assert!(next_dose(&m, &[], 50, x).is_err());
}

#[test]
fn a_running_trial_is_completed_where_it_is_thin() {
    let grid: Vec<Vec<f64>> = (0..9)
        .map(|i| vec![f64::from(i % 3) - 1.0, f64::from(i / 3) - 1.0])
        .collect();
    let model = Model {
        parts: 0,
        process: 2,
        degree: Degree::Quadratic,
    };
    // The nine grid points are the exhaustive optimum for nine runs (det 5184); take three away.
    let done: Vec<Vec<f64>> = grid.iter().filter(|p| p[0] < 1.0).cloned().collect();
    let plus = augment(model, &done, &grid, 3, 10, 1).unwrap();
    assert!(
        (plus.ln_det.exp() - 5184.0).abs() < 1e-6,
        "{}",
        plus.ln_det.exp()
    );
    assert!(plus.settings.iter().all(|p| p[0] == 1.0));
    assert_eq!(plus.ln_det_before, None, "one factor had two levels only");
    let again = augment(model, &grid, &grid, 1, 10, 1).unwrap();
    // Best tenth run: exhaustive optimum 9360.
    assert!((again.ln_det.exp() - 9360.0).abs() < 1e-6);
    assert!(again.standard_errors_times.unwrap() < 1.0);
    assert!(augment(model, &[vec![1.0]], &grid, 1, 1, 1).is_err());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(32))]
    #[test]
    fn counts_pull_the_answer_their_way(whole in 0u32..40, sd in 0.3f64..3.0) {
        let m = |w| fit(&[prior("level", sd)], &[Cut { x: vec![1.0], whole: w, cut: 40 }], 0.0).unwrap();
        let (a, b) = (m(whole).mean[0], m(whole + 1).mean[0]);
        prop_assert!(b > a);
        // The peak lies between prior and data.
        let share = f64::from(whole) / 40.0;
        prop_assert!((0.5 - share) * (0.5 - release::logistic(a)) >= -1e-12);
    }
}
