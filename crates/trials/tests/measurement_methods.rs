//! Measurement methods against printed tables and worked numbers.

#![allow(clippy::unwrap_used, reason = "a failed read fails the test")]

use measure::WetBasis;
use proptest::prelude::*;
use serde_json::Value;
use trials::measurement::colour::{Lab, difference_1976, difference_2000, mean};
use trials::measurement::farinograph::{self, Addition};
use trials::measurement::moisture::{Dish, Method, of_dish, of_dishes};
use trials::measurement::net_content::{self, Rule};
use trials::measurement::sampling_plan::{LIMITS_PCT, for_lot};
use trials::measurement::{bend, solvent_retention, spread, water_holding};

fn near(a: f64, b: f64, tolerance: f64) {
    assert!((a - b).abs() <= tolerance, "{a} against {b}");
}

#[test]
fn ciede2000_reproduces_the_published_pairs() {
    // Sharma, Wu and Dalal 2005, table 1, all 34 pairs, four decimals.
    let mut worst = 0.0_f64;
    let mut pairs = 0;
    for line in include_str!("data/plans/ciede2000_sharma.csv")
        .lines()
        .skip(1)
    {
        let v: Vec<f64> = line.split(',').map(|c| c.parse().unwrap()).collect();
        let (x, y) = (
            Lab {
                l: v[1],
                a: v[2],
                b: v[3],
            },
            Lab {
                l: v[4],
                a: v[5],
                b: v[6],
            },
        );
        for d in [difference_2000(x, y), difference_2000(y, x)] {
            worst = worst.max((d - v[7]).abs());
        }
        pairs += 1;
    }
    println!("largest difference {worst:e}");
    assert_eq!(pairs, 34);
    assert!(worst <= 1e-4, "{worst}");
    let grey = Lab {
        l: 50.0,
        a: 0.0,
        b: 0.0,
    };
    assert_eq!(difference_2000(grey, grey), 0.0);
    near(
        difference_1976(
            grey,
            Lab {
                l: 53.0,
                a: 4.0,
                b: 0.0,
            },
        ),
        5.0,
        1e-12,
    );
    near(
        mean(&[
            grey,
            Lab {
                l: 54.0,
                a: 2.0,
                b: -2.0,
            },
        ])
        .unwrap()
        .b,
        -1.0,
        1e-12,
    );
    assert!(mean(&[]).is_none());
}

#[test]
fn farinograph_worked_numbers() {
    // AACC 54-21/ICC 115-1 rules, worked independently.
    near(
        farinograph::flour_mass_g(300.0, WetBasis(0.1365)).unwrap(),
        298.7840185292415,
        1e-9,
    );
    near(
        farinograph::absorption_pct(300.0, 180.0, 300.0).unwrap(),
        60.0,
        1e-12,
    );
    near(
        farinograph::absorption_pct(50.0, 30.0, 50.0).unwrap(),
        60.0,
        1e-12,
    );
    // The moisture of the flour drops out: same dough, restated.
    let y = farinograph::flour_mass_g(300.0, WetBasis(0.11)).unwrap();
    let a = farinograph::absorption_pct(300.0, 186.0, y).unwrap();
    near(
        a,
        farinograph::to_14_pct(100.0 * 186.0 / y, WetBasis(0.11)).unwrap(),
        1e-9,
    );
    let back = farinograph::restate(0.5, WetBasis(0.14), WetBasis(0.10)).unwrap();
    near(
        farinograph::restate(back, WetBasis(0.10), WetBasis(0.14)).unwrap(),
        0.5,
        1e-14,
    );
    assert!(back > 0.5, "the drier flour takes more");
    assert!(
        farinograph::flour_mass_g(300.0, WetBasis(12.5))
            .unwrap_err()
            .to_string()
            .contains("fraction")
    );
}

#[test]
fn titration_solves_an_exact_line_and_tells_its_doubt() {
    let exact = |w: f64| Addition {
        water_pct: w,
        consistency: 500.0 * (-0.05 * (w - 58.3)).exp(),
    };
    let t = farinograph::titrate(&[exact(55.0), exact(57.0), exact(60.0)], 500.0).unwrap();
    near(t.water_pct, 58.3, 1e-9);
    near(t.fall_per_pct, 0.05, 1e-12);
    near(t.se_pct.unwrap(), 0.0, 1e-6);
    assert!(!t.extrapolated);
    assert!(
        farinograph::titrate(&[exact(50.0), exact(52.0)], 500.0)
            .unwrap()
            .extrapolated
    );
    let mut rough = [exact(55.0), exact(57.0), exact(60.0)];
    rough[1].consistency += 20.0;
    let (low, high) = farinograph::titrate(&rough, 500.0)
        .unwrap()
        .interval95_pct
        .unwrap();
    assert!(low < 58.3 && high > 58.3);
    assert!(farinograph::titrate(&[exact(55.0)], 500.0).is_err());
    let rising = [
        Addition {
            water_pct: 55.0,
            consistency: 400.0,
        },
        Addition {
            water_pct: 57.0,
            consistency: 500.0,
        },
    ];
    assert!(
        farinograph::titrate(&rising, 500.0)
            .unwrap_err()
            .to_string()
            .contains("fall of consistency")
    );
}

