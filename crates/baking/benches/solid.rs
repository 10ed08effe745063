//! How long solid bakes take: the bone with five holes over three zones on several grids, and the bar that
//! tools/bench_solid.py solves with a general-purpose package.
//!
//! `cargo bench -p baking --bench solid` prints the table; `-- bar` the bar alone, as JSON.
#![allow(
    clippy::print_stdout,
    clippy::unwrap_used,
    reason = "a bench prints and may fail"
)]

use baking::bake::case::Benchmark;
use baking::bake::search::{BandTarget, Cooling, TargetAt};
use baking::bake::solid::{
    SolidAsk, SolidGrid, SolidPiece, SolidResult, solid_bake, solid_band_time, solid_time,
};
use baking::bake::{Accuracy, BakeInput, Edge, StageKind};
use baking::piece::{Docker, DockerPattern, Outline, Piece, Places, dock};
use measure::{Range, WetBasis};
use std::time::Instant;

fn oven() -> BakeInput {
    let mut input = Benchmark::SteelBand.case().input;
    input.edge = Some(Edge::of(139.0, 0.5));
    input.accuracy = Accuracy::Quick;
    input.stages.retain(|s| s.kind == StageKind::Oven);
    input
}

fn bake(input: &BakeInput, piece: &Piece, grid: &SolidGrid) -> SolidResult {
    let pattern = DockerPattern {
        places: Places::Axis,
        depth_m: None,
    };
    let docked = dock(piece, &pattern).unwrap();
    let ask = SolidAsk {
        until: Some(WetBasis(0.08).to_dry()),
        ..SolidAsk::default()
    };
    let solid = SolidPiece {
        piece,
        docked: &docked,
    };
    solid_bake(input, solid, grid, &ask, &mut |_| true).unwrap()
}

/// Time of the processor this program has taken \[s\], and its largest memory \[MB\]; Linux only.
fn taken() -> (f64, f64) {
    let stat = std::fs::read_to_string("/proc/self/stat").unwrap_or_default();
    let ticks: Vec<f64> = stat
        .rsplit(')')
        .next()
        .unwrap_or("")
        .split_whitespace()
        .filter_map(|f| f.parse().ok())
        .collect();
    // Fields 14 and 15 of the line; the state, field 3, isn't a number.
    let used = ticks.get(10).unwrap_or(&0.0) + ticks.get(11).unwrap_or(&0.0);
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let kb = status
        .lines()
        .find_map(|l| l.strip_prefix("VmHWM:"))
        .and_then(|l| l.trim().split(' ').next()?.parse::<f64>().ok());
    (used / 100.0, kb.unwrap_or(f64::NAN) / 1024.0)
}

fn main() {
    if std::env::args().any(|a| a == "bar") {
        bar();
        return;
    }
    if std::env::args().any(|a| a == "answer") {
        answer();
        return;
    }
    println!("bone 60x30x8 mm with 5 holes, three zones; best of three");
    println!("  mm cells symmetry   nodes  in full  wall s   cpu s  steps  iterations  t to 8 % s");
    let rows = [
        (2.0, 12, true),
        (1.0, 16, true),
        (1.0, 24, true),
        (0.8, 24, true),
        (0.8, 24, false),
        (0.6, 24, true),
        (0.5, 24, true),
        (0.4, 24, true),
    ];
    let mut sizes = Vec::new();
    for (mm, cells, symmetry) in rows {
        let grid = SolidGrid {
            plan_m: mm * 1e-3,
            cells,
            symmetry,
            ..SolidGrid::USUAL
        };
        let (mut wall, mut cpu) = (f64::INFINITY, f64::INFINITY);
        let mut last = None;
        for _ in 0..3 {
            let (start, before) = (Instant::now(), taken().0);
            last = Some(bake(&oven(), &bone(5), &grid));
            wall = wall.min(start.elapsed().as_secs_f64());
            cpu = cpu.min(taken().0 - before);
        }
        let r = last.unwrap();
        println!(
            "{mm:>4} {cells:>5} {symmetry:>8} {:>7} {:>8} {wall:>7.2} {cpu:>7.2} {:>6} {:>11} {:>10.1}",
            r.grid.nodes,
            r.grid.nodes_in_full,
            r.work.steps,
            r.work.iterations,
            r.reached_s.unwrap_or(f64::NAN)
        );
        if symmetry && cells == 24 {
            sizes.push((r.grid.nodes as f64, cpu));
        }
    }
    let (a, b) = (sizes[0], sizes[sizes.len() - 1]);
    println!(
        "growth of processor time with nodes: power {:.2}; most memory {:.0} MB",
        (b.1 / a.1).ln() / (b.0 / a.0).ln(),
        taken().1
    );
}

