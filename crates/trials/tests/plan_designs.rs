//! Designs against what they promise: balance, aliases, points.

#![allow(clippy::unwrap_used, reason = "a failed read fails the test")]

use proptest::prelude::*;
use std::collections::{BTreeMap, BTreeSet};
use trials::Code;
use trials::plan::*;

fn names(prefix: &str, n: usize) -> Vec<String> {
    (1..=n).map(|i| format!("{prefix} {i}")).collect()
}

fn named(name: &str, levels: usize) -> Named {
    Named {
        name: name.into(),
        levels: names(name, levels),
    }
}

fn factors(k: usize) -> Vec<Factor> {
    (0..k)
        .map(|i| Factor {
            name: format!("f{i}"),
            unit: "mm".into(),
            low: 1.0,
            high: 3.0,
            allowed: None,
        })
        .collect()
}

#[test]
fn every_design_draws_its_example_and_redraws_it_alike() {
    let mut codes = BTreeSet::new();
    for design in Design::ALL {
        let request = Request::example(design);
        assert_eq!(request.design(), design);
        assert!(codes.insert(design.code()) && !design.when().is_empty());
        let unit = design.units()[0];
        let sheet = plan(&request, unit, 42).unwrap();
        assert_eq!(sheet, plan(&request, unit, 42).unwrap(), "{design:?}");
        assert!(!sheet.runs.is_empty());
        assert!(sheet.algorithm.contains("SplitMix64") && sheet.seed == 42);
        for (i, run) in sheet.runs.iter().enumerate() {
            assert_eq!(run.order, i + 1);
            assert_eq!(run.places.len(), sheet.place_names.len());
            assert_eq!(run.levels.len(), sheet.factors.len(), "{design:?}");
            assert!(!run.treatment.is_empty());
        }
        assert!(
            sheet
                .unit_statement
                .to_lowercase()
                .contains("experimental unit"),
            "{design:?}"
        );
        // Another seed gives another order for every design that has more than a few runs.
        let other = plan(&request, unit, 43).unwrap();
        assert_ne!(
            sheet.runs.iter().map(|r| &r.treatment).collect::<Vec<_>>(),
            other.runs.iter().map(|r| &r.treatment).collect::<Vec<_>>(),
            "{design:?}"
        );
        let csv = sheet.to_csv();
        assert_eq!(csv.lines().count(), sheet.runs.len() + 1);
        assert!(csv.contains(",42,"));
        let text = sheet.to_markdown();
        assert!(text.contains("seed 42") && text.contains(design.word()));
        assert_eq!(sheet.to_toml().matches("[[run]]").count(), sheet.runs.len());
        let json = serde_json::to_string(&request).unwrap();
        assert_eq!(serde_json::from_str::<Request>(&json).unwrap(), request);
    }
}

#[test]
fn pieces_and_trays_are_refused_with_the_reason() {
    for unit in [Unit::Piece, Unit::Tray] {
        let message = plan(&Request::example(Design::Blocks), unit, 1)
            .unwrap_err()
            .to_string();
        assert!(
            message.contains("not a replicate") && message.contains("share"),
            "{message}"
        );
    }
    assert_eq!(Unit::ALL.iter().filter(|u| u.is_replicate()).count(), 3);
}

#[test]
fn units_and_columns_that_do_not_fit_are_refused() {
    let message = plan(&Request::example(Design::Williams), Unit::Batch, 1)
        .unwrap_err()
        .to_string();
    assert!(
        message.contains("drawn for dogs, not for batches"),
        "{message}"
    );
    let clash = Request::Blocks(Blocks {
        treatments: names("t", 2),
        block_name: "order".into(),
        blocks: names("day", 2),
        per_block: 1,
    });
    assert!(
        plan(&clash, Unit::Batch, 1)
            .unwrap_err()
            .to_string()
            .contains("'order'")
    );
}

