//! When a line of a formula goes into the mixer.

use serde::{Deserialize, Serialize};

/// When a line goes into the mixer.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Stage {
    /// Flours and powders, premixed.
    Dry,
    /// Fats and what is creamed or rubbed in.
    Fat,
    /// Water, syrups, wet foods.
    Liquid,
    /// What comes last: inclusions, delicate leavening.
    Late,
}

impl Stage {
    /// Every stage, in order of addition.
    pub const ALL: [Self; 4] = [Self::Dry, Self::Fat, Self::Liquid, Self::Late];

    /// The word shown to people.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Dry => "dry",
            Self::Fat => "fat",
            Self::Liquid => "liquid",
            Self::Late => "late",
        }
    }

    /// Reads the word of a file.
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|s| s.word() == word)
    }
}
