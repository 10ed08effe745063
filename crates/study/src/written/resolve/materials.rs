//! Materials of a study's own.

use super::super::problem::{Code, Problem, did_you_mean};
use super::super::reader::Reader;
use super::super::row::Row;
use super::super::tables::{constituent_keys, gluten_words};
use super::super::told::quote;
use super::chosen;
use formula::PatchValue;
use formula::leavening::Leavener;
use formula::solute::{Dissolves, Solute};
use formula::{Allergen, AllergenFlag, Category, Gluten, Material, MaterialPatch};
use measure::names::closest_called;
use measure::{Grade, Source};
use std::collections::BTreeMap;
use std::ops::Range;
use std::sync::Arc;

/// Every material of the file that could be built.
pub(super) fn own(rows: &[Row], reader: &mut Reader<'_>) -> BTreeMap<String, Arc<Material>> {
    let mut first: BTreeMap<&str, &Row> = BTreeMap::new();
    for row in rows {
        let Some(id) = row.text("id") else { continue };
        if first.contains_key(id) {
            reader.tell(
                Problem::new(
                    Code::Duplicate,
                    row.place("id"),
                    format!("material[{id}].id"),
                    format!("there are two materials {}", quote(id)),
                )
                .allowed("every id once")
                .suggest("put both into one section, or give one another id"),
            );
        } else {
            first.insert(id, row);
        }
    }
    let mut built = BTreeMap::new();
    for (id, row) in &first {
        build(id, row, &first, &mut built, &mut Vec::new(), reader);
    }
    built
        .into_iter()
        .filter_map(|(id, material)| Some((id, material?)))
        .collect()
}

