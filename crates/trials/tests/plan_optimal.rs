//! Mixtures within bounds, and the exchange against exhaustive optima.

#![allow(clippy::unwrap_used, reason = "a failed read fails the test")]

use proptest::prelude::*;
use serde_json::Value;
use trials::Code;
use trials::plan::vertices::{candidates, centroid, check_bounds, corners, face_centroids};
use trials::plan::*;

fn reference() -> Value {
    serde_json::from_str(include_str!("data/plans/designs.json")).unwrap()
}

fn points(v: &Value) -> Vec<Vec<f64>> {
    serde_json::from_value(v.clone()).unwrap()
}

fn parts(low: &[f64], high: &[f64]) -> Vec<Component> {
    (0..low.len())
        .map(|i| Component {
            name: format!("part {i}"),
            low: low[i],
            high: high[i],
        })
        .collect()
}

fn flare() -> Vec<Component> {
    parts(&[0.40, 0.10, 0.10, 0.03], &[0.60, 0.50, 0.50, 0.08])
}

fn alike(mut a: Vec<Vec<f64>>, mut b: Vec<Vec<f64>>) -> bool {
    a.sort_by(|x, y| x.partial_cmp(y).unwrap());
    b.sort_by(|x, y| x.partial_cmp(y).unwrap());
    a.len() == b.len()
        && a.iter()
            .zip(&b)
            .all(|(p, q)| p.iter().zip(q).all(|(x, y)| (x - y).abs() < 1e-9))
}

#[test]
fn flare_mixture_has_its_eight_corners_and_six_faces() {
    // McLean and Anderson 1966 (bounds from memory), corners and faces computed independently.
    let (bounds, file) = (flare(), reference());
    let wanted = &file["mclean_anderson_flare"];
    let found = corners(&bounds).unwrap();
    assert!(alike(found.clone(), points(&wanted["vertices"])));
    assert!(alike(
        face_centroids(&bounds, &found),
        points(&wanted["face_centroids"])
    ));
    assert!(alike(
        vec![centroid(&found)],
        vec![vec![0.5, 0.2225, 0.2225, 0.055]]
    ));
    // The upper bounds of parts 1 and 2 cannot be reached: 1 − 0.4 − 0.1 − 0.03 = 0.47.
    let findings = check_bounds(&bounds).unwrap();
    assert_eq!(
        findings
            .iter()
            .filter(|f| f.code == Code::BoundNeverReached)
            .count(),
        2
    );
    let three = parts(&[0.4, 0.05, 0.1], &[0.75, 0.3, 0.4]);
    assert!(alike(
        corners(&three).unwrap(),
        points(&file["constrained_mixture_3"]["vertices"])
    ));
    for p in candidates(&bounds).unwrap() {
        assert!((p.iter().sum::<f64>() - 1.0).abs() < 1e-9);
        assert!(
            p.iter()
                .zip(&bounds)
                .all(|(x, c)| *x > c.low - 1e-9 && *x < c.high + 1e-9)
        );
    }
}

#[test]
fn impossible_bounds_are_explained() {
    let say = |c: &[Component]| check_bounds(c).unwrap_err().to_string();
    assert!(say(&parts(&[0.6, 0.5], &[0.9, 0.9])).contains("above 1"));
    assert!(say(&parts(&[0.1, 0.1], &[0.3, 0.3])).contains("below 1"));
    assert!(say(&parts(&[40.0, 0.1], &[60.0, 0.3])).contains("fractions"));
    assert!(say(&parts(&[0.4, 0.1], &[0.2, 0.3])).contains("not a range"));
}

/// Share of seeds whose exchange ends at the exhaustive optimum.
fn share_reached(rows: &[Vec<f64>], n: usize, optimum: f64, starts: usize) -> f64 {
    let seeds = 200;
    let hits = (0..seeds)
        .filter(|&seed| {
            let found = exchange(rows, &[], n, starts, seed).unwrap();
            assert!(found.ln_det < optimum.ln() + 1e-6, "better than exhaustive");
            (found.ln_det - optimum.ln()).abs() < 1e-6
        })
        .count();
    hits as f64 / seeds as f64
}

#[test]
fn exchange_reaches_the_exhaustive_optimum() {
    // Exhaustive enumeration of all multisets, computed independently.
    let file = reference();
    let grid: Vec<Vec<f64>> = (0..9)
        .map(|i| vec![f64::from(i % 3) - 1.0, f64::from(i / 3) - 1.0])
        .collect();
    let quadratic = Model {
        parts: 0,
        process: 2,
        degree: Degree::Quadratic,
    }
    .rows(&grid);
    for case in file["d_optimal_2factor_full_quadratic_3x3_grid_exhaustive"]["results"]
        .as_array()
        .unwrap()
    {
        let (n, det) = (
            case["n"].as_u64().unwrap() as usize,
            case["max_det_XtX"].as_f64().unwrap(),
        );
        let share = share_reached(&quadratic, n, det, 10);
        println!("3×3 grid, n {n}: {share}");
        assert!(share >= 0.95, "n {n}: {share}");
    }
    let lattice = SimplexLattice::points(3, 4);
    let scheffe = Model {
        parts: 3,
        process: 0,
        degree: Degree::Quadratic,
    }
    .rows(&lattice);
    for case in file["d_optimal_scheffe_quadratic_q3_lattice34_exhaustive"]["results"]
        .as_array()
        .unwrap()
    {
        let (n, det) = (
            case["n"].as_u64().unwrap() as usize,
            case["max_det"].as_f64().unwrap(),
        );
        let share = share_reached(&scheffe, n, det, 10);
        println!("{{3,4}} lattice, n {n}: {share}");
        assert!(share >= 0.95, "n {n}: {share}");
    }
}