#[test]
fn printed_order_of_a_seed_stays_for_ever() {
    // Written down when version 1 of the algorithm was made; if this fails, sheets in the
    // field can no longer be redrawn, and the version in the algorithm's name has to change.
    let sheet = plan(&Request::example(Design::Blocks), Unit::Batch, 2024).unwrap();
    let drawn: Vec<&str> = sheet.runs.iter().map(|r| r.treatment.as_str()).collect();
    let (c, b, r, e) = (
        "control",
        "barley",
        "rice and chickpea",
        "rice and chickpea with egg white",
    );
    assert_eq!(drawn, [c, e, r, b, c, e, r, b, b, c, r, e]);
    let mixture = plan(
        &Request::example(Design::ConstrainedMixture),
        Unit::Batch,
        2024,
    )
    .unwrap();
    let drawn: Vec<&str> = mixture.runs.iter().map(|r| r.treatment.as_str()).collect();
    assert_eq!(
        drawn,
        [
            "P5", "P9", "P10", "P7", "P8", "P11", "P14", "P1", "P12", "P2", "P13", "P15", "P16",
            "P4", "P3", "P6"
        ]
    );
}

#[test]
fn latin_rows_and_columns_hold_every_treatment_once() {
    for n in 3..9 {
        for seed in 0..20 {
            let request = Request::LatinSquare(LatinSquare {
                treatments: names("t", n),
                row_name: "day".into(),
                column_name: "place".into(),
                squares: 2,
            });
            let sheet = plan(&request, Unit::Batch, seed).unwrap();
            assert_eq!(sheet.error_df, Some(2 * n * n - 2 * n - 2 * (n - 1)));
            let mut rows: BTreeMap<&str, BTreeSet<&str>> = BTreeMap::new();
            let mut columns: BTreeMap<(usize, &str), BTreeSet<&str>> = BTreeMap::new();
            for (i, run) in sheet.runs.iter().enumerate() {
                rows.entry(&run.places[0])
                    .or_default()
                    .insert(&run.treatment);
                columns
                    .entry((i / (n * n), &run.places[1]))
                    .or_default()
                    .insert(&run.treatment);
            }
            assert!(rows.len() == 2 * n && rows.values().all(|s| s.len() == n));
            assert!(columns.len() == 2 * n && columns.values().all(|s| s.len() == n));
        }
    }
}

#[test]
fn williams_sequences_balance_what_follows_what() {
    // Carry-over counts: once for four foods, twice for three and five (computed independently
    // from the construction of Williams 1949).
    for n in 2..10 {
        let sequences = Williams::sequences(n);
        let wanted = if n % 2 == 0 { 1 } else { 2 };
        assert_eq!(sequences.len(), n * wanted);
        let mut follows = vec![vec![0; n]; n];
        let mut at = vec![vec![0; n]; n];
        for s in &sequences {
            for (period, &food) in s.iter().enumerate() {
                at[period][food] += 1;
            }
            for pair in s.windows(2) {
                follows[pair[0]][pair[1]] += 1;
            }
        }
        for i in 0..n {
            for j in 0..n {
                assert_eq!(follows[i][j], if i == j { 0 } else { wanted }, "n {n}");
                assert_eq!(at[i][j], wanted);
            }
        }
    }
    let reference: serde_json::Value =
        serde_json::from_str(include_str!("data/plans/designs.json")).unwrap();
    for (key, n) in [("n3", 3), ("n4", 4)] {
        let mut wanted: Vec<Vec<usize>> =
            serde_json::from_value(reference["williams_crossover"][key].clone()).unwrap();
        let mut got = Williams::sequences(n);
        wanted.sort();
        got.sort();
        assert_eq!(got, wanted);
    }
}

