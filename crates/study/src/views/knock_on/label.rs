//! What the packed product contains, and its label draft.

use super::{Guaranteed, Label, Nutrition};
use crate::chain::{Run, Uncertain};
use formula::{Nutrient, label};
use std::collections::BTreeMap;

pub(super) fn nutrition(run: &Run) -> Nutrition {
    let n = &run.sold.nutrition;
    let formula = 1.0 + Uncertain::EnergyFormula.shift(run.sample);
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
        me_kcal_per_kg: formula * n.atwater_kcal_per_kg,
        me_nrc_kcal_per_kg: formula * n.nrc_kcal_per_kg,
        kcal_per_piece: formula * n.kcal_per_piece(run.baked_kg),
        calcium_pct: n.percent(Nutrient::Calcium),
        phosphorus_pct: n.percent(Nutrient::Phosphorus),
        sodium_pct: n.percent(Nutrient::Sodium),
        potassium_pct: n.percent(Nutrient::Potassium),
        at_least,
        energy_unsure: n.unsure(),
        dry_matter,
    }
}

pub(super) fn label(run: &Run) -> Label {
    let (n, guarantees, flags) = (&run.sold.nutrition, &run.sold.guarantees, &run.sold.flags);
    let of = |x: Nutrient| {
        guarantees
            .iter()
            .find(|g| g.nutrient == x)
            .map(|g| g.guarantee_pct)
    };
    let (calories, unsure) = (
        label::calorie_content(n.atwater_kcal_per_kg, run.baked_kg, "piece"),
        n.unsure(),
    );
    Label {
        ingredient_statement: label::ingredient_statement(&run.made.formula, false),
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
            .map(|(id, state)| format!("{}: {}", name_of(run, id), state.word()))
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

fn name_of<'a>(run: &'a Run, id: &'a str) -> &'a str {
    let line = run
        .made
        .formula
        .lines()
        .iter()
        .find(|l| l.material.id == id);
    line.map_or(id, |l| l.material.name.as_str())
}
