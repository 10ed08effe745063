//! The studentised range, Dunnett's distribution, letters and the properties they must have.
#![allow(
    clippy::unwrap_used,
    reason = "a test may stop where its data are not as written"
)]

mod stats_common;

use proptest::prelude::*;
use serde_json::Value;
use stats_common::{close, data, list, num, reference};
use trials::stats::compare;
use trials::stats::dunnett::{self, Sides};
use trials::stats::letters::letters;
use trials::stats::one_way::{Group, from_groups};
use trials::stats::studentized_range;

#[test]
fn studentised_range_meets_mpmath() {
    let all: Value = serde_json::from_str(data!("studentized_range.json")).unwrap();
    let mut worst = 0.0_f64;
    for row in all["cdf"].as_array().unwrap() {
        let k = row["k"].as_u64().unwrap() as usize;
        let got = studentized_range::below(num(&row["q"]), k, num(&row["v"]));
        let away = (got - num(&row["cdf"])).abs();
        worst = worst.max(away);
        assert!(away < 1e-12, "{row}: {got}");
    }
    println!("studentised range: worst {worst:.2e}");
    for row in reference()["qtukey"].as_array().unwrap() {
        let df = row["df"].as_f64().unwrap_or(f64::INFINITY);
        let k = row["k"].as_u64().unwrap() as usize;
        let got = studentized_range::quantile(num(&row["p"]), k, df);
        // R's own quantile is good to about 5e-8.
        close(got, num(&row["q"]), 1e-7);
    }
    // Two means: the range is √2 |t|.
    for df in [1.0, 2.0, 4.5, 30.0, 1e6] {
        let q = studentized_range::quantile(0.95, 2, df);
        let t = trials::stats::distribution::t_quantile(0.975, df);
        close(q, 2f64.sqrt() * t, 1e-8);
    }
}

#[test]
fn tukey_meets_printed_intervals() {
    let all: Value = serde_json::from_str(data!("tukey_dunnett.json")).unwrap();
    for key in ["tukey_same_n", "tukey_diff_n(Kramer)"] {
        let case = &all[key];
        let groups: Vec<Group> = case["data"]
            .as_array()
            .unwrap()
            .iter()
            .map(|g| Group::of(&list(g)))
            .collect();
        let table = from_groups(groups);
        let (s2, df) = (table.error_variance().unwrap(), table.test.denominator_df);
        let g = &table.groups;
        let rows: Vec<_> = compare::pairs(g.len())
            .into_iter()
            .map(|(a, b)| {
                let se = (s2 * (1.0 / g[a].n as f64 + 1.0 / g[b].n as f64)).sqrt();
                (a, b, g[a].mean - g[b].mean, se, df)
            })
            .collect();
        let found = compare::tukey_of(&rows, g.len(), 1.0);
        for (pair, want) in case["sas_ci95"].as_object().unwrap() {
            let ends: Vec<usize> = pair
                .split('-')
                .map(|e| e.parse::<usize>().unwrap() - 1)
                .collect();
            let d = found
                .iter()
                .find(|d| (d.a, d.b) == (ends[0], ends[1]) || (d.b, d.a) == (ends[0], ends[1]))
                .unwrap();
            let (low, high) = if d.a == ends[0] {
                (d.low, d.high)
            } else {
                (-d.high, -d.low)
            };
            // The printed intervals use a quantile good to 1e-5.
            close(low, num(&want[0]), 2e-4);
            close(high, num(&want[2]), 2e-4);
            close(d.p, num(&case["scipy_pvalues"][d.a][d.b]), 1e-8);
        }
    }
}

