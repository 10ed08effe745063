//! What a leavening is.

use serde::{Deserialize, Serialize};

/// What a leavening does.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Leavener {
    /// Sodium bicarbonate: alone it gives half its carbon dioxide by heat and leaves carbonate.
    Soda,
    /// Ammonium bicarbonate: all of it goes off as gas.
    AmmoniumBicarbonate,
    /// Baking powder: soda with its acid beside it, neutral by making.
    BakingPowder,
}

impl Leavener {
    /// Every kind.
    pub const ALL: [Self; 3] = [Self::Soda, Self::AmmoniumBicarbonate, Self::BakingPowder];

    /// The word shown to people and written in files.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Soda => "soda",
            Self::AmmoniumBicarbonate => "ammonium bicarbonate",
            Self::BakingPowder => "baking powder",
        }
    }

    /// Reads the word of a file.
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|l| l.word() == word)
    }
}
