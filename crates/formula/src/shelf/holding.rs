//! How much every material holds a raw dough together: the table, or nothing.

use crate::composition::Value;
use crate::material::{Category, Gluten, Material};
use measure::{Grade, Source};
use serde::Deserialize;
use std::collections::HashMap;

const TABLE: &str = include_str!("holding.csv");

/// Share of the protein of wheat, rye and barley that is gluten (from memory, to be confirmed).
const GLUTEN_OF_PROTEIN: f64 = 0.75;

#[derive(Deserialize)]
struct Row {
    id: String,
    gluten_equivalent: f64,
    basis: String,
}

/// The table, by id.
pub(super) struct Holding(HashMap<String, Value>);

impl Holding {
    pub(super) fn read() -> Result<Self, String> {
        csv::Reader::from_reader(TABLE.as_bytes())
            .deserialize()
            .map(|row| {
                let row: Row = row.map_err(|e| e.to_string())?;
                let source = Source::new(Grade::Assumed, row.basis);
                Ok((row.id, Value::new(row.gluten_equivalent, source)))
            })
            .collect::<Result<_, _>>()
            .map(Self)
    }

    /// What a row of the shelf holds; one that isn't in the table holds nothing.
    pub(super) fn of(&self, id: &str) -> Value {
        self.0.get(id).cloned().unwrap_or_else(|| {
            Value::new(
                0.0,
                Source::fixed(Grade::Assumed, "holds nothing; judgement"),
            )
        })
    }
}

/// A guess for a material that stands on no shelf, from kind, gluten and protein; none where the kind
/// tells nothing.
pub fn by_kind(material: &Material) -> Option<Value> {
    let guess = |value, text| Some(Value::new(value, Source::fixed(Grade::Assumed, text)));
    match material.category {
        Category::CerealFlour if material.gluten == Gluten::Contains => guess(
            GLUTEN_OF_PROTEIN * material.protein_mass()?,
            "gluten is three quarters of the protein; from memory",
        ),
        Category::Gum => guess(4.0, "gum; judgement"),
        Category::Starch
        | Category::FatOil
        | Category::Emulsifier
        | Category::Antioxidant
        | Category::Mineral
        | Category::Leavening
        | Category::Preservative
        | Category::DoughConditioner
        | Category::Acidulant
        | Category::Humectant
        | Category::Sweetener
        | Category::Water => guess(0.0, "holds nothing; judgement"),
        _ => None,
    }
}
