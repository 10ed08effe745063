//! An allowed or valid range.

use serde::{Deserialize, Serialize};

/// A closed range of values, in the unit of the thing it bounds.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Range {
    /// Smallest allowed value.
    pub low: f64,
    /// Largest allowed value.
    pub high: f64,
}

impl Range {
    /// A range from `low` to `high`.
    pub const fn new(low: f64, high: f64) -> Self {
        Self { low, high }
    }

    /// Whether a value lies inside; NaN never does.
    pub fn contains(&self, value: f64) -> bool {
        value >= self.low && value <= self.high
    }

    /// The nearest value inside.
    pub fn clamp(&self, value: f64) -> f64 {
        value.clamp(self.low, self.high)
    }
}

impl std::fmt::Display for Range {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{} to {}", self.low, self.high)
    }
}
