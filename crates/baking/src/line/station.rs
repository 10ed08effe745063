//! The stations of a line, in the order of the dough.

use serde::{Deserialize, Serialize};

/// A station.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Station {
    /// Mixes dough.
    Mixer,
    /// Sheets and cuts, moulds, or wire-cuts pieces.
    Former,
    /// Bakes.
    Oven,
    /// Dries on a band or racks of its own after a band oven.
    Dryer,
    /// Cools.
    Cooler,
    /// Packs.
    Packer,
}

impl Station {
    /// Every station, in the order of the dough.
    pub const ALL: [Self; 6] = [
        Self::Mixer,
        Self::Former,
        Self::Oven,
        Self::Dryer,
        Self::Cooler,
        Self::Packer,
    ];

    /// The word shown to people.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Mixer => "mixer",
            Self::Former => "former",
            Self::Oven => "oven",
            Self::Dryer => "dryer",
            Self::Cooler => "cooler",
            Self::Packer => "packer",
        }
    }
}
