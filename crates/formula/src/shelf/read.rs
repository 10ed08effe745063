//! From the rows of the table to materials, with a grade for every value.

use crate::acid::{Acid, WeakAcid};
use crate::composition::{Composition, Nutrient, Value};
use crate::leavener::Leavener;
use crate::material::{Allergen, AllergenFlag, Category, Gluten, Material, Price, PriceFrom};
use crate::solute::{Dissolves, Solute};
use measure::{Grade, Source};
use serde::Deserialize;

const TABLE: &str = include_str!("materials.csv");

/// A row as written; an empty cell is `None`.
#[derive(Debug, Deserialize)]
pub(super) struct Row {
    pub id: String,
    pub name: String,
    pub label_name: String,
    pub category: String,
    pub moisture_pct: Option<f64>,
    pub protein_reported_pct: Option<f64>,
    pub n_factor: Option<f64>,
    pub crude_protein_pct: Option<f64>,
    pub crude_fat_pct: Option<f64>,
    pub crude_fibre_pct: Option<f64>,
    pub tdf_pct: Option<f64>,
    pub ash_pct: Option<f64>,
    pub sugars_pct: Option<f64>,
    pub starch_pct: Option<f64>,
    pub ca_mg_100g: Option<f64>, // no unit: the table says mg/100 g
    pub p_mg_100g: Option<f64>,  // no unit: the table says mg/100 g
    pub na_mg_100g: Option<f64>, // no unit: the table says mg/100 g
    pub k_mg_100g: Option<f64>,  // no unit: the table says mg/100 g
    pub gluten: String,
    pub allergens: String,
    pub bulk_density_kg_m3: Option<f64>,
    pub loss_on_baking_pct: Option<f64>,
    pub loss_grade: Option<Grade>,
    pub solute: String,
    pub solute_pct: Option<f64>,
    pub weak_acid: String,
    pub weak_acid_pct: Option<f64>,
    pub leavener: String,
    pub price_low_per_kg: Option<f64>,
    pub price_high_per_kg: Option<f64>,
    pub price_currency: String,
    pub price_basis: String,
    pub caution: String,
    /// How sure the row is, but for the constituents of `graded_apart`.
    pub grade: Grade,
    /// `constituent: grade; …`: crude fibre that the food table doesn't have and that was added from
    /// memory, protein restated from another nitrogen factor, the ash of a salt that decomposes.
    pub graded_apart: String,
    pub source: String,
    pub notes: String,
}

/// The rows of the built-in table.
pub(super) fn rows() -> Result<Vec<Row>, csv::Error> {
    csv::Reader::from_reader(TABLE.as_bytes())
        .deserialize()
        .collect()
}

/// The built-in table as materials.
pub(super) fn materials() -> Result<Vec<Material>, String> {
    let uptakes = super::uptake::Uptakes::read()?;
    let holding = super::holding::Holding::read()?;
    rows()
        .map_err(|e| e.to_string())?
        .iter()
        .map(|row| {
            let mut material = material(row)?;
            material.water_uptake = uptakes.of(&material);
            material.holding = holding.of(&material);
            Ok(material)
        })
        .collect()
}

/// The grades of single constituents that differ from the row's.
fn graded_apart(row: &Row) -> Option<Vec<(Nutrient, Grade)>> {
    row.graded_apart
        .split(';')
        .map(str::trim)
        .filter(|pair| !pair.is_empty())
        .map(|pair| {
            let (nutrient, grade) = pair.split_once(": ")?;
            Some((
                Nutrient::ALL.into_iter().find(|n| n.word() == nutrient)?,
                Grade::ALL.into_iter().find(|g| g.word() == grade)?,
            ))
        })
        .collect()
}

pub(super) fn material(row: &Row) -> Result<Material, String> {
    let bad = |column: &str, word: &str| format!("{}: {column} is {word:?}", row.id);
    let category =
        Category::from_written(&row.category).ok_or_else(|| bad("category", &row.category))?;
    let apart = graded_apart(row).ok_or_else(|| bad("graded_apart", &row.graded_apart))?;
    let value = |nutrient: Nutrient, pct: f64| {
        let grade = apart
            .iter()
            .find(|(n, _)| *n == nutrient)
            .map_or(row.grade, |(_, grade)| *grade);
        Value::new(pct / 100.0, Source::new(grade, row.source.clone()))
    };
    let mut composition = Composition::default();
    for nutrient in Nutrient::ALL {
        if let Some(pct) = percent(row, nutrient) {
            composition.set(nutrient, value(nutrient, pct));
        }
    }
    let gas = row.loss_on_baking_pct.unwrap_or(0.0) / 100.0;
    without_carbohydrate(category, gas, &mut composition);
    if row.price_basis != "invented" {
        return Err(bad("price_basis", &row.price_basis));
    }
    let price = match (row.price_low_per_kg, row.price_high_per_kg) {
        (Some(low_per_kg), Some(high_per_kg)) => Some(Price {
            low_per_kg,
            high_per_kg,
            source: Source::new(
                Grade::Assumed,
                format!("{}, {} per kg", row.price_basis, row.price_currency),
            ),
            from: PriceFrom::Invented {
                currency: row.price_currency.clone(),
            },
        }),
        _ => None,
    };
    Ok(Material {
        id: row.id.clone(),
        name: row.name.clone(),
        label_name: row.label_name.clone(),
        category,
        composition,
        protein_reported: row
            .protein_reported_pct
            .map(|pct| Value::new(pct / 100.0, Source::new(row.grade, row.source.clone()))),
        nitrogen_factor: row.n_factor,
        loss_on_baking_fraction: loss_on_baking(row)
            .ok_or_else(|| bad("loss_grade", "nothing, beside a loss"))?,
        gluten: match row.gluten.as_str() {
            "contains_gluten" => Gluten::Contains,
            "cross_contact_risk" => Gluten::CrossContactRisk,
            "gluten_free_by_nature" => Gluten::FreeByNature,
            other => return Err(bad("gluten", other)),
        },
        allergens: allergens(&row.allergens).ok_or_else(|| bad("allergens", &row.allergens))?,
        bulk_density_kg_per_m3: row.bulk_density_kg_m3,
        water_uptake: None,
        holding: None,
        dissolves: solute(row)?,
        weak_acid: weak_acid(row)?,
        leavener: leavener(row)?,
        price,
        caution: row.caution.clone(),
        notes: row.notes.clone(),
        lot: String::new(),
        source: Source::new(row.grade, row.source.clone()),
    })
}

