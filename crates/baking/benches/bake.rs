//! Milliseconds per bake: best of many, by case, cells and accuracy; then many different bakes on all cores.
//!
//! `cargo bench -p baking` prints tables; with `-- --json CASE ACCURACY` one line of JSON for one case
//! (`steel`, `mesh` or `thin`; `quick`, `tight` or a tolerance), oven stages only, for the comparison script.

#![allow(
    clippy::print_stdout,
    reason = "the tables are what this program is for"
)]

use baking::bake::case::Benchmark;
use baking::bake::{Accuracy, Ask, AskedTimes, BakeInput, StageKind, Workspace, bake};
use measure::DryBasis;
use rayon::prelude::*;
use std::hint::black_box;
use std::time::Instant;

fn main() {
    let words: Vec<String> = std::env::args()
        .skip(1)
        .filter(|a| a != "--bench")
        .collect();
    if words.first().is_some_and(|w| w == "--json") {
        return json(&words[1..]);
    }
    println!(
        "{:<22} {:>5} {:>6} {:>12} {:>12} {:>7} {:>6}",
        "case", "cells", "", "oven ms", "whole ms", "steps", "rhs"
    );
    for benchmark in Benchmark::ALL {
        for (name, accuracy) in [("quick", Accuracy::Quick), ("tight", Accuracy::Tight)] {
            for cells in [20, 40, 80] {
                let mut whole = benchmark.case().input;
                whole.accuracy = accuracy;
                whole.cells = cells;
                let oven = oven_only(&whole);
                let (oven_ms, work) = best_ms(&oven, &Ask::default());
                let (whole_ms, _) = best_ms(&whole, &Ask::default());
                println!(
                    "{:<22} {cells:>5} {name:>6} {oven_ms:>12.3} {whole_ms:>12.3} {:>7} {:>6}",
                    benchmark.name(),
                    work.0,
                    work.1
                );
            }
        }
    }
    many();
}

fn oven_only(input: &BakeInput) -> BakeInput {
    let mut out = input.clone();
    out.stages.retain(|s| s.kind == StageKind::Oven);
    out
}

/// Best time of one bake, with its steps and right-hand sides.
fn best_ms(input: &BakeInput, ask: &Ask) -> (f64, (usize, usize)) {
    let mut w = Workspace::new();
    let first = bake(input, ask, &mut w).expect("the benchmark bakes");
    // As long as the comparison script gives the other solvers.
    let budget = Instant::now();
    let mut best = f64::INFINITY;
    let mut runs = 0;
    while runs < 5 || budget.elapsed().as_secs_f64() < 1.0 {
        let start = Instant::now();
        black_box(bake(black_box(input), ask, &mut w).expect("the benchmark bakes"));
        best = best.min(start.elapsed().as_secs_f64() * 1e3);
        runs += 1;
    }
    (best, (first.work.steps, first.work.rhs))
}

/// The i-th of many different bakes: a low-discrepancy walk through dough and oven settings.
fn variant(i: usize) -> BakeInput {
    let part = |k: f64| (i as f64 * k).fract();
    let mut input = Benchmark::SteelBand.case().input;
    input.accuracy = Accuracy::Quick;
    input.thickness_m = 0.006 + 0.005 * part(0.618_034);
    input.initial_moisture = DryBasis(0.35 + 0.2 * part(0.754_878));
    for stage in &mut input.stages {
        if stage.kind == StageKind::Oven {
            stage.air_k += 30.0 * (part(0.569_840) - 0.5);
            stage.top_w_per_m2_k *= 0.7 + 0.6 * part(0.819_173);
            stage.duration_s *= 0.7 + 0.6 * part(0.671_044);
        }
    }
    input
}

/// 10,000 different bakes with cooling and pack, on one thread and on two; the sums must agree to the bit.
fn many() {
    const BAKES: usize = 10_000;
    let run = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new()
            .num_threads(threads)
            .build()
            .expect("threads");
        let start = Instant::now();
        let moistures: Vec<f64> = pool.install(|| {
            (0..BAKES)
                .into_par_iter()
                .map_init(Workspace::new, |w, i| {
                    let result = bake(&variant(i), &Ask::default(), w).expect("bakes");
                    result
                        .end_of(StageKind::Pack)
                        .map_or(0.0, |e| e.mean_moisture.0)
                })
                .collect()
        });
        let sum = moistures
            .iter()
            .fold(0u64, |s, m| s.rotate_left(1) ^ m.to_bits());
        (start.elapsed().as_secs_f64(), sum)
    };
    let (one, sum_one) = run(1);
    let (two, sum_two) = run(2);
    println!("{BAKES} bakes with cooling and pack: 1 thread {one:.2} s, 2 threads {two:.2} s");
    assert_eq!(
        sum_one, sum_two,
        "results must not depend on the number of threads"
    );
    println!("checksum {sum_one:016x} on both");
}

fn json(words: &[String]) {
    let benchmark = match words.first().map(String::as_str) {
        Some("mesh") => Benchmark::Mesh,
        Some("thin") => Benchmark::ThinHot,
        _ => Benchmark::SteelBand,
    };
    let mut input = oven_only(&benchmark.case().input);
    input.accuracy = match words.get(1).map(String::as_str) {
        Some("tight") => Accuracy::Tight,
        Some("quick") | None => Accuracy::Quick,
        Some(number) => Accuracy::Tolerance(number.parse().expect("a tolerance such as 1e-4")),
    };
    let total: f64 = input.oven_time_s();
    let ask = Ask {
        history: AskedTimes::At((0..=200).map(|i| total * f64::from(i) / 200.0).collect()),
        profile_times_s: Vec::new(),
        ..Ask::default()
    };
    // The general solvers don't follow the kill either.
    let (ms, _) = best_ms(
        &input,
        &Ask {
            without_kill: true,
            ..Ask::default()
        },
    );
    let result = bake(&input, &ask, &mut Workspace::new()).expect("bakes");
    println!(
        "{}",
        serde_json::json!({"ms": ms, "steps": result.work.steps, "t_s": result.history.time_s, "X_mean": result.history.mean_moisture})
    );
}
