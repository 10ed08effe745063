//! Where packs stand: temperature and humidity through the months.

use crate::properties::water::saturation_pressure_pa;
use measure::Range;
use measure::units::DAY_S;
use serde::Serialize;

/// A spell of one climate.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Spell {
    /// How long \[s\].
    pub duration_s: f64,
    /// Temperature \[K\].
    pub temperature_k: f64,
    /// Relative humidity, 0 to 1 \[1\].
    pub relative_humidity: f64,
}

/// A climate: spells one after the other, from the start again when they are over.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Climate {
    /// The spells; at least one.
    pub spells: Vec<Spell>,
}

/// Temperatures a store may have \[K\].
pub const STORE_K: Range = Range::new(253.15, 333.15);

impl Climate {
    /// The same all year.
    pub fn steady(temperature_k: f64, relative_humidity: f64) -> Self {
        Self {
            spells: vec![Spell {
                duration_s: 365.0 * DAY_S,
                temperature_k,
                relative_humidity,
            }],
        }
    }

    /// A year of months of equal length, each with its temperature \[K\] and relative humidity (0 to 1).
    ///
    /// - Rule: the year of 365 days in as many equal spells as there are pairs
    /// - Units: temperature \[K\], relative humidity \[1\], time \[s\]
    /// - Valid: any number of pairs; above freezing for the vapour pressure
    /// - Source: house rule, no source
    ///
    /// ```
    /// use baking::after::Climate;
    /// let year = Climate::months(&[(293.15, 0.5); 12]);
    /// let whole: f64 = year.spells.iter().map(|s| s.duration_s).sum();
    /// assert!((whole - 365.0 * 86_400.0).abs() < 1e-6);
    /// ```
    pub fn months(months: &[(f64, f64)]) -> Self {
        let duration_s = 365.0 * DAY_S / months.len().max(1) as f64;
        let spell = |&(temperature_k, relative_humidity): &(f64, f64)| Spell {
            duration_s,
            temperature_k,
            relative_humidity,
        };
        Self {
            spells: months.iter().map(spell).collect(),
        }
    }

    /// Mean over the spells of temperature \[K\] and of vapour pressure \[Pa\].
    ///
    /// - Equation: mean = Σ t f/Σ t over the spells, f the temperature and the vapour pressure
    /// - Units: time \[s\], temperature \[K\], vapour pressure \[Pa\]
    /// - Valid: at least one spell of some length
    /// - Source: an identity: the mean over time
    ///
    /// ```
    /// use baking::after::Climate;
    /// // Half a year at 20 °C and half at 30 °C, both saturated: 2339.2 and 4246 Pa of a steam table.
    /// let (kelvin, pascal) = Climate::months(&[(293.15, 1.0), (303.15, 1.0)]).mean();
    /// assert!((kelvin - 298.15).abs() < 1e-9);
    /// assert!((pascal - 0.5 * (2339.2 + 4247.0)).abs() < 3.0);
    /// ```
    pub fn mean(&self) -> (f64, f64) {
        let total: f64 = self.spells.iter().map(|s| s.duration_s).sum();
        let of = |f: fn(&Spell) -> f64| {
            self.spells.iter().map(|s| s.duration_s * f(s)).sum::<f64>() / total
        };
        (of(|s| s.temperature_k), of(Spell::vapour_pa))
    }
}

impl Spell {
    /// Pressure of the water vapour in the air \[Pa\].
    pub(crate) fn vapour_pa(&self) -> f64 {
        self.relative_humidity * saturation_pressure_pa(self.temperature_k.max(273.16))
    }
}
