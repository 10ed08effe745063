//! Factors: what is set, between which ends, or to which names.

use super::PlanError;
use super::error::{distinct, within};
use measure::Range;
use serde::{Deserialize, Serialize};

/// A factor set to a number; −1 and +1 in coded units are its low and high end.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Factor {
    /// What is set.
    pub name: String,
    /// Unit, as shown.
    pub unit: String,
    /// Setting at coded −1.
    pub low: f64,
    /// Setting at coded +1.
    pub high: f64,
    /// Settings that can be run at all; a plan that leaves it says so.
    pub allowed: Option<Range>,
}

impl Factor {
    /// The setting at a coded level: middle + coded × half the span.
    ///
    /// - Equation: x = middle + z · half the span, to a hundred-thousandth of the span
    /// - Units: coded level \[1\], setting \[as the factor\]
    /// - Valid: low below high
    /// - Source: definition of coded levels; the example by hand
    ///
    /// ```
    /// use trials::plan::Factor;
    /// let f = Factor { name: "bake time".into(), unit: "min".into(), low: 18.0, high: 30.0, allowed: None };
    /// assert_eq!([f.at(-1.0), f.at(0.0), f.at(1.0), f.at(1.681_79)], [18.0, 24.0, 30.0, 34.0907]);
    /// ```
    pub fn at(&self, coded: f64) -> f64 {
        let value = 0.5 * (self.low + self.high) + coded * 0.5 * (self.high - self.low);
        // A hundred-thousandth of the span is finer than anything that can be set; decimals beyond
        // it would only clutter the printed sheet.
        let span = (self.high - self.low).abs();
        if !(span > 0.0 && span.is_finite()) {
            return value;
        }
        let decimals = 5 - span.log10().floor() as i32;
        let scale = 10f64.powi(decimals.abs());
        if decimals >= 0 {
            (value * scale).round() / scale
        } else {
            (value / scale).round() * scale
        }
    }

    pub(crate) fn check_all(factors: &[Self]) -> Result<(), PlanError> {
        distinct("factor", factors.iter().map(|f| &f.name))?;
        for f in factors {
            if !(f.low < f.high && f.low.is_finite() && f.high.is_finite()) {
                return Err(PlanError::Range {
                    name: f.name.clone(),
                    low: f.low,
                    high: f.high,
                    allowed: "",
                });
            }
        }
        Ok(())
    }
}

/// A factor set to one of several named levels.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Named {
    /// What is set.
    pub name: String,
    /// Its levels.
    pub levels: Vec<String>,
}

impl Named {
    pub(crate) fn check_all(factors: &[Self]) -> Result<(), PlanError> {
        distinct("factor", factors.iter().map(|f| &f.name))?;
        for f in factors {
            distinct("level", &f.levels)?;
            within("levels of a factor", f.levels.len(), 2, 26, "")?;
        }
        Ok(())
    }
}

/// A part of a mixture with its bounds as fractions of the whole mixture.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Component {
    /// The material or group of materials.
    pub name: String,
    /// Least fraction.
    pub low: f64,
    /// Largest fraction.
    pub high: f64,
}
