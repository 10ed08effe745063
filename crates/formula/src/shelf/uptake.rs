//! Water uptake of every material: the table, the kin, the rule for wet foods, the rule by kind.
//!
//! In this order, so that nothing on the shelf is silently thirsty or silently dry:
//! 1. the row of `water_uptake.csv`;
//! 2. the kin named in `water_kin.csv`, with a spread 1.5 times as wide and at least 0.10;
//! 3. wet foods (half water or more): their solids hold 1.5 ± 0.5 kg water per kg, the rest is
//!    free and counts against the water to add (a canned pumpkin of 90 % moisture gives 0.75 kg
//!    per kg, which is the table's own row);
//! 4. a guess by kind with a wide spread;
//! 5. unknown.

use crate::composition::Nutrient;
use crate::material::{Category, Material, WaterUptake};
use measure::{Constant, Grade, Range, Source, WetBasis};
use serde::Deserialize;
use std::collections::HashMap;

const TABLE: &str = include_str!("water_uptake.csv");
const KIN: &str = include_str!("water_kin.csv");

const fn judged(
    name: &'static str,
    value: f64,
    unit: &'static str,
    low: f64,
    high: f64,
) -> Constant {
    Constant {
        name,
        value,
        unit,
        range: Range::new(low, high),
        source: "judgement, to be learned from titrations",
        grade: Grade::Assumed,
    }
}

/// Water that the solids of a wet food hold in dough.
pub static WET_FOOD_HOLDS: Constant = judged(
    "water held by the solids of a wet food",
    1.5,
    "kg per kg solid",
    0.5,
    3.0,
);
/// Standard deviation of [`WET_FOOD_HOLDS`].
pub static WET_FOOD_HOLDS_SD: Constant = judged(
    "spread of the water held by the solids of a wet food",
    0.5,
    "kg per kg solid",
    0.0,
    1.5,
);
/// Moisture from which on a material is a wet food.
pub static WET_FOOD_FROM: Constant = judged("moisture of a wet food", 0.5, "kg per kg", 0.3, 0.7);
/// How much wider a borrowed uptake is.
pub static KIN_WIDENS: Constant = judged("widening of a borrowed uptake", 1.5, "1", 1.0, 3.0);
/// Least spread of a borrowed uptake.
pub static KIN_LEAST_SD: Constant = judged(
    "least spread of a borrowed uptake",
    0.10,
    "kg per kg",
    0.0,
    0.3,
);

#[derive(Deserialize)]
struct UptakeRow {
    id: String,
    ref_moisture_pct: f64,
    absorption_mean: f64,
    absorption_sd: f64,
    at_protein_pct: Option<f64>,
    grade: Grade,
    basis: String,
}

#[derive(Deserialize)]
struct KinRow {
    id: String,
    kin: String,
}

/// The two tables, by id.
pub(super) struct Uptakes {
    own: HashMap<String, WaterUptake>,
    kin: HashMap<String, String>,
}

impl Uptakes {
    pub(super) fn read() -> Result<Self, String> {
        let mut own = HashMap::new();
        for row in csv::Reader::from_reader(TABLE.as_bytes()).deserialize() {
            let row: UptakeRow = row.map_err(|e| e.to_string())?;
            own.insert(
                row.id,
                WaterUptake {
                    kg_per_kg: row.absorption_mean,
                    sd: row.absorption_sd,
                    reference_moisture: WetBasis::from_percent(row.ref_moisture_pct),
                    at_protein_pct: row.at_protein_pct,
                    source: Source::new(row.grade, row.basis),
                },
            );
        }
        let mut kin = HashMap::new();
        for row in csv::Reader::from_reader(KIN.as_bytes()).deserialize() {
            let row: KinRow = row.map_err(|e| e.to_string())?;
            if !own.contains_key(&row.kin) {
                return Err(format!(
                    "{}: kin {} has no uptake of its own",
                    row.id, row.kin
                ));
            }
            kin.insert(row.id, row.kin);
        }
        Ok(Self { own, kin })
    }

