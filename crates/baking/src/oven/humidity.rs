//! Humidity of oven or room air, told the way it is read.

use crate::properties::air;
use crate::properties::water::{STANDARD_PRESSURE_PA, saturation_pressure_pa};
use measure::Range;
use serde::{Deserialize, Serialize};

/// How humid air is.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Humidity {
    /// Water per dry air \[kg/kg\].
    KgPerKg(f64),
    /// Dew point \[K\].
    DewPoint(f64),
}

impl Humidity {
    /// Partial pressure of water vapour \[Pa\] at one atmosphere.
    ///
    /// - Equation: p = P W/(0.621945 + W), or p_sat of the dew point
    /// - Units: W \[kg/kg dry air\], dew point \[K\], p \[Pa\]
    /// - Valid: one atmosphere; dew points of 0 to 100 °C
    /// - Source: ideal gas; dew point of 0.05 kg/kg at 40.30 °C from a reference equation of moist air (computed
    ///   apart)
    ///
    /// ```
    /// use baking::oven::Humidity;
    /// // 0.05 kg/kg has its dew point at 40.30 °C.
    /// let one = Humidity::KgPerKg(0.05).vapour_pressure_pa();
    /// let other = Humidity::DewPoint(40.30 + 273.15).vapour_pressure_pa();
    /// assert!((one / other - 1.0).abs() < 6e-3);
    /// ```
    pub fn vapour_pressure_pa(self) -> f64 {
        match self {
            Self::KgPerKg(w) => air::vapour_pressure_pa(w, STANDARD_PRESSURE_PA),
            Self::DewPoint(k) => saturation_pressure_pa(k),
        }
    }

    /// The number with its name, unit and allowed range.
    pub(super) const fn number(self) -> (&'static str, f64, &'static str, Range) {
        match self {
            Self::KgPerKg(w) => ("humidity", w, "kg/kg", Range::new(0.0, 5.0)),
            Self::DewPoint(k) => ("dew point", k, "K", Range::new(273.16, 372.5)),
        }
    }
}
