//! A substance that is weighed: what it hides in, and how much of it a treat may have.

use crate::Code;
use crate::names::Names;
use crate::nutrition::Species;
use measure::{Grade, Severity};

/// What an amount is told per.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Basis {
    /// Mass of treat at 12 % moisture, as the European limits of feed are told.
    At12,
    /// Mass of dry matter of the treat.
    Dry,
    /// Dry matter of the material over dry matter of the treat.
    DryOfDry,
    /// Mass of fat.
    Fat,
}

impl Basis {
    /// The basis in words.
    pub const fn word(self) -> &'static str {
        match self {
            Self::At12 => "of treat at 12 % moisture",
            Self::Dry => "of dry matter",
            Self::DryOfDry => "dry of dry matter",
            Self::Fat => "of fat",
        }
    }
}

/// Moisture that European limits of feed are told at (Directive 2002/32/EC).
///
/// - Units: share \[1\]
/// - Source: Directive 2002/32/EC (seen), a definition
pub const FEED_MOISTURE: f64 = 0.12;

/// The unit that people read an amount in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AmountUnit {
    /// As shown.
    pub word: &'static str,
    /// Shown value = kg per kg × this.
    pub per_kg_per_kg: f64,
}

/// mg per kg.
pub const MG_PER_KG: AmountUnit = AmountUnit {
    word: "mg/kg",
    per_kg_per_kg: 1e6,
};
/// g per kg.
pub const G_PER_KG: AmountUnit = AmountUnit {
    word: "g/kg",
    per_kg_per_kg: 1e3,
};
/// Percent.
pub const PERCENT: AmountUnit = AmountUnit {
    word: "%",
    per_kg_per_kg: 100.0,
};
/// International units of vitamin D per kg: 1 IU is 0.025 µg, by definition.
pub const IU_D_PER_KG: AmountUnit = AmountUnit {
    word: "IU/kg",
    per_kg_per_kg: 4e10,
};

/// A material that brings a substance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Carrier {
    /// What it is called.
    pub names: Names,
    /// kg of the substance per kg of the material as received; none = it differs too much to guess.
    pub kg_per_kg: Option<f64>,
    /// Where the content comes from.
    pub source: &'static str,
    /// How sure it is.
    pub grade: Grade,
}

/// The most that is accepted of a substance; what is above it is told.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limit {
    /// The animals it holds for.
    pub species: &'static [Species],
    /// Per what.
    pub basis: Basis,
    /// The most, kg per kg on that basis.
    pub at_most_kg_per_kg: f64,
    /// How much it weighs to be above it.
    pub severity: Severity,
    /// Whose limit it is.
    pub whose: &'static str,
    /// How sure it is.
    pub grade: Grade,
}

/// A substance that is weighed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Substance {
    /// Code of the finding.
    pub code: Code,
    /// In words.
    pub substance: &'static str,
    /// The unit it is read in.
    pub unit: AmountUnit,
    /// What brings it, the particular before the general: the first that fits counts.
    pub carriers: &'static [Carrier],
    /// Its limits.
    pub limits: &'static [Limit],
    /// What to do.
    pub advice: &'static str,
}