fn bone(holes: u32) -> Piece {
    Piece {
        outline: Outline::Bone {
            length_m: 0.060,
            width_m: 0.030,
            neck_m: 0.012,
            lobe_radius_m: 0.0108,
        },
        thickness_m: 0.008,
        docker: (holes > 0).then_some(Docker {
            count: holes,
            diameter_m: 0.002,
        }),
    }
}

/// The whole answer: the search with its pictures, and that of the same piece without holes.
fn answer() {
    let mut input = Benchmark::SteelBand.case().input;
    input.edge = Some(Edge::of(139.0, 0.5));
    input.accuracy = Accuracy::Quick;
    let target = BandTarget {
        moisture: WetBasis(0.08),
        at: TargetAt::OvenExit,
        allowed_s: Range::new(60.0, 7200.0),
        guess_s: None,
        cooling: Cooling::AsGiven,
    };
    for holes in [5, 0] {
        let piece = bone(holes);
        let docked = dock(
            &piece,
            &DockerPattern {
                places: Places::Axis,
                depth_m: None,
            },
        )
        .unwrap();
        let solid = SolidPiece {
            piece: &piece,
            docked: &docked,
        };
        let (start, before) = (Instant::now(), taken().0);
        let (time_s, runs) = if holes > 0 {
            let found =
                solid_band_time(&input, solid, &SolidGrid::USUAL, &target, 40, &mut |_| true)
                    .unwrap();
            println!(
                "steps {} iterations {} nodes {}",
                found.bake.work.steps, found.bake.work.iterations, found.bake.grid.nodes
            );
            (found.time_s, found.runs)
        } else {
            let found =
                solid_time(&input, solid, &SolidGrid::USUAL, &target, &mut |_| true).unwrap();
            (found.time_s, found.runs)
        };
        println!(
            "{holes} holes: {time_s:.3} s after {runs:?} bakes; {:.2} s, {:.2} s of the processor",
            start.elapsed().as_secs_f64(),
            taken().0 - before
        );
    }
}

/// A quarter of a sharp bar of 36 × 24 × 8 mm on 2 mm and 8 cells.
fn bar() {
    let piece = Piece {
        outline: Outline::Bar {
            length_m: 0.036,
            width_m: 0.024,
            corner_radius_m: 0.0,
        },
        thickness_m: 0.008,
        docker: None,
    };
    let grid = SolidGrid {
        plan_m: 2e-3,
        cells: 8,
        ..SolidGrid::USUAL
    };
    let mut rows = Vec::new();
    for tolerance in [3e-3, 1e-5] {
        let mut input = oven();
        input.accuracy = Accuracy::Tolerance(tolerance);
        let mut best = f64::INFINITY;
        let mut means = Vec::new();
        for _ in 0..5 {
            let start = Instant::now();
            let r = bake(&input, &piece, &grid);
            best = best.min(start.elapsed().as_secs_f64());
            means = r.stages.iter().map(|s| s.mean_moisture.0).collect();
        }
        rows.push(format!(
            "{{\"tolerance\": {tolerance:e}, \"seconds\": {best}, \"mean_moisture\": {means:?}}}"
        ));
    }
    println!("[{}]", rows.join(", "));
}
