//! A raw material: composition, water uptake, price, flags, each with its source; and how a
//! certificate or a lot overrides the table.

use crate::composition::{Composition, Nutrient, Value};
use crate::formula::Stage;
use measure::{Finding, Grade, Range, Source, WetBasis};
use serde::{Deserialize, Serialize};

/// Nitrogen factor of the feed label: crude protein = nitrogen × 6.25, by definition.
pub const FEED_NITROGEN_FACTOR: f64 = 6.25;

macro_rules! categories {
    ($($variant:ident $written:literal $word:literal $stage:ident),+ $(,)?) => {
        /// What kind of raw material it is.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        pub enum Category {
            $(#[doc = $word] #[serde(rename = $written)] $variant,)+
        }

        impl Category {
            /// Every category.
            pub const ALL: &'static [Self] = &[$(Self::$variant),+];

            /// The word in files.
            pub const fn written(self) -> &'static str {
                match self { $(Self::$variant => $written),+ }
            }

            /// The word shown to people.
            pub const fn word(self) -> &'static str {
                match self { $(Self::$variant => $word),+ }
            }

            /// The stage at which it usually goes into the mixer.
            pub const fn usual_stage(self) -> Stage {
                match self { $(Self::$variant => Stage::$stage),+ }
            }
        }
    };
}

categories! {
    CerealFlour "cereal_flour" "cereal flour" Dry,
    MillingByproduct "milling_byproduct" "milling by-product" Dry,
    PulseFlour "pulse_flour" "pulse flour" Dry,
    Starch "starch" "starch" Dry,
    ProteinPlant "protein_plant" "plant protein" Dry,
    ProteinAnimal "protein_animal" "animal protein" Dry,
    Dairy "dairy" "dairy" Dry,
    Fermentation "fermentation" "from fermentation" Dry,
    Spread "spread" "nut or seed spread" Fat,
    Seed "seed" "seed" Dry,
    FruitVeg "fruit_veg" "fruit or vegetable" Liquid,
    HerbSpice "herb_spice" "herb or spice" Dry,
    CocoaSubstitute "cocoa_substitute" "cocoa substitute" Dry,
    Sweetener "sweetener" "sweetener" Liquid,
    Humectant "humectant" "humectant" Liquid,
    FatOil "fat_oil" "fat or oil" Fat,
    Emulsifier "emulsifier" "emulsifier" Fat,
    Mineral "mineral" "mineral" Dry,
    Leavening "leavening" "leavening" Dry,
    Fibre "fibre" "fibre" Dry,
    Gum "gum" "gum" Dry,
    Antioxidant "antioxidant" "antioxidant" Fat,
    Preservative "preservative" "preservative" Dry,
    DoughConditioner "dough_conditioner" "dough conditioner" Dry,
    Acidulant "acidulant" "acidulant" Liquid,
    Water "water" "water" Liquid,
    Other "other" "other" Dry,
}

impl Category {
    /// Reads the word of a file.
    pub fn from_written(word: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|c| c.written() == word)
    }

    /// Whether a line of this kind counts as flour unless the formula says otherwise.
    pub const fn usually_flour(self) -> bool {
        matches!(self, Self::CerealFlour | Self::PulseFlour | Self::Starch)
    }

    /// Whether the whole is mineral or goes off as gas, so that nitrogen-free extract by
    /// difference has no meaning and counts as zero.
    pub const fn without_carbohydrate(self) -> bool {
        matches!(
            self,
            Self::Mineral
                | Self::Leavening
                | Self::Preservative
                | Self::DoughConditioner
                | Self::Water
        )
    }
}

/// Gluten from wheat, rye, barley and their relatives.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Gluten {
    /// Free by nature; says nothing about contamination.
    FreeByNature,
    /// Free by nature, but usually grown, milled or brewed beside gluten grain (oats, yeast).
    CrossContactRisk,
    /// A gluten source.
    Contains,
}

impl Gluten {
    /// Every state, from least to most.
    pub const ALL: [Self; 3] = [Self::FreeByNature, Self::CrossContactRisk, Self::Contains];

    /// The word shown to people.
    pub const fn word(self) -> &'static str {
        match self {
            Self::FreeByNature => "free by nature",
            Self::CrossContactRisk => "cross-contact risk",
            Self::Contains => "contains gluten",
        }
    }
}

/// An allergen or sensitiser that people who handle the material must know of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Allergen {
    /// Wheat.
    Wheat,
    /// Soy.
    Soy,
    /// Milk.
    Milk,
    /// Egg.
    Egg,
    /// Fish.
    Fish,
    /// Peanut.
    Peanut,
    /// Tree nut.
    TreeNut,
    /// Sesame.
    Sesame,
    /// Crustacean or mollusc.
    Shellfish,
    /// Sulfite.
    Sulfite,
}

impl Allergen {
    /// Every allergen.
    pub const ALL: [Self; 10] = [
        Self::Wheat,
        Self::Soy,
        Self::Milk,
        Self::Egg,
        Self::Fish,
        Self::Peanut,
        Self::TreeNut,
        Self::Sesame,
        Self::Shellfish,
        Self::Sulfite,
    ];

    /// The word shown to people and written in files.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Wheat => "wheat",
            Self::Soy => "soy",
            Self::Milk => "milk",
            Self::Egg => "egg",
            Self::Fish => "fish",
            Self::Peanut => "peanut",
            Self::TreeNut => "tree nut",
            Self::Sesame => "sesame",
            Self::Shellfish => "shellfish",
            Self::Sulfite => "sulfite",
        }
    }

    /// Reads a word of a file.
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|a| a.word() == word)
    }
}

