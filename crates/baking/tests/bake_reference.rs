//! The bake against the same equations solved on the same cells by independent general-purpose solvers
//! (A and C: SUNDIALS CVODE at 1e-10; with the liquid held at the dry end: SciPy Radau at 1e-8), carried in thinned
//! to about a hundred times.

#![allow(clippy::unwrap_used, reason = "a test that can't go on has failed")]

use baking::bake::case::{CaseFile, output};
use baking::bake::{Accuracy, Workspace, bake};
use serde_json::Value;

struct Reference {
    document: Value,
    name: &'static str,
}

fn references() -> [Reference; 4] {
    let read = |name, text: &str| Reference {
        document: serde_json::from_str(text).unwrap(),
        name,
    };
    [
        read("A", include_str!("data/bake_reference_a.json")),
        read("C", include_str!("data/bake_reference_c.json")),
        read(
            "dry end A",
            include_str!("data/bake_reference_dry_end_a.json"),
        ),
        read(
            "dry end B",
            include_str!("data/bake_reference_dry_end_b.json"),
        ),
    ]
}

impl Reference {
    fn column(&self, grid: &str, key: &str) -> Vec<f64> {
        let column = &self.document[grid][key];
        serde_json::from_value(column.clone()).unwrap()
    }

    fn run(&self, accuracy: Accuracy, cells: usize) -> baking::bake::case::CaseOutput {
        let mut file: CaseFile = serde_json::from_value(self.document["case"].clone()).unwrap();
        file.output_times = Some(self.column("cells_40", "t"));
        let mut case = file.read().unwrap();
        case.input.accuracy = accuracy;
        case.input.cells = cells;
        output(&bake(&case.input, &case.ask, &mut Workspace::new()).unwrap())
    }
}

fn worst(found: &[f64], wanted: &[f64], from: usize) -> f64 {
    assert_eq!(found.len(), wanted.len());
    let pairs = found.iter().zip(wanted).skip(from);
    pairs.map(|(a, b)| (a - b).abs()).fold(0.0, f64::max)
}

fn largest(column: &[f64]) -> f64 {
    column.iter().fold(0.0, |m, v| v.abs().max(m))
}

fn worst_relative(found: &[f64], wanted: &[f64]) -> f64 {
    let pairs = found.iter().zip(wanted);
    pairs
        .map(|(a, b)| (a - b).abs() / b.abs())
        .fold(0.0, f64::max)
}

#[test]
fn tight_is_the_reference_on_the_same_cells() {
    for reference in references() {
        let got = reference.run(Accuracy::Tight, 40);
        let column = |key| reference.column("cells_40", key);
        let relative = [
            ("X_mean", worst_relative(&got.X_mean, &column("X_mean"))),
            ("X_top", worst_relative(&got.X_top, &column("X_top"))),
            ("X_mid", worst_relative(&got.X_mid, &column("X_mid"))),
            (
                "X_bottom",
                worst_relative(&got.X_bottom, &column("X_bottom")),
            ),
            // The totals pass through zero: relative to their largest value.
            (
                "water_out",
                worst(&got.water_out_kg_m2, &column("water_out_kg_m2"), 0)
                    / largest(&column("water_out_kg_m2")),
            ),
            (
                "enthalpy",
                worst(
                    &got.enthalpy_in_net_J_m2,
                    &column("enthalpy_in_net_J_m2"),
                    0,
                ) / largest(&column("enthalpy_in_net_J_m2")),
            ),
        ];
        let kelvin = [
            ("T_top", worst(&got.T_top_C, &column("T_top_C"), 0)),
            ("T_mid", worst(&got.T_mid_C, &column("T_mid_C"), 0)),
            ("T_bottom", worst(&got.T_bottom_C, &column("T_bottom_C"), 0)),
        ];
        println!(
            "{} {relative:?} {kelvin:?} {:?} {:?}",
            reference.name, got.work, got.account
        );
        for (name, error) in relative {
            assert!(error <= 1e-6, "{} {name} {error:e}", reference.name);
        }
        for (name, error) in kelvin {
            assert!(error <= 0.005, "{} {name} {error:e}", reference.name);
        }
        assert!(got.account.water_rel_error <= 1e-12, "{:?}", got.account);
        assert!(got.account.energy_rel_error <= 1e-10, "{:?}", got.account);
    }
}

#[test]
fn quick_is_near_the_reference_on_the_same_cells() {
    for reference in references() {
        let got = reference.run(Accuracy::Quick, 40);
        let column = |key| reference.column("cells_40", key);
        let times = column("t");
        let moisture = worst(&got.X_mean, &column("X_mean"), 0) / column("X_mean")[0];
        let from = times.iter().position(|t| *t >= 5.0).unwrap();
        let kelvin = [
            ("T_top", worst(&got.T_top_C, &column("T_top_C"), from)),
            ("T_mid", worst(&got.T_mid_C, &column("T_mid_C"), from)),
            (
                "T_bottom",
                worst(&got.T_bottom_C, &column("T_bottom_C"), from),
            ),
        ];
        println!(
            "{} moisture {moisture:e} {kelvin:?} {:?} {:?}",
            reference.name, got.work, got.account
        );
        assert!(moisture <= 5e-4, "{} {moisture:e}", reference.name);
        for (name, error) in kelvin {
            assert!(error <= 0.5, "{} {name} {error}", reference.name);
        }
    }
}

#[test]
fn halving_the_cells_width_quarters_the_error() {
    // The two of the dry end have no history on finer cells.
    for reference in references().into_iter().take(2) {
        let column = &reference.document["X_mean_richardson_160_320"];
        let truth: Vec<f64> = serde_json::from_value(column.clone()).unwrap();
        let times = reference.column("cells_40", "t");
        let exit = reference.document["t_exit"].as_f64().unwrap();
        let at = times.iter().position(|t| *t == exit).unwrap();
        let errors = [20, 40, 80].map(|cells| {
            let got = reference.run(Accuracy::Tight, cells);
            let exit = got.X_mean[at] / truth[at] - 1.0;
            (worst(&got.X_mean, &truth, 0) / truth[0], exit)
        });
        println!("{} {errors:?}", reference.name);
        for pair in errors.windows(2) {
            let (history, exit) = (pair[0].0 / pair[1].0, pair[0].1 / pair[1].1);
            assert!((history - 4.0).abs() < 0.5, "{history}");
            assert!((exit - 4.0).abs() < 0.2, "{exit}");
        }
        let richardson = (4.0 * errors[1].1 - errors[0].1) / 3.0;
        assert!(richardson.abs() < 0.001, "{richardson}");
    }
}

#[test]
fn other_cells_give_the_exit_moisture_of_the_reference() {
    for reference in references().into_iter().skip(2) {
        let by_cells = reference.document["exit_X_mean_by_cells"]
            .as_object()
            .unwrap();
        let times = reference.column("cells_40", "t");
        let exit = reference.document["t_exit"].as_f64().unwrap();
        let at = times.iter().position(|t| *t == exit).unwrap();
        for cells in ["20", "80"] {
            let wanted = by_cells[cells].as_f64().unwrap();
            let found = reference
                .run(Accuracy::Tight, cells.parse().unwrap())
                .X_mean[at];
            assert!(
                (found - wanted).abs() < 1e-6,
                "{} {cells} {found} {wanted}",
                reference.name
            );
        }
    }
}
