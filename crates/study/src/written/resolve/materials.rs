//! Materials of a study's own.

use super::super::path::At;
use super::super::problem::{Problems, What};
use super::super::tables::{MaterialRow, RootRow, constituent};
use super::super::typed::Told;
use formula::PatchValue;
use formula::{AllergenFlag, Material, MaterialPatch, Nutrient};
use measure::Source;
use measure::names::closest_called;
use std::collections::BTreeMap;
use std::sync::Arc;

type Rows<'r, 'a> = BTreeMap<&'a str, &'r MaterialRow<'a>>;
type Built = BTreeMap<String, Option<Arc<Material>>>;

/// Every material of the file that could be built.
pub(super) fn own(
    rows: &[MaterialRow<'_>],
    problems: &mut Problems,
) -> BTreeMap<String, Arc<Material>> {
    let mut first = Rows::new();
    for row in rows {
        let Some(id) = row.id.value else { continue };
        if first.contains_key(id) {
            let two = What::TwoMaterials { id: id.to_owned() };
            let at = At::WHOLE.key(RootRow::material.name).with_id(id);
            problems.tell(&at.key(MaterialRow::id.name), &row.id.place, two);
        } else {
            first.insert(id, row);
        }
    }
    let mut built = BTreeMap::new();
    for (id, row) in &first {
        build(id, row, &first, &mut built, &mut Vec::new(), problems);
    }
    built
        .into_iter()
        .filter_map(|(id, material)| Some((id, material?)))
        .collect()
}

/// Builds a material after the one it starts from; one that can't be built is `None` and told once.
fn build<'a>(
    id: &'a str,
    row: &MaterialRow<'a>,
    rows: &Rows<'_, 'a>,
    built: &mut Built,
    under_way: &mut Vec<&'a str>,
    problems: &mut Problems,
) {
    if built.contains_key(id) {
        return;
    }
    under_way.push(id);
    let material = base(id, row, rows, built, under_way, problems).and_then(|base| {
        let whole = At::WHOLE;
        let at = whole.key(RootRow::material.name).with_id(id);
        let patch = patch(row, &at, problems);
        let result = match &base {
            Some(base) => patch.apply(base, id),
            None => patch.define(id),
        };
        match result {
            Ok(mut material) => {
                if base.is_some_and(|b| b.id != id) && !row.name.written {
                    // A material made from another has to be told apart from it in every table.
                    material.name = format!("{} ({id})", material.name);
                }
                Some(Arc::new(material))
            }
            Err(error) => {
                let near = formula::shelf::closest(id).first().map(|n| (*n).to_owned());
                let near = near.filter(|_| base.is_none());
                problems.tell(&at, &row.id.place, What::Material(error, near));
                None
            }
        }
    });
    under_way.pop();
    built.insert(id.to_owned(), material);
}

/// What a material starts from: `Some(None)` is nothing, `None` is a problem that was told.
fn base<'a>(
    id: &'a str,
    row: &MaterialRow<'a>,
    rows: &Rows<'_, 'a>,
    built: &mut Built,
    under_way: &mut Vec<&'a str>,
    problems: &mut Problems,
) -> Option<Option<Arc<Material>>> {
    let Some(from) = row.from.value else {
        return Some(formula::shelf::find(id));
    };
    let whole = At::WHOLE;
    let at = whole.key(RootRow::material.name).with_id(id);
    let at = at.key(MaterialRow::from.name);
    match rows.get_key_value(from) {
        Some((&from, &other)) if from != id => {
            if under_way.contains(&from) {
                let ids = under_way.iter().map(|id| (*id).to_owned()).collect();
                problems.tell(&at, &row.from.place, What::MaterialsInARound { ids });
                return None;
            }
            build(from, other, rows, built, under_way, problems);
            built.get(from).cloned().flatten().map(Some)
        }
        _ => match formula::shelf::find(from) {
            Some(material) => Some(Some(material)),
            None => {
                let what = unknown(from, rows.keys().copied());
                problems.tell(&at, &row.from.place, what);
                None
            }
        },
    }
}

