//! Materials of a study's own, and values that override the shelf's.

use super::super::field::{Field, Kind, Need, Table, number, optional, required};
use super::{NAME, NOTE};
use formula::leavening::Leavener;
use formula::{Allergen, Category, Gluten, Nutrient, Solute};

/// A material.
pub static MATERIAL: Table = Table {
    name: "material",
    doc: "Either a material of the shelf with values of your own (a certificate of analysis, a lot, \
          a price), or a material from nothing, which needs name, category and gluten. Values are \
          as received. When moisture is given and a constituent isn't, the constituent is restated \
          at the same dry matter. What isn't given from nothing is unknown, which isn't zero.",
    fields: &[
        required(
            "id",
            Kind::Id,
            "the name that formula lines use; a name of the shelf overrides it",
        ),
        optional(
            "from",
            Kind::Material,
            "the material that it starts from; without it, the shelf's of the same id",
        ),
        optional("name", Kind::Text(NAME), "plain name"),
        optional(
            "label_name",
            Kind::Text(NAME),
            "name on the ingredient statement",
        ),
        optional(
            "category",
            Kind::Choice(categories),
            "what kind of material",
        ),
        optional("moisture_pct", number("%", 0.0, 99.99), "moisture"),
        optional(
            "crude_protein_pct",
            number("%", 0.0, 100.0),
            "crude protein, nitrogen × 6.25",
        ),
        optional("crude_fat_pct", number("%", 0.0, 100.0), "crude fat"),
        optional("crude_fibre_pct", number("%", 0.0, 100.0), "crude fibre"),
        optional(
            "dietary_fibre_pct",
            number("%", 0.0, 100.0),
            "total dietary fibre",
        ),
        optional("ash_pct", number("%", 0.0, 100.0), "ash"),
        optional("sugars_pct", number("%", 0.0, 100.0), "sugars"),
        optional("starch_pct", number("%", 0.0, 100.0), "starch"),
        optional("calcium_pct", number("%", 0.0, 60.0), "calcium"),
        optional("phosphorus_pct", number("%", 0.0, 60.0), "phosphorus"),
        optional("sodium_pct", number("%", 0.0, 60.0), "sodium"),
        optional("potassium_pct", number("%", 0.0, 60.0), "potassium"),
        optional(
            "spread",
            Kind::Inline(&SPREAD),
            "standard deviations between lots",
        ),
        optional(
            "nitrogen_factor",
            number("", 4.0, 7.0),
            "the material's own kg protein per kg nitrogen",
        ),
        optional(
            "loss_on_baking_pct",
            number("%", 0.0, 100.0),
            "mass that goes off as gas in the oven, water apart",
        ),
        optional(
            "bulk_density_kg_per_m3",
            number("kg/m³", 20.0, 3000.0),
            "loose bulk density",
        ),
        optional(
            "gluten",
            Kind::Choice(gluten_words),
            "gluten; \"free_by_nature\" says nothing on contamination",
        ),
        optional(
            "allergens",
            Kind::Choices(allergens),
            "allergens it carries; replaces the list it starts from",
        ),
        optional(
            "water_uptake_kg_per_kg",
            number("kg/kg", -1.0, 40.0),
            "water it asks for in dough, per kg as received; negative when it softens",
        ),
        optional(
            "water_uptake_sd_kg_per_kg",
            number("kg/kg", 0.0, 40.0),
            "standard deviation of that",
        ),
        optional(
            "damaged_starch_farrand",
            number("Farrand units", 0.0, 80.0),
            "damaged starch of a wheat flour: moves the water it asks for",
        ),
        optional(
            "hold_kg_per_kg",
            number("kg/kg", 0.0, 10.0),
            "how much it holds a raw dough together, as kg of gluten that would do the same",
        ),
        optional(
            "solute",
            Kind::Choice(solutes),
            "what of it dissolves in the water of the piece; needs solute_pct",
        ),
        optional(
            "solute_pct",
            number("%", 0.0, 100.0),
            "how much of it is that solute",
        ),
        optional(
            "leavener",
            Kind::Choice(leaveners),
            "what it does as leavening",
        ),
        optional(
            "price_per_kg",
            number("per kg", 0.0, 100_000.0),
            "price, in the study's currency",
        ),
        optional(
            "price_low_per_kg",
            number("per kg", 0.0, 100_000.0),
            "low end of the price, in place of price_per_kg",
        ),
        optional(
            "price_high_per_kg",
            number("per kg", 0.0, 100_000.0),
            "high end of the price",
        ),
        optional("caution", Kind::Text(NOTE), "what to look out for"),
        optional("lot", Kind::Text(NAME), "lot or certificate"),
        optional("note", Kind::Text(NOTE), "anything else"),
        optional(
            "source",
            Kind::Text(NAME),
            "where the values come from, in words",
        ),
        Field {
            key: "grade",
            kind: Kind::Choice(grades),
            need: Need::OrWord("measured"),
            doc: "how sure the values are",
        },
    ],
};

