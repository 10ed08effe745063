//! What is sold, as the knock-on answers it: what it contains, its label draft, its cost.

use crate::answer::{Cost, Guaranteed, Label, Nutrition};
use crate::prepare::Prepared;
use crate::study::{Study, Treatment};
use baking::line;
use formula::{Nutrient, label};
use measure::{Finding, Severity};
use std::collections::BTreeMap;

pub(crate) fn nutrition_answer(n: &formula::nutrition::Nutrition, baked_kg: f64) -> Nutrition {
    let at_least = Nutrient::ALL
        .into_iter()
        .filter_map(|x| {
            let unknown = n.get(x).unknown;
            (!unknown.is_empty()).then(|| (x.word().to_owned(), unknown))
        })
        .collect::<BTreeMap<_, _>>();
    let dry_matter = Nutrient::ALL
        .into_iter()
        .filter(|x| *x != Nutrient::Moisture)
        .map(|x| (x.word().to_owned(), 100.0 * n.dry(x).at_least))
        .collect();
    Nutrition {
        moisture_pct: n.moisture.percent(),
        crude_protein_pct: n.percent(Nutrient::CrudeProtein),
        crude_fat_pct: n.percent(Nutrient::CrudeFat),
        crude_fibre_pct: n.percent(Nutrient::CrudeFibre),
        ash_pct: n.percent(Nutrient::Ash),
        nfe_pct: 100.0 * n.proximate.nfe(),
        me_kcal_per_kg: n.atwater_kcal_per_kg,
        me_nrc_kcal_per_kg: n.nrc_kcal_per_kg,
        kcal_per_piece: n.kcal_per_piece(baked_kg),
        calcium_pct: n.percent(Nutrient::Calcium),
        phosphorus_pct: n.percent(Nutrient::Phosphorus),
        sodium_pct: n.percent(Nutrient::Sodium),
        potassium_pct: n.percent(Nutrient::Potassium),
        at_least,
        energy_unsure: n.unsure(),
        dry_matter,
    }
}

pub(crate) fn label_answer(
    prepared: &Prepared,
    n: &formula::nutrition::Nutrition,
    baked_kg: f64,
) -> Label {
    let guarantees = label::guaranteed_analysis(n);
    let of = |x: Nutrient| {
        guarantees
            .iter()
            .find(|g| g.nutrient == x)
            .map(|g| g.guarantee_pct)
    };
    let flags = label::flags(&prepared.formula);
    let (calories, unsure) = (
        label::calorie_content(n.atwater_kcal_per_kg, baked_kg, "piece"),
        n.unsure(),
    );
    Label {
        ingredient_statement: label::ingredient_statement(&prepared.formula, false),
        guaranteed: Guaranteed {
            crude_protein_min_pct: of(Nutrient::CrudeProtein),
            crude_fat_min_pct: of(Nutrient::CrudeFat),
            crude_fibre_max_pct: of(Nutrient::CrudeFibre),
            moisture_max_pct: of(Nutrient::Moisture),
        },
        calorie_statement: if unsure.is_empty() {
            calories
        } else {
            format!(
                "{calories} – unsure: values of {} are missing",
                unsure.join(", ")
            )
        },
        gluten: flags
            .gluten_from
            .iter()
            .map(|(id, state)| format!("{}: {}", name_of(prepared, id), state.word()))
            .collect(),
        allergens: flags
            .allergens
            .iter()
            .map(|(a, possible, _)| {
                if *possible {
                    format!("{} (possible)", a.word())
                } else {
                    a.word().to_owned()
                }
            })
            .collect(),
    }
}

fn name_of<'a>(prepared: &'a Prepared, id: &'a str) -> &'a str {
    let line = prepared
        .formula
        .lines()
        .iter()
        .find(|l| l.material.id == id);
    line.map_or(id, |l| l.material.name.as_str())
}

pub(crate) fn cost_answer(
    study: &Study,
    treatment: &Treatment,
    r: &line::LineResult,
    cost: &formula::cost::IngredientCost,
) -> Cost {
    let line = &treatment.setting.line;
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
        currency: study.currency.clone(),
        unknown_prices: cost.unknown.clone(),
    }
}

/// Costs that nobody has written are none: what is told is at least the rest.
pub(crate) fn not_written_finding(cost: &Cost) -> Option<Finding> {
    let not_written = cost.not_written();
    (!not_written.is_empty()).then(|| {
        Finding::new(
            Severity::Note,
            "cost-not-written",
            "cost.per_kg",
            format!(
                "No cost of {} is written: the cost is told as at least.",
                not_written.join(", ")
            ),
        )
        .help("Give per_kg, per_line_hour and heat_per_kwh under [line.conversion].")
    })
}

/// Prices of the built-in table are invented and in US dollars.
pub(crate) fn currency_finding(study: &Study, prepared: &Prepared) -> Option<Finding> {
    let foreign: Vec<&str> = prepared
        .formula
        .lines()
        .iter()
        .filter(|l| l.parts > 0.0 && !l.material.is_water())
        .filter(|l| {
            l.material
                .price
                .as_ref()
                .is_some_and(|p| p.source.text.contains("USD"))
        })
        .map(|l| l.material.name.as_str())
        .collect();
    if foreign.is_empty() {
        return None;
    }
    let mixed = study.currency != "USD";
    let severity = if mixed {
        Severity::Warn
    } else {
        Severity::Note
    };
    let taken = if mixed {
        format!(" in USD, taken here as {}", study.currency)
    } else {
        String::new()
    };
    Some(
        Finding::new(
            severity,
            "price-invented",
            "cost.per_kg",
            format!(
                "The built-in price of {} is invented{taken}.",
                foreign.join(", ")
            ),
        )
        .help("Give your own prices per kg in the study file."),
    )
}
