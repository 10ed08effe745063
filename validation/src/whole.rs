//! The bake of the whole piece: closed solutions, an independent solver, the bake through the thickness, itself
//! turned, and what docker holes do.

use crate::analytic::{MASS_OVER_R, plate};
use crate::check::{Check, Grounds, Kind, Limit, Part, largest, row};
use crate::products;
use baking::bake::case::Benchmark;
use baking::bake::solid::{SolidAsk, SolidGrid, SolidPiece, SolidResult, solid_bake};
use baking::bake::surface::mass_transfer_per_film_kelvin;
use baking::bake::{
    Accuracy, BakeInput, Conductivity, Edge, Isotherm, LatentHeat, Stage, StageKind, bake_simple,
};
use baking::piece::{ClosedPath, Docker, DockerPattern, Outline, Piece, Places, dock};
use measure::temperature::kelvin;
use measure::{DryBasis, WetBasis};
use serde_json::Value;
use std::sync::OnceLock;

/// Rows of the whole piece.
#[rustfmt::skip] // a table reads best as a table
pub(crate) fn rows() -> Vec<Check> {
    use Kind::{Comparison, Verification};
    use Limit::{AtMost, Between};
    let verified = |id, requirement, source, metric, run| {
        row(id, Part::Whole, Verification, requirement, source, metric, run)
    };
    let practice = |id, requirement, metric, run| {
        row(id, Part::Whole, Comparison, requirement, (Grounds::CommonPractice, "what docker holes do"), metric, run)
    };
    const PRODUCT: (Grounds, &str) = (
        Grounds::Computed,
        "product of the full series of plate and cylinder (Carslaw and Jaeger; Crank); one-term values agree with printed tables to four digits",
    );
    const ITSELF: (Grounds, &str) = (Grounds::Computed, "the balance itself");
    let share = |most| ("largest difference of the share left in the centre and on average, 60 to 240 s", AtMost(most));
    vec![
        verified("solid-block-heat", "block of 36 × 24 × 8 mm cools, 1 mm columns, 16 cells", PRODUCT, share(1e-3), || product(BLOCK, false, FINE)),
        verified("solid-cylinder-heat", "short cylinder of 30 × 8 mm cools, 1 mm columns, 16 cells", PRODUCT, share(1.5e-3), || product(DISC, false, FINE)),
        verified("solid-block-moisture", "the same block dries by diffusion", PRODUCT, share(1e-3), || product(BLOCK, true, FINE)),
        verified("solid-cylinder-moisture", "the same cylinder dries by diffusion", PRODUCT, share(1.5e-3), || product(DISC, true, FINE)),
        verified("solid-grid-order", "halving columns and cells quarters the error of the block's mean temperature, 3 to 1.5 mm, 8 to 16 cells", PRODUCT,
            ("observed order, less 2", AtMost(0.2)), || {
                let error = |plan_m, cells| product_means(&BLOCK, false, (plan_m, cells), 1e-6);
                (error(3e-3, 8) / error(1.5e-3, 16)).log2() - 2.0
            }),
        verified("solid-wide-plate", "a plate whose wall passes nothing bakes as through the thickness, same 24 cells, case A, oven, cooling and a week in the pack",
            (Grounds::Computed, "the bake through the thickness"),
            ("largest relative difference of mean moisture at the stages' ends", AtMost(0.002)), || wide_plate().0),
        verified("solid-wide-plate-colour", "and browns as it, in the pack too",
            (Grounds::Computed, "the bake through the thickness"),
            ("largest difference of the top's colour at the stages' ends, ΔE", AtMost(0.05)), || wide_plate().1),
        verified("solid-account-water", "water closes over oven, cooling and pack: bone with no hole, with five through and five half way", ITSELF,
            ("largest relative gap", AtMost(1e-8)), || accounts(|r| r.account.water_rel_error)),
        verified("solid-account-energy", "energy closes over oven, cooling and pack: the same", ITSELF,
            ("largest relative gap", AtMost(1e-8)), || accounts(|r| r.account.energy_rel_error)),
        verified("solid-turned-90", "the bone of 60 × 30 × 8 mm turned by 90° is the same piece, 1.25 mm columns", (Grounds::Computed, "the same bake unturned"),
            ("largest relative difference of volume, water out and time to 8 %", AtMost(0.005)), || turned(90.0)),
        verified("solid-turned-30", "turned by 30° likewise", (Grounds::Computed, "the same bake unturned"),
            ("largest relative difference of volume, water out and time to 8 %", AtMost(0.005)), || turned(30.0)),
        verified("solid-axisymmetric", "a baking disc, exposure of its edge 0.5 and 1, 0.8 mm columns, 24 cells",
            (Grounds::Computed, "the same equations in radius and height by SciPy BDF, two grids and their limit (tools/solid_axisymmetric.py)"),
            ("largest difference of mean moisture over initial moisture", AtMost(0.005)), axisymmetric),
        verified("solid-same-nodes", "a baking bar of 36 × 24 × 8 mm on the same nodes, ends of three zones",
            (Grounds::Computed, "SciPy BDF with a sparse Jacobian, tolerance 1e-6 (tools/bench_solid.py)"),
            ("largest difference of mean moisture, kg/kg", AtMost(2e-6)), same_nodes),
        practice("dockers-shorten", "docker holes shorten the bake: bone of 60 × 30 × 8 mm, five holes of 2 mm, time to 8 %",
            ("time over that without holes", Between(0.5, 0.999)), || docked().time),
        practice("dockers-dry-inside", "at a fixed time in the oven they leave the inside drier: middle plane at the oven's exit",
            ("moisture over that without holes", Between(0.5, 0.999)), || docked().middle),
        practice("dockers-dry-wettest", "and its wettest place too",
            ("moisture over that without holes", Between(0.5, 0.999)), || docked().wettest),
        row("dockers-at-equal-mean", Part::Whole, Comparison, "at an equal mean moisture of 8 % the wettest place hardly changes: holes shorten the bake, they don't dry the core",
            (Grounds::Computed, "an earlier independent program saw the core hardly change"),
            ("moisture of the wettest place over that without holes", Between(0.95, 1.05)), || docked().wettest_at_8_pct),
    ]
}

