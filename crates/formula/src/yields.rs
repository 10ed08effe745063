//! From dough to saleable pieces by mass: bake loss, waste, breakage, giveaway, counts.

use measure::{Range, WetBasis};
use serde::{Deserialize, Serialize};

/// Baked mass per mass of dough by moisture alone: (1 − w_dough)/(1 − w_baked).
///
/// Check: 28 % to 7 % is 0.774194, a loss of 22.5806 %, and 0.291667 kg water per kg baked
/// (computed).
///
/// ```
/// use formula::yields::bake_yield;
/// use measure::WetBasis;
/// let y = bake_yield(WetBasis(0.28), WetBasis(0.07));
/// assert!((y - 0.774_193_548_387_096_8).abs() < 1e-12);
/// assert!((1.0 / y - 1.0 - 0.291_666_666_666_666_7).abs() < 1e-12);
/// ```
pub fn bake_yield(dough: WetBasis, baked: WetBasis) -> f64 {
    (1.0 - dough.0) / (1.0 - baked.0)
}

/// What is lost beside water, each a fraction of what reaches it.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Losses {
    /// Dough that never becomes a piece (ends, drops), not returned as rework \[1\].
    pub waste: f64,
    /// Pieces broken or rejected after the oven \[1\].
    pub breakage: f64,
    /// Mass packed beyond what is sold \[1\].
    pub giveaway: f64,
}

/// What is wrong with the losses.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("{field} is {value}; allowed is {allowed} (a fraction)")]
pub struct LossError {
    /// The field in words.
    pub field: &'static str,
    /// The value given.
    pub value: f64,
    /// What is allowed.
    pub allowed: Range,
}

impl Losses {
    /// Nothing lost.
    pub const NONE: Self = Self {
        waste: 0.0,
        breakage: 0.0,
        giveaway: 0.0,
    };

    /// Checked losses, each 0 up to 0.95.
    pub fn new(waste: f64, breakage: f64, giveaway: f64) -> Result<Self, LossError> {
        let allowed = Range::new(0.0, 0.95);
        for (field, value) in [
            ("waste", waste),
            ("breakage", breakage),
            ("giveaway", giveaway),
        ] {
            if !allowed.contains(value) {
                return Err(LossError {
                    field,
                    value,
                    allowed,
                });
            }
        }
        Ok(Self {
            waste,
            breakage,
            giveaway,
        })
    }

    /// What is left: (1 − waste)(1 − breakage)(1 − giveaway).
    pub fn kept(self) -> f64 {
        (1.0 - self.waste) * (1.0 - self.breakage) * (1.0 - self.giveaway)
    }
}

/// Saleable mass per mass of dough: yield of the bake × what the losses leave.
///
/// ```
/// use formula::yields::{Losses, bake_yield, saleable_per_dough};
/// use measure::WetBasis;
/// // Dough of 28 % moisture baked to 7 %: 0.72/0.93; waste 2, breakage 3, giveaway 1.5 %: × 0.9363.
/// let losses = Losses::new(0.02, 0.03, 0.015).unwrap();
/// let kept = saleable_per_dough(bake_yield(WetBasis(0.28), WetBasis(0.07)), losses);
/// assert!((kept - 0.72491).abs() < 1e-5);
/// assert!(Losses::new(0.02, 1.0, 0.0).is_err());
/// ```
pub fn saleable_per_dough(bake_yield: f64, losses: Losses) -> f64 {
    bake_yield * losses.kept()
}
