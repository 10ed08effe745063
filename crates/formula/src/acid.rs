//! Weak acids that keep moulds down, and the salts in which they are bought.

use serde::{Deserialize, Serialize};

/// A weak acid.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum WeakAcid {
    /// Sorbic.
    Sorbic,
    /// Propionic.
    Propionic,
    /// Benzoic.
    Benzoic,
    /// Acetic.
    Acetic,
    /// Lactic.
    Lactic,
}

impl WeakAcid {
    /// Every acid.
    pub const ALL: [Self; 5] = [
        Self::Sorbic,
        Self::Propionic,
        Self::Benzoic,
        Self::Acetic,
        Self::Lactic,
    ];

    /// The word shown to people.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Sorbic => "sorbic",
            Self::Propionic => "propionic",
            Self::Benzoic => "benzoic",
            Self::Acetic => "acetic",
            Self::Lactic => "lactic",
        }
    }

    /// pKa at 25 °C (handbook values, from memory; sorbic 70 % at pH 4.4, 37 % at 5.0, 6 % at 6.0 seen).
    pub(crate) const fn p_ka(self) -> f64 {
        match self {
            Self::Sorbic | Self::Acetic => 4.76,
            Self::Propionic => 4.87,
            Self::Benzoic => 4.19,
            Self::Lactic => 3.86,
        }
    }

    /// Share that isn't dissociated at a pH: 1/(1 + 10^(pH − pKa)).
    ///
    /// - Equation: s = 1/(1 + 10^(pH − pKa))
    /// - Units: pH and pKa \[1\], share \[1\]
    /// - Valid: dilute solutions at about 25 °C
    /// - Source: Henderson and Hasselbalch; pKa of handbooks (from memory, to be confirmed); the examples by hand
    ///
    /// ```
    /// use formula::preservative::WeakAcid;
    /// assert!((WeakAcid::Sorbic.undissociated(5.0) - 0.3653).abs() < 1e-4);
    /// assert!((WeakAcid::Propionic.undissociated(6.0) - 0.0690).abs() < 1e-4);
    /// ```
    pub fn undissociated(self, ph: f64) -> f64 {
        1.0 / (1.0 + 10f64.powf(ph - self.p_ka()))
    }

    /// Highest pH at which it is credited: sorbate in neutral doughs is no use and may even help moulds (Guynot et al.
    /// 2003, abstract seen); the others by judgement.
    pub(crate) const fn highest_ph(self) -> f64 {
        match self {
            Self::Sorbic => 6.0,
            Self::Propionic | Self::Benzoic | Self::Acetic | Self::Lactic => 6.5,
        }
    }
}

/// A salt in which an acid is bought.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Salt {
    /// Its name in the trade.
    pub name: &'static str,
    /// The acid in it.
    pub acid: WeakAcid,
    /// Acid per salt \[kg/kg\], from the molar masses.
    pub acid_share: f64,
}

/// Salts of the acids.
pub const SALTS: [Salt; 4] = [
    Salt {
        name: "K sorbate",
        acid: WeakAcid::Sorbic,
        acid_share: 112.13 / 150.22,
    },
    Salt {
        name: "Ca propionate",
        acid: WeakAcid::Propionic,
        acid_share: 2.0 * 74.08 / 186.22,
    },
    Salt {
        name: "Na propionate",
        acid: WeakAcid::Propionic,
        acid_share: 74.08 / 96.06,
    },
    Salt {
        name: "Na benzoate",
        acid: WeakAcid::Benzoic,
        acid_share: 122.12 / 144.10,
    },
];

/// A weak acid in a material as received.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Acid {
    /// Which.
    pub acid: WeakAcid,
    /// kg as acid per kg as received.
    pub fraction: f64,
}