#[test]
fn williams_sheet_gives_every_dog_every_food() {
    let sheet = plan(
        &Request::Williams(Williams {
            foods: names("food", 4),
            dogs: 12,
        }),
        Unit::Dog,
        5,
    )
    .unwrap();
    let mut eaten: BTreeMap<&str, BTreeSet<&str>> = BTreeMap::new();
    let mut used: BTreeMap<&str, usize> = BTreeMap::new();
    for run in &sheet.runs {
        eaten
            .entry(&run.unit_id)
            .or_default()
            .insert(&run.treatment);
        *used.entry(&run.places[0]).or_default() += 1;
    }
    assert!(eaten.len() == 12 && eaten.values().all(|f| f.len() == 4));
    assert!(used.len() == 4 && used.values().all(|&c| c == 12));
    let uneven = plan(
        &Request::Williams(Williams {
            foods: names("food", 3),
            dogs: 7,
        }),
        Unit::Dog,
        5,
    )
    .unwrap();
    assert!(
        uneven
            .findings
            .iter()
            .any(|f| f.code == Code::SequencesUneven)
    );
}

#[test]
fn fractions_have_the_known_resolution_and_words() {
    // (factors, halvings, resolution, shortest words): tables of two-level fractions common to
    // the textbooks (Box, Hunter and Hunter), from memory.
    for (k, p, resolution, shortest) in [
        (3, 1, 3, 1),
        (4, 1, 4, 1),
        (5, 1, 5, 1),
        (5, 2, 3, 2),
        (6, 1, 6, 1),
        (6, 2, 4, 3),
        (6, 3, 3, 4),
        (7, 2, 4, 1),
        (7, 3, 4, 7),
        (7, 4, 3, 7),
        (8, 2, 5, 2),
        (8, 3, 4, 3),
        (8, 4, 4, 14),
        (9, 4, 4, 6),
    ] {
        let f = Fraction::least_aberration(k, p).unwrap();
        assert_eq!(f.resolution(), Some(resolution), "2^({k}-{p})");
        let count = f
            .words
            .iter()
            .filter(|(w, _)| w.count_ones() == resolution)
            .count();
        assert_eq!(count, shortest, "2^({k}-{p})");
        assert_eq!(f.words.len(), (1 << p) - 1);
        let runs = f.runs();
        assert_eq!(runs.len(), 1 << (k - p));
        // Each word's product is constant over the runs, and every factor is balanced.
        for &(word, minus) in &f.words {
            for run in &runs {
                let low = (0..k).filter(|i| word >> i & 1 == 1 && !run[*i]).count();
                assert_eq!(low % 2 == 1, minus);
            }
        }
        for i in 0..k {
            assert_eq!(runs.iter().filter(|r| r[i]).count() * 2, runs.len());
        }
    }
}

#[test]
fn generators_are_read_and_refused_by_name() {
    let f = Fraction::from_generators(5, &["D=AB".into(), "e = -AC".into()]).unwrap();
    assert_eq!(f.defining_relation(), "I = ABD = −ACE = −BCDE");
    assert_eq!(f.aliases(1, 2), vec![(0b01010, false), (0b10100, true)]);
    for (bad, why) in [
        ("D", "no '='"),
        ("D=AZ", "'Z'"),
        ("A=BC", "span the runs"),
        ("D=A", "two or more"),
        ("D=AE", "two or more of the first 3"),
    ] {
        let message = Fraction::from_generators(5, &[bad.into(), "E=AC".into()])
            .unwrap_err()
            .to_string();
        assert!(message.contains(why), "{bad}: {message}");
    }
    let twice = Fraction::from_generators(5, &["D=AB".into(), "D=AC".into()]).unwrap_err();
    assert!(twice.to_string().contains("already"));
    assert!(Fraction::least_aberration(7, 5).is_err());
    let sheet = plan(&Request::example(Design::Fractional), Unit::Batch, 1).unwrap();
    assert!(
        sheet
            .facts
            .iter()
            .any(|f| f.name == "resolution" && f.value == "V")
    );
}

