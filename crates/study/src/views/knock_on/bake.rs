//! The bake, told.

use super::{Bake, BakeCurve};
use crate::chain::{Run, browning};
use baking::bake::kill::{self, TESTED_CELSIUS, TESTED_WATER_ACTIVITY, TOLD_AT_MOST};
use baking::bake::search::Found;
use baking::bake::{Kill, StageEnd, StageKind};
use measure::temperature;

pub(super) fn bake(run: &Run) -> Bake {
    let baked = &run.baked;
    let (exit, cooled) = (&baked.exit, &baked.cooled);
    let sorption = &run.made.dough.sorption;
    let activity = |end: &StageEnd| Some(sorption.bounded(end.mean_moisture).ok()?.0);
    let moisture = |end: &StageEnd| end.mean_moisture.to_wet().percent();
    let later = &run.shelf_life;
    let kill = &cooled.kill;
    let (top, bottom) = (
        cooled.top.moisture.to_wet(),
        cooled.bottom.moisture.to_wet(),
    );
    Bake {
        time_min: baked.time_s / 60.0,
        exit_moisture_pct: moisture(exit),
        cooled_moisture_pct: moisture(cooled),
        packed_moisture_pct: run.packed.percent(),
        exit_water_activity: activity(exit),
        cooled_water_activity: activity(cooled),
        centre_peak_c: temperature::celsius(baked.result.centre_peak_k),
        top_peak_c: temperature::celsius(baked.result.top_peak_k),
        kill_log10: kill.log10.min(TOLD_AT_MOST),
        kill_carried_on_log10: kill.extrapolated_log10.min(TOLD_AT_MOST),
        kill_wet_phase_log10: kill.wet_phase_log10.min(TOLD_AT_MOST),
        kill_shown: kill_told(kill),
        colour_delta_e: browning::deepened(cooled.colour_delta_e, run.browning),
        water_removed_kg_per_kg_baked: run.balance.water_off_kg_per_kg_baked(),
        centre_surface_moisture_points: cooled.centre.moisture.to_wet().percent()
            - 0.5 * (top.percent() + bottom.percent()),
        checking_index: later.checking_index,
        crisp_days: later.crisp_days,
        crisp_days_at_least: later.crisp_days_at_least,
        crisp_unknown: later.crisp_unknown.clone(),
        reached: baked.reached(&run.treatment.target),
        limit: match baked.found {
            Found::TooWet(limit) => Some(limit.words().to_owned()),
            Found::TooDry => Some("drier than the target even at the shortest time".to_owned()),
            Found::DoughTooDry => Some("the dough isn't wetter than the target".to_owned()),
            Found::Met => None,
        },
        edge_correction_pct: run.checks.and_then(|c| c.edge_correction_pct),
        grid_error_points: run.checks.and_then(|c| c.grid_error_points),
        curve: curve(run),
    }
}

/// The credited log reduction, and in its explanation what stands beside it.
fn kill_told(kill: &Kill) -> String {
    let (t, a) = (TESTED_CELSIUS, TESTED_WATER_ACTIVITY);
    format!(
        "{} log₁₀ (credited within the tested {} to {} °C and a_w {} to {}; carried on above that {}, with the wet phase \
         by D values of other doughs {}: both need validation)",
        kill.shown(),
        t.low,
        t.high,
        a.low,
        a.high,
        kill::shown(kill.extrapolated_log10),
        kill::shown(kill.wet_phase_log10),
    )
}

fn curve(run: &Run) -> BakeCurve {
    let result = &run.baked.result;
    let h = &result.history;
    let end_s = run.baked.cooled.time_s;
    let n = h.time_s.iter().take_while(|t| **t <= end_s + 1e-9).count();
    let celsius = |v: &[f64]| v[..n].iter().map(|k| temperature::celsius(*k)).collect();
    BakeCurve {
        time_min: h.time_s[..n].iter().map(|t| t / 60.0).collect(),
        moisture_pct: h.mean_moisture[..n]
            .iter()
            .map(|x| 100.0 * x / (1.0 + x))
            .collect(),
        top_c: celsius(&h.top_k),
        centre_c: celsius(&h.centre_k),
        bottom_c: celsius(&h.bottom_k),
        colour_delta_e: h.colour_delta_e[..n]
            .iter()
            .map(|d| browning::deepened(*d, run.browning))
            .collect(),
        zones: result
            .stages
            .iter()
            .filter(|s| s.kind != StageKind::Pack)
            .map(|s| (s.name.clone(), s.time_s / 60.0))
            .collect(),
    }
}
