//! The version of a model says which arithmetic an answer came from: benchmark answers that move without it would let
//! old answers pass for new ones. The same benchmarks pin how much work a bake takes.
//!
//! After a change that is meant, raise the version and run with `UPDATE_VERSIONS=1`; numbers of earlier versions stay.

#![allow(clippy::unwrap_used, reason = "a test that can't go on has failed")]

use baking::bake::case::Benchmark;
use baking::bake::solid::{self, SolidAsk, SolidGrid, SolidPiece, solid_bake};
use baking::bake::{Accuracy, BakeInput, Work, bake_simple};
use baking::oven::{Cooling, Pack, presets, stages};
use baking::piece::{Docker, DockerPattern, EDGE_EXPOSURE, Outline, Piece, dock};
use baking::properties::{DrySolids, PropertySettings, dough_properties};
use measure::WetBasis;
use measure::temperature::kelvin;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::path::Path;

/// How far an answer may move before it is another one: ten times what another processor's vector width changes.
const SAME: f64 = 1e-6;

/// What a version gave.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
struct Pinned {
    /// Answers by name.
    answers: BTreeMap<String, f64>,
    /// Work counts by name.
    work: BTreeMap<String, usize>,
}

type Versions = BTreeMap<String, BTreeMap<u32, Pinned>>;

fn piece() -> Piece {
    Piece {
        outline: Outline::Bar {
            length_m: 0.060,
            width_m: 0.030,
            corner_radius_m: 0.003,
        },
        thickness_m: 0.008,
        docker: Some(Docker {
            count: 10,
            diameter_m: 0.002,
        }),
    }
}

/// A lean wheat dough with every default number, on the example steel band.
fn usual() -> BakeInput {
    let solids = DrySolids {
        protein: 0.13,
        fat: 0.08,
        carbohydrate: 0.70,
        fibre: 0.05,
        ash: 0.04,
        sugars: Some(0.04),
        salt: Some(0.006),
        starch: Some(0.60),
    };
    let moisture = WetBasis(0.33);
    let dough = dough_properties(&solids, moisture, &PropertySettings::default()).unwrap();
    let piece = piece();
    BakeInput {
        thickness_m: piece.thickness_m,
        initial_moisture: moisture.to_dry(),
        initial_temperature_k: kelvin(27.0),
        dry_solid_kg_per_m3: dough.density.dry_solid_kg_per_m3,
        closures: dough.closures(),
        edge: Some(piece.edge(EDGE_EXPOSURE.value)),
        stages: stages(
            &presets::steel_band(),
            900.0,
            0.060,
            &Cooling::default(),
            &Pack::default(),
        )
        .unwrap(),
        cells: 40,
        accuracy: Accuracy::Quick,
    }
}

fn quick() -> Pinned {
    let mut pinned = Pinned {
        answers: BTreeMap::new(),
        work: BTreeMap::new(),
    };
    let mut cases = vec![("usual", usual())];
    for benchmark in Benchmark::ALL {
        let mut input = benchmark.case().input;
        input.accuracy = Accuracy::Quick;
        cases.push((benchmark.name(), input));
    }
    for (name, input) in cases {
        let result = bake_simple(&input).unwrap();
        for (i, end) in result.stages.iter().enumerate() {
            let mut put = |what: &str, value: f64| {
                pinned.answers.insert(format!("{name} {i} {what}"), value);
            };
            put("mean moisture", end.mean_moisture.0);
            put("centre moisture", end.centre.moisture.0);
            put("top temperature", end.top.temperature_k);
            put("colour", end.colour_delta_e);
            put("kill", end.kill.log10);
        }
        let Work {
            steps,
            rejected,
            jacobians,
            rhs,
        } = result.work;
        for (what, n) in [
            ("steps", steps),
            ("rejected", rejected),
            ("factorisations", jacobians),
            ("right-hand sides", rhs),
        ] {
            pinned.work.insert(format!("{name} {what}"), n);
        }
    }
    pinned
}

fn whole() -> Pinned {
    let piece = piece();
    let docked = dock(&piece, &DockerPattern::default()).unwrap();
    let solid = SolidPiece {
        piece: &piece,
        docked: &docked,
    };
    let grid = SolidGrid {
        plan_m: 3e-3,
        cells: 8,
        ..SolidGrid::USUAL
    };
    let ask = SolidAsk::default();
    let result = solid_bake(&usual(), solid, &grid, &ask, &mut |_| true).unwrap();
    let mut answers = BTreeMap::new();
    for (i, end) in result.stages.iter().enumerate() {
        answers.insert(format!("{i} mean moisture"), end.mean_moisture.0);
        answers.insert(format!("{i} wettest"), end.wettest.moisture.0);
        answers.insert(format!("{i} colour"), end.colour_mean_delta_e);
    }
    let work = [
        ("steps", result.work.steps),
        ("rejected", result.work.rejected),
        ("iterations", result.work.iterations),
    ];
    Pinned {
        answers,
        work: work.map(|(what, n)| (what.to_owned(), n)).into(),
    }
}

fn moved(now: &Pinned, then: &Pinned) -> Vec<String> {
    let mut moved = Vec::new();
    for (name, value) in &now.answers {
        let near = |was: &f64| (value - was).abs() <= SAME * value.abs().max(1e-3);
        let was = then.answers.get(name);
        if !was.is_some_and(near) {
            moved.push(format!("{name}: {was:?} → {value}"));
        }
    }
    for (name, value) in &now.work {
        let was = then.work.get(name).copied().unwrap_or(0);
        // A step more or less is another processor's last digit; more is other work.
        if value.abs_diff(was) > 1 + was / 50 {
            moved.push(format!("{name}: {was} → {value}"));
        }
    }
    moved
}

#[test]
fn benchmark_answers_move_only_with_the_version() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/model_versions.json");
    let text = std::fs::read_to_string(&path).unwrap_or_else(|_| "{}".to_owned());
    let mut versions: Versions = serde_json::from_str(&text).unwrap();
    let update = std::env::var_os("UPDATE_VERSIONS").is_some();
    for (model, version, now) in [
        ("quick", baking::bake::MODEL_VERSION, quick()),
        ("whole piece", solid::MODEL_VERSION, whole()),
    ] {
        let known = versions.entry(model.to_owned()).or_default();
        match known.get(&version) {
            Some(then) => {
                let moved = moved(&now, then);
                assert!(
                    moved.is_empty(),
                    "{model}, version {version}: raise MODEL_VERSION if this is meant, and run with UPDATE_VERSIONS=1\n{}",
                    moved.join("\n")
                );
            }
            None if update => {
                known.insert(version, now);
            }
            None => panic!("{model}: no numbers of version {version}; run with UPDATE_VERSIONS=1"),
        }
    }
    if update {
        let text = serde_json::to_string_pretty(&versions).unwrap();
        std::fs::write(&path, text + "\n").unwrap();
    }
}
