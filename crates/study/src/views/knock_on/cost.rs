//! What it costs.

use super::Cost;
use crate::chain::Run;

pub(super) fn cost(run: &Run) -> Cost {
    let (r, line) = (&run.line, &run.treatment.setting.line);
    let sold_kg_per_h = r.output_kg_per_h - r.giveaway_kg_per_h;
    let fuel_kwh_per_kg = r.fuel_kwh_per_kg * r.baked_kg_per_h / sold_kg_per_h;
    // What nobody has written costs something all the same.
    let written = |price: f64, times: f64| (price > 0.0).then_some(price * times);
    let pack_per_kg = written(line.conversion.per_kg, 1.0);
    let people_and_plant_per_kg = written(line.conversion.per_line_hour, 1.0 / sold_kg_per_h);
    let heat_per_kg = written(line.conversion.per_kwh, fuel_kwh_per_kg);
    Cost {
        per_kg: r.cost.as_ref().map(|c| c.per_kg),
        per_piece: r.cost.as_ref().map(|c| c.per_piece),
        ingredients_per_kg: r.cost.as_ref().map(|c| c.ingredients_per_kg),
        conversion_per_kg: [pack_per_kg, people_and_plant_per_kg, heat_per_kg]
            .into_iter()
            .flatten()
            .sum(),
        pack_per_kg,
        people_and_plant_per_kg,
        heat_per_kg,
        currency: run.treatment.currency.clone(),
        unknown_prices: run.sold.ingredients.unknown.clone(),
    }
}