/// Standard deviations of a material's constituents.
pub static SPREAD: Table = Table {
    name: "spread",
    doc: "Standard deviation between lots or analyses, in points of the value.",
    fields: &[
        optional("moisture_pct", number("%", 0.0, 50.0), "of moisture"),
        optional(
            "crude_protein_pct",
            number("%", 0.0, 50.0),
            "of crude protein",
        ),
        optional("crude_fat_pct", number("%", 0.0, 50.0), "of crude fat"),
        optional("crude_fibre_pct", number("%", 0.0, 50.0), "of crude fibre"),
        optional(
            "dietary_fibre_pct",
            number("%", 0.0, 50.0),
            "of dietary fibre",
        ),
        optional("ash_pct", number("%", 0.0, 50.0), "of ash"),
        optional("sugars_pct", number("%", 0.0, 50.0), "of sugars"),
        optional("starch_pct", number("%", 0.0, 50.0), "of starch"),
        optional("calcium_pct", number("%", 0.0, 30.0), "of calcium"),
        optional("phosphorus_pct", number("%", 0.0, 30.0), "of phosphorus"),
        optional("sodium_pct", number("%", 0.0, 30.0), "of sodium"),
        optional("potassium_pct", number("%", 0.0, 30.0), "of potassium"),
    ],
};

/// The key of a constituent; a test proves that it is a key of both tables above.
pub(in super::super) const fn constituent_key(nutrient: Nutrient) -> &'static str {
    match nutrient {
        Nutrient::Moisture => "moisture_pct",
        Nutrient::CrudeProtein => "crude_protein_pct",
        Nutrient::CrudeFat => "crude_fat_pct",
        Nutrient::CrudeFibre => "crude_fibre_pct",
        Nutrient::DietaryFibre => "dietary_fibre_pct",
        Nutrient::Ash => "ash_pct",
        Nutrient::Sugars => "sugars_pct",
        Nutrient::Starch => "starch_pct",
        Nutrient::Calcium => "calcium_pct",
        Nutrient::Phosphorus => "phosphorus_pct",
        Nutrient::Sodium => "sodium_pct",
        Nutrient::Potassium => "potassium_pct",
    }
}

/// Every constituent with its key.
pub(in super::super) fn constituent_keys() -> impl Iterator<Item = (Nutrient, &'static str)> {
    Nutrient::ALL.into_iter().map(|n| (n, constituent_key(n)))
}

fn categories() -> Vec<&'static str> {
    Category::ALL.iter().map(|c| c.written()).collect()
}

/// The words of gluten in files, in the order of [`Gluten::ALL`].
pub(in super::super) fn gluten_words() -> Vec<&'static str> {
    Gluten::ALL
        .into_iter()
        .map(|g| match g {
            Gluten::FreeByNature => "free_by_nature",
            Gluten::CrossContactRisk => "cross_contact_risk",
            Gluten::Contains => "contains",
        })
        .collect()
}

fn solutes() -> Vec<&'static str> {
    Solute::ALL.iter().map(|s| s.word()).collect()
}

fn leaveners() -> Vec<&'static str> {
    Leavener::ALL.into_iter().map(Leavener::word).collect()
}

fn allergens() -> Vec<&'static str> {
    Allergen::ALL.into_iter().map(Allergen::word).collect()
}

fn grades() -> Vec<&'static str> {
    measure::Grade::ALL
        .into_iter()
        .map(measure::Grade::word)
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_constituent_has_a_field_and_a_spread() {
        for (nutrient, key) in constituent_keys() {
            assert!(MATERIAL.field(key).is_some(), "{nutrient:?}");
            assert!(SPREAD.field(key).is_some(), "{nutrient:?}");
        }
    }
}
