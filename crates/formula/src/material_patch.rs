//! How a certificate of analysis, a lot or a person overrides a material, or describes a new one.

use crate::composition::{Composition, Nutrient, Value};
use crate::leavener::Leavener;
use crate::material::{
    AllergenFlag, Category, FEED_NITROGEN_FACTOR, Gluten, Material, Price, PriceFrom, WaterUptake,
};
use crate::solute::Dissolves;
use measure::{Apart, Grade, Range, Source, Units, WetBasis};
use serde::{Deserialize, Serialize};

/// What is wrong with a description of a material.
#[derive(Clone, Debug, PartialEq)]
pub enum MaterialError {
    /// A number outside what can be.
    OutOfRange {
        /// Id of the material.
        material: String,
        /// The field in words.
        field: String,
        /// The value given.
        value: f64,
        /// What is allowed.
        allowed: Range,
        /// Unit in words.
        unit: &'static str,
    },
    /// Low above high.
    PriceUpsideDown {
        /// Id of the material.
        material: String,
        /// Low as given.
        low: f64,
        /// High as given.
        high: f64,
    },
    /// A new material needs a name and a kind.
    Incomplete {
        /// Id of the material.
        material: String,
        /// What is missing.
        missing: &'static str,
    },
}

impl Apart for MaterialError {
    fn apart(&self, _: Units) -> (String, String) {
        match self {
            Self::OutOfRange {
                material,
                field,
                value,
                allowed,
                unit,
            } => (
                format!("{material}: {field} is {value}, allowed is {allowed}"),
                format!("write it {unit} as received"),
            ),
            Self::PriceUpsideDown {
                material,
                low,
                high,
            } => (
                format!("{material}: price range runs from {low} to {high}"),
                "write the lower end first".to_owned(),
            ),
            Self::Incomplete { material, missing } => (
                format!("{material}: a new material needs {missing}"),
                "or base it on a known one".to_owned(),
            ),
        }
    }
}

measure::error_apart!(MaterialError);

/// Values that override a table row (a certificate of analysis, a lot), or describe a new material.
///
/// Everything left out stays as the base has it. When moisture is given and a constituent is not,
/// the constituent is restated at the same dry matter (grade computed).
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct MaterialPatch {
    /// Plain name.
    pub name: Option<String>,
    /// Name on the ingredient statement.
    pub label_name: Option<String>,
    /// Kind.
    pub category: Option<Category>,
    /// Constituents, kg per kg as received, each with an optional spread.
    pub values: Vec<PatchValue>,
    /// Protein by the material's own nitrogen factor, kg per kg as received.
    pub protein_reported: Option<f64>,
    /// That factor.
    pub nitrogen_factor: Option<f64>,
    /// Mass lost by decomposition in the oven, kg per kg.
    pub loss_on_baking_fraction: Option<f64>,
    /// Gluten.
    pub gluten: Option<Gluten>,
    /// Allergens; replaces the list.
    pub allergens: Option<Vec<AllergenFlag>>,
    /// Loose bulk density.
    pub bulk_density_kg_per_m3: Option<f64>,
    /// Water uptake as (mean, sd), kg per kg at the material's own moisture.
    pub water_uptake: Option<(f64, f64)>,
    /// Damaged starch of a wheat flour \[Farrand units\]: moves its water uptake.
    pub damaged_starch_farrand: Option<f64>,
    /// How much it holds a raw dough together, as kg of gluten per kg.
    pub holding: Option<f64>,
    /// What of it dissolves in the water of the piece, kg per kg as received.
    pub dissolves: Option<Dissolves>,
    /// What it does as leavening.
    pub leavener: Option<Leavener>,
    /// Price range, currency per kg.
    pub price_per_kg: Option<(f64, f64)>,
    /// What to look out for.
    pub caution: Option<String>,
    /// Remarks.
    pub notes: Option<String>,
    /// Lot or certificate.
    pub lot: Option<String>,
    /// Where the given values come from.
    pub source: Source,
}

/// One constituent in a [`MaterialPatch`].
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct PatchValue {
    /// Which.
    pub nutrient: Nutrient,
    /// kg per kg as received.
    pub fraction: f64,
    /// Standard deviation between lots or analyses, kg per kg.
    pub sd: Option<f64>,
}

const FRACTION: Range = Range::new(0.0, 1.0);
const NITROGEN_FACTOR: Range = Range::new(4.0, 7.0);
const BULK_DENSITY: Range = Range::new(20.0, 3000.0);
const WATER_UPTAKE: Range = Range::new(-1.0, 40.0);
const PRICE: Range = Range::new(0.0, 1e5);

