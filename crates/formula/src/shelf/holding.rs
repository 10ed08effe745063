//! How much every material holds a raw dough together: the table, or nothing.

use crate::composition::Value;
use crate::material::{Category, Gluten, Material};
use measure::{Constant, Grade, Range, Source};
use serde::Deserialize;
use std::collections::HashMap;

const TABLE: &str = include_str!("holding.csv");

/// Share of the protein of wheat, rye and barley that is gluten.
pub static GLUTEN_OF_PROTEIN: Constant = Constant {
    name: "gluten of the protein of wheat flour",
    value: 0.75,
    unit: "kg per kg protein",
    range: Range::new(0.6, 0.9),
    source: "from memory, to be confirmed",
    grade: Grade::Recalled,
};

#[derive(Deserialize)]
struct Row {
    id: String,
    gluten_equivalent: f64,
    grade: Grade,
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
                let source = Source::new(row.grade, row.basis);
                Ok((row.id, Value::new(row.gluten_equivalent, source)))
            })
            .collect::<Result<_, _>>()
            .map(Self)
    }

    /// What a row of the shelf holds: the table, else what its kind tells.
    pub(super) fn of(&self, material: &Material) -> Option<Value> {
        self.0
            .get(&material.id)
            .cloned()
            .or_else(|| by_kind(material))
    }
}

/// What kind, gluten and protein tell of a material without a row of its own; none where the kind
/// tells nothing: a starch may be raw or gelled, fruit may be pieces or pectin, a sweetener sugar or
/// syrup.
///
/// ```
/// use formula::shelf::{find, holding::by_kind};
/// // Three quarters of 8.89 % protein.
/// let flour = by_kind(&find("wheat_flour_soft").unwrap()).unwrap();
/// assert!((flour.fraction - 0.0667).abs() < 1e-4);
/// assert_eq!(by_kind(&find("salt").unwrap()).unwrap().fraction, 0.0);
/// assert_eq!(by_kind(&find("corn_starch").unwrap()), None);
/// ```
pub fn by_kind(material: &Material) -> Option<Value> {
    let told = |value, grade, text| Some(Value::new(value, Source::fixed(grade, text)));
    match material.category {
        Category::CerealFlour if material.gluten == Gluten::Contains => told(
            GLUTEN_OF_PROTEIN.value * material.protein_mass()?,
            GLUTEN_OF_PROTEIN.grade,
            "gluten is three quarters of the protein; from memory",
        ),
        Category::Gum => told(4.0, Grade::Assumed, "gum; judgement"),
        Category::FatOil
        | Category::Emulsifier
        | Category::Antioxidant
        | Category::Mineral
        | Category::Leavening
        | Category::Preservative
        | Category::Acidulant
        | Category::Humectant
        | Category::Water => told(0.0, Grade::Assumed, "holds nothing; judgement"),
        _ => None,
    }
}
