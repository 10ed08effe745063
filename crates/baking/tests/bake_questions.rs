//! The questions asked of a bake: how long, how sure over the cells, what the rim does, and a case from a file.

#![allow(clippy::unwrap_used, reason = "a test that can't go on has failed")]

use baking::bake::case::{Benchmark, CaseFile};
use baking::bake::search::{Cooling, Found, Limit, spatial_error, stretched};
use baking::bake::{
    Accuracy, Ask, AskedTimes, BakeInput, Edge, StageKind, TargetAt, Workspace, bake, bake_simple,
    band_time_for_target,
};
use baking::piece::{Docker, Outline, Piece};
use measure::{Range, WetBasis};

fn steel(cells: usize) -> BakeInput {
    let mut input = Benchmark::SteelBand.case().input;
    input.accuracy = Accuracy::Quick;
    input.cells = cells;
    input
}

/// Case A with the numbers of today's defaults, quick.
fn dry_end() -> BakeInput {
    let text = include_str!("data/bake_reference_dry_end_a.json");
    let document: serde_json::Value = serde_json::from_str(text).unwrap();
    let file: CaseFile = serde_json::from_value(document["case"].clone()).unwrap();
    let mut input = file.read().unwrap().input;
    input.accuracy = Accuracy::Quick;
    input
}

const ALLOWED: Range = Range::new(60.0, 7200.0);

#[test]
fn band_time_of_the_reference_piece() {
    let w = &mut Workspace::new();
    let found = band_time_for_target(
        &steel(80),
        WetBasis(0.08),
        TargetAt::OvenExit,
        ALLOWED,
        None,
        w,
    )
    .unwrap();
    // 1057.3 s on 80 cells by an earlier independent program of the same equations.
    assert!((found.time_s - 1057.3).abs() < 1.0, "{}", found.time_s);
    assert_eq!(found.found, Found::Met);
    for (target, at) in [
        (0.08, TargetAt::Packed),
        (0.08, TargetAt::Cooled),
        (0.05, TargetAt::OvenExit),
        (0.20, TargetAt::OvenExit),
    ] {
        let found = band_time_for_target(&steel(40), WetBasis(target), at, ALLOWED, Some(900.0), w)
            .unwrap();
        println!(
            "{target} {at:?}: {:.1} s in {} bakes",
            found.time_s, found.bakes
        );
        assert!((found.moisture.0 - target).abs() <= 1.0001e-4, "{found:?}");
        assert!(found.bakes <= 9, "{}", found.bakes);
        let direct = bake_simple(&stretched(&steel(40), found.time_s, Cooling::AsGiven)).unwrap();
        assert_eq!(direct, found.bake);
    }
}

#[test]
fn water_flashes_off_after_the_oven() {
    // Reference piece: 8.0 % at the exit is 5.85 % cooled (computed with an independent solver).
    let result = bake_simple(&Benchmark::SteelBand.case().input).unwrap();
    let percent: Vec<f64> = result
        .stages
        .iter()
        .map(|s| s.mean_moisture.to_wet().percent())
        .collect();
    assert!(
        (percent[2] - 8.01).abs() < 0.01 && (percent[3] - 5.85).abs() < 0.01,
        "{percent:?}"
    );
    assert!((percent[4] - percent[3]).abs() < 1e-9);
}

/// A last zone of moist air wets a long bake again, so that moisture falls with the time and then rises. The time
/// told is that of the first crossing, wherever the search began.
#[test]
fn a_bake_that_is_wetted_again_is_told_at_its_first_crossing() {
    let w = &mut Workspace::new();
    let mut input = steel(20);
    let last = &mut input.stages[2];
    last.air_k = 368.15;
    last.radiating_k = 368.15;
    last.band_k = 368.15;
    last.air_vapour_pa = 65_000.0;
    last.top_w_per_m2_k = 60.0;
    let exit = |time_s: f64| {
        let result = bake_simple(&stretched(&input, time_s, Cooling::AsGiven)).unwrap();
        result
            .end_of(StageKind::Oven)
            .unwrap()
            .mean_moisture
            .to_wet()
            .0
    };
    let (early, least, late) = (exit(600.0), exit(2700.0), exit(20_000.0));
    assert!(
        early > late && late > 1.05 * least,
        "{early} {least} {late}"
    );
    let target = WetBasis(0.5 * (least + late));
    let allowed = Range::new(60.0, 20_000.0);
    for guess in [300.0, 2700.0, 12_000.0, 20_000.0] {
        let found =
            band_time_for_target(&input, target, TargetAt::OvenExit, allowed, Some(guess), w)
                .unwrap();
        assert_eq!(found.found, Found::Met, "from {guess}");
        assert!((found.moisture.0 - target.0).abs() <= 1.1e-4);
        assert!(found.time_s < 2700.0 && exit(0.97 * found.time_s) > target.0);
    }
}