#[test]
fn dunnett_is_exact() {
    let all: Value = serde_json::from_str(data!("tukey_dunnett.json")).unwrap();
    for row in all["dunnett_critical_equal_n"].as_array().unwrap() {
        let k = row["k_treatments"].as_u64().unwrap() as usize;
        let sides = if row["two_sided"] == true {
            Sides::Two
        } else {
            Sides::Greater
        };
        let loadings = dunnett::loadings(&vec![10; k], 10);
        let got = dunnett::quantile(num(&row["p"]), &loadings, num(&row["df"]), sides);
        close(got, num(&row["d"]), 1e-8);
    }
    // The 1955 table prints 2.81 here; the exact value is below 2.76.
    let got = dunnett::quantile(0.95, &dunnett::loadings(&[5; 3], 5), 10.0, Sides::Two);
    assert!((got - 2.758997).abs() < 1e-6);
    for case in all["dunnett_cases"].as_array().unwrap() {
        let mut groups = vec![Group::of(&list(&case["control"]))];
        groups.extend(
            case["samples"]
                .as_array()
                .unwrap()
                .iter()
                .map(|g| Group::of(&list(g))),
        );
        let table = from_groups(groups);
        let (s2, df) = (table.error_variance().unwrap(), table.test.denominator_df);
        let (control, others) = table.groups.split_first().unwrap();
        let numbers: Vec<usize> = others.iter().map(|g| g.n).collect();
        let loadings = dunnett::loadings(&numbers, control.n);
        for (sides, key) in [
            (Sides::Two, "twosided"),
            (Sides::Greater, "greater"),
            (Sides::Less, "less"),
        ] {
            let critical = dunnett::quantile(0.95, &loadings, df, sides);
            for (i, (g, want)) in others.iter().zip(list(&case["pvalues"][key])).enumerate() {
                let d = g.mean - control.mean;
                let se = (s2 * (1.0 / g.n as f64 + 1.0 / control.n as f64)).sqrt();
                let p = dunnett::p_value(d / se, &loadings, df, sides);
                // The printed p-values come from simulation or a few digits.
                assert!((p - want).abs() < 5e-4, "{key}: {p} {want}");
                let ci = &case["cis"][key];
                let (low, high) = (d - critical * se, d + critical * se);
                match sides {
                    Sides::Two => {
                        close(low, num(&ci[0][i]), 5e-3);
                        close(high, num(&ci[1][i]), 5e-3);
                    }
                    Sides::Greater => close(low, num(&ci[i]), 5e-3),
                    Sides::Less => close(high, num(&ci[i]), 5e-3),
                }
            }
        }
    }
}

#[test]
fn letters_of_a_published_instance() {
    // Gramm and others 2007, figure 2.
    let h = [(1, 5), (2, 3), (2, 5), (3, 5)];
    let found = letters(5, |i, j| h.contains(&(i.min(j) + 1, i.max(j) + 1)));
    assert_eq!(found, ["ab", "a", "b", "abc", "c"]);
}

proptest! {
    #[test]
    fn share_a_letter_exactly_when_not_different(
        n in 2usize..9,
        bits in prop::collection::vec(any::<bool>(), 36),
    ) {
        let at = |i: usize, j: usize| { let (a, b) = (i.min(j), i.max(j)); bits[b * (b - 1) / 2 + a] };
        let found = letters(n, at);
        for i in 0..n {
            prop_assert!(!found[i].is_empty());
            for j in 0..i {
                let share = found[i].chars().any(|c| found[j].contains(c));
                prop_assert_eq!(share, !at(i, j), "{:?}", found);
            }
        }
    }

    #[test]
    fn order_shift_and_scale_behave(
        values in prop::collection::vec(-50.0f64..50.0, 12..30),
        shift in -1e3f64..1e3,
        scale in 0.1f64..20.0,
        turn in 0usize..12,
    ) {
        let n = values.len();
        let codes: Vec<usize> = (0..n).map(|i| i % 3).collect();
        let own = trials::stats::one_way::one_way(&codes, &values, 3);
        let mut order: Vec<usize> = (0..n).collect();
        order.rotate_left(turn % n);
        order.reverse();
        let moved_codes: Vec<usize> = order.iter().map(|&i| codes[i]).collect();
        let moved: Vec<f64> = order.iter().map(|&i| values[i] * scale + shift).collect();
        let other = trials::stats::one_way::one_way(&moved_codes, &moved, 3);
        prop_assert!((own.test.f - other.test.f).abs() <= 1e-9 * own.test.f.max(1e-6));
        prop_assert!((other.within - own.within * scale * scale).abs() <= 1e-9 * other.within.max(1e-9));
    }
}
