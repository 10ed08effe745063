//! Milliseconds after the oven, best of many: the bake with cooling and a week in the pack, checking, a year of keeping,
//! every change tried, and laying out a bone-like piece.
//!
//! `cargo bench -p baking --bench after`

#![allow(clippy::print_stdout, reason = "the table is what this program is for")]

use baking::after::film::tropical_permeance_kg_per_m2_s_pa;
use baking::after::{Climate, Crumb, KeepingInput, changes, checking, course, keeping};
use baking::bake::case::Benchmark;
use baking::bake::{Accuracy, StageKind, Workspace};
use baking::piece::{Arrangement, Docker, DockerPattern, Outline, Piece, dock, on_sheet};
use measure::{DryBasis, units::DAY_S};
use std::hint::black_box;
use std::time::Instant;

fn best_ms<T>(mut what: impl FnMut() -> T) -> f64 {
    let budget = Instant::now();
    let (mut best, mut runs) = (f64::INFINITY, 0);
    while runs < 5 || (budget.elapsed().as_secs_f64() < 0.5 && runs < 1000) {
        let start = Instant::now();
        black_box(what());
        best = best.min(start.elapsed().as_secs_f64() * 1e3);
        runs += 1;
    }
    best
}

fn main() {
    let mut input = Benchmark::SteelBand.case().input;
    input.accuracy = Accuracy::Quick;
    for stage in input
        .stages
        .iter_mut()
        .filter(|s| s.kind == StageKind::Pack)
    {
        stage.duration_s = 7.0 * DAY_S;
    }
    let w = &mut Workspace::new();
    let crumb = Crumb::default();
    let run = course(&input, w).expect("the benchmark bakes");
    let pack = KeepingInput {
        area_m2: 0.09,
        permeance_kg_per_m2_s_pa: tropical_permeance_kg_per_m2_s_pa(5.0),
        dry_kg: 0.37,
        start: DryBasis(0.06),
        climate: Climate::months(&[(288.15, 0.6), (303.15, 0.7)]),
        duration_s: 365.0 * DAY_S,
        moments: 49,
        crisp_water_activity: 0.45,
    };
    let isotherm = &input.closures.isotherm;
    let piece = Piece {
        outline: Outline::Bone {
            length_m: 0.06,
            width_m: 0.03,
            neck_m: 0.012,
            lobe_radius_m: 0.0084,
        },
        thickness_m: 0.008,
        docker: Some(Docker {
            count: 4,
            diameter_m: 0.002,
        }),
    };
    let rows = [
        (
            "oven, cooling and 7 days in the pack",
            best_ms(|| course(&input, w)),
        ),
        (
            "checking index by place and time",
            best_ms(|| checking(&run, &crumb)),
        ),
        (
            "12 months of keeping, two seasons",
            best_ms(|| keeping(&pack, isotherm)),
        ),
        (
            "five changes, each to the same dryness",
            best_ms(|| changes(&input, &crumb, 1.3e-3, w)),
        ),
        (
            "docker holes of a bone, with the rules",
            best_ms(|| dock(&piece, &DockerPattern::default())),
        ),
        (
            "a bone staggered on a sheet",
            best_ms(|| on_sheet(&piece.outline, Arrangement::Staggered, 0.003)),
        ),
    ];
    for (what, ms) in rows {
        println!("{what:<42} {ms:>9.3} ms");
    }
}