impl MaterialPatch {
    /// A patch that changes nothing yet, for values from `source`.
    pub const fn new(source: Source) -> Self {
        Self {
            name: None,
            label_name: None,
            category: None,
            values: Vec::new(),
            protein_reported: None,
            nitrogen_factor: None,
            loss_on_baking_fraction: None,
            gluten: None,
            allergens: None,
            bulk_density_kg_per_m3: None,
            water_uptake: None,
            damaged_starch_farrand: None,
            holding: None,
            dissolves: None,
            leavener: None,
            price_per_kg: None,
            caution: None,
            notes: None,
            lot: None,
            source,
        }
    }

    /// Adds a constituent, kg per kg as received.
    #[must_use]
    pub fn value(mut self, nutrient: Nutrient, fraction: f64) -> Self {
        self.values.push(PatchValue {
            nutrient,
            fraction,
            sd: None,
        });
        self
    }

    /// The base with these values in place, under the id `id`.
    ///
    /// Errors on a number outside what can be; the composition that results may still not close,
    /// which [`Material::findings`] tells.
    pub fn apply(&self, base: &Material, id: &str) -> Result<Material, MaterialError> {
        self.check(id)?;
        let mut m = base.clone();
        id.clone_into(&mut m.id);
        self.restate_dry_matter(&mut m);
        for v in &self.values {
            m.composition.set(
                v.nutrient,
                Value {
                    fraction: v.fraction,
                    sd: v.sd,
                    source: self.source.clone(),
                },
            );
            if v.nutrient == Nutrient::CrudeProtein && self.protein_reported.is_none() {
                // The table's own-factor protein follows the certificate's nitrogen.
                let factor = self.nitrogen_factor.or(m.nitrogen_factor);
                m.protein_reported = factor.map(|f| Value {
                    fraction: v.fraction * f / FEED_NITROGEN_FACTOR,
                    sd: v.sd.map(|sd| sd * f / FEED_NITROGEN_FACTOR),
                    source: self.source.clone(),
                });
            }
        }
        if let Some(fraction) = self.protein_reported {
            m.protein_reported = Some(Value::new(fraction, self.source.clone()));
        }
        if let Some(factor) = self.nitrogen_factor {
            m.nitrogen_factor = Some(factor);
        }
        if let Some(fraction) = self.loss_on_baking_fraction {
            m.loss_on_baking_fraction = Value::new(fraction, self.source.clone());
        }
        if let Some((kg_per_kg, sd)) = self.water_uptake {
            m.water_uptake = Some(WaterUptake {
                kg_per_kg,
                sd,
                reference_moisture: m.moisture().unwrap_or(WetBasis(0.0)),
                at_protein_pct: None,
                source: self.source.clone(),
            });
        } else {
            self.restate_uptake(&mut m);
        }
        if let Some(fraction) = self.holding {
            m.holding = Some(Value::new(fraction, self.source.clone()));
        }
        if let Some(dissolves) = self.dissolves {
            m.dissolves = vec![dissolves];
        }
        m.leavener = self.leavener.or(m.leavener);
        if let Some((low_per_kg, high_per_kg)) = self.price_per_kg {
            m.price = Some(Price {
                low_per_kg,
                high_per_kg,
                from: PriceFrom::Given,
                source: self.source.clone(),
            });
        }
        overwrite(&mut m.name, self.name.as_ref());
        overwrite(&mut m.label_name, self.label_name.as_ref());
        overwrite(&mut m.category, self.category.as_ref());
        overwrite(&mut m.gluten, self.gluten.as_ref());
        overwrite(&mut m.allergens, self.allergens.as_ref());
        overwrite(&mut m.caution, self.caution.as_ref());
        overwrite(&mut m.notes, self.notes.as_ref());
        overwrite(&mut m.lot, self.lot.as_ref());
        m.bulk_density_kg_per_m3 = self.bulk_density_kg_per_m3.or(m.bulk_density_kg_per_m3);
        m.source = self.source.clone();
        Ok(m)
    }

    /// A new material from nothing: what isn't given is unknown, but for the water uptake, which
    /// is guessed from kind and moisture with a wide spread.
    pub fn define(&self, id: &str) -> Result<Material, MaterialError> {
        let incomplete = |missing| MaterialError::Incomplete {
            material: id.to_owned(),
            missing,
        };
        let name = self.name.clone().ok_or_else(|| incomplete("a name"))?;
        let category = self.category.ok_or_else(|| incomplete("a category"))?;
        let gluten = self.gluten.ok_or_else(|| incomplete("its gluten state"))?;
        let blank = Material {
            id: id.to_owned(),
            label_name: name.clone(),
            name,
            category,
            composition: Composition::default(),
            protein_reported: None,
            nitrogen_factor: None,
            loss_on_baking_fraction: Value::new(
                0.0,
                Source::fixed(Grade::Assumed, "nothing decomposes unless told"),
            ),
            gluten,
            allergens: Vec::new(),
            bulk_density_kg_per_m3: None,
            water_uptake: None,
            holding: None,
            dissolves: Vec::new(),
            weak_acid: None,
            leavener: None,
            price: None,
            caution: String::new(),
            notes: String::new(),
            lot: String::new(),
            source: self.source.clone(),
        };
        let mut material = self.apply(&blank, id)?;
        if material.water_uptake.is_none() {
            material.water_uptake = material
                .moisture()
                .and_then(|m| crate::shelf::uptake::by_kind(category, m));
        }
        if material.dissolves.is_empty() {
            material
                .dissolves
                .extend(crate::solutes::by_name(&material));
        }
        if material.holding.is_none() {
            material.holding = crate::shelf::holding::by_kind(&material);
        }
        Ok(material)
    }

