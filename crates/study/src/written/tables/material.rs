//! Materials of a study's own, and values that override the shelf's.

use super::{NAME, NOTE};
use crate::written::typed::{Key, Number, Told, table};
use crate::written::word::word;
use formula::{Allergen, Category, Gluten, Nutrient};
use measure::Grade;

table! {
    /// A material.
    MATERIAL, MaterialRow = "material",
        "Either a material of the shelf with values of your own (a certificate of analysis, a lot, \
         a price), or a material from nothing, which needs name, category and gluten. Values are \
         as received. When moisture is given and a constituent isn't, the constituent is restated \
         at the same dry matter. What isn't given from nothing is unknown, which isn't zero.";
    id: id() required, "the name that formula lines use; a name of the shelf overrides it";
    from: material() optional, "the material that it starts from; without it, the shelf's of the same id";
    name: text(NAME) optional, "plain name";
    label_name: text(NAME) optional, "name on the ingredient statement";
    category: choice(Category) optional, "what kind of material";
    moisture_pct: number("%", 0.0, 99.99) optional, "moisture";
    crude_protein_pct: number("%", 0.0, 100.0) optional, "crude protein, nitrogen × 6.25";
    crude_fat_pct: number("%", 0.0, 100.0) optional, "crude fat";
    crude_fibre_pct: number("%", 0.0, 100.0) optional, "crude fibre";
    dietary_fibre_pct: number("%", 0.0, 100.0) optional, "total dietary fibre";
    ash_pct: number("%", 0.0, 100.0) optional, "ash";
    sugars_pct: number("%", 0.0, 100.0) optional, "sugars";
    starch_pct: number("%", 0.0, 100.0) optional, "starch";
    calcium_pct: number("%", 0.0, 60.0) optional, "calcium";
    phosphorus_pct: number("%", 0.0, 60.0) optional, "phosphorus";
    sodium_pct: number("%", 0.0, 60.0) optional, "sodium";
    potassium_pct: number("%", 0.0, 60.0) optional, "potassium";
    spread: inline(SPREAD, SpreadRow) optional, "standard deviations between lots";
    nitrogen_factor: number("", 4.0, 7.0) optional, "the material's own kg protein per kg nitrogen";
    loss_on_baking_pct: number("%", 0.0, 100.0) optional,
        "mass that goes off as gas in the oven, water apart";
    bulk_density_kg_per_m3: number("kg/m³", 20.0, 3000.0) optional, "loose bulk density";
    gluten: choice(Gluten) optional, "gluten; \"free_by_nature\" says nothing on contamination";
    allergens: choices(Allergen) optional, "allergens it carries; replaces the list it starts from";
    water_uptake_kg_per_kg: number("kg/kg", -1.0, 40.0) optional,
        "water it asks for in dough, per kg as received; negative when it softens";
    water_uptake_sd_kg_per_kg: number("kg/kg", 0.0, 40.0) optional, "standard deviation of that";
    price_per_kg: number("per kg", 0.0, 100_000.0) optional, "price, in the study's currency";
    price_low_per_kg: number("per kg", 0.0, 100_000.0) optional,
        "low end of the price, in place of price_per_kg";
    price_high_per_kg: number("per kg", 0.0, 100_000.0) optional, "high end of the price";
    caution: text(NOTE) optional, "what to look out for";
    lot: text(NAME) optional, "lot or certificate";
    note: text(NOTE) optional, "anything else";
    source: text(NAME) optional, "where the values come from, in words";
    grade: choice(Grade) or_word("measured"), "how sure the values are";
}

table! {
    /// Standard deviations of a material's constituents.
    SPREAD, SpreadRow = "spread", "Standard deviation between lots or analyses, in points of the value.";
    moisture_pct: number("%", 0.0, 50.0) optional, "of moisture";
    crude_protein_pct: number("%", 0.0, 50.0) optional, "of crude protein";
    crude_fat_pct: number("%", 0.0, 50.0) optional, "of crude fat";
    crude_fibre_pct: number("%", 0.0, 50.0) optional, "of crude fibre";
    dietary_fibre_pct: number("%", 0.0, 50.0) optional, "of dietary fibre";
    ash_pct: number("%", 0.0, 50.0) optional, "of ash";
    sugars_pct: number("%", 0.0, 50.0) optional, "of sugars";
    starch_pct: number("%", 0.0, 50.0) optional, "of starch";
    calcium_pct: number("%", 0.0, 30.0) optional, "of calcium";
    phosphorus_pct: number("%", 0.0, 30.0) optional, "of phosphorus";
    sodium_pct: number("%", 0.0, 30.0) optional, "of sodium";
    potassium_pct: number("%", 0.0, 30.0) optional, "of potassium";
}

/// The field of each constituent in the material and in its spread; a nutrient without one doesn't compile.
macro_rules! constituents {
    ($($nutrient:ident $field:ident;)*) => {
        /// The key of a constituent, the same in both tables.
        pub const fn constituent(nutrient: Nutrient) -> Key<Number> {
            match nutrient { $(Nutrient::$nutrient => MaterialRow::$field),* }
        }

        impl MaterialRow<'_> {
            /// What is told of a constituent.
            pub fn constituent(&self, nutrient: Nutrient) -> &Told<Option<f64>> {
                match nutrient { $(Nutrient::$nutrient => &self.$field),* }
            }
        }

        impl SpreadRow<'_> {
            /// What is told of a constituent's spread.
            pub fn constituent(&self, nutrient: Nutrient) -> &Told<Option<f64>> {
                match nutrient { $(Nutrient::$nutrient => &self.$field),* }
            }
        }
    };
}

constituents! {
    Moisture moisture_pct;
    CrudeProtein crude_protein_pct;
    CrudeFat crude_fat_pct;
    CrudeFibre crude_fibre_pct;
    DietaryFibre dietary_fibre_pct;
    Ash ash_pct;
    Sugars sugars_pct;
    Starch starch_pct;
    Calcium calcium_pct;
    Phosphorus phosphorus_pct;
    Sodium sodium_pct;
    Potassium potassium_pct;
}

word! {
    Category: |c| c.written();
    Gluten: |g| match g {
        Gluten::FreeByNature => "free_by_nature",
        Gluten::CrossContactRisk => "cross_contact_risk",
        Gluten::Contains => "contains",
    };
    Allergen: Allergen::word;
    Grade: Grade::word;
}