#[test]
fn response_surface_points_are_as_many_and_as_far_as_they_should_be() {
    // Run counts without centre: 2^k + 2k, and Box and Behnken 1960: 12, 24, 40, 48, 56 (from memory).
    for (k, corners) in [(2, 4), (3, 8), (4, 16), (5, 16), (6, 32), (7, 64), (8, 64)] {
        let ccd = CentralComposite {
            factors: factors(k),
            reach: Reach::Rotatable,
            centre_points: 4,
        };
        let points = ccd.points().unwrap();
        assert_eq!(points.len(), corners + 2 * k + 4);
        let alpha = (corners as f64).powf(0.25);
        assert!((points[corners][0] + alpha).abs() < 1e-12);
        // Rotatable: fourth moments are three times the mixed ones, and odd moments vanish.
        let m = |f: &dyn Fn(&Vec<f64>) -> f64| points.iter().map(f).sum::<f64>();
        assert!((m(&|p| p[0].powi(4)) - 3.0 * m(&|p| (p[0] * p[1]).powi(2))).abs() < 1e-9);
        assert!(m(&|p| p[0] * p[1]).abs() < 1e-9);
    }
    for (k, runs) in [(3, 12), (4, 24), (5, 40), (6, 48), (7, 56)] {
        let points = BoxBehnken {
            factors: factors(k),
            centre_points: 3,
        }
        .points()
        .unwrap();
        assert_eq!(points.len(), runs + 3);
        let ends = |p: &Vec<f64>| p.iter().filter(|x| x.abs() == 1.0).count();
        assert!(
            points[..runs]
                .iter()
                .all(|p| ends(p) == if k < 6 { 2 } else { 3 })
        );
        for i in 0..k {
            let per_factor = points.iter().filter(|p| p[i] != 0.0).count();
            assert_eq!(per_factor, if k < 6 { 4 * (k - 1) } else { 24 });
        }
        // A quadratic can be fitted.
        let model = Model {
            parts: 0,
            process: k,
            degree: Degree::Quadratic,
        };
        let rows = model.rows(&points);
        assert!(exchange(&rows[..1], &rows, 1, 1, 1).is_ok(), "k {k}");
    }
    let mut limited = factors(3);
    limited[0].allowed = Some(measure::Range::new(1.0, 3.0));
    let request = Request::CentralComposite(CentralComposite {
        factors: limited,
        reach: Reach::Rotatable,
        centre_points: 2,
    });
    assert!(
        plan(&request, Unit::Batch, 1)
            .unwrap()
            .findings
            .iter()
            .any(|f| f.code == Code::SettingOutOfReach)
    );
}

#[test]
fn simplex_counts_equal_the_formula() {
    // NIST/SEMATECH e-Handbook 5.5.4.2: C(q+m−1, m) points; counts in the file computed.
    let reference: serde_json::Value =
        serde_json::from_str(include_str!("data/plans/designs.json")).unwrap();
    for case in reference["simplex_lattice_counts"].as_array().unwrap() {
        let at = |k: &str| case[k].as_u64().unwrap() as usize;
        let points = SimplexLattice::points(at("q"), at("m"));
        assert_eq!(points.len(), at("points"));
        assert!(
            points
                .iter()
                .all(|p| (p.iter().sum::<f64>() - 1.0).abs() < 1e-12)
        );
    }
    for case in reference["simplex_centroid_counts"].as_array().unwrap() {
        let q = case["q"].as_u64().unwrap() as usize;
        assert_eq!(
            SimplexCentroid::points(q).len() as u64,
            case["points"].as_u64().unwrap()
        );
    }
}

#[test]
fn augmented_and_split_plot_count_their_error() {
    let augmented = Request::Augmented(Augmented {
        factors: vec![named("flour", 3), named("fat", 2)],
        control: "control".into(),
        controls_per_replicate: 2,
        replicates: 4,
        block_name: Some("day".into()),
    });
    let sheet = plan(&augmented, Unit::Batch, 9).unwrap();
    assert_eq!(sheet.runs.len(), 32);
    assert_eq!(
        sheet
            .runs
            .iter()
            .filter(|r| r.treatment == "control")
            .count(),
        8
    );
    // 31 − 3 blocks − 6 between the seven treatments.
    assert_eq!(sheet.error_df, Some(22));
    // Oats layout (6 blocks, 3 whole, 4 sub): whole error 10, sub error 45 (split-plot analysis of
    // the oats data in the R reference results).
    let split = Request::SplitPlot(SplitPlot {
        whole: named("variety", 3),
        sub: named("nitrogen", 4),
        block_name: "block".into(),
        blocks: names("block", 6),
    });
    let sheet = plan(&split, Unit::Batch, 9).unwrap();
    assert_eq!(sheet.error_df, Some(45));
    assert!(
        sheet
            .facts
            .iter()
            .any(|f| f.value.starts_with("10 degrees"))
    );
    let loads: BTreeSet<_> = sheet
        .runs
        .iter()
        .map(|r| (r.places[1].clone(), r.levels[0].to_string()))
        .collect();
    assert_eq!(loads.len(), 18, "one whole-plot level per load");
}

