//! Doughs baked in the example ovens: nothing absurd, and the directions every baker knows.

use super::*;
use crate::bake::{Accuracy, BakeInput, StageKind, TargetAt, Workspace, band_time_for_target};
use crate::piece::{EDGE_EXPOSURE, Outline, Piece};
use crate::properties::{DrySolids, PropertySettings, dough_properties};
use measure::WetBasis;

const PIECE: Piece = Piece {
    outline: Outline::Bone {
        length_m: 0.060,
        width_m: 0.030,
        neck_m: 0.012,
        lobe_radius_m: 0.0108,
    },
    thickness_m: 0.008,
    docker: None,
};

fn input(oven: &Oven, piece: &Piece, dough: f64, bake_time_s: f64) -> BakeInput {
    let solids = DrySolids {
        protein: 0.13,
        fat: 0.08,
        carbohydrate: 0.71,
        fibre: 0.05,
        ash: 0.03,
        sugars: Some(0.04),
        salt: Some(0.005),
        starch: None,
    };
    let properties =
        dough_properties(&solids, WetBasis(dough), &PropertySettings::default()).unwrap();
    BakeInput {
        thickness_m: piece.thickness_m,
        initial_moisture: WetBasis(dough).to_dry(),
        initial_temperature_k: 298.15,
        dry_solid_kg_per_m3: properties.density.dry_solid_kg_per_m3,
        closures: properties.closures(),
        edge: Some(piece.edge(EDGE_EXPOSURE.value)),
        stages: stages(
            oven,
            bake_time_s,
            0.06,
            &Cooling::default(),
            &Pack::default(),
        )
        .unwrap(),
        cells: 40,
        accuracy: Accuracy::Quick,
    }
}

/// Minutes to 8 % at the oven's exit.
fn minutes(oven: &Oven, piece: &Piece, dough: f64) -> f64 {
    let input = input(oven, piece, dough, 1200.0);
    let range = Range::new(60.0, 4.0 * 3600.0);
    let found = band_time_for_target(
        &input,
        WetBasis(0.08),
        TargetAt::OvenExit,
        range,
        None,
        &mut Workspace::new(),
    )
    .unwrap();
    assert!(
        (found.moisture.0 - 0.08).abs() < 2e-4,
        "{}: {:?}",
        oven.name,
        found.found
    );
    let cooled = found.bake.end_of(StageKind::Cooling).unwrap();
    assert!(
        cooled.mean_moisture.to_wet().0 < 0.08,
        "water flashes off in cooling"
    );
    assert!(
        (0.1..0.6).contains(&cooled.evened_water_activity),
        "{}",
        cooled.evened_water_activity
    );
    found.time_s / 60.0
}

/// Dense pet biscuits bake 10 to 45 min (from memory, to be confirmed), small ones less.
#[test]
fn example_ovens_bake_in_the_usual_time() {
    for oven in presets::all() {
        let time = minutes(&oven, &PIECE, 0.30);
        println!("{} {time}", oven.name);
        assert!((8.0..45.0).contains(&time), "{} {time}", oven.name);
    }
}

/// Common practice, no source: wetter dough, thicker piece and less heat bake longer.
#[test]
fn directions_every_baker_knows() {
    for oven in presets::all() {
        let time = minutes(&oven, &PIECE, 0.30);
        assert!(
            minutes(&oven, &PIECE, 0.32) > time,
            "{}: wetter dough",
            oven.name
        );
        let thick = Piece {
            thickness_m: 0.010,
            ..PIECE
        };
        assert!(
            minutes(&oven, &thick, 0.30) > 1.1 * time,
            "{}: thicker",
            oven.name
        );
        let mut cooler = oven.clone();
        for zone in &mut cooler.zones {
            zone.band_k -= 10.0;
            zone.air_k -= 10.0;
        }
        assert!(
            minutes(&cooler, &PIECE, 0.30) > time,
            "{}: cooler",
            oven.name
        );
        let mut damp = oven.clone();
        for zone in &mut damp.zones {
            let Humidity::KgPerKg(w) = zone.humidity else {
                panic!("examples are told in kg/kg")
            };
            zone.humidity = Humidity::KgPerKg(2.5 * w);
        }
        assert!(
            minutes(&damp, &PIECE, 0.30) > time,
            "{}: damper closed",
            oven.name
        );
    }
}