#[test]
fn one_factor_quadratic_meets_the_equivalence_theorem() {
    // Kiefer and Wolfowitz: support −1, 0, 1 with equal weight, largest variance × runs = 3,
    // det M = 4/27 (textbook theory, from memory).
    let line: Vec<Vec<f64>> = (0..=40).map(|i| vec![f64::from(i) / 20.0 - 1.0]).collect();
    let rows = Model {
        parts: 0,
        process: 1,
        degree: Degree::Quadratic,
    }
    .rows(&line);
    let best = exchange(&rows, &[], 9, 10, 3).unwrap();
    assert!((best.largest_variance - 3.0).abs() < 1e-9);
    assert!(((best.ln_det - 3.0 * 9f64.ln()).exp() - 4.0 / 27.0).abs() < 1e-12);
    assert_eq!(best.chosen, [0, 0, 0, 20, 20, 20, 40, 40, 40]);
}

#[test]
fn constrained_mixture_with_water_as_process_factor() {
    let wish = ConstrainedMixture {
        components: flare(),
        process: vec![Factor {
            name: "added water".into(),
            unit: "kg per 100 kg".into(),
            low: 26.0,
            high: 34.0,
            allowed: None,
        }],
        degree: Degree::Quadratic,
        runs: 20,
        starts: 50,
    };
    let clock = std::time::Instant::now();
    let sheet = plan(&Request::ConstrainedMixture(wish.clone()), Unit::Batch, 7).unwrap();
    let took = clock.elapsed();
    println!("4 parts × water, 20 runs, 50 starts: {took:?}");
    for f in &sheet.facts {
        println!("{}: {}", f.name, f.value);
    }
    assert_eq!(sheet.runs.len(), 20);
    assert_eq!(sheet.error_df, Some(20 - 15));
    for run in &sheet.runs {
        let sum: f64 = run.levels[..4]
            .iter()
            .map(|l| {
                if let Level::Number(x) = l {
                    *x
                } else {
                    f64::NAN
                }
            })
            .sum();
        assert!((sum - 1.0).abs() < 1e-9);
    }
    let mut wet = wish;
    wet.components[3].name = "Water".into();
    let sheet = plan(&Request::ConstrainedMixture(wet.clone()), Unit::Batch, 7).unwrap();
    assert!(
        sheet
            .findings
            .iter()
            .any(|f| f.code == Code::WaterAsMixturePart)
    );
    wet.runs = 10;
    assert!(
        plan(&Request::ConstrainedMixture(wet), Unit::Batch, 7)
            .unwrap_err()
            .to_string()
            .contains("as many runs as terms")
    );
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(128))]

    #[test]
    fn corners_stand_on_their_bounds(low in proptest::collection::vec(0.0f64..0.3, 3..6), width in proptest::collection::vec(0.05f64..0.7, 6)) {
        let bounds: Vec<Component> = low.iter().zip(&width).enumerate()
            .map(|(i, (l, w))| Component { name: format!("part {i}"), low: *l, high: (l + w).min(1.0) })
            .collect();
        if check_bounds(&bounds).is_err() {
            return Ok(());
        }
        let q = bounds.len();
        let found = corners(&bounds).unwrap();
        prop_assert!(!found.is_empty());
        for (i, p) in found.iter().enumerate() {
            prop_assert!((p.iter().sum::<f64>() - 1.0).abs() < 1e-9);
            prop_assert!(p.iter().zip(&bounds).all(|(x, c)| *x >= c.low - 1e-9 && *x <= c.high + 1e-9));
            let tight = p.iter().zip(&bounds).filter(|(x, c)| (*x - c.low).abs() < 1e-8 || (*x - c.high).abs() < 1e-8).count();
            prop_assert!(tight + 1 >= q, "a corner has all but one part at an end");
            for other in &found[..i] {
                prop_assert!(p.iter().zip(other).any(|(a, b)| (a - b).abs() > 1e-10));
            }
        }
        // The middle lies inside, so it is no corner unless there is only one.
        let m = centroid(&found);
        prop_assert!(m.iter().zip(&bounds).all(|(x, c)| *x >= c.low - 1e-9 && *x <= c.high + 1e-9));
    }

    #[test]
    fn more_runs_never_tell_less(seed: u64, n in 6usize..14) {
        let grid: Vec<Vec<f64>> = (0..9).map(|i| vec![f64::from(i % 3) - 1.0, f64::from(i / 3) - 1.0]).collect();
        let rows = Model { parts: 0, process: 2, degree: Degree::Quadratic }.rows(&grid);
        let a = exchange(&rows, &[], n, 5, seed).unwrap();
        let b = exchange(&rows, &[], n + 1, 5, seed).unwrap();
        prop_assert!(b.ln_det > a.ln_det);
        prop_assert_eq!(a.chosen.len(), n);
        // No plan beats the equivalence bound, and ln det is that of the rows chosen.
        prop_assert!(a.largest_variance >= 6.0 - 1e-9);
        let x = nalgebra::DMatrix::from_fn(n, 6, |i, j| rows[a.chosen[i]][j]);
        prop_assert!(((x.transpose() * x).determinant().ln() - a.ln_det).abs() < 1e-8);
    }
}
