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
    ///
    /// - Equation: A = n π d²/4
    /// - Units: d \[m\], A \[m²\]
    /// - Valid: holes that don't overlap
    /// - Source: geometry, an identity
    ///
    /// ```
    /// use baking::piece::Docker;
    /// let docker = Docker { count: 4, diameter_m: 0.002 };
    /// assert!((docker.area_m2() * 1e6 - 4.0 * std::f64::consts::PI).abs() < 1e-12);
    /// ```
    pub fn area_m2(&self) -> f64 {
        f64::from(self.count) * std::f64::consts::PI / 4.0 * self.diameter_m * self.diameter_m
    }
}
