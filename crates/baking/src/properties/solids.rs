//! The dry solid of a dough: what the properties are computed from.

use serde::{Deserialize, Serialize};

/// Make-up of the dry solid, as mass fractions of it. The first five sum to one; the last three
/// are parts of the carbohydrate or the ash and are told apart only because they hold water
/// differently.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct DrySolids {
    /// Protein \[1\].
    pub protein: f64,
    /// Fat \[1\].
    pub fat: f64,
    /// Carbohydrate without fibre: starch and sugars together \[1\].
    pub carbohydrate: f64,
    /// Fibre \[1\].
    pub fibre: f64,
    /// Ash, salt included \[1\].
    pub ash: f64,
    /// Of the carbohydrate: sugars. Unknown sugars are counted as starch, and a finding says so \[1\].
    pub sugars: Option<f64>,
    /// Of the ash: common salt. Unknown salt is left out, and a finding says so \[1\].
    pub salt: Option<f64>,
    /// Of the carbohydrate: starch. Unknown: all carbohydrate that isn't sugars \[1\].
    pub starch: Option<f64>,
}

/// Why a make-up can't be used.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum SolidsError {
    /// A fraction outside 0 to 1.
    #[error(
        "{field} of the dry solid is {value}; give a mass fraction from 0 to 1 (a percentage divided by 100)"
    )]
    Fraction {
        /// Which one.
        field: &'static str,
        /// What was given.
        value: f64,
    },
    /// The five don't sum to one.
    #[error(
        "protein, fat, carbohydrate, fibre and ash of the dry solid sum to {sum:.4}; they must sum to 1 within {tolerance}: restate them per kg of dry solid, or give the rest as carbohydrate"
    )]
    Sum {
        /// What they sum to.
        sum: f64,
        /// How far from one is allowed.
        tolerance: f64,
    },
    /// A part larger than the whole it belongs to.
    #[error(
        "{part} make up {value:.4} of the dry solid, more than its {whole} ({limit:.4}); lower the one or raise the other"
    )]
    Part {
        /// The part.
        part: &'static str,
        /// Its fraction.
        value: f64,
        /// The whole.
        whole: &'static str,
        /// Its fraction.
        limit: f64,
    },
}

/// How far from one the five fractions may sum; within it they are scaled to one.
///
/// - Units: \[kg/kg\]
/// - Source: a tolerance, chosen here
pub const CLOSURE: f64 = 0.02;

impl DrySolids {
    /// Looks at every field and gives the make-up scaled to sum exactly to one.
    ///
    /// # Errors
    /// A fraction outside 0 to 1, a sum further than [`CLOSURE`] from one, a part above its whole.
    pub fn closed(&self) -> Result<Self, SolidsError> {
        let Self {
            protein,
            fat,
            carbohydrate,
            fibre,
            ash,
            sugars,
            salt,
            starch,
        } = *self;
        let named = [
            ("protein", Some(protein)),
            ("fat", Some(fat)),
            ("carbohydrate", Some(carbohydrate)),
            ("fibre", Some(fibre)),
            ("ash", Some(ash)),
            ("sugars", sugars),
            ("salt", salt),
            ("starch", starch),
        ];
        for (field, value) in named {
            if let Some(value) = value.filter(|v| !(0.0..=1.0).contains(v)) {
                return Err(SolidsError::Fraction { field, value });
            }
        }
        let sum = protein + fat + carbohydrate + fibre + ash;
        if (sum - 1.0).abs() > CLOSURE {
            return Err(SolidsError::Sum {
                sum,
                tolerance: CLOSURE,
            });
        }
        let slack = 1e-9;
        let parts = [
            (
                "sugars and starch",
                sugars.unwrap_or(0.0) + starch.unwrap_or(0.0),
                "carbohydrate",
                carbohydrate,
            ),
            ("salt", salt.unwrap_or(0.0), "ash", ash),
        ];
        for (part, value, whole, limit) in parts {
            if value > limit + slack {
                return Err(SolidsError::Part {
                    part,
                    value,
                    whole,
                    limit,
                });
            }
        }
        Ok(Self {
            protein: protein / sum,
            fat: fat / sum,
            carbohydrate: carbohydrate / sum,
            fibre: fibre / sum,
            ash: ash / sum,
            sugars: sugars.map(|v| v / sum),
            salt: salt.map(|v| v / sum),
            starch: starch.map(|v| v / sum),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A soft-wheat dog biscuit's dry solid, invented for the tests.
    fn biscuit() -> DrySolids {
        DrySolids {
            protein: 0.13,
            fat: 0.08,
            carbohydrate: 0.71,
            fibre: 0.05,
            ash: 0.03,
            sugars: Some(0.04),
            salt: Some(0.005),
            starch: None,
        }
    }

    #[test]
    fn a_sum_near_one_is_scaled_and_a_far_one_refused() {
        let mut solids = biscuit();
        solids.ash = 0.04;
        let closed = solids.closed().unwrap();
        let sum = closed.protein + closed.fat + closed.carbohydrate + closed.fibre + closed.ash;
        assert!((sum - 1.0).abs() < 1e-15);
        solids.ash = 0.10;
        assert_eq!(
            solids.closed().unwrap_err().to_string(),
            "protein, fat, carbohydrate, fibre and ash of the dry solid sum to 1.0700; they must sum to 1 within 0.02: restate them per kg of dry solid, or give the rest as carbohydrate"
        );
    }

    #[test]
    fn nonsense_is_named() {
        let mut solids = biscuit();
        solids.fat = 8.0;
        assert!(matches!(
            solids.closed(),
            Err(SolidsError::Fraction { field: "fat", .. })
        ));
        solids.fat = f64::NAN;
        assert!(matches!(
            solids.closed(),
            Err(SolidsError::Fraction { field: "fat", .. })
        ));
        let mut solids = biscuit();
        solids.salt = Some(0.2);
        assert!(matches!(
            solids.closed(),
            Err(SolidsError::Part { part: "salt", .. })
        ));
    }
}