/// An allergen of a material, sure or possible.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct AllergenFlag {
    /// Which.
    pub allergen: Allergen,
    /// True when only some sources of the material carry it.
    pub possible: bool,
}

/// How much water a material asks for in dough, beyond what it brings.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct WaterUptake {
    /// kg water to add per kg of material as received, at `reference_moisture`; negative when the
    /// material softens the dough or brings free water.
    pub kg_per_kg: f64,
    /// Standard deviation, kg per kg.
    pub sd: f64,
    /// Moisture of the material that the number holds for.
    pub reference_moisture: WetBasis,
    /// Where it comes from.
    pub source: Source,
}

impl WaterUptake {
    /// The uptake restated for a material of another moisture: the same dough from drier material
    /// takes more water.
    ///
    /// a(M) = (1 + a_r)·(1 − M)/(1 − M_r) − 1.
    ///
    /// Check: 62 % absorption of a flour at 11 % moisture is 56.539 % at 14 % (computed from the
    /// constant-dough rule of AACC 54-21).
    ///
    /// ```
    /// use formula::WaterUptake;
    /// use measure::{Grade, Source, WetBasis};
    /// let a = WaterUptake {
    ///     kg_per_kg: 0.62,
    ///     sd: 0.03,
    ///     reference_moisture: WetBasis(0.11),
    ///     source: Source::fixed(Grade::Computed, "worked example"),
    /// };
    /// assert!((a.at(WetBasis(0.14)) - 0.56539325842697).abs() < 1e-12);
    /// ```
    pub fn at(&self, moisture: WetBasis) -> f64 {
        (1.0 + self.kg_per_kg) * (1.0 - moisture.0) / (1.0 - self.reference_moisture.0) - 1.0
    }
}

/// A price range.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Price {
    /// Low end, currency per kg as received.
    pub low_per_kg: f64,
    /// High end, currency per kg as received.
    pub high_per_kg: f64,
    /// Where it comes from.
    pub source: Source,
}

impl Price {
    /// Middle of the range.
    pub fn mid_per_kg(&self) -> f64 {
        0.5 * (self.low_per_kg + self.high_per_kg)
    }

    /// Standard deviation when low and high are read as a 95 % range.
    pub fn sd_per_kg(&self) -> f64 {
        (self.high_per_kg - self.low_per_kg) / (2.0 * measure::estimate::Z95)
    }
}

/// A raw material, as received.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Material {
    /// Key, lower case with underscores.
    pub id: String,
    /// Plain name.
    pub name: String,
    /// Name suggested for an ingredient statement.
    pub label_name: String,
    /// What kind of material it is.
    pub category: Category,
    /// Composition as received; crude protein is nitrogen × 6.25.
    pub composition: Composition,
    /// Protein by the material's own nitrogen factor, where the table gives it, kg per kg.
    pub protein_reported: Option<Value>,
    /// That nitrogen factor.
    pub nitrogen_factor: Option<f64>,
    /// Mass that leaves in the oven by decomposition, water apart, kg per kg as received.
    pub loss_on_baking_fraction: Value,
    /// Gluten.
    pub gluten: Gluten,
    /// Allergens.
    pub allergens: Vec<AllergenFlag>,
    /// Loose bulk density.
    pub bulk_density_kg_per_m3: Option<f64>,
    /// Water asked for in dough; none = unknown.
    pub water_uptake: Option<WaterUptake>,
    /// Price; none = unknown.
    pub price: Option<Price>,
    /// What to look out for; empty when the table tells nothing.
    pub caution: String,
    /// Other remarks.
    pub notes: String,
    /// Lot or certificate this description holds for; empty for a table row.
    pub lot: String,
    /// Where the row as a whole comes from.
    pub source: Source,
}

impl Material {
    /// Moisture; an unknown moisture counts as unknown.
    pub fn moisture(&self) -> Option<WetBasis> {
        self.composition.fraction(Nutrient::Moisture).map(WetBasis)
    }

    /// Whether it is water.
    pub fn is_water(&self) -> bool {
        self.category == Category::Water
    }

    /// Protein as mass (own nitrogen factor where known, else crude protein), kg per kg: what
    /// physical properties need.
    pub fn protein_mass(&self) -> Option<f64> {
        self.protein_reported
            .as_ref()
            .map(|v| v.fraction)
            .or_else(|| self.composition.fraction(Nutrient::CrudeProtein))
    }

    /// Water uptake at the material's own moisture, kg per kg, if known.
    pub fn water_uptake_kg_per_kg(&self) -> Option<f64> {
        let uptake = self.water_uptake.as_ref()?;
        Some(uptake.at(self.moisture().unwrap_or(uptake.reference_moisture)))
    }

    /// Findings about the material alone: parts that don't close.
    pub fn findings(&self) -> Vec<Finding> {
        self.composition.closure(&self.id)
    }
}

/// What is wrong with a description of a material.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum MaterialError {
    /// A number outside what can be.
    #[error("{material}: {field} is {value}, allowed is {allowed}; write it {unit} as received")]
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
    #[error("{material}: price range runs from {low} to {high}; write the lower end first")]
    PriceUpsideDown {
        /// Id of the material.
        material: String,
        /// Low as given.
        low: f64,
        /// High as given.
        high: f64,
    },
    /// A new material needs a name and a kind.
    #[error("{material}: a new material needs {missing}; or base it on a known one")]
    Incomplete {
        /// Id of the material.
        material: String,
        /// What is missing.
        missing: &'static str,
    },
}

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
                source: self.source.clone(),
            });
        }
        if let Some((low_per_kg, high_per_kg)) = self.price_per_kg {
            m.price = Some(Price {
                low_per_kg,
                high_per_kg,
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
        Ok(material)
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
