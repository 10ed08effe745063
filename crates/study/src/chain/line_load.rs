//! What a treatment asks of the line.

use super::dough_and_piece::DoughAndPiece;
use super::timed_bake::TimedBake;
use crate::model::Treatment;
use baking::bake::StageKind;
use baking::line::LineLoad;
use formula::cost::IngredientCost;
use measure::WetBasis;

/// The load of a treatment on its line.
pub(crate) fn line_load<'a>(
    treatment: &'a Treatment,
    made: &DoughAndPiece,
    baked: &TimedBake,
    packed: WetBasis,
    baked_kg: f64,
    cost: &IngredientCost,
) -> LineLoad<'a> {
    let setting = &treatment.setting;
    let (exit, cooled) = (&baked.exit, baked.result.end_of(StageKind::Cooling));
    LineLoad {
        oven: &setting.oven,
        piece: &setting.piece,
        layout: setting.layout,
        dough_kg_per_m3: made.dough.density.dough_kg_per_m3,
        green_kg: made.green_kg,
        baked_kg: baked_kg.min(made.green_kg),
        dough_moisture: made.dough_moisture,
        baked_moisture: packed,
        exit_moisture: exit.mean_moisture.to_wet(),
        solid_heat_capacity_j_per_kg_k: made.dough.solid_heat_capacity_j_per_kg_k,
        bake_time_s: baked.time_s,
        cooling_time_s: setting.cooling.seconds(baked.time_s),
        dough_k: made.bake.initial_temperature_k,
        // Top and bottom count a quarter each, as a parabola's mean nearly does.
        exit_k: 0.25 * exit.top.temperature_k
            + 0.5 * exit.centre.temperature_k
            + 0.25 * exit.bottom.temperature_k,
        cooled_k: cooled.map(|e| {
            e.top
                .temperature_k
                .max(e.centre.temperature_k)
                .max(e.bottom.temperature_k)
        }),
        cost_per_kg_dough: cost.unknown.is_empty().then_some(cost.per_kg_dough.mean),
    }
}