#[test]
fn flour_and_piece_methods_worked_numbers() {
    // At 14 % moisture both forms of solvent retention agree: 60.
    let m = WetBasis(0.14);
    near(
        solvent_retention::retention_pct(8.0, 5.0, m).unwrap(),
        60.0,
        1e-12,
    );
    near(
        solvent_retention::retention_before_2009_pct(8.0, 5.0, m).unwrap(),
        60.0,
        1e-12,
    );
    for s in solvent_retention::Solvent::ALL {
        assert!(s.cookie_flour_pct().low < s.cookie_flour_pct().high && !s.tells().is_empty());
    }
    assert!(
        water_holding::held(5.0, 4.0)
            .unwrap_err()
            .to_string()
            .contains("dissolved")
    );
    // Stress and modulus scale with thickness squared and cubed.
    let s = |d: f64| bend::flat_stress_pa(60.0, 0.030, 0.025, d).unwrap();
    near(s(0.004) / s(0.008), 4.0, 1e-12);
    let (e, strain) = (
        bend::flat_modulus_pa(60.0, 0.030, 0.025, 0.008, 0.0005).unwrap(),
        bend::flat_strain(0.030, 0.008, 0.0005).unwrap(),
    );
    near(e * strain, s(0.008), 1e-6);
    assert!(bend::flat_stress_pa(60.0, 0.03, 0.025, 0.0).is_err());
    near(spread::factor_pct(6.6, 6.0).unwrap(), 110.0, 1e-12);
}

#[test]
fn moisture_from_dishes() {
    let dish = |after_g| Dish {
        empty_g: 20.0,
        before_g: 25.0,
        after_g,
    };
    let two = of_dishes(&[dish(24.60), dish(24.61)]).unwrap();
    near(two.mean.percent(), 7.9, 1e-9);
    near(two.spread, 0.002, 1e-12);
    assert!(
        of_dish(dish(25.1))
            .unwrap_err()
            .to_string()
            .contains("loss on drying")
    );
    assert!(of_dish(dish(19.0)).is_err() && of_dishes(&[]).is_err());
    let mut words: Vec<_> = Method::ALL.iter().map(|m| m.word()).collect();
    words.sort_unstable();
    words.dedup();
    assert_eq!(words.len(), Method::ALL.len());
}

#[test]
fn sampling_table_equals_the_standard_and_follows_its_arrows() {
    // ISO 2859-1 table 2-A, level II, seen in print in two public copies.
    for line in include_str!("data/plans/iso2859_normal_single_level2.csv")
        .lines()
        .skip(1)
    {
        let c: Vec<&str> = line.split(',').collect();
        let lot: u64 = match c[0].strip_prefix('>') {
            Some(n) => n.parse::<u64>().unwrap() + 1,
            None => c[0].split('-').next().unwrap().parse().unwrap(),
        };
        for (limit, cell) in LIMITS_PCT.iter().zip(&c[3..]) {
            let p = for_lot(lot, *limit).unwrap();
            assert_eq!(p.letter.to_string(), c[1]);
            if let Ok(accept) = cell.parse::<u32>() {
                assert_eq!(
                    (p.accept, p.plan_letter),
                    (accept, p.letter),
                    "{line} at {limit}"
                );
                assert_eq!(u64::from(p.sample), c[2].parse::<u64>().unwrap().min(lot));
            } else {
                assert_ne!(p.plan_letter, p.letter);
            }
        }
    }
    // Arrows: at 2.5 % D goes up to C (5, 0) and E down to F (20, 1); A and B go down to C.
    for (lot, letter, sample, accept) in [
        (8, 'C', 5, 0),
        (12, 'C', 5, 0),
        (50, 'C', 5, 0),
        (90, 'F', 20, 1),
        (20_000, 'M', 315, 14),
        (50_000, 'N', 500, 21),
    ] {
        let p = for_lot(lot, 2.5).unwrap();
        assert_eq!(
            (p.plan_letter, p.sample, p.accept),
            (letter, sample, accept),
            "lot {lot}"
        );
    }
    assert_eq!(
        for_lot(600_000, 2.5).unwrap().plan_letter,
        'N',
        "21 is the last number"
    );
    let small = for_lot(4, 2.5).unwrap();
    assert!(small.whole_lot && small.sample == 4 && small.sentence().contains("all 4"));
    assert!(for_lot(1, 2.5).is_err());
    assert!(for_lot(100, 3.0).unwrap_err().to_string().contains("2.5"));
}