/// The cell of a constituent in percent.
pub(super) fn percent(row: &Row, nutrient: Nutrient) -> Option<f64> {
    let mg_per_100g = |mg: Option<f64>| mg.map(|mg| mg / 1000.0);
    match nutrient {
        Nutrient::Moisture => row.moisture_pct,
        Nutrient::CrudeProtein => row.crude_protein_pct,
        Nutrient::CrudeFat => row.crude_fat_pct,
        Nutrient::CrudeFibre => row.crude_fibre_pct,
        Nutrient::DietaryFibre => row.tdf_pct,
        Nutrient::Ash => row.ash_pct,
        Nutrient::Sugars => row.sugars_pct,
        Nutrient::Starch => row.starch_pct,
        Nutrient::Calcium => mg_per_100g(row.ca_mg_100g),
        Nutrient::Phosphorus => mg_per_100g(row.p_mg_100g),
        Nutrient::Sodium => mg_per_100g(row.na_mg_100g),
        Nutrient::Potassium => mg_per_100g(row.k_mg_100g),
    }
}

/// Sugars and starch that the table leaves open but that can only be none: where moisture,
/// protein, fat, ash and gas fill the whole to half a percent there is no room for them, and what
/// comes from animals, fats and sugars has no starch.
fn without_carbohydrate(category: Category, gas: f64, composition: &mut Composition) {
    let filled: Option<f64> = [
        Nutrient::Moisture,
        Nutrient::CrudeProtein,
        Nutrient::CrudeFat,
        Nutrient::Ash,
    ]
    .into_iter()
    .map(|n| composition.fraction(n))
    .sum();
    let full = filled.is_some_and(|sum| sum + gas >= 0.995);
    let starchless = matches!(
        category,
        Category::ProteinAnimal | Category::Dairy | Category::FatOil | Category::Sweetener
    );
    let mut none = |nutrient, source| {
        if composition.get(nutrient).is_none() {
            composition.set(nutrient, Value::new(0.0, source));
        }
    };
    if full {
        let source = Source::fixed(Grade::Computed, "no room for carbohydrate by difference");
        none(Nutrient::Sugars, source.clone());
        none(Nutrient::Starch, source);
    } else if starchless {
        none(
            Nutrient::Starch,
            Source::fixed(
                Grade::Recalled,
                "animal products, fats and sugars hold no starch",
            ),
        );
    }
}

/// What leaves in the oven beside water; a loss without a grade of its own is no row.
fn loss_on_baking(row: &Row) -> Option<Value> {
    let fraction = row.loss_on_baking_pct.unwrap_or(0.0) / 100.0;
    let source = match (fraction > 0.0, row.loss_grade) {
        (false, _) => Source::fixed(Grade::Assumed, "nothing but water leaves in the oven"),
        (true, Some(Grade::Computed)) => {
            Source::fixed(Grade::Computed, "stoichiometry of the decomposition")
        }
        (true, Some(grade)) => Source::new(grade, format!("loss on baking, {}", grade.word())),
        (true, None) => return None,
    };
    Some(Value::new(fraction, source))
}

fn bad_cell(row: &Row, column: &str, word: &str) -> String {
    format!("{}: {column} is {word:?}", row.id)
}

/// What dissolves; an empty cell is nothing.
fn solute(row: &Row) -> Result<Vec<Dissolves>, String> {
    match (row.solute.as_str(), row.solute_pct) {
        ("", None) => Ok(Vec::new()),
        (word, Some(pct)) => Ok(vec![Dissolves {
            solute: Solute::from_word(word).ok_or_else(|| bad_cell(row, "solute", word))?,
            fraction: pct / 100.0,
        }]),
        (word, None) => Err(bad_cell(row, "solute", word)),
    }
}

fn weak_acid(row: &Row) -> Result<Option<Acid>, String> {
    match (row.weak_acid.as_str(), row.weak_acid_pct) {
        ("", None) => Ok(None),
        (word, Some(pct)) => Ok(Some(Acid {
            acid: WeakAcid::ALL
                .into_iter()
                .find(|a| a.word() == word)
                .ok_or_else(|| bad_cell(row, "weak_acid", word))?,
            fraction: pct / 100.0,
        })),
        (word, None) => Err(bad_cell(row, "weak_acid", word)),
    }
}

fn leavener(row: &Row) -> Result<Option<Leavener>, String> {
    match row.leavener.as_str() {
        "" => Ok(None),
        word => Leavener::from_word(word)
            .map(Some)
            .ok_or_else(|| bad_cell(row, "leavener", word)),
    }
}

fn allergens(cell: &str) -> Option<Vec<AllergenFlag>> {
    cell.split(';')
        .map(str::trim)
        .filter(|word| !word.is_empty())
        .map(|word| {
            let sure = word.strip_suffix(" (possible source)");
            Some(AllergenFlag {
                allergen: Allergen::from_word(sure.unwrap_or(word))?,
                possible: sure.is_some(),
            })
        })
        .collect()
}