/// The problem of a material that neither the file nor the shelf has.
pub(super) fn unknown<'a>(id: &str, own: impl Iterator<Item = &'a str>) -> What {
    let own: Vec<&str> = own.collect();
    let shelf = formula::shelf::shelf().iter();
    let called = own
        .into_iter()
        .map(|own| (own, own))
        .chain(shelf.map(|m| (m.id.as_str(), m.name.as_str())));
    let near = closest_called(id, called);
    What::UnknownMaterial {
        id: id.to_owned(),
        near: near.into_iter().map(str::to_owned).collect(),
    }
}

fn patch(row: &MaterialRow<'_>, at: &At<'_>, problems: &mut Problems) -> MaterialPatch {
    let grade = row.grade.value.unwrap_or(measure::Grade::Measured);
    let text = row.source.value.unwrap_or("given in the study file");
    let mut patch = MaterialPatch::new(Source::new(grade, text));
    let written = |told: &Told<Option<&str>>| told.value.map(str::to_owned);
    let share = |told: &Told<Option<f64>>| told.value.map(|pct| pct / 100.0);
    patch.name = written(&row.name);
    patch.label_name = written(&row.label_name);
    patch.category = row.category.value;
    let spread_at = at.key(MaterialRow::spread.name);
    for nutrient in Nutrient::ALL {
        let spread = row.spread.get().map(|s| s.constituent(nutrient));
        let sd = spread.and_then(share);
        match (share(row.constituent(nutrient)), spread) {
            (Some(fraction), _) => patch.values.push(PatchValue {
                nutrient,
                fraction,
                sd,
            }),
            (None, Some(spread)) if sd.is_some() => {
                let key = constituent(nutrient).name;
                let what = What::SpreadAlone { key };
                problems.tell(&spread_at.key(key), &spread.place, what);
            }
            _ => {}
        }
    }
    patch.nitrogen_factor = row.nitrogen_factor.value;
    patch.loss_on_baking_fraction = share(&row.loss_on_baking_pct);
    patch.bulk_density_kg_per_m3 = row.bulk_density_kg_per_m3.value;
    patch.gluten = row.gluten.value;
    patch.allergens = row.allergens.get().map(|allergens| {
        let flag = |allergen: &_| AllergenFlag {
            allergen: *allergen,
            possible: false,
        };
        allergens.iter().map(flag).collect()
    });
    patch.water_uptake = water_uptake(row, at, problems);
    patch.price_per_kg = price(row, at, problems);
    patch.caution = written(&row.caution);
    patch.notes = written(&row.note);
    patch.lot = written(&row.lot);
    patch
}

/// Mean and spread of the water uptake; a spread that isn't given is a fifth of the mean, at least
/// 0.05 kg/kg: a working assumption, as wide as the shelf's own for flours other than wheat.
fn water_uptake(row: &MaterialRow<'_>, at: &At<'_>, problems: &mut Problems) -> Option<(f64, f64)> {
    let sd = &row.water_uptake_sd_kg_per_kg;
    if let Some(mean) = row.water_uptake_kg_per_kg.value {
        let usual = || (0.2 * mean.abs()).max(0.05);
        return Some((mean, sd.value.unwrap_or_else(usual)));
    }
    if sd.value.is_some() {
        let at = at.key(MaterialRow::water_uptake_sd_kg_per_kg.name);
        problems.tell(&at, &sd.place, What::UptakeSpreadAlone);
    }
    None
}

fn price(row: &MaterialRow<'_>, at: &At<'_>, problems: &mut Problems) -> Option<(f64, f64)> {
    let (one, low, high) = (
        &row.price_per_kg,
        &row.price_low_per_kg,
        &row.price_high_per_kg,
    );
    let (place, what) = match (one.value, low.value, high.value) {
        (Some(price), None, None) => return Some((price, price)),
        (None, Some(low), Some(high)) => return Some((low, high)),
        (None, None, None) => return None,
        (Some(_), _, _) => (&one.place, What::PriceTwice),
        (None, Some(_), None) => {
            let missing = MaterialRow::price_high_per_kg.name;
            (&low.place, What::HalfAPrice { missing })
        }
        (None, None, Some(_)) => {
            let missing = MaterialRow::price_low_per_kg.name;
            (&high.place, What::HalfAPrice { missing })
        }
    };
    problems.tell(&at.key(MaterialRow::price_per_kg.name), place, what);
    None
}
