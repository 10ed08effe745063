//! A raw material: composition, water uptake, price, flags, each with its source.

use crate::Code;
use crate::acid::Acid;
use crate::composition::{CLOSURE_TOLERANCE, Composition, Nutrient, Value};
use crate::leavener::Leavener;
use crate::solute::Dissolves;
use crate::stage::Stage;
use measure::{Finding, Severity, Source, WetBasis};
use serde::{Deserialize, Serialize};

/// Nitrogen factor of the feed label: crude protein = nitrogen × 6.25, by definition.
///
/// - Units: \[kg/kg\]
/// - Source: a definition of feed law
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
    /// Protein by the flour's own nitrogen factor, % at 14 % moisture, that the number holds for; none
    /// = it doesn't follow protein (it does for white wheat flour).
    pub at_protein_pct: Option<f64>,
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
    /// - Equation: a(M) = (1 + a_r)(1 − M)/(1 − M_r) − 1
    /// - Units: a \[kg/kg\], M \[kg/kg, wet basis\]
    /// - Valid: the same dough from drier or wetter material
    /// - Source: constant-dough rule of AACC 54-21 (from memory, to be confirmed); the example computed apart
    ///
    /// ```
    /// use formula::WaterUptake;
    /// use measure::{Grade, Source, WetBasis};
    /// let a = WaterUptake {
    ///     kg_per_kg: 0.62,
    ///     sd: 0.03,
    ///     reference_moisture: WetBasis(0.11),
    ///     at_protein_pct: None,
    ///     source: Source::fixed(Grade::Computed, "worked example"),
    /// };
    /// assert!((a.at(WetBasis(0.14)) - 0.56539325842697).abs() < 1e-12);
    /// ```
    pub fn at(&self, moisture: WetBasis) -> f64 {
        (1.0 + self.kg_per_kg) * (1.0 - moisture.0) / (1.0 - self.reference_moisture.0) - 1.0
    }

    /// The uptake of flour of the same kind with another protein \[% at 14 % moisture\] and, where it
    /// is known, its damaged starch \[Farrand units\]; the same where it doesn't follow protein.
    ///
    /// a₁₄ + slope × (P − P_r) + slope × (D − D_usual(P_r)), see [`crate::water::PER_PROTEIN`] and
    /// [`crate::water::PER_DAMAGED_STARCH`]; damaged starch that isn't known is the usual of the protein,
    /// for harder wheat mills to more of it. What isn't known about the slope widens the spread.
    ///
    /// - Equation: a₁₄ + 1.4 (P − P_r) + 0.38 (D − D_usual), in points
    /// - Units: P \[% at 14 % moisture\], D \[Farrand units\], a \[kg/kg\]
    /// - Valid: wheat flours; the same where an uptake doesn't follow protein
    /// - Source: slopes from memory, to be confirmed, as `PER_PROTEIN` and `PER_DAMAGED_STARCH`; the example by
    ///   hand
    ///
    /// ```
    /// // Strong flour by the flour of 11.5 %: 1.4 × 3.67 points by its protein, 0.38 × 4.6 by the starch
    /// // that harder wheat breaks: 57.3 + 5.1 + 1.7 %.
    /// let hard = formula::shelf::find("wheat_flour_hard").unwrap();
    /// let strong = hard.water_uptake.as_ref().unwrap().following(15.0, None);
    /// let points = 100.0 * strong.at(measure::WetBasis(0.14));
    /// assert!((points - 64.1).abs() < 0.1, "{points}");
    /// ```
    #[must_use]
    pub fn following(&self, protein_pct: f64, damaged_starch: Option<f64>) -> Self {
        use crate::flour_absorption::{
            PER_DAMAGED_STARCH, PER_PROTEIN, PER_PROTEIN_SD, usual_damaged_starch,
        };
        let Some(at_protein_pct) = self.at_protein_pct else {
            return self.clone();
        };
        let more_protein = protein_pct - at_protein_pct;
        let more_damage = damaged_starch.unwrap_or_else(|| usual_damaged_starch(protein_pct))
            - usual_damaged_starch(at_protein_pct);
        let points = PER_PROTEIN.value * more_protein + PER_DAMAGED_STARCH.value * more_damage;
        let reference_moisture = WetBasis(0.14);
        Self {
            kg_per_kg: self.at(reference_moisture) + points / 100.0,
            sd: self.sd.hypot(PER_PROTEIN_SD.value * more_protein / 100.0),
            reference_moisture,
            at_protein_pct: Some(protein_pct),
            source: Source::new(
                self.source
                    .grade
                    .worse(PER_PROTEIN.grade)
                    .worse(PER_DAMAGED_STARCH.grade),
                format!("{}; restated for its protein", self.source.text),
            ),
        }
    }
}

/// Whose price it is.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum PriceFrom {
    /// The built-in table's: invented, to be replaced.
    Invented {
        /// Three letters of the currency it is in.
        currency: String,
    },
    /// Given by the person, in the currency of their study.
    Given,
}

/// A price range.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Price {
    /// Low end, currency per kg as received.
    pub low_per_kg: f64,
    /// High end, currency per kg as received.
    pub high_per_kg: f64,
    /// Whether it is invented (and in which currency) or the person's own.
    pub from: PriceFrom,
    /// Where it comes from.
    pub source: Source,
}

impl Price {
    /// Middle of the range.
    pub(crate) fn mid_per_kg(&self) -> f64 {
        0.5 * (self.low_per_kg + self.high_per_kg)
    }

