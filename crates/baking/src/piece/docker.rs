//! Docker holes.

use serde::{Deserialize, Serialize};

/// Holes pricked or moulded through the piece.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Docker {
    /// How many.
    pub count: u32,
    /// Diameter of each \[m\].
    pub diameter_m: f64,
}

impl Docker {
    /// Area of all holes \[m²\].
    pub fn area_m2(&self) -> f64 {
        f64::from(self.count) * std::f64::consts::PI / 4.0 * self.diameter_m * self.diameter_m
    }
}
