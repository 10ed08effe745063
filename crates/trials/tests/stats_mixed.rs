//! Mixed models against closed forms, R (lme4, lmerTest, pbkrtest, emmeans) and an independent
//! implementation.
#![allow(
    clippy::unwrap_used,
    reason = "a test may stop where its data are not as written"
)]

mod stats_common;

use serde_json::Value;
use stats_common::{close, data, list, num, r, reference};
use trials::stats::design::{Coding, Design, cross};
use trials::stats::mixed::{Mixed, RandomTerm};

fn oats(name: &str) -> (Vec<RandomTerm>, stats_common::Csv) {
    let d = r(name);
    let (b, v) = (d.factor("B"), d.factor("V"));
    let plot = cross(&[&v, &b]);
    (
        vec![
            RandomTerm::intercept("V:B", plot.codes),
            RandomTerm::intercept("B", b.codes),
        ],
        d,
    )
}

#[test]
fn balanced_split_plot_equals_its_strata() {
    let (random, d) = oats("oats");
    let design = Design::factorial(vec![d.factor("V"), d.factor("N")], 2, Coding::SumToZero);
    let y = d.numbers("Y");
    let model = Mixed::fit(&design.columns(), &y, &random).unwrap();
    // Closed forms: residual MS; (MS plots - MS residual)/4; (MS blocks - MS plots)/12.
    let (blocks, plots, rest) = (3175.05555555556, 601.330555555557, 177.083333333333);
    close(model.components[0].value, (plots - rest) / 4.0, 1e-8);
    close(model.components[1].value, (blocks - plots) / 12.0, 1e-8);
    close(model.components[2].value, rest, 1e-8);
    let want = &reference()["oats_reml"];
    // The criterion hangs on the coding; lme4 codes against a reference level.
    let coded = Design {
        coding: Coding::Reference,
        ..design.clone()
    };
    let against = Mixed::fit(&coded.columns(), &y, &random).unwrap();
    close(against.criterion, num(&want["REMLcrit"]), 1e-8);
    let owners = design.owners();
    let rows = |term: usize| -> Vec<Vec<f64>> {
        (0..owners.len())
            .filter(|&c| owners[c] == Some(term))
            .map(|c| {
                (0..owners.len())
                    .map(|k| f64::from(u8::from(k == c)))
                    .collect()
            })
            .collect()
    };
    for (term, f, ddf) in [
        (0, 1.48534037943633, 10.0),
        (1, 37.6856470588235, 45.0),
        (2, 0.302823529411766, 45.0),
    ] {
        let test = model.test(&rows(term)).unwrap();
        close(test.f, f, 1e-7);
        close(test.denominator_df, ddf, 1e-7);
        close(test.satterthwaite.unwrap().denominator_df, ddf, 1e-6);
    }
    for (factor, table) in [(0, "emm_V"), (1, "emm_N")] {
        for (level, label) in design.factors[factor].levels.iter().enumerate() {
            let rows = want[table].as_array().unwrap();
            let name = design.factors[factor].name.as_str();
            let want = rows.iter().find(|r| r[name] == label.as_str()).unwrap();
            let row = design.marginal_row(&[(factor, level)]);
            let mean = model.combine(&row).unwrap();
            close(mean.estimate, num(&want["emmean"]), 1e-8);
            close(mean.se, num(&want["SE"]), 1e-4);
            close(mean.df, num(&want["df"]), 1e-4);
        }
    }
    // Contrasts over nitrogen.
    for (weights, want) in [
        [-3.0, -1.0, 1.0, 3.0],
        [1.0, -1.0, -1.0, 1.0],
        [-1.0, 3.0, -3.0, 1.0],
    ]
    .iter()
    .zip(reference()["oats_poly_contrasts"].as_array().unwrap())
    {
        let mut row = vec![0.0; owners.len()];
        for (level, w) in weights.iter().enumerate() {
            for (total, v) in row.iter_mut().zip(design.marginal_row(&[(1, level)])) {
                *total += w * v;
            }
        }
        let found = model.combine(&row).unwrap();
        close(found.estimate, num(&want["estimate"]), 1e-8);
        close(found.se, num(&want["SE"]), 1e-5);
        close(found.p(), num(&want["p.value"]), 1e-4);
    }
}

#[test]
fn unbalanced_oats_with_kenward_roger() {
    let want: Value = serde_json::from_str(data!("reml_kr_independent.json")).unwrap();
    let (random, d) = oats("oats_unbalanced");
    // N first, then V, each against its first level; the reference orders V by name.
    let mut v = d.factor("V");
    let mut names = v.levels.clone();
    names.sort();
    let place: Vec<usize> = v
        .levels
        .iter()
        .map(|l| names.iter().position(|n| n == l).unwrap())
        .collect();
    v.codes = v.codes.iter().map(|&c| place[c]).collect();
    v.levels = names;
    let mut n = d.factor("N");
    let mut names = n.levels.clone();
    names.sort();
    let place: Vec<usize> = n
        .levels
        .iter()
        .map(|l| names.iter().position(|m| m == l).unwrap())
        .collect();
    n.codes = n.codes.iter().map(|&c| place[c]).collect();
    n.levels = names;
    let design = Design::factorial(vec![n, v], 1, Coding::Reference);
    let model = Mixed::fit(&design.columns(), &d.numbers("Y"), &random).unwrap();
    for (got, want) in model
        .components
        .iter()
        .zip(list(&want["theta[V:B,B,resid]"]))
    {
        close(got.value, want, 1e-7);
    }
    close(model.criterion, num(&want["reml_crit"]), 1e-10);
    let beta = list(&want["beta"]);
    let unit = |i: usize| -> Vec<f64> { (0..6).map(|k| f64::from(u8::from(k == i))).collect() };
    for (i, want_beta) in beta.iter().enumerate() {
        let c = model.combine(&unit(i)).unwrap();
        close(c.estimate, *want_beta, 1e-7);
        close(c.se_model, list(&want["se_model"])[i], 1e-6);
        close(c.se, list(&want["se_KR"])[i], 1e-6);
        close(c.df, list(&want["df_KR"])[i], 1e-5);
        close(c.df_satterthwaite.unwrap(), list(&want["df_satt"])[i], 1e-5);
    }
    for (rows, key) in [((1..4), "F_N_KR"), ((4..6), "F_V_KR")] {
        let rows: Vec<Vec<f64>> = rows.map(unit).collect();
        let test = model.test(&rows).unwrap();
        close(test.f, num(&want[key]["F"]), 1e-6);
        close(test.denominator_df, num(&want[key]["ddf"]), 1e-5);
        close(test.scale, num(&want[key]["lambda"]), 1e-6);
    }
}

