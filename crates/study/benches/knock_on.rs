//! The knock-on: best of many, and as a multiple of one plain bake in the same run, because milliseconds differ
//! from machine to machine and a multiple doesn't.
//!
//! The rows on all threads need a quiet machine: other work stretches them far more than the single-threaded ones.
//!
//! `cargo bench -p study --bench knock_on`

#![allow(clippy::print_stdout, reason = "the table is what this program is for")]

use baking::bake::case::Benchmark;
use baking::bake::{Accuracy, Ask, StageKind, bake};
use std::hint::black_box;
use std::time::Instant;
use study::{
    BakeOptions, Sample, Treatment, Workspace, compare, knock_on, run, spread, water_curve,
};

const DEMONSTRATION: &str = include_str!("../../../examples/spent-grain.toml");

/// Best of many runs within about a second and a half, ms.
fn best_ms(mut run: impl FnMut()) -> f64 {
    run();
    let budget = Instant::now();
    let mut best = f64::INFINITY;
    let mut runs = 0;
    while runs < 5 || (budget.elapsed().as_secs_f64() < 1.5 && runs < 2000) {
        let start = Instant::now();
        run();
        best = best.min(start.elapsed().as_secs_f64() * 1e3);
        runs += 1;
    }
    best
}

fn main() {
    let study = study::written::read(DEMONSTRATION).expect("the demonstration is sound");
    let plain = plain_ms();
    println!("{:<58} {:>9} {:>8} {:>9}", "", "ms", "× plain", "target ms");
    tell(
        "plain bake: steel band 8 mm, 40 cells, quick, oven only",
        plain,
        plain,
        None,
    );
    let with_rest = whole_ms();
    tell(
        "the same with cooling and pack",
        with_rest,
        plain,
        Some(1.5),
    );
    for treatment in &study.treatments {
        let w = &mut Workspace::new();
        let ms = best_ms(|| one(treatment, &BakeOptions::QUICK, w));
        tell(
            &format!("knock-on: {}", treatment.id),
            ms,
            plain,
            Some(12.0),
        );
    }
    let w = &mut Workspace::new();
    let lean = BakeOptions {
        checks: false,
        ..BakeOptions::QUICK
    };
    let ms = best_ms(|| one(study.control(), &lean, w));
    tell(
        "knock-on without edge and grid checks: control",
        ms,
        plain,
        None,
    );

    let six: Vec<&Treatment> = study.treatments.iter().take(6).collect();
    let threads = std::thread::available_parallelism().map_or(1, usize::from);
    let ms = best_ms(|| {
        black_box(
            compare(&study, &six, &BakeOptions::QUICK).expect("the demonstration has answers"),
        );
    });
    tell(
        &format!("six treatments compared, {threads} threads"),
        ms,
        plain,
        Some(60.0),
    );

    const DRAWS: usize = 40;
    let control = [study.control()];
    let compared = compare(&study, &control, &lean).expect("the control has an answer");
    let ms = best_ms(|| {
        let mut compared = compared.clone();
        spread(&study, &mut compared, &lean, DRAWS, 7).expect("the control has a spread");
        black_box(compared);
    });
    tell(
        &format!("spread, per draw and treatment ({DRAWS} draws, {threads} threads)"),
        ms / DRAWS as f64,
        plain,
        None,
    );

    let ms = best_ms(|| {
        black_box(
            water_curve(study.control(), &BakeOptions::QUICK, 9).expect("the control has a curve"),
        );
    });
    tell(
        &format!("oven output against dough water, 9 points, {threads} threads"),
        ms,
        plain,
        None,
    );

    let ms = best_ms(|| {
        black_box(
            study::written::read(black_box(DEMONSTRATION)).expect("the demonstration is sound"),
        );
    });
    tell("reading the study file", ms, plain, None);
}

fn one(treatment: &Treatment, asked: &BakeOptions, w: &mut Workspace) {
    black_box(knock_on(
        &run(treatment, asked, Sample::Centre, w).expect("an answer"),
    ));
}

fn plain_ms() -> f64 {
    let mut input = Benchmark::SteelBand.case().input;
    input.accuracy = Accuracy::Quick;
    input.stages.retain(|s| s.kind == StageKind::Oven);
    let w = &mut Workspace::new();
    best_ms(|| {
        black_box(bake(black_box(&input), &Ask::default(), w).expect("the benchmark bakes"));
    })
}

fn whole_ms() -> f64 {
    let mut input = Benchmark::SteelBand.case().input;
    input.accuracy = Accuracy::Quick;
    let w = &mut Workspace::new();
    best_ms(|| {
        black_box(bake(black_box(&input), &Ask::default(), w).expect("the benchmark bakes"));
    })
}

fn tell(what: &str, ms: f64, plain: f64, target: Option<f64>) {
    let target = target.map_or(String::new(), |t| format!("{t}"));
    println!("{what:<58} {ms:>9.3} {:>8.1} {target:>9}", ms / plain);
}