    pub(super) fn of(&self, material: &Material) -> Option<WaterUptake> {
        if let Some(own) = self.own.get(&material.id) {
            return Some(own.clone());
        }
        if let Some(kin) = self.kin.get(&material.id) {
            let own = &self.own[kin];
            // Flour of the same kind with more protein drinks more.
            let theirs = match material.protein_pct_at_14() {
                Some(protein_pct) => &own.following(protein_pct, None),
                None => own,
            };
            return Some(WaterUptake {
                sd: (theirs.sd * KIN_WIDENS.value).max(KIN_LEAST_SD.value),
                source: Source::new(
                    Grade::Assumed,
                    if theirs.at_protein_pct.is_some() {
                        format!("borrowed from {kin}, restated for its protein, spread widened")
                    } else {
                        format!("borrowed from {kin}, spread widened")
                    },
                ),
                ..theirs.clone()
            });
        }
        by_kind(
            material.category,
            material
                .composition
                .fraction(Nutrient::Moisture)
                .map(WetBasis)?,
        )
    }
}

/// A guess of the uptake from kind and moisture alone: rules 3 and 4 of this module; none for
/// water (which is what is dosed) and for kinds that tell nothing.
///
/// - Rule: a figure for each kind; wet foods hold 1.5 kg per kg solids and give up the rest
/// - Units: uptake \[kg/kg\], moisture \[kg/kg, wet basis\]
/// - Valid: a first guess with a wide spread
/// - Source: assumed, no source
///
/// ```
/// use formula::{Category, shelf::uptake::by_kind};
/// use measure::WetBasis;
/// // A wet food of 90 % moisture: 0.1 kg solids hold 0.15 kg, the rest of 0.75 kg is free.
/// let wet = by_kind(Category::FruitVeg, WetBasis(0.90)).unwrap();
/// assert!((wet.kg_per_kg + 0.75).abs() < 1e-12);
/// assert_eq!(by_kind(Category::Other, WetBasis(0.10)), None);
/// ```
pub fn by_kind(category: Category, moisture: WetBasis) -> Option<WaterUptake> {
    if category == Category::Water {
        return None;
    }
    if moisture.0 >= WET_FOOD_FROM.value {
        let solids = 1.0 - moisture.0;
        return Some(WaterUptake {
            kg_per_kg: WET_FOOD_HOLDS.value * solids - moisture.0,
            sd: WET_FOOD_HOLDS_SD.value * solids + 0.05,
            reference_moisture: moisture,
            at_protein_pct: None,
            source: Source::fixed(
                Grade::Assumed,
                "wet food: solids hold 1.5 kg water per kg, the rest is free",
            ),
        });
    }
    let (kg_per_kg, sd) = match category {
        Category::CerealFlour | Category::PulseFlour => (0.60, 0.15),
        Category::Starch => (0.40, 0.20),
        Category::MillingByproduct | Category::Fermentation => (0.90, 0.30),
        Category::ProteinPlant => (0.70, 0.30),
        Category::ProteinAnimal => (0.50, 0.30),
        Category::Dairy => (0.20, 0.35),
        Category::Seed | Category::HerbSpice => (1.00, 0.60),
        Category::Fibre => (1.80, 0.80),
        Category::Gum => (5.00, 4.00),
        Category::FruitVeg => (0.30, 0.50),
        Category::CocoaSubstitute => (0.80, 0.50),
        Category::Sweetener => (-0.35, 0.20),
        Category::Humectant => (-0.50, 0.25),
        Category::FatOil | Category::Emulsifier | Category::Antioxidant => (-0.25, 0.18),
        Category::Spread => (-0.10, 0.18),
        Category::Mineral
        | Category::Leavening
        | Category::Preservative
        | Category::DoughConditioner
        | Category::Acidulant => (0.0, 0.30),
        Category::Water | Category::Other => return None,
    };
    Some(WaterUptake {
        kg_per_kg,
        sd,
        reference_moisture: moisture,
        at_protein_pct: None,
        source: Source::new(
            Grade::Assumed,
            format!("guess for a {} with a wide spread", category.word()),
        ),
    })
}
