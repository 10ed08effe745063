//! A baking disc against the same equations in radius and height, solved by a general-purpose package:
//! tools/solid_axisymmetric.py wrote the numbers (SciPy BDF, rtol 1e-5, two grids and their Richardson limit).
#![allow(clippy::unwrap_used, reason = "a test that can't go on has failed")]

use baking::bake::solid::{SolidAsk, SolidGrid, SolidPiece, solid_bake};
use baking::bake::{Accuracy, BakeInput, Edge, StageKind, case::Benchmark};
use baking::piece::{DockerPattern, Outline, Piece, dock};
use serde_json::Value;

/// The oven's zones cut at the times asked for, so that each of them ends a stage.
fn cut(input: &mut BakeInput, times_s: &[f64]) {
    let mut stages = Vec::new();
    let mut begin = 0.0;
    for stage in input.stages.iter().filter(|s| s.kind == StageKind::Oven) {
        let end = begin + stage.duration_s;
        let inside = times_s
            .iter()
            .copied()
            .filter(|t| *t > begin && *t < end - 1e-9);
        let mut from = begin;
        for to in inside.chain([end]) {
            let mut part = stage.clone();
            part.duration_s = to - from;
            stages.push(part);
            from = to;
        }
        begin = end;
    }
    input.stages = stages;
}

#[test]
fn disc_agrees_with_radius_and_height() {
    let reference: Value =
        serde_json::from_str(include_str!("data/solid_axisymmetric.json")).unwrap();
    let numbers = |v: &Value| -> Vec<f64> {
        v.as_array()
            .unwrap()
            .iter()
            .map(|n| n.as_f64().unwrap())
            .collect()
    };
    let times = numbers(&reference["time_s"]);
    let piece = Piece {
        outline: Outline::Round {
            diameter_m: 2.0 * reference["radius_m"].as_f64().unwrap(),
        },
        thickness_m: reference["thickness_m"].as_f64().unwrap(),
        docker: None,
    };
    let docked = dock(&piece, &DockerPattern::default()).unwrap();
    for case in reference["exposures"].as_array().unwrap() {
        let exposure = case["exposure"].as_f64().unwrap();
        let wanted = numbers(&case["extrapolated"]);
        let mut input = Benchmark::SteelBand.case().input;
        input.edge = Some(Edge::of(100.0, exposure));
        input.accuracy = Accuracy::Tolerance(1e-4);
        cut(&mut input, &times);
        let grid = SolidGrid {
            plan_m: 0.6e-3,
            cells: 32,
            ..SolidGrid::USUAL
        };
        let solid = SolidPiece {
            piece: &piece,
            docked: &docked,
        };
        let r = solid_bake(&input, solid, &grid, &SolidAsk::default(), &mut |_| true).unwrap();
        for (t, wanted) in times.iter().zip(&wanted) {
            let end = r
                .stages
                .iter()
                .find(|s| (s.time_s - t).abs() < 1e-6)
                .unwrap();
            let gap = end.mean_moisture.0 - wanted;
            println!("exposure {exposure}, {t} s: {wanted:.5}, {gap:+.5}");
            // Half a hundredth of the initial moisture.
            assert!(gap.abs() < 0.005 * 0.45, "{t} {wanted} {gap}");
        }
    }
}

/// On the same nodes the two programs have to give the same: a bar of 36 × 24 × 8 mm on 2 mm and 8 cells, with the
/// numbers of tools/bench_solid.py (SciPy BDF with a sparse Jacobian, rtol 1e-6), at the ends of the zones.
#[test]
fn bar_agrees_on_the_same_nodes() {
    let piece = Piece {
        outline: Outline::Bar {
            length_m: 0.036,
            width_m: 0.024,
            corner_radius_m: 0.0,
        },
        thickness_m: 0.008,
        docker: None,
    };
    let docked = dock(&piece, &DockerPattern::default()).unwrap();
    let mut input = Benchmark::SteelBand.case().input;
    input.edge = Some(Edge::of(100.0, 0.5));
    input.accuracy = Accuracy::Tolerance(1e-5);
    let grid = SolidGrid {
        plan_m: 2e-3,
        cells: 8,
        ..SolidGrid::USUAL
    };
    let solid = SolidPiece {
        piece: &piece,
        docked: &docked,
    };
    let r = solid_bake(&input, solid, &grid, &SolidAsk::default(), &mut |_| true).unwrap();
    let wanted = [
        0.372_620_102_689_492_1,
        0.168_143_953_179_097_14,
        0.031_457_253_374_504_224,
    ];
    for (end, wanted) in r.stages.iter().zip(wanted) {
        let gap = end.mean_moisture.0 - wanted;
        println!("bar, {}: {gap:e}", end.name);
        assert!(gap.abs() < 2e-6, "{} {gap}", end.name);
    }
}
