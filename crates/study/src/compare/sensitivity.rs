//! Which setting would help most: how the bake time answers to each, one at a time.

use crate::chain::{BakeOptions, Run, RunError, Sample, run};
use crate::model::Treatment;
use baking::bake::Workspace;
use baking::oven::Humidity;
use measure::units::MINUTE_S;
use rayon::prelude::*;
use serde::Serialize;

/// How far the air, the radiating surfaces and the band of a zone are moved, K.
pub const TEMPERATURE_STEP_K: f64 = 10.0;
/// How far the humidity of a zone is moved, kg water per kg dry air.
pub const HUMIDITY_STEP_KG_PER_KG: f64 = 0.05;
/// How far the heat transfer of a zone is moved, share.
pub const HEAT_STEP_FRACTION: f64 = 0.10;
/// How far the dough moisture is moved, percentage points.
pub const WATER_STEP_POINTS: f64 = 1.0;
/// How far the thickness is moved, m.
pub const THICKNESS_STEP_M: f64 = 0.0005;

/// What is moved.
#[derive(Clone, Debug, PartialEq)]
enum Lever {
    Temperature(usize),
    Humidity(usize),
    Heat(usize),
    Water,
    Thickness,
}

/// How the bake time answers to one setting.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Sensitivity {
    /// The setting and how far it was moved, e.g. `middle: air, walls and band +10 K`.
    pub setting: String,
    /// The zone, when the setting belongs to one.
    pub zone: Option<usize>,
    /// Change of the bake time, min; unknown where the target isn't reached any more.
    pub minutes: Option<f64>,
}

/// The bake time's answers to every zone's temperature, humidity and heat transfer, to dough water
/// and to thickness; the largest first.
///
/// Worked out on 20 cells: differences between bakes on one grid are surer than the bakes.
///
/// # Errors
/// When the treatment itself has no answer.
pub fn sensitivities(of: &Run) -> Result<Vec<Sensitivity>, RunError> {
    let options = BakeOptions::COARSE;
    let mut open = of.treatment.clone();
    // A set time doesn't answer; the time that meets the target does.
    open.setting.bake_time_s = None;
    let base = run(&open, &options, Sample::Centre, &mut Workspace::new())?;
    let water = &base.made.formula;
    let reached = |r: &Run| r.baked.reached(&r.treatment.target);
    let mut levers: Vec<Lever> = (0..open.setting.oven.zones.len())
        .flat_map(|z| [Lever::Temperature(z), Lever::Humidity(z), Lever::Heat(z)])
        .collect();
    levers.extend([Lever::Water, Lever::Thickness]);
    let mut all: Vec<Sensitivity> = levers
        .par_iter()
        .map_init(Workspace::new, |w, lever| {
            let (moved, options) = moved(&open, lever, &options, water);
            let minutes = run(&moved, &options, Sample::Centre, w)
                .ok()
                .filter(|r| reached(r) && reached(&base))
                .map(|r| (r.baked.time_s - base.baked.time_s) / MINUTE_S);
            let (setting, zone) = words(&open, lever);
            Sensitivity {
                setting,
                zone,
                minutes,
            }
        })
        .collect();
    all.sort_by(|a, b| {
        let size = |s: &Sensitivity| s.minutes.map_or(-1.0, f64::abs);
        size(b)
            .total_cmp(&size(a))
            .then_with(|| a.setting.cmp(&b.setting))
    });
    Ok(all)
}

fn moved(
    treatment: &Treatment,
    lever: &Lever,
    options: &BakeOptions,
    formula: &formula::Formula,
) -> (Treatment, BakeOptions) {
    let mut t = treatment.clone();
    let mut options = *options;
    match *lever {
        Lever::Temperature(z) => {
            let zone = &mut t.setting.oven.zones[z];
            zone.air_k += TEMPERATURE_STEP_K;
            zone.radiating_k = zone.radiating_k.map(|k| k + TEMPERATURE_STEP_K);
            zone.band_k += TEMPERATURE_STEP_K;
        }
        Lever::Humidity(z) => {
            let zone = &mut t.setting.oven.zones[z];
            let humidity = baking::properties::air::humidity_kg_per_kg(
                zone.humidity.vapour_pressure_pa(),
                baking::properties::water::STANDARD_PRESSURE_PA,
            );
            zone.humidity = Humidity::KgPerKg(humidity + HUMIDITY_STEP_KG_PER_KG);
        }
        Lever::Heat(z) => {
            use baking::oven::TopHeat::{AirSpeed, Coefficient};
            let zone = &mut t.setting.oven.zones[z];
            zone.top = match zone.top {
                Coefficient(h) => Coefficient(h * (1.0 + HEAT_STEP_FRACTION)),
                // The plate's law goes with the root of the speed.
                AirSpeed(v) => AirSpeed(v * (1.0 + HEAT_STEP_FRACTION).powi(2)),
            };
            zone.bottom_w_per_m2_k *= 1.0 + HEAT_STEP_FRACTION;
        }
        Lever::Water => {
            let wanted = formula.dough_moisture().0 + WATER_STEP_POINTS / 100.0;
            // Water that brings the dough there: solids stay, the whole grows.
            let added = formula.solids() / (1.0 - wanted) - formula.total();
            let water = 100.0 * (formula.water() + added) / formula.dry_mix();
            options.water_kg_per_100kg = Some(water);
        }
        Lever::Thickness => t.setting.piece.thickness_m += THICKNESS_STEP_M,
    }
    (t, options)
}

fn words(treatment: &Treatment, lever: &Lever) -> (String, Option<usize>) {
    let zone = |z: usize| treatment.setting.oven.zones[z].name.as_str();
    match *lever {
        Lever::Temperature(z) => (
            format!(
                "{}: air, walls and band +{TEMPERATURE_STEP_K:.0} K",
                zone(z)
            ),
            Some(z),
        ),
        Lever::Humidity(z) => (
            format!("{}: humidity +{HUMIDITY_STEP_KG_PER_KG} kg/kg", zone(z)),
            Some(z),
        ),
        Lever::Heat(z) => (
            format!(
                "{}: heat transfer +{:.0} %",
                zone(z),
                100.0 * HEAT_STEP_FRACTION
            ),
            Some(z),
        ),
        Lever::Water => (
            format!("dough moisture +{WATER_STEP_POINTS:.0} point"),
            None,
        ),
        Lever::Thickness => (format!("thickness +{} mm", THICKNESS_STEP_M * 1e3), None),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Heat limits the bake (computed with a prototype of the same equations): hotter zones shorten
    /// it, water and thickness lengthen it; a point of dough water costs 3 to 7 %.
    #[test]
    fn settings_answer_the_way_a_baker_expects() {
        let study =
            crate::written::read(include_str!("../../../../examples/spent-grain.toml")).unwrap();
        let quick = BakeOptions::BAKE_ONLY;
        let control = run(
            study.control(),
            &quick,
            Sample::Centre,
            &mut Workspace::new(),
        )
        .unwrap();
        let all = sensitivities(&control).unwrap();
        assert_eq!(all.len(), 3 * study.control().setting.oven.zones.len() + 2);
        let base = control.baked.time_s / MINUTE_S;
        for s in &all {
            let minutes = s.minutes.unwrap();
            if s.setting.contains("+10 K") || s.setting.contains("heat transfer") {
                assert!(minutes < 0.0, "{s:?}");
            } else if s.zone.is_none() {
                assert!(minutes > 0.0, "{s:?}");
            }
            if s.setting.starts_with("dough moisture") {
                assert!((0.03..0.07).contains(&(minutes / base)), "{s:?} of {base}");
            }
        }
    }
}