type Steps = (f64, usize);
const FINE: Steps = (1e-3, 16);
const BLOCK: Outline = Outline::Bar {
    length_m: 0.036,
    width_m: 0.024,
    corner_radius_m: 0.0,
};
const DISC: Outline = Outline::Round { diameter_m: 0.03 };
const BONE: Outline = Outline::Bone {
    length_m: 0.060,
    width_m: 0.030,
    neck_m: 0.012,
    lobe_radius_m: 0.0108,
};
const THICKNESS_M: f64 = 0.008;

/// A bake of an outline with docker holes of 2 mm along its axis.
fn followed(
    input: &BakeInput,
    outline: &Outline,
    (count, depth_m): (u32, Option<f64>),
    (plan_m, cells): Steps,
) -> SolidResult {
    let docker = Docker {
        count,
        diameter_m: 0.002,
    };
    let piece = Piece {
        outline: outline.clone(),
        thickness_m: input.thickness_m,
        docker: (count > 0).then_some(docker),
    };
    let places = Places::Axis;
    let docked = dock(&piece, &DockerPattern { places, depth_m }).expect("the holes fit");
    let solid = SolidPiece {
        piece: &piece,
        docked: &docked,
    };
    let grid = SolidGrid {
        plan_m,
        cells,
        ..SolidGrid::USUAL
    };
    let ask = SolidAsk {
        until: Some(WetBasis(0.08).to_dry()),
        ..SolidAsk::default()
    };
    solid_bake(input, solid, &grid, &ask, &mut |_| true).expect("the piece bakes")
}

/// Case A with the edge exposed.
fn oven(exposure: f64, accuracy: Accuracy) -> BakeInput {
    let mut input = Benchmark::SteelBand.case().input;
    input.edge = Some(Edge::of(139.0, exposure));
    input.accuracy = accuracy;
    input
}

const TIMES_S: [f64; 3] = [60.0, 120.0, 240.0];
/// Thermal diffusivity, and that of moisture \[m²/s\].
const DIFFUSIVITY: f64 = 1.2e-7;
/// Surface coefficient over conductivity \[1/m\].
const OVER_K: f64 = 100.0;