#[test]
fn bad_wishes_are_named() {
    let blocks = |treatments: &[&str], n| {
        Request::Blocks(Blocks {
            treatments: treatments.iter().map(|s| (*s).to_string()).collect(),
            block_name: "day".into(),
            blocks: names("day", n),
            per_block: 1,
        })
    };
    let say = |r: &Request| plan(r, Unit::Batch, 1).unwrap_err().to_string();
    assert!(say(&blocks(&["a", "a"], 3)).contains("'a'"));
    assert!(say(&blocks(&["a", ""], 3)).contains("empty"));
    assert!(say(&blocks(&["a"], 3)).contains("at least 2"));
    assert!(say(&blocks(&["a", "b"], 1)).contains("completely randomised"));
    let many = Request::CompletelyRandomised(CompletelyRandomised {
        treatments: names("t", 100),
        replicates: 100,
    });
    assert!(say(&many).contains("at most 2000"));
    // Refused before a run of it is made: these would not fit into any memory.
    let huge = Request::Blocks(Blocks {
        treatments: names("t", 200),
        block_name: "day".into(),
        blocks: names("day", 200),
        per_block: 2000,
    });
    assert!(say(&huge).contains("80000000 given, at most 2000"));
    let huge = Request::SimplexLattice(SimplexLattice {
        components: names("p", 10),
        least: vec![0.0; 10],
        steps: 10,
        replicates: 2000,
    });
    assert!(say(&huge).contains("184756000 given, at most 2000"));
    let single = Request::CompletelyRandomised(CompletelyRandomised {
        treatments: names("t", 3),
        replicates: 1,
    });
    let sheet = plan(&single, Unit::Batch, 1).unwrap();
    assert!(
        sheet
            .findings
            .iter()
            .any(|f| f.code == Code::NoErrorEstimate)
    );
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn each_block_holds_each_treatment(seed: u64, t in 2usize..9, b in 2usize..9, r in 1usize..3) {
        let request = Request::Blocks(Blocks {
            treatments: names("t", t), block_name: "day".into(), blocks: names("day", b), per_block: r,
        });
        let sheet = plan(&request, Unit::Batch, seed).unwrap();
        let mut cells: BTreeMap<(String, String), usize> = BTreeMap::new();
        for run in &sheet.runs {
            *cells.entry((run.places[0].clone(), run.treatment.clone())).or_default() += 1;
        }
        prop_assert_eq!(cells.len(), t * b);
        prop_assert!(cells.values().all(|&c| c == r));
        prop_assert_eq!(sheet.error_df, Some(t * b * r - b - t + 1));
    }

    #[test]
    fn factorial_cells_are_equal(seed: u64, a in 2usize..5, b in 2usize..5, r in 1usize..4, blocked: bool) {
        let request = Request::Factorial(Factorial {
            factors: vec![named("a", a), named("b", b)], replicates: r,
            block_name: blocked.then(|| "day".to_owned()),
        });
        let sheet = plan(&request, Unit::Batch, seed).unwrap();
        let mut cells: BTreeMap<&str, usize> = BTreeMap::new();
        for run in &sheet.runs { *cells.entry(&run.treatment).or_default() += 1; }
        prop_assert!(cells.len() == a * b && cells.values().all(|&c| c == r));
        let ids: BTreeSet<_> = sheet.runs.iter().map(|r| &r.unit_id).collect();
        prop_assert_eq!(ids.len(), sheet.runs.len());
    }
}
