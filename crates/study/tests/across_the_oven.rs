//! A draw of a spread bakes at a place across the oven, not in its middle.
#![allow(clippy::unwrap_used)] // a helper of a test may panic

use baking::bake::{Ask, BakeInput, StageKind, Workspace, bake};
use study::chain::dough_and_piece::dough_and_piece;
use study::chain::{BakeOptions, Sample, Uncertain};

/// All zones of a draw are warmer or cooler by the same, the room isn't; and a warmer place bakes drier.
#[test]
fn a_draw_bakes_at_a_place_across_the_oven() {
    let text = include_str!("../../../examples/spent-grain.toml");
    let study = study::written::read(text).unwrap();
    let made = |sample| dough_and_piece(study.control(), &BakeOptions::QUICK, sample).unwrap();
    let middle = made(Sample::Centre).bake;
    let mut drawn = middle.clone();
    let sample = Sample::Number { seed: 7, number: 3 };
    let shift = Uncertain::AcrossOven.shift(sample);
    assert!(shift.abs() > 0.5, "{shift}");
    for (m, d) in middle.stages.iter().zip(made(sample).bake.stages) {
        let in_oven = matches!(m.kind, StageKind::Oven | StageKind::Drying);
        let wanted = if in_oven { shift } else { 0.0 };
        for (m, d) in [
            (m.air_k, d.air_k),
            (m.radiating_k, d.radiating_k),
            (m.band_k, d.band_k),
        ] {
            assert!((d - m - wanted).abs() < 1e-9, "{m} {d}");
        }
    }
    let exit = |input: &BakeInput| {
        let baked = bake(input, &Ask::default(), &mut Workspace::new()).unwrap();
        baked
            .end_of(StageKind::Oven)
            .unwrap()
            .mean_moisture
            .to_wet()
            .percent()
    };
    let as_set = exit(&middle);
    for stage in drawn
        .stages
        .iter_mut()
        .filter(|s| s.kind == StageKind::Oven)
    {
        stage.air_k += 8.0;
        stage.radiating_k += 8.0;
        stage.band_k += 8.0;
    }
    let points = as_set - exit(&drawn);
    // 8 K of about 100 K between air and piece, of some 20 points that leave: common practice, no source.
    assert!((0.3..3.0).contains(&points), "{points}");
}