/// A dry solid that cools, or a moist one that dries by diffusion alone at 25 °C without heat of evaporation and with
/// vapour pressure as good as proportional to moisture; the same law on top and at the wall, insulated below.
fn simple(moist: bool, tolerance: f64) -> BakeInput {
    let mut input = plate(THICKNESS_M, 24, 100.0);
    input.edge = Some(Edge::of(100.0, 1.0));
    input.accuracy = Accuracy::Tolerance(tolerance);
    input.closures.conductivity = Conductivity::linear(0.3, 0.0);
    input.stages[0].top_w_per_m2_k = OVER_K * 0.3;
    if moist {
        let (ratio, t) = (1e-4_f64, kelvin(25.0));
        input.initial_moisture = DryBasis(0.1);
        input.initial_temperature_k = t;
        let c = &mut input.closures;
        c.latent_heat = LatentHeat { l: [0.0; 3] };
        c.isotherm = Isotherm::oswin((100.0 / ratio).ln(), 1.0, 0.0);
        c.liquid.d0_m2_per_s = DIFFUSIVITY;
        let per_h =
            mass_transfer_per_film_kelvin(1.0) * MASS_OVER_R * ratio * c.saturation.pascal(t);
        let s = &mut input.stages[0];
        (s.air_k, s.band_k, s.radiating_k) = (t, t, t);
        s.top_w_per_m2_k = 1000.0 * OVER_K * DIFFUSIVITY / per_h;
        s.vapour_exchange = 1.0;
    }
    let begin = [0.0, TIMES_S[0], TIMES_S[1]];
    let stages = TIMES_S.iter().zip(begin).map(|(end, begin)| Stage {
        duration_s: end - begin,
        ..input.stages[0].clone()
    });
    input.stages = stages.collect();
    input
}

/// Shares left on average and in the centre at the times, found and by the product.
fn shares(outline: &Outline, moist: bool, steps: Steps, tolerance: f64) -> Vec<[(f64, f64); 2]> {
    let input = simple(moist, tolerance);
    let r = followed(&input, outline, (0, None), steps);
    let heat_j = r.grid.volume_m3 * 1000.0 * 2500.0 * 80.0;
    let left = |i: usize| {
        let end = &r.stages[i];
        if moist {
            return (end.mean_moisture.0 / 0.1, end.centre.moisture.0 / 0.1);
        }
        let at = r
            .history
            .time_s
            .iter()
            .position(|t| *t >= end.time_s - 1e-9);
        let mean = at.map_or(f64::NAN, |row| 1.0 + r.history.enthalpy_in_j[row] / heat_j);
        (mean, (end.centre.temperature_k - kelvin(20.0)) / 80.0)
    };
    let wanted = |t: f64| {
        let fourier = |l: f64| DIFFUSIVITY * t / (l * l);
        let slab = |l: f64, place: f64| products::plate(OVER_K * l, fourier(l), place);
        let up = slab(THICKNESS_M, 0.5);
        let across = if *outline == DISC {
            products::cylinder(OVER_K * 0.015, fourier(0.015))
        } else {
            let (x, y) = (slab(0.018, 0.0), slab(0.012, 0.0));
            (x.0 * y.0, x.1 * y.1)
        };
        (across.1 * up.1, across.0 * up.0)
    };
    let pairs = TIMES_S.iter().enumerate().map(|(i, t)| {
        let (found, wanted) = (left(i), wanted(*t));
        [(found.0, wanted.0), (found.1, wanted.1)]
    });
    pairs.collect()
}

fn product(outline: Outline, moist: bool, steps: Steps) -> f64 {
    let all = shares(&outline, moist, steps, 3e-5);
    largest(
        all.into_iter()
            .flatten()
            .map(|(found, wanted)| found - wanted),
    )
}

fn product_means(outline: &Outline, moist: bool, steps: Steps, tolerance: f64) -> f64 {
    let all = shares(outline, moist, steps, tolerance);
    largest(all.into_iter().map(|[(found, wanted), _]| found - wanted))
}

/// Largest relative difference of moisture and difference of colour.
fn wide_plate() -> (f64, f64) {
    let mut input = oven(0.0, Accuracy::Tight);
    input.cells = 24;
    let bar = Outline::Bar {
        length_m: 0.04,
        width_m: 0.02,
        corner_radius_m: 0.004,
    };
    let solid = followed(&input, &bar, (0, None), (4e-3, 24));
    input.edge = None;
    let flat = bake_simple(&input).expect("case A bakes");
    let ends = || solid.stages.iter().zip(&flat.stages);
    let moisture = ends().map(|(a, b)| a.mean_moisture.0 / b.mean_moisture.0 - 1.0);
    let colour = ends().map(|(a, b)| a.colour_mean_delta_e - b.colour_delta_e);
    (largest(moisture), largest(colour))
}

fn accounts(of: fn(&SolidResult) -> f64) -> f64 {
    let holes = [(0, None), (5, None), (5, Some(0.005))];
    let input = oven(0.5, Accuracy::Quick);
    largest(holes.map(|h| of(&followed(&input, &BONE, h, (2e-3, 8)))))
}