#[test]
fn sleep_study_with_and_without_random_slopes() {
    let d = r("sleepstudy");
    let days = d.numbers("Days");
    let columns = vec![vec![1.0; days.len()], days.clone()];
    let y = d.numbers("Reaction");
    let subject = d.factor("Subject").codes;
    let all = reference();
    let want = &all["sleepstudy"];
    let slopes = RandomTerm::with_slope("Subject", subject.clone(), days);
    let model = Mixed::fit(&columns, &y, &[slopes]).unwrap();
    close(model.criterion, num(&want["REMLcrit"]), 1e-8);
    for (got, want) in model.components.iter().zip([
        612.100158024769,
        9.60440895115776,
        35.0717144509388,
        654.940008259961,
    ]) {
        close(got.value, want, 1e-4);
    }
    for i in 0..2 {
        let row: Vec<f64> = (0..2).map(|k| f64::from(u8::from(k == i))).collect();
        let c = model.combine(&row).unwrap();
        let want = &want["coef_KR"][i];
        close(c.estimate, num(&want["Estimate"]), 1e-8);
        close(c.se, num(&want["Std. Error"]), 2e-5);
        close(c.df, 17.0, 1e-4);
        close(c.df_satterthwaite.unwrap(), 17.0, 1e-3);
    }
    let want = &all["sleepstudy_ri"];
    let model = Mixed::fit(&columns, &y, &[RandomTerm::intercept("Subject", subject)]).unwrap();
    close(model.criterion, num(&want["REMLcrit"]), 1e-9);
    close(model.components[0].value, 1378.17851380905, 1e-5);
    close(model.components[1].value, 960.456578560467, 1e-5);
    for i in 0..2 {
        let row: Vec<f64> = (0..2).map(|k| f64::from(u8::from(k == i))).collect();
        let c = model.combine(&row).unwrap();
        close(c.df, num(&want["coef_KR"][i]["df"]), 1e-4);
        close(c.se, num(&want["coef_KR"][i]["Std. Error"]), 1e-5);
    }
}

/// Yields of dyestuff from six batches (Davies 1947; recalled, its published estimates confirmed by
/// the closed form of a balanced one-way layout).
#[test]
fn dyestuff_batches() {
    let y: Vec<f64> = [
        [1545.0, 1440.0, 1440.0, 1520.0, 1580.0],
        [1540.0, 1555.0, 1490.0, 1560.0, 1495.0],
        [1595.0, 1550.0, 1605.0, 1510.0, 1560.0],
        [1445.0, 1440.0, 1595.0, 1465.0, 1545.0],
        [1595.0, 1630.0, 1515.0, 1635.0, 1625.0],
        [1520.0, 1455.0, 1450.0, 1480.0, 1445.0],
    ]
    .concat();
    let batch: Vec<usize> = (0..30).map(|i| i / 5).collect();
    let model = Mixed::fit(
        &[vec![1.0; 30]],
        &y,
        &[RandomTerm::intercept("batch", batch)],
    )
    .unwrap();
    close(model.components[0].value, 1764.05, 1e-7);
    close(model.components[1].value, 2451.25, 1e-7);
    close(model.criterion, 319.65427684, 1e-9);
}

#[test]
fn a_variance_at_zero_is_dropped_and_said() {
    // Group means closer together than chance allows.
    let y: Vec<f64> = (0..24)
        .map(|i| f64::from(i % 4) + 0.01 * f64::from(i / 4))
        .collect();
    let group: Vec<usize> = (0..24).map(|i| i / 4).collect();
    let model = Mixed::fit(
        &[vec![1.0; 24]],
        &y,
        &[RandomTerm::intercept("batch", group)],
    )
    .unwrap();
    assert_eq!(model.components[0].value, 0.0);
    assert!(model.dropped[0].contains("batch"));
    close(
        model.residual_variance,
        trials::stats::moments::variance(&y).unwrap(),
        1e-10,
    );
}

#[test]
fn terms_that_split_alike_are_told_apart_in_words() {
    let group: Vec<usize> = (0..24).map(|i| i / 4).collect();
    let y: Vec<f64> = (0..24)
        .map(|i| f64::from(i % 4) + 2.0 * f64::from(i / 4 % 3))
        .collect();
    let random = [
        RandomTerm::intercept("day", group.clone()),
        RandomTerm::intercept("batch", group.iter().map(|g| 5 - g).collect()),
    ];
    let model = Mixed::fit(&[vec![1.0; 24]], &y, &random).unwrap();
    assert!(model.dropped[0].contains("batch") && model.dropped[0].contains("day"));
    assert!(model.components[0].value > 0.0 && model.components[1].value == 0.0);
}
