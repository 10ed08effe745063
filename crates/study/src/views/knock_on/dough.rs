//! The dough and the piece, told.

use super::{Dough, Interval, MassStage, Piece};
use crate::chain::Run;
use crate::chain::learned::{WHOLE_LEVEL, whole_pieces};
use formula::dough_temperature::{DoughHeat, WaterTemperature, water_temperature};
use measure::{WetBasis, temperature};
use trials::learn::release::logistic;

pub(super) fn dough(run: &Run) -> Dough {
    let made = &run.made;
    let tempered = tempering(run);
    let taken_up = run.treatment.setting.learned.as_ref();
    Dough {
        moisture_pct: made.dough_moisture.percent(),
        water_added_kg_per_100kg_dry_mix: made.formula.water_kg_per_100kg_dry_mix(),
        water_need: Interval {
            mean: made.need.mean,
            low95: made.need.low95,
            high95: made.need.high95,
        },
        whole_pieces: whole_pieces(
            made.need.mean,
            made.formula.water_kg_per_100kg_dry_mix(),
            taken_up.and_then(|l| l.whole.as_ref()),
        )
        .ok()
        .flatten()
        .map(|w| Interval {
            mean: if run.sample.varies() {
                logistic(w.logit + w.logit_sd * run.sample.z(WHOLE_LEVEL.name))
            } else {
                w.probability
            },
            low95: w.low95,
            high95: w.high95,
        }),
        first_dose_kg_per_100kg_dry_mix: made.need.first_dose,
        dose_step_kg_per_100kg_dry_mix: made.need.step,
        water_from: run.treatment.water.written(),
        density_kg_per_m3: made.dough.density.dough_kg_per_m3,
        unknown_uptake: made.need.unknown.clone(),
        water_temperature_c: tempered.map(|t| temperature::celsius(t.water_k)),
        ice_fraction: tempered.map(|t| t.ice_fraction),
    }
}

fn tempering(run: &Run) -> Option<WaterTemperature> {
    let setting = &run.treatment.setting;
    let heat = DoughHeat {
        wanted_k: temperature::kelvin(setting.dough.temperature_c),
        materials_k: temperature::kelvin(setting.process.flour_c),
        tap_k: temperature::kelvin(setting.process.tap_water_c),
        mixing_work_j_per_kg: setting.process.mixing_work_kj_per_kg * 1e3,
        work_to_heat_fraction: 1.0,
    };
    water_temperature(&run.made.formula, &heat).ok()
}

pub(super) fn piece(run: &Run) -> Piece {
    Piece {
        green_mass_g: run.made.green_kg * 1e3,
        baked_mass_g: run.baked_kg * 1e3,
        thickness_mm: run.treatment.setting.piece.thickness_m * 1e3,
        loss_pct: 100.0 * run.balance.loss_fraction(),
        mass: mass_stages(run),
    }
}

/// What a piece weighs from dough to pack; leavening is taken to be gone at the oven's exit.
fn mass_stages(run: &Run) -> Vec<MassStage> {
    let stage = |place, dry_g: f64, moisture: WetBasis| MassStage {
        place,
        dry_g,
        water_g: dry_g * moisture.to_dry().0,
    };
    let green_dry_g = run.made.green_kg * 1e3 * (1.0 - run.made.dough_moisture.0);
    let baked_dry_g = run.baked_kg * 1e3 * (1.0 - run.packed.0);
    vec![
        stage("dough", green_dry_g, run.made.dough_moisture),
        stage(
            "oven exit",
            baked_dry_g,
            run.baked.exit.mean_moisture.to_wet(),
        ),
        stage("packed", baked_dry_g, run.packed),
    ]
}