fn turned(degrees: f64) -> f64 {
    let run = |degrees: f64| {
        let (sin, cos) = degrees.to_radians().sin_cos();
        let turn = |(x, y): &(f64, f64)| (cos * x - sin * y, sin * x + cos * y);
        let corners: Vec<(f64, f64)> = BONE.polygon(2e-5).iter().map(turn).collect();
        let path = Outline::Path(ClosedPath::through(&corners).expect("the bone closes"));
        let r = followed(&oven(0.5, Accuracy::Quick), &path, (0, None), (1.25e-3, 10));
        let water = r.history.water_out_kg.last().copied().unwrap_or(f64::NAN);
        [r.grid.volume_m3, water, r.reached_s.unwrap_or(f64::NAN)]
    };
    static STRAIGHT: OnceLock<[f64; 3]> = OnceLock::new();
    let straight = STRAIGHT.get_or_init(|| run(0.0));
    largest(run(degrees).iter().zip(straight).map(|(a, b)| a / b - 1.0))
}

fn numbers(v: &Value) -> Vec<f64> {
    serde_json::from_value(v.clone()).expect("a column of numbers")
}

/// The oven's zones cut at the times, so that each of them ends a stage.
fn cut(input: &mut BakeInput, times_s: &[f64]) {
    let mut begin = 0.0;
    let mut stages = Vec::new();
    for stage in input.stages.iter().filter(|s| s.kind == StageKind::Oven) {
        let end = begin + stage.duration_s;
        let inside = times_s
            .iter()
            .filter(|t| **t > begin && **t < end - 1e-9)
            .copied();
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

fn axisymmetric() -> f64 {
    let text = include_str!("../../crates/baking/tests/data/solid_axisymmetric.json");
    let reference: Value = serde_json::from_str(text).expect("the reference is JSON");
    let times = numbers(&reference["time_s"]);
    let diameter_m = 2.0 * reference["radius_m"].as_f64().unwrap_or(f64::NAN);
    let disc = Outline::Round { diameter_m };
    let cases = reference["exposures"].as_array().expect("there are cases");
    largest(cases.iter().flat_map(|case| {
        let exposure = case["exposure"].as_f64().unwrap_or(f64::NAN);
        let mut input = oven(exposure, Accuracy::Tolerance(1e-4));
        cut(&mut input, &times);
        let initial = input.initial_moisture.0;
        let r = followed(&input, &disc, (0, None), (8e-4, 24));
        let gap = |(t, wanted): (&f64, f64)| {
            let end = r.stages.iter().find(|s| (s.time_s - t).abs() < 1e-6);
            end.map_or(f64::NAN, |e| (e.mean_moisture.0 - wanted) / initial)
        };
        let wanted = numbers(&case["extrapolated"]);
        times.iter().zip(wanted).map(gap).collect::<Vec<f64>>()
    }))
}

fn same_nodes() -> f64 {
    let mut input = oven(0.5, Accuracy::Tolerance(1e-5));
    input.stages.truncate(3);
    let r = followed(&input, &BLOCK, (0, None), (2e-3, 8));
    let wanted = [
        0.372_620_102_689_492_1,
        0.168_143_953_179_097_14,
        0.031_457_253_374_504_224,
    ];
    let ends = r.stages.iter().map(|e| e.mean_moisture.0);
    largest(ends.zip(wanted).map(|(a, b)| a - b))
}

/// With five holes over without: time to 8 %, and moisture at the oven's exit after the same time.
#[derive(Clone, Copy)]
struct DockedOverPlain {
    time: f64,
    middle: f64,
    wettest: f64,
    wettest_at_8_pct: f64,
}

fn docked() -> DockedOverPlain {
    static ONCE: OnceLock<DockedOverPlain> = OnceLock::new();
    *ONCE.get_or_init(|| {
        let mut input = oven(0.5, Accuracy::Quick);
        input.stages.truncate(3);
        let bake = |input: &BakeInput, holes| followed(input, &BONE, (holes, None), (1e-3, 12));
        let run = |holes| bake(&input, holes);
        let (plain, five) = (run(0), run(5));
        let time = |r: &SolidResult| r.reached_s.unwrap_or(f64::NAN);
        let wettest_at_8_pct = |r: &SolidResult, holes| {
            let mut input = input.clone();
            input.stages[2].duration_s += time(r) - r.stages[2].time_s;
            bake(&input, holes).stages[2].wettest.moisture.0
        };
        DockedOverPlain {
            wettest_at_8_pct: wettest_at_8_pct(&five, 5) / wettest_at_8_pct(&plain, 0),
            time: time(&five) / time(&plain),
            middle: five.stages[2].middle_moisture.0 / plain.stages[2].middle_moisture.0,
            wettest: five.stages[2].wettest.moisture.0 / plain.stages[2].wettest.moisture.0,
        }
    })
}
