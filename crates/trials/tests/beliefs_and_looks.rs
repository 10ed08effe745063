//! Differences as beliefs, and looks before the end.
#![allow(
    clippy::unwrap_used,
    reason = "a test may stop where its data are not as written"
)]

use trials::Code;
use trials::analyse::{AnalysisRequest, Cell, PlannedLook, Prior, Table, analyse};
use trials::random::SplitMix64;
use trials::response::Better;
use trials::stats::distribution::{normal_density, normal_quantile, t_below};
use trials::stats::posterior::Posterior;
use trials::stats::sequential::Spending;

/// Values of a control and a treatment, batch by batch.
fn table(values: &[[f64; 2]]) -> Table {
    let rows = values.iter().flat_map(|pair| {
        ["control", "new"]
            .iter()
            .zip(pair)
            .map(|(name, y)| vec![Cell::of(name, None), Cell::Number(*y)])
    });
    let rows = rows.enumerate().map(|(i, row)| (i + 2, row)).collect();
    Table::from_rows(vec!["treatment".into(), "y".into()], rows).unwrap()
}

/// With a prior the belief is the product of t density and normal density, here by brute force: sums over a fine grid.
#[test]
fn a_prior_weighs_as_bayes_has_it() {
    for (estimate, se, df, sd) in [
        (2.0, 1.0, 5.0, 1.5),
        (-0.3, 0.4, 2.0, 3.0),
        (6.0, 0.5, 9.0, 1.0),
        (40.0, 0.5, 7.0, 1.0),
        (1.0, 0.2, 300.0, 0.1),
    ] {
        let after = Posterior::new(estimate, se, df, Some(sd)).unwrap();
        let step = 1e-3 * se.min(sd);
        let (low, high) = (-8.0 * sd - 1.0, estimate.abs().max(8.0 * sd) + 9.0 * sd);
        let many = ((high - low) / step) as usize;
        let weight = |x: f64| {
            let t = (x - estimate) / se;
            // Student's t but for its constant.
            (1.0 + t * t / df).powf(-0.5 * (df + 1.0)) * normal_density(x / sd)
        };
        let whole: f64 = (0..many).map(|i| weight(low + step * i as f64)).sum();
        for x in [-1.0, 0.0, 0.5, 1.0, 3.0] {
            let below = (0..many)
                .map(|i| low + step * i as f64)
                .filter(|v| *v < x)
                .map(weight)
                .sum::<f64>()
                / whole;
            let got = after.below(x);
            assert!(
                (got - below).abs() < 2e-3 * below.max(1e-3) + 1e-4,
                "{df} {x}: {got} {below}"
            );
        }
        for p in [0.025, 0.5, 0.975] {
            assert!((after.below(after.quantile(p)) - p).abs() < 1e-9);
        }
        // A prior that holds everything possible changes nothing.
        let wide = Posterior::new(estimate, se, df, Some(1e6 * se)).unwrap();
        assert!((wide.below(0.0) - t_below(-estimate / se, df)).abs() < 1e-5);
    }
}

/// From a flat prior the belief is the confidence interval turned about (two treatments: t).
#[test]
fn a_flat_belief_is_the_interval_turned_about() {
    let values = [[10.0, 12.5], [11.0, 13.0], [9.0, 11.0], [10.5, 14.0]];
    let request = AnalysisRequest {
        control: Some("control".into()),
        better: Some(Better::Higher),
        margin: Some(1.0),
        belief: Some(Prior::Flat),
        ..AnalysisRequest::of("y")
    };
    let found = analyse(&table(&values), &request).unwrap();
    let (line, belief) = (&found.comparisons[0], &found.beliefs[0]);
    assert!((belief.low95 - line.low95.unwrap()).abs() < 1e-9);
    assert!((belief.high95 - line.high95.unwrap()).abs() < 1e-9);
    assert!((belief.higher - (1.0 - 0.5 * line.p_adjusted)).abs() < 1e-12);
    assert_eq!(belief.better, Some(belief.higher));
    let p = found.equivalence[0].p_not_worse.unwrap();
    assert!((belief.as_good.unwrap() - (1.0 - p)).abs() < 1e-12);
    // A sceptic believes less, and lower is worse where lower is better.
    let sceptic = AnalysisRequest {
        belief: Some(Prior::AboutZero(0.5)),
        better: Some(Better::Lower),
        ..request.clone()
    };
    let doubted = &analyse(&table(&values), &sceptic).unwrap().beliefs[0];
    assert!(doubted.median < belief.median && doubted.better.unwrap() < 0.5);
    let none = AnalysisRequest {
        belief: Some(Prior::AboutZero(-1.0)),
        ..request
    };
    assert_eq!(
        analyse(&table(&values), &none).unwrap_err()[0].code,
        Code::Prior
    );
}