/// Builds a material after the one it starts from; one that can't be built is `None` and told once.
fn build<'a>(
    id: &'a str,
    row: &'a Row,
    rows: &BTreeMap<&'a str, &'a Row>,
    built: &mut BTreeMap<String, Option<Arc<Material>>>,
    under_way: &mut Vec<&'a str>,
    reader: &mut Reader<'_>,
) {
    if built.contains_key(id) {
        return;
    }
    under_way.push(id);
    let material = base(id, row, rows, built, under_way, reader).and_then(|base| {
        let patch = patch(row, id, reader)?;
        let result = match &base {
            Some(base) => patch.apply(base, id),
            None => patch.define(id),
        };
        match result {
            Ok(mut material) => {
                if base.is_some_and(|b| b.id != id) && !row.has("name") {
                    // A material made from another has to be told apart from it in every table.
                    material.name = format!("{} ({id})", material.name);
                }
                Some(Arc::new(material))
            }
            Err(error) => {
                let problem = Problem::new(
                    Code::CannotApply,
                    row.place("id"),
                    format!("material[{id}]"),
                    error.to_string(),
                );
                let near = formula::shelf::closest(id);
                reader.tell(match base {
                    None if !near.is_empty() => {
                        problem.suggest(format!("for a known one write from = \"{}\"", near[0]))
                    }
                    _ => problem,
                });
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
    row: &'a Row,
    rows: &BTreeMap<&'a str, &'a Row>,
    built: &mut BTreeMap<String, Option<Arc<Material>>>,
    under_way: &mut Vec<&'a str>,
    reader: &mut Reader<'_>,
) -> Option<Option<Arc<Material>>> {
    let Some(from) = row.text("from") else {
        return Some(formula::shelf::find(id));
    };
    let path = format!("material[{id}].from");
    match rows.get_key_value(from) {
        Some((&from, &other)) if from != id => {
            if under_way.contains(&from) {
                reader.tell(
                    Problem::new(
                        Code::Circular,
                        row.place("from"),
                        path,
                        format!("{} are made from each other", under_way.join(", ")),
                    )
                    .suggest("let one of them start from a material of the shelf"),
                );
                return None;
            }
            build(from, other, rows, built, under_way, reader);
            built.get(from).cloned().flatten().map(Some)
        }
        _ => match formula::shelf::find(from) {
            Some(material) => Some(Some(material)),
            None => {
                reader.tell(unknown(
                    from,
                    rows.keys().copied(),
                    &path,
                    row.place("from"),
                ));
                None
            }
        },
    }
}

/// The problem of a material that neither the file nor the shelf has.
pub(super) fn unknown<'a>(
    id: &str,
    own: impl Iterator<Item = &'a str>,
    path: &str,
    place: Range<usize>,
) -> Problem {
    let near = {
        let own: Vec<&str> = own.collect();
        let shelf = formula::shelf::shelf().iter();
        closest_called(
            id,
            own.into_iter()
                .map(|own| (own, own))
                .chain(shelf.map(|m| (m.id.as_str(), m.name.as_str()))),
        )
        .into_iter()
        .map(str::to_owned)
        .collect::<Vec<_>>()
    };
    let near: Vec<&str> = near.iter().map(String::as_str).collect();
    Problem::new(
        Code::UnknownMaterial,
        place,
        path,
        format!("there is no material {}", quote(id)),
    )
    .allowed("a material of the shelf (`hardtack material list`) or of this file")
    .suggest(if near.is_empty() {
        format!("describe it: [[material]] with id = \"{id}\"")
    } else {
        did_you_mean(&near)
    })
}

fn patch(row: &Row, id: &str, reader: &mut Reader<'_>) -> Option<MaterialPatch> {
    let grade = chosen(Grade::ALL, Grade::word, row.text("grade")?)?;
    let text = row.text("source").unwrap_or("given in the study file");
    let mut patch = MaterialPatch::new(Source::new(grade, text));
    let written = |key: &str| row.text(key).map(str::to_owned);
    patch.name = written("name");
    patch.label_name = written("label_name");
    patch.category = row.text("category").and_then(Category::from_written);
    let spread = row.row("spread");
    for (nutrient, key) in constituent_keys() {
        let sd = spread.and_then(|s| s.number(key)).map(|pct| pct / 100.0);
        match row.number(key) {
            Some(pct) => patch.values.push(PatchValue {
                nutrient,
                fraction: pct / 100.0,
                sd,
            }),
            None if sd.is_some() => reader.tell(
                Problem::new(
                    Code::Missing,
                    spread.map_or_else(|| row.place.0.clone(), |s| s.place(key)),
                    format!("material[{id}].spread.{key}"),
                    format!("the spread of {key} is given, and its value isn't"),
                )
                .suggest(format!("write {key} in the material too")),
            ),
            None => {}
        }
    }
    patch.nitrogen_factor = row.number("nitrogen_factor");
    patch.loss_on_baking_fraction = row.number("loss_on_baking_pct").map(|pct| pct / 100.0);
    patch.bulk_density_kg_per_m3 = row.number("bulk_density_kg_per_m3");
    patch.gluten = row.text("gluten").and_then(|word| {
        let place = gluten_words().iter().position(|w| *w == word)?;
        Some(Gluten::ALL[place])
    });
    patch.allergens = row.words("allergens").map(|words| {
        words
            .iter()
            .filter_map(|w| Allergen::from_word(w))
            .map(|allergen| AllergenFlag {
                allergen,
                possible: false,
            })
            .collect()
    });
    patch.water_uptake = water_uptake(row, id, reader);
    patch.damaged_starch_farrand = row.number("damaged_starch_farrand");
    patch.holding = row.number("hold_kg_per_kg");
    patch.dissolves = dissolves(row, id, reader);
    patch.leavener = row.text("leavener").and_then(Leavener::from_word);
    patch.price_per_kg = price(row, id, reader);
    patch.caution = written("caution");
    patch.notes = written("note");
    patch.lot = written("lot");
    Some(patch)
}

/// Mean and spread of the water uptake; a spread that isn't given is a fifth of the mean, at least
/// 0.05 kg/kg: a working assumption, as wide as the shelf's own for flours other than wheat.
fn water_uptake(row: &Row, id: &str, reader: &mut Reader<'_>) -> Option<(f64, f64)> {
    let sd = row.number("water_uptake_sd_kg_per_kg");
    match row.number("water_uptake_kg_per_kg") {
        Some(mean) => Some((mean, sd.unwrap_or_else(|| (0.2 * mean.abs()).max(0.05)))),
        None => {
            if sd.is_some() {
                reader.tell(
                    Problem::new(
                        Code::Missing,
                        row.place("water_uptake_sd_kg_per_kg"),
                        format!("material[{id}].water_uptake_sd_kg_per_kg"),
                        "the spread of the water uptake is given, and the water uptake isn't",
                    )
                    .suggest("write water_uptake_kg_per_kg too"),
                );
            }
            None
        }
    }
}

/// A solute and its share, which need each other.
fn dissolves(row: &Row, id: &str, reader: &mut Reader<'_>) -> Option<Dissolves> {
    let (solute, pct) = (
        row.text("solute").and_then(Solute::from_word),
        row.number("solute_pct"),
    );
    if let (Some(solute), Some(pct)) = (solute, pct) {
        return Some(Dissolves {
            solute,
            fraction: pct / 100.0,
        });
    }
    for (there, missing) in [("solute", "solute_pct"), ("solute_pct", "solute")] {
        if row.has(there) && !row.has(missing) {
            reader.tell(
                Problem::new(
                    Code::Missing,
                    row.place(there),
                    format!("material[{id}].{missing}"),
                    format!("{there} is given, and {missing} isn't"),
                )
                .suggest(format!("write {missing} too")),
            );
        }
    }
    None
}

fn price(row: &Row, id: &str, reader: &mut Reader<'_>) -> Option<(f64, f64)> {
    let path = format!("material[{id}].price_per_kg");
    let range = (
        row.number("price_low_per_kg"),
        row.number("price_high_per_kg"),
    );
    match (row.number("price_per_kg"), range) {
        (Some(price), (None, None)) => Some((price, price)),
        (None, (Some(low), Some(high))) => Some((low, high)),
        (None, (None, None)) => None,
        (Some(_), _) => {
            reader.tell(
                Problem::new(
                    Code::Contradiction,
                    row.place("price_per_kg"),
                    path,
                    "price_per_kg and a price range exclude each other",
                )
                .suggest("keep price_per_kg, or price_low_per_kg with price_high_per_kg"),
            );
            None
        }
        (None, (low, _)) => {
            let (there, missing) = if low.is_some() {
                ("price_low_per_kg", "price_high_per_kg")
            } else {
                ("price_high_per_kg", "price_low_per_kg")
            };
            reader.tell(
                Problem::new(
                    Code::Missing,
                    row.place(there),
                    path,
                    format!("a price range has two ends, and {missing} isn't written"),
                )
                .suggest(format!("write {missing} too, or price_per_kg alone")),
            );
            None
        }
    }
}