#[test]
fn a_dough_drier_than_the_target_is_told_so() {
    let w = &mut Workspace::new();
    let dough = steel(20).initial_moisture.to_wet();
    let target = WetBasis(dough.0 + 0.01);
    let allowed = Range::new(60.0, 7200.0);
    let at = TargetAt::OvenExit;
    let found = band_time_for_target(&steel(20), target, at, allowed, None, w).unwrap();
    assert_eq!((found.found, found.time_s), (Found::DoughTooDry, 60.0));
}

#[test]
fn an_oven_that_cannot_get_there_says_why() {
    let w = &mut Workspace::new();
    let short = Range::new(60.0, 700.0);
    let heat = band_time_for_target(
        &steel(40),
        WetBasis(0.08),
        TargetAt::OvenExit,
        short,
        None,
        w,
    )
    .unwrap();
    assert_eq!(
        (heat.found, heat.time_s),
        (Found::TooWet(Limit::Heat), 700.0)
    );
    assert!(heat.moisture.0 > 0.08 && heat.bake.stages.len() == 5);
    let mut damp = steel(40);
    for stage in damp.stages.iter_mut().take(3) {
        stage.air_k = 353.15;
        stage.radiating_k = 353.15;
        stage.band_k = 353.15;
        stage.air_vapour_pa = 40_000.0;
    }
    let long = Range::new(60.0, 200_000.0);
    let humid =
        band_time_for_target(&damp, WetBasis(0.05), TargetAt::OvenExit, long, None, w).unwrap();
    assert_eq!(
        humid.found,
        Found::TooWet(Limit::Humidity),
        "{}",
        humid.moisture.0
    );
    let dry = band_time_for_target(
        &steel(40),
        WetBasis(0.30),
        TargetAt::OvenExit,
        Range::new(600.0, 900.0),
        None,
        w,
    )
    .unwrap();
    assert_eq!((dry.found, dry.time_s), (Found::TooDry, 600.0));
}

#[test]
fn cells_are_second_order_and_richardson_helps() {
    let mut input = steel(40);
    input.accuracy = Accuracy::Tight;
    let w = &mut Workspace::new();
    let forty = spatial_error(&input, TargetAt::OvenExit, w).unwrap();
    // Richardson mean of 160 and 320 cells by an independent solver.
    let truth = 0.087_429_275_8;
    let error = |x: f64| x / truth - 1.0;
    let ratio = error(forty.coarse) / error(forty.fine);
    println!(
        "20 {:.5} 40 {:.5} ratio {ratio:.3} Richardson {:.5}",
        error(forty.coarse),
        error(forty.fine),
        error(forty.extrapolated)
    );
    assert!((ratio - 4.0).abs() < 0.3, "{ratio}");
    assert!(error(forty.extrapolated).abs() < 0.001);
    input.cells = 80;
    let eighty = spatial_error(&input, TargetAt::OvenExit, w).unwrap();
    let ratio = error(eighty.coarse) / error(eighty.fine);
    assert!((ratio - 4.0).abs() < 0.1, "{ratio}");
    assert!((eighty.error / truth / error(eighty.fine) - 1.0).abs() < 0.1);
}

#[test]
fn the_rim_and_docker_holes_speed_the_bake_as_solid_runs_do() {
    // 60×30 mm bone of 8 mm, the water held at the dry end, zones stretched together to 8 % at the exit, over the slab's
    // time on as many cells: bakes of the whole piece on 1 mm columns and 16 cells, with no, five and nine holes of 2 mm.
    let w = &mut Workspace::new();
    let mut input = dry_end();
    input.cells = 16;
    let mut time = |edge| {
        let input = BakeInput {
            edge,
            ..input.clone()
        };
        let at = TargetAt::OvenExit;
        let found = band_time_for_target(&input, WetBasis(0.08), at, ALLOWED, None, w).unwrap();
        found.time_s
    };
    let slab = time(None);
    assert_eq!(time(Some(Edge::of(139.2, 0.0))), slab);
    let bone = |count| Piece {
        outline: Outline::Bone {
            length_m: 0.060,
            width_m: 0.030,
            neck_m: 0.012,
            lobe_radius_m: 0.0108,
        },
        thickness_m: 0.008,
        docker: (count > 0).then_some(Docker {
            count,
            diameter_m: 0.002,
        }),
    };
    let runs = [
        (0.5, 0, 816.9),
        (1.0, 0, 735.5),
        (0.5, 5, 781.6),
        (1.0, 5, 701.5),
        (0.5, 9, 754.6),
    ];
    for (exposure, holes, solid) in runs {
        let found = time(Some(bone(holes).edge(exposure))) / slab;
        println!(
            "exposure {exposure}, {holes} holes: {found:.4} against {:.4}",
            solid / 1030.3
        );
        assert!(
            (found - solid / 1030.3).abs() < 0.006,
            "{exposure} {holes} {found}"
        );
    }
}

