//! Substances that dissolve in the water of the piece and hold it there, told apart from starch.
//!
//! Which and how much; what they do to water activity is for who knows sorption. Common sugars stand in
//! the composition ([`crate::Nutrient::Sugars`]) and aren't listed again here unless given one by one.

use crate::called::{PROPYLENE_GLYCOL, XYLITOL};
use crate::names::Names;
use serde::{Deserialize, Serialize};

macro_rules! solutes {
    ($($variant:ident $word:literal $g_per_mol:literal),+ $(,)?) => {
        /// A substance that dissolves.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        #[serde(rename_all = "snake_case")]
        pub enum Solute {
            $(#[doc = $word] $variant,)+
        }

        impl Solute {
            /// Every solute.
            pub const ALL: &'static [Self] = &[$(Self::$variant),+];

            /// The word shown to people and written in files.
            pub const fn word(self) -> &'static str {
                match self { $(Self::$variant => $word),+ }
            }

            /// Molar mass, g/mol (standard atomic weights) \[g/mol\].
            pub const fn g_per_mol(self) -> f64 { // no unit: the name tells it
                match self { $(Self::$variant => $g_per_mol),+ }
            }
        }
    };
}

solutes! {
    Glycerol "glycerol" 92.094,
    PropyleneGlycol "propylene glycol" 76.095,
    Sorbitol "sorbitol" 182.17,
    Xylitol "xylitol" 152.15,
    Erythritol "erythritol" 122.12,
    Mannitol "mannitol" 182.17,
    Sucrose "sucrose" 342.30,
    Glucose "glucose" 180.156,
    Fructose "fructose" 180.156,
    Maltose "maltose" 342.30,
    Lactose "lactose" 342.30,
    SodiumLactate "sodium lactate" 112.06,
    PotassiumLactate "potassium lactate" 128.17,
    CitricAcid "citric acid" 192.12,
    TartaricAcid "tartaric acid" 150.09,
    MalicAcid "malic acid" 134.09,
    LacticAcid "lactic acid" 90.08,
    AceticAcid "acetic acid" 60.05,
}

impl Solute {
    /// Reads the word of a file.
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|s| s.word() == word)
    }

    /// Whether the composition counts it among its sugars.
    pub const fn is_sugar(self) -> bool {
        matches!(
            self,
            Self::Sucrose | Self::Glucose | Self::Fructose | Self::Maltose | Self::Lactose
        )
    }

    /// What it is called, where its name alone gives it away.
    pub(crate) const fn names(self) -> Names {
        const NONE: Names = Names::NONE;
        match self {
            Self::Glycerol => Names {
                en: &["glycerol", "glycerin", "glycerine"],
                fr: &["glycérine", "glycérol"],
                es: &["glicerina", "glicerol"],
                e: &["422"],
                ..NONE
            },
            Self::PropyleneGlycol => PROPYLENE_GLYCOL,
            Self::Sorbitol => Names {
                en: &["sorbitol"],
                de: &["Sorbit"],
                e: &["420"],
                ..NONE
            },
            Self::Xylitol => XYLITOL,
            Self::Erythritol => Names {
                en: &["erythritol"],
                de: &["Erythrit"],
                e: &["968"],
                ..NONE
            },
            Self::Mannitol => Names {
                en: &["mannitol"],
                de: &["Mannit"],
                e: &["421"],
                ..NONE
            },
            Self::SodiumLactate => Names {
                en: &["sodium lactate"],
                de: &["Natriumlactat", "Natriumlaktat"],
                fr: &["lactate de sodium"],
                es: &["lactato de sodio"],
                e: &["325"],
                ..NONE
            },
            Self::PotassiumLactate => Names {
                en: &["potassium lactate"],
                de: &["Kaliumlactat", "Kaliumlaktat"],
                fr: &["lactate de potassium"],
                es: &["lactato de potasio"],
                e: &["326"],
                ..NONE
            },
            Self::CitricAcid => Names {
                en: &["citric acid"],
                de: &["Citronensäure", "Zitronensäure"],
                fr: &["acide citrique"],
                es: &["ácido cítrico"],
                e: &["330"],
                ..NONE
            },
            Self::TartaricAcid => Names {
                en: &["tartaric acid"],
                de: &["Weinsäure"],
                fr: &["acide tartrique"],
                es: &["ácido tartárico"],
                e: &["334"],
                ..NONE
            },
            Self::MalicAcid => Names {
                en: &["malic acid"],
                de: &["Äpfelsäure", "Apfelsäure"],
                fr: &["acide malique"],
                es: &["ácido málico"],
                e: &["296"],
                ..NONE
            },
            Self::LacticAcid => Names {
                en: &["lactic acid"],
                de: &["Milchsäure"],
                fr: &["acide lactique"],
                es: &["ácido láctico"],
                e: &["270"],
                ..NONE
            },
            Self::AceticAcid => Names {
                en: &["acetic acid"],
                de: &["Essigsäure"],
                fr: &["acide acétique"],
                es: &["ácido acético"],
                e: &["260"],
                ..NONE
            },
            Self::Sucrose | Self::Glucose | Self::Fructose | Self::Maltose | Self::Lactose => NONE,
        }
    }
}

/// A solute in a material as received.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Dissolves {
    /// Which.
    pub solute: Solute,
    /// kg per kg as received.
    pub fraction: f64,
}