    /// The currency of an invented price; none for a price of the person's own.
    ///
    /// ```
    /// use formula::{Price, PriceFrom, shelf};
    /// let built_in = shelf::find("salt").unwrap().price.clone().unwrap();
    /// assert_eq!(built_in.invented_in(), Some("USD"));
    /// let own = Price { from: PriceFrom::Given, ..built_in };
    /// assert_eq!(own.invented_in(), None);
    /// ```
    pub fn invented_in(&self) -> Option<&str> {
        match &self.from {
            PriceFrom::Invented { currency } => Some(currency),
            PriceFrom::Given => None,
        }
    }

    /// Standard deviation when low and high are read as a 95 % range.
    pub(crate) fn sd_per_kg(&self) -> f64 {
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
    /// How much it holds a raw dough together, as kg of gluten per kg; none = unknown.
    pub holding: Option<Value>,
    /// What of it dissolves in the water of the piece, sugars of the composition apart.
    pub dissolves: Vec<Dissolves>,
    /// The weak acid that it is or sets free.
    pub weak_acid: Option<Acid>,
    /// What it does as leavening; none = it is none, or nobody said.
    pub leavener: Option<Leavener>,
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
    ///
    /// - Rule: the value stored; none where it isn't known
    /// - Units: \[kg/kg, wet basis\]
    /// - Valid: 0 to 1
    /// - Source: a look-up, nothing is reckoned; 11.85 % of soft flour stands in a public food table (row on the
    ///   shelf)
    ///
    /// ```
    /// let flour = formula::shelf::find("wheat_flour_soft").unwrap();
    /// assert!((flour.moisture().unwrap().percent() - 11.85).abs() < 1e-9);
    /// ```
    pub fn moisture(&self) -> Option<WetBasis> {
        self.composition.fraction(Nutrient::Moisture).map(WetBasis)
    }

    /// Whether it is water.
    pub fn is_water(&self) -> bool {
        self.category == Category::Water
    }

    /// Protein as mass (own nitrogen factor where known, else crude protein), kg per kg: what
    /// physical properties need.
    ///
    /// - Rule: by its own nitrogen factor where known, else crude protein
    /// - Units: \[kg/kg as received\]
    /// - Valid: 0 to 1
    /// - Source: a look-up; wheat is N × 5.7, so 8.89/9.748 = 5.7/6.25
    ///
    /// ```
    /// let flour = formula::shelf::find("wheat_flour_soft").unwrap();
    /// assert!((flour.protein_mass().unwrap() / 0.09748 - 5.7 / 6.25).abs() < 1e-3);
    /// ```
    pub fn protein_mass(&self) -> Option<f64> {
        self.protein_reported
            .as_ref()
            .map(|v| v.fraction)
            .or_else(|| self.composition.fraction(Nutrient::CrudeProtein))
    }

    /// Protein by its own nitrogen factor in % at 14 % moisture, as flour is told, if known.
    ///
    /// - Equation: 86 P/(1 − M)
    /// - Units: P \[kg/kg\], M \[kg/kg, wet basis\], result \[%\]
    /// - Valid: some dry matter
    /// - Source: definition of the 14 % basis
    ///
    /// ```
    /// // 8.89 % at 11.85 % moisture: × 86/88.15.
    /// let soft = formula::shelf::find("wheat_flour_soft").unwrap();
    /// assert!((soft.protein_pct_at_14().unwrap() - 8.673).abs() < 1e-3);
    /// ```
    pub fn protein_pct_at_14(&self) -> Option<f64> {
        let dry = 1.0 - self.moisture()?.0;
        (dry > 0.0).then_some(86.0 * self.protein_mass()? / dry)
    }

    /// Water uptake at the material's own moisture, kg per kg, if known.
    ///
    /// - Rule: the uptake restated to the material's own moisture
    /// - Units: \[kg/kg\]
    /// - Valid: as `WaterUptake::at`
    /// - Source: as `WaterUptake::at`; 50 % at 13 % is 1.5 · 0.8815/0.87 − 1 at 11.85 %, by hand
    ///
    /// ```
    /// let flour = formula::shelf::find("wheat_flour_soft").unwrap();
    /// assert!((flour.water_uptake_kg_per_kg().unwrap() - (1.5 * 0.8815 / 0.87 - 1.0)).abs() < 1e-9);
    /// ```
    pub fn water_uptake_kg_per_kg(&self) -> Option<f64> {
        let uptake = self.water_uptake.as_ref()?;
        Some(uptake.at(self.moisture().unwrap_or(uptake.reference_moisture)))
    }

    /// Findings about the material alone: parts that don't close.
    ///
    /// Where nitrogen × 6.25 is what overfills the whole (collagen: gelatin, skin) and protein by
    /// the own factor closes, that is explained and only a note.
    pub fn findings(&self) -> Vec<Finding> {
        let mut findings = self.composition.closure(&self.id);
        let own = (|| {
            let crude = self.composition.fraction(Nutrient::CrudeProtein)?;
            Some(self.composition.proximate_sum()? - crude + self.protein_mass()?)
        })();
        for finding in &mut findings {
            if finding.code == Code::CompositionDoesNotClose
                && own.is_some_and(|sum| sum <= 1.0 + CLOSURE_TOLERANCE)
                && let Some(factor) = self.nitrogen_factor
            {
                finding.severity = Severity::Note;
                finding.message = format!(
                    "Crude protein of {}, nitrogen × 6.25, reads too high: its own factor is {factor}, with which the parts close.",
                    self.name
                );
                "A laboratory reports the same, so keep it; carbohydrate by difference and energy of the formula read a little low."
                    .clone_into(&mut finding.help);
            }
        }
        findings
    }
}