fn look(at: usize, times: &[f64], spending: Spending) -> AnalysisRequest {
    AnalysisRequest {
        control: Some("control".into()),
        look: Some(PlannedLook {
            look: at,
            times: times.to_vec(),
            spending,
        }),
        ..AnalysisRequest::of("y")
    }
}

/// Looks at 6 and at 12 batches of each, no true difference: alarms at either look together in about
/// 5 of 100 trials, where two looks without a plan would give 8. (The limits are those of known
/// spread; with few batches the t test's p-value takes their place, which is common practice.)
#[test]
fn planned_looks_keep_their_risk_together() {
    let trials = 1_500;
    for spending in [Spending::LateLikeOBrienFleming, Spending::EvenLikePocock] {
        let (mut planned, mut unplanned) = (0, 0);
        for seed in 0..trials {
            let mut g = SplitMix64::stream(seed, 77);
            let mut normal = || normal_quantile(g.unit().clamp(1e-12, 1.0 - 1e-12));
            let values: Vec<[f64; 2]> = (0..12).map(|_| [normal(), normal()]).collect();
            let shown = |n: usize, at: usize| {
                let found =
                    analyse(&table(&values[..n]), &look(at, &[0.5, 1.0], spending)).unwrap();
                let line = &found.comparisons[0];
                let apart = line.low95.unwrap() > 0.0 || line.high95.unwrap() < 0.0;
                assert_eq!(apart, line.p_adjusted < 0.05);
                let limit = found.look.as_ref().unwrap().nominal_p;
                (apart, line.p_adjusted * limit / 0.05 < 0.05)
            };
            let (first, last) = (shown(6, 1), shown(12, 2));
            planned += usize::from(first.0 || last.0);
            unplanned += usize::from(first.1 || last.1);
        }
        let share = |n: usize| 100.0 * n as f64 / trials as f64;
        // Three standard errors of 5 % in 1,500 trials: 1.7.
        assert!(
            (3.3..6.7).contains(&share(planned)),
            "{spending:?}: {}",
            share(planned)
        );
        assert!(share(unplanned) > 6.5, "{spending:?}: {}", share(unplanned));
    }
}

/// The limits in print for two evenly spaced looks: Pocock 0.0294 each, O'Brien and Fleming's
/// constant 1.977 (0.0052, 0.0480; the spending functions come near them).
#[test]
fn the_limit_of_a_look_is_the_planned_one() {
    let values = [[10.0, 12.5], [11.0, 13.0], [9.0, 11.0], [10.5, 14.0]];
    for (spending, first, last) in [
        (Spending::EvenLikePocock, 0.0310, 0.0277),
        (Spending::LateLikeOBrienFleming, 0.0031, 0.0490),
    ] {
        for (at, limit) in [(1, first), (2, last)] {
            let found = analyse(&table(&values), &look(at, &[0.5, 1.0], spending)).unwrap();
            let line = found.look.unwrap();
            assert!(
                (line.nominal_p - limit).abs() < 6e-5,
                "{spending:?} {at}: {}",
                line.nominal_p
            );
            assert!(found.sentence.contains(&format!("look {at} of 2")));
        }
    }
    let wrong = |request: AnalysisRequest| analyse(&table(&values), &request).unwrap_err()[0].code;
    let even = Spending::EvenLikePocock;
    assert_eq!(wrong(look(3, &[0.5, 1.0], even)), Code::Look);
    assert_eq!(wrong(look(1, &[0.7, 0.5], even)), Code::Look);
    let margin = AnalysisRequest {
        margin: Some(1.0),
        ..look(1, &[0.5, 1.0], even)
    };
    assert_eq!(wrong(margin), Code::Look);
}
