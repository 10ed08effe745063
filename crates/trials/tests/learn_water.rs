//! The water model against an independent batch solution and its Kalman steps (invented data).

#![allow(clippy::unwrap_used, reason = "a failed read fails the test")]

use proptest::prelude::*;
use serde_json::Value;
use trials::learn::*;

fn reference() -> Value {
    serde_json::from_str(include_str!("data/plans/bayes_water.json")).unwrap()
}

fn list(v: &Value) -> Vec<f64> {
    v.as_array()
        .unwrap()
        .iter()
        .map(|x| x.as_f64().unwrap())
        .collect()
}

fn model(r: &Value) -> WaterModel {
    let (mean, sd) = (list(&r["prior_mean"]), list(&r["prior_sd"]));
    let priors: Vec<WaterPrior> = r["ingredients"]
        .as_array()
        .unwrap()
        .iter()
        .enumerate()
        .map(|(i, n)| WaterPrior {
            name: n.as_str().unwrap().into(),
            mean: mean[i],
            sd: sd[i],
        })
        .collect();
    WaterModel::new(&priors, r["sigma"].as_f64().unwrap()).unwrap()
}

fn near(a: &[f64], b: &[f64], tolerance: f64) -> f64 {
    let worst = a
        .iter()
        .zip(b)
        .map(|(x, y)| (x - y).abs())
        .fold(0.0, f64::max);
    assert!(
        a.len() == b.len() && worst <= tolerance,
        "{a:?} {b:?}: {worst}"
    );
    worst
}

#[test]
fn titrations_are_learned_as_in_the_reference() {
    let r = reference();
    let mut m = model(&r);
    let new = list(&r["new_formula"]);
    let first = m.predict(&new).unwrap();
    near(
        &[first.mean_kg, first.sd_titration_kg],
        &list(&r["first_trial_prior_pred"]),
        1e-8,
    );
    let (mut evidence, mut worst) = (0.0, 0.0_f64);
    for step in r["kalman_steps"].as_array().unwrap() {
        let learned = m
            .update(&list(&step["x"]), step["y"].as_f64().unwrap())
            .unwrap();
        let f = |k: &str| step[k].as_f64().unwrap();
        near(
            &[
                learned.before.mean_kg,
                learned.before.sd_titration_kg,
                learned.innovation_z,
            ],
            &[f("pred_before"), f("pred_sd_before"), f("innovation_z")],
            1e-8,
        );
        worst = worst.max(near(&learned.model.mean, &list(&step["mean_after"]), 1e-8));
        worst = worst.max(near(&learned.model.sd(), &list(&step["sd_after"]), 1e-8));
        assert_eq!(learned.verdict, Verdict::Fits);
        evidence += learned.ln_evidence;
        m = learned.model;
    }
    near(&m.mean, &list(&r["posterior_mean"]), 1e-8);
    for (row, wanted) in m
        .covariance
        .iter()
        .zip(r["posterior_cov"].as_array().unwrap())
    {
        worst = worst.max(near(row, &list(wanted), 1e-8));
    }
    println!("largest error {worst:e}");
    let ln = r["log_evidence"].as_f64().unwrap();
    assert!((evidence - ln).abs() < 1e-8, "{evidence} {ln}");
    let p = m.predict(&new).unwrap();
    near(
        &[p.mean_kg, p.sd_mean_kg, p.sd_titration_kg],
        &["new_pred", "new_pred_sd_mean", "new_pred_sd_obs"].map(|k| r[k].as_f64().unwrap()),
        1e-8,
    );
}

#[test]
fn far_titration_is_asked_about_and_new_lots_fade() {
    let m = model(&reference());
    let x = [90.0, 0.0, 2.0, 8.0, 1.0];
    assert_eq!(m.update(&x, 80.0).unwrap().verdict, Verdict::Ask);
    let learned = m.update(&x, 52.0).unwrap().model;
    let faded = learned.new_lot("soft wheat flour", 0.02);
    assert!((faded.sd()[0].powi(2) - learned.sd()[0].powi(2) - 4e-4).abs() < 1e-15);
    assert!(faded.expected_information(&x).unwrap() > learned.expected_information(&x).unwrap());
    assert_eq!(learned.new_lot("no such", 1.0), learned);
    let more = learned.with_material(&WaterPrior {
        name: "barley flour".into(),
        mean: 0.72,
        sd: 0.08,
    });
    let p = more.predict(&[90.0, 0.0, 2.0, 8.0, 1.0, 0.0]).unwrap();
    assert_eq!(p, learned.predict(&x).unwrap());
    assert!(p.first_dose_kg() < p.mean_kg);
    assert!(
        m.predict(&[1.0])
            .unwrap_err()
            .to_string()
            .contains("1 amounts for 5")
    );
    assert!(m.update(&x, -1.0).is_err() && m.update(&[f64::NAN; 5], 1.0).is_err());
    assert!(WaterModel::new(&[], 0.0).is_err());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]
    #[test]
    fn order_does_not_matter_and_knowledge_only_grows(
        batches in proptest::collection::vec((0.0f64..100.0, 0.0f64..50.0, 20.0f64..70.0), 1..8),
        seed: u64,
    ) {
        let priors = [
            WaterPrior { name: "flour".into(), mean: 0.55, sd: 0.1 },
            WaterPrior { name: "fibre".into(), mean: 1.8, sd: 0.6 },
        ];
        let start = WaterModel::new(&priors, 1.0).unwrap();
        let run = |order: &[(f64, f64, f64)]| {
            order.iter().fold(start.clone(), |m, (a, b, y)| m.update(&[*a, *b], *y).unwrap().model)
        };
        let one = run(&batches);
        let mut other = batches.clone();
        trials::random::shuffle(&mut other, &mut trials::random::SplitMix64::new(seed));
        let two = run(&other);
        for i in 0..2 {
            prop_assert!((one.mean[i] - two.mean[i]).abs() < 1e-8);
            prop_assert!(one.sd()[i] <= start.sd()[i] + 1e-12);
            prop_assert!(one.covariance[i][i] >= 0.0);
        }
    }
}
