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
    pub fn at(&self, coded: f64) -> f64 {
        let value = 0.5 * (self.low + self.high) + coded * 0.5 * (self.high - self.low);
        // Clears the last bits that binary fractions leave behind on a printed sheet.
        let scale = 1e9 / (self.high - self.low).abs().max(f64::MIN_POSITIVE);
        (value * scale).round() / scale
    }

    /// The coded level of a setting.
    pub fn coded(&self, value: f64) -> f64 {
        (2.0 * value - self.low - self.high) / (self.high - self.low)
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