/// Seen: a piece at 0.0 % at the oven's exit was told as "the oven doesn't get there", when the room wetted it again
/// while it cooled.
#[test]
fn a_room_that_wets_the_piece_again_is_told_as_such() {
    let w = &mut Workspace::new();
    let mut input = steel(40);
    for stage in input
        .stages
        .iter_mut()
        .filter(|s| s.kind == StageKind::Cooling)
    {
        stage.duration_s = 48.0 * 3600.0;
        stage.air_vapour_pa = 0.75 * 3169.0;
    }
    let found =
        band_time_for_target(&input, WetBasis(0.06), TargetAt::Packed, ALLOWED, None, w).unwrap();
    let exit = found.bake.end_of(StageKind::Oven).unwrap();
    println!("{} {}", found.moisture.0, exit.mean_moisture.to_wet().0);
    assert_eq!(found.found, Found::TooWet(Limit::Rewetted));
    assert!(exit.mean_moisture.to_wet().0 < 0.06 && found.moisture.0 > 0.06);
}

#[test]
fn more_water_thickness_and_humidity_lengthen_the_bake() {
    // Share by which the time to 8 % grows when the last zone is as long as it takes, computed on 80 cells by
    // an earlier independent program.
    let w = &mut Workspace::new();
    let mut time = |change: fn(&mut BakeInput)| {
        let mut input = steel(80);
        input.accuracy = Accuracy::Tolerance(1e-4);
        change(&mut input);
        input.stages.truncate(3);
        input.stages[2].duration_s = 1000.0;
        let times: Vec<f64> = (600..=1600).map(f64::from).collect();
        let ask = Ask {
            history: AskedTimes::At(times),
            profile_times_s: Vec::new(),
            ..Ask::default()
        };
        let h = bake(&input, &ask, w).unwrap().history;
        let target = WetBasis(0.08).to_dry().0;
        let after = h.mean_moisture.iter().position(|x| *x < target).unwrap();
        let (a, b) = (h.mean_moisture[after - 1], h.mean_moisture[after]);
        h.time_s[after - 1] + (a - target) / (a - b)
    };
    let base = time(|_| {});
    let rows: [Row; 5] = [
        ("thickness +10 %", 0.137, |i| i.thickness_m *= 1.1),
        ("thickness −10 %", -0.130, |i| i.thickness_m *= 0.9),
        ("humidity ×2", 0.0076, |i| {
            i.stages[..3]
                .iter_mut()
                .for_each(|s| s.air_vapour_pa *= 2.0)
        }),
        ("h_c +20 %", -0.036, |i| {
            i.stages[..3]
                .iter_mut()
                .for_each(|s| s.top_w_per_m2_k *= 1.2)
        }),
        ("h_b −20 %", 0.063, |i| {
            i.stages[..3]
                .iter_mut()
                .for_each(|s| s.bottom_w_per_m2_k *= 0.8)
        }),
    ];
    for (name, wanted, change) in rows {
        let found = time(change) / base - 1.0;
        assert!((found - wanted).abs() < 0.001, "{name} {found} {wanted}");
    }
}

/// Name, share wanted, change.
type Row = (&'static str, f64, fn(&mut BakeInput));

fn case_text() -> serde_json::Value {
    let text = include_str!("data/bake_reference_a.json");
    let document: serde_json::Value = serde_json::from_str(text).unwrap();
    document["case"].clone()
}

#[test]
fn a_wrong_case_is_told_by_key_value_and_range() {
    let read = |change: &dyn Fn(&mut serde_json::Value)| {
        let mut case = case_text();
        change(&mut case);
        let file: Result<CaseFile, _> = serde_json::from_str(&case.to_string());
        match file {
            Err(e) => e.to_string(),
            Ok(file) => file
                .read()
                .map_or_else(|e| e.to_string(), |_| "fine".into()),
        }
    };
    assert_eq!(read(&|_| {}), "fine");
    for (text, change) in [
        (
            "params.L is -0.008, but must be 0.0002 to 0.2 m",
            Box::new(|c: &mut serde_json::Value| c["params"]["L"] = (-0.008).into())
                as Box<dyn Fn(&mut serde_json::Value)>,
        ),
        (
            "stage 2 (oven 2): Ta is 2000",
            Box::new(|c| c["stages"][1]["Ta"] = 2000.0.into()),
        ),
        (
            "params.isoB is 0",
            Box::new(|c| c["params"]["isoB"] = 0.0.into()),
        ),
        (
            "unknown field `Lenght`",
            Box::new(|c| c["params"]["Lenght"] = 1.0.into()),
        ),
        (
            "missing field `kappa`",
            Box::new(|c| drop(c["params"].as_object_mut().unwrap().remove("kappa"))),
        ),
        (
            "cells is 41, but must be an even number",
            Box::new(|c| c["cells"] = 41.into()),
        ),
        ("accuracy", Box::new(|c| c["accuracy"] = "fast".into())),
        ("accuracy is 0.5", Box::new(|c| c["accuracy"] = 0.5.into())),
        (
            "stages is 0, but must be at least one stage",
            Box::new(|c| c["stages"] = serde_json::json!([])),
        ),
        (
            "invalid type: null",
            Box::new(|c| c["params"]["X0"] = serde_json::Value::Null),
        ),
    ] {
        let found = read(&*change);
        assert!(found.contains(text), "{found} should say {text}");
    }
}