    /// Wheat flour with another protein or damaged starch than the base drinks otherwise.
    fn restate_uptake(&self, m: &mut Material) {
        let protein_given = self.protein_reported.is_some()
            || self
                .values
                .iter()
                .any(|v| v.nutrient == Nutrient::CrudeProtein);
        if !protein_given && self.damaged_starch_farrand.is_none() {
            return;
        }
        if let (Some(uptake), Some(protein_pct)) = (&m.water_uptake, m.protein_pct_at_14()) {
            m.water_uptake = Some(uptake.following(protein_pct, self.damaged_starch_farrand));
        }
    }

    /// Restates what isn't given at the same dry matter when moisture is given.
    fn restate_dry_matter(&self, m: &mut Material) {
        let given = self
            .values
            .iter()
            .find(|v| v.nutrient == Nutrient::Moisture);
        let (Some(new), Some(old)) = (given, m.composition.dry_matter()) else {
            return;
        };
        if old <= 0.0 {
            return;
        }
        let ratio = (1.0 - new.fraction) / old;
        let restated = |v: &Value| Value {
            fraction: v.fraction * ratio,
            sd: v.sd.map(|sd| sd * ratio),
            source: Source::new(
                v.source.grade.worse(Grade::Computed),
                format!("{}; restated at the moisture given", v.source.text),
            ),
        };
        for nutrient in Nutrient::ALL {
            if nutrient != Nutrient::Moisture
                && let Some(v) = m.composition.get(nutrient)
            {
                let v = restated(v);
                m.composition.set(nutrient, v);
            }
        }
        m.protein_reported = m.protein_reported.as_ref().map(restated);
    }

    fn check(&self, id: &str) -> Result<(), MaterialError> {
        let check = |field: &str, value: f64, allowed: Range, unit| {
            if allowed.contains(value) {
                Ok(())
            } else {
                Err(MaterialError::OutOfRange {
                    material: id.to_owned(),
                    field: field.to_owned(),
                    value,
                    allowed,
                    unit,
                })
            }
        };
        let kg = "in kg per kg";
        for v in &self.values {
            check(v.nutrient.word(), v.fraction, FRACTION, kg)?;
            if let Some(sd) = v.sd {
                check(
                    &format!("spread of {}", v.nutrient.word()),
                    sd,
                    FRACTION,
                    kg,
                )?;
            }
        }
        if let Some(v) = self.protein_reported {
            check("protein", v, FRACTION, kg)?;
        }
        if let Some(v) = self.nitrogen_factor {
            check(
                "nitrogen factor",
                v,
                NITROGEN_FACTOR,
                "in kg protein per kg nitrogen",
            )?;
        }
        if let Some(v) = self.loss_on_baking_fraction {
            check("loss on baking", v, FRACTION, kg)?;
        }
        if let Some(v) = self.bulk_density_kg_per_m3 {
            check("bulk density", v, BULK_DENSITY, "in kg/m³")?;
        }
        if let Some((mean, sd)) = self.water_uptake {
            check("water uptake", mean, WATER_UPTAKE, kg)?;
            check("spread of water uptake", sd, Range::new(0.0, 40.0), kg)?;
        }
        if let Some(v) = self.damaged_starch_farrand {
            check(
                "damaged starch",
                v,
                crate::flour_absorption::DAMAGED_STARCH,
                "in Farrand units",
            )?;
        }
        if let Some(v) = self.dissolves {
            check(v.solute.word(), v.fraction, FRACTION, kg)?;
        }
        if let Some(v) = self.holding {
            check("hold", v, Range::new(0.0, 10.0), "in kg of gluten per kg")?;
        }
        if let Some((low, high)) = self.price_per_kg {
            check("price", low, PRICE, "per kg")?;
            check("price", high, PRICE, "per kg")?;
            if low > high {
                return Err(MaterialError::PriceUpsideDown {
                    material: id.to_owned(),
                    low,
                    high,
                });
            }
        }
        Ok(())
    }
}

fn overwrite<T: Clone>(field: &mut T, given: Option<&T>) {
    if let Some(value) = given {
        field.clone_from(value);
    }
}