#[test]
fn operating_curves_equal_the_reference() {
    // Binomial, computed independently.
    let r: Value = serde_json::from_str(include_str!("data/plans/sampling.json")).unwrap();
    for case in r["oc_AQL2.5_normal_single"].as_array().unwrap() {
        let f = |k: &str| case[k].as_f64().unwrap();
        let lot = match case["code"].as_str().unwrap() {
            "C" => 20,
            "F" => 100,
            "G" => 200,
            "H" => 400,
            "J" => 1000,
            "K" => 2000,
            _ => 5000,
        };
        let p = for_lot(lot, 2.5).unwrap();
        assert_eq!(
            (f64::from(p.sample), f64::from(p.accept)),
            (f("n"), f("Ac"))
        );
        for (share, accepted) in case["Pa_at"].as_object().unwrap() {
            near(
                p.accepted(share.parse().unwrap()),
                accepted.as_f64().unwrap(),
                1e-10,
            );
        }
        near(p.defective_at(0.95), f("p_at_Pa95"), 1e-9);
        near(p.defective_at(0.10), f("p_at_Pa10"), 1e-9);
        let curve = p.operating_curve(50);
        assert!(
            curve.len() == 50
                && curve[0] == (0.0, 1.0)
                && curve.windows(2).all(|w| w[0].1 > w[1].1)
        );
        assert!(p.sentence().contains("pathogens"));
    }
}

#[test]
fn net_content_rules() {
    let r: Value = serde_json::from_str(include_str!("data/plans/sampling.json")).unwrap();
    for case in r["scf"].as_array().unwrap() {
        let n = case["n"].as_u64().unwrap() as usize;
        near(
            net_content::correction_factor(n).unwrap(),
            case["SCF"].as_f64().unwrap(),
            1e-9,
        );
    }
    // The recalled table, line by line.
    for line in include_str!("data/plans/mav_memory.csv").lines().skip(1) {
        let c: Vec<&str> = line.split(',').collect();
        let rule = if c[0].starts_with("US") {
            Rule::UnitedStates
        } else {
            Rule::EuropeanUnion
        };
        let (from, to): (f64, f64) = (c[1].parse().unwrap(), c[2].parse().unwrap());
        for label in [from.max(1.0), 0.5 * (from + to)] {
            let wanted = match c[3].strip_suffix(" %") {
                Some(p) => label * p.parse::<f64>().unwrap() / 100.0,
                None => c[3].parse().unwrap(),
            };
            near(rule.allowed_shortage_g(label).unwrap(), wanted, 1e-12);
        }
    }
    let mut net = vec![500.0; 12];
    net[0] = 499.0;
    net[1] = 501.0;
    let good = net_content::check(Rule::UnitedStates, 500.0, &net, (net.len(), 0)).unwrap();
    assert!(good.passes && good.short == 0);
    assert!(
        good.findings.iter().any(|f| f.source == "recalled"),
        "recalled tables are said to be so"
    );
    net[2] = 470.0;
    let short = net_content::check(Rule::UnitedStates, 500.0, &net, (net.len(), 0)).unwrap();
    assert!(short.mean_passes && !short.passes && short.short == 1);
    let low = net_content::check(
        Rule::UnitedStates,
        500.0,
        &[495.0, 495.5, 494.5, 495.0],
        (4, 0),
    )
    .unwrap();
    assert!(!low.mean_passes && !low.passes);
    let far = net_content::check(
        Rule::EuropeanUnion,
        500.0,
        &[505.0, 530.0, 469.0, 520.0],
        (4, 0),
    )
    .unwrap();
    assert!(!far.passes && far.far_short == 1);
    assert!(net_content::check(Rule::UnitedStates, 5000.0, &net, (2, 0)).is_err());
    assert_eq!(
        [8, 100, 1000, 10_000].map(net_content::sample_for_lot),
        // A lot smaller than the sample is weighed whole: 12 of 8 can't be.
        [(8, 0), (12, 0), (24, 0), (48, 1)]
    );
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]
    #[test]
    fn colour_differences_are_symmetric_and_zero_only_for_equals(
        l in 0.0f64..100.0, a in -60.0f64..60.0, b in -60.0f64..60.0, dl in -5.0f64..5.0, da in -5.0f64..5.0, db in -5.0f64..5.0,
    ) {
        let (x, y) = (Lab { l, a, b }, Lab { l: l + dl, a: a + da, b: b + db });
        let d = difference_2000(x, y);
        prop_assert!((d - difference_2000(y, x)).abs() < 1e-9);
        prop_assert!(d >= 0.0 && d <= 3.0 * difference_1976(x, y) + 1e-9);
        prop_assert!(difference_2000(x, x) < 1e-12);
    }

    #[test]
    fn restating_is_a_round_trip(a in 0.1f64..3.0, m in 0.0f64..0.3, r in 0.0f64..0.3) {
        let there = farinograph::restate(a, WetBasis(r), WetBasis(m)).unwrap();
        let back = farinograph::restate(there, WetBasis(m), WetBasis(r)).unwrap();
        prop_assert!((back - a).abs() < 1e-12);
    }
}
