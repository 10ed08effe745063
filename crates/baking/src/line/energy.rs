//! Heat that the oven has to give.

use crate::oven::Oven;
use measure::{Constant, Grade, Range, WetBasis, units::KILOWATT_HOUR_J};

/// Heat capacity of liquid water \[J/(kg K)\].
const WATER: Constant = Constant {
    name: "heat capacity of liquid water",
    value: 4190.0,
    unit: "J/(kg K)",
    range: Range::new(4180.0, 4220.0),
    source: "IAPWS, mean of 20 to 100 °C within 0.3 % (computed)",
    grade: Grade::Computed,
};
/// Heat of evaporation at 100 °C \[J/kg\] (IAPWS 2256.4 kJ/kg).
const EVAPORATION_AT_100: Constant = Constant {
    name: "heat of evaporation at 100 °C",
    value: 2.257e6,
    unit: "J/kg",
    range: Range::new(2.25e6, 2.26e6),
    source: "IAPWS-IF97 2256.4 kJ/kg (computed), rounded",
    grade: Grade::Computed,
};
/// Heat capacity of steam \[J/(kg K)\], 100 to 200 °C.
pub(super) const STEAM: Constant = Constant {
    name: "heat capacity of steam",
    value: 1900.0,
    unit: "J/(kg K)",
    range: Range::new(1850.0, 2100.0),
    source: "ideal gas at 100 to 200 °C, textbook, from memory, to be confirmed",
    grade: Grade::Recalled,
};
/// Boiling water at one atmosphere.
///
/// - Units: \[K\]
/// - Source: the rounded boiling point, 99.974 °C by IAPWS-IF97
const BOILING_K: f64 = 373.15;

/// Useful heat over fuel as installed band ovens have it: what [`super::losses`] is compared with, and
/// the range of a value that a person gives.
pub const OVEN_EFFICIENCY: Constant = Constant {
    name: "useful heat over fuel",
    value: 0.5,
    unit: "1",
    range: Range::new(0.02, 0.95),
    source: "40 to 50 % of the input used (trade pages, seen); installed ovens 0.40 to 0.49 kWh/kg, of which product 56 %",
    grade: Grade::Published,
};

/// What a kilogram baked needs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Heat {
    /// Water taken off \[kg/kg baked\].
    pub water_kg_per_kg: f64,
    /// Heat into the product that leaves \[J/kg baked\].
    pub product_j_per_kg: f64,
    /// Heat into the water that leaves as steam \[J/kg baked\].
    pub water_j_per_kg: f64,
}

/// Temperatures between which heat is counted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Temperatures {
    /// Dough \[K\].
    pub dough_k: f64,
    /// Piece at the oven's exit, mean \[K\].
    pub exit_k: f64,
    /// Vapour as it leaves the oven, about the air's temperature \[K\].
    pub vapour_k: f64,
}

impl Temperatures {
    /// Dough and exit temperature with the mean air temperature of an oven for the vapour.
    ///
    /// - Equation: T_vapour = Σ share of time · T_air over the zones
    /// - Units: temperatures \[K\]
    /// - Valid: vapour that leaves each zone as hot as its air
    /// - Source: working rule, no source
    ///
    /// ```
    /// use baking::line::energy::Temperatures;
    /// let mut oven = baking::oven::presets::steel_band();
    /// for zone in &mut oven.zones {
    ///     zone.air_k = 473.15;
    /// }
    /// let t = Temperatures::in_oven(298.15, 378.15, &oven);
    /// assert!((t.vapour_k - 473.15).abs() < 1e-9 && t.exit_k == 378.15);
    /// ```
    pub fn in_oven(dough_k: f64, exit_k: f64, oven: &Oven) -> Self {
        let vapour_k = oven
            .zones
            .iter()
            .zip(oven.shares())
            .map(|(z, share)| share * z.air_k)
            .sum();
        Self {
            dough_k,
            exit_k,
            vapour_k,
        }
    }
}

/// Water taken off per kg baked: (M_dough − M_baked)/(1 − M_dough), wet basis.
///
/// - Equation: w = (M_d − M_b)/(1 − M_d)
/// - Units: moistures \[kg/kg, wet basis\], w \[kg/kg baked\]
/// - Valid: dough wetter than what is baked
/// - Source: an identity of dry solids; the example worked out apart
///
/// ```
/// use baking::line::energy::water_kg_per_kg_baked;
/// use measure::WetBasis;
/// // 28 to 7 %: 0.291667 kg/kg, 367.5 kg/h at 1260 kg/h.
/// let water = water_kg_per_kg_baked(WetBasis(0.28), WetBasis(0.07));
/// assert!((water - 0.2916667).abs() < 1e-7 && (1260.0 * water - 367.5).abs() < 1e-6);
/// ```
pub fn water_kg_per_kg_baked(dough: WetBasis, baked: WetBasis) -> f64 {
    (dough.0 - baked.0) / (1.0 - dough.0)
}

/// Heat per kg baked: product from dough to exit temperature, water from dough temperature to
/// steam at the vapour's.
///
/// Worked example: 28 to 7 %, dough 25 °C, exit 105 °C, vapour 200 °C, dry solid 1700 J/(kg K):
/// 2.761 MJ per kg of water, 0.265 kWh per kg baked.
///
/// - Equation: q = c_b (T_exit − T_dough) + w (c_w (100 °C − T_dough) + L + c_s (T_vapour − 100 °C))
/// - Units: T \[K\], dry solid \[J/(kg K)\], heats \[J/kg\]
/// - Valid: a dough below and vapour above 100 °C
/// - Source: balance at one atmosphere with the latent heat at 100 °C; the example worked out apart
///
/// ```
/// use baking::line::energy::{heat, Temperatures};
/// use measure::WetBasis;
/// let t = Temperatures { dough_k: 298.15, exit_k: 378.15, vapour_k: 473.15 };
/// let h = heat(WetBasis(0.28), WetBasis(0.07), 1700.0, &t);
/// assert!((h.water_j_per_kg / h.water_kg_per_kg / 1e6 - 2.76125).abs() < 1e-9);
/// assert!((h.kwh_per_kg() - 0.26536).abs() < 1e-5);
/// ```
pub fn heat(dough: WetBasis, baked: WetBasis, solid_j_per_kg_k: f64, t: &Temperatures) -> Heat {
    let water_kg_per_kg = water_kg_per_kg_baked(dough, baked);
    let product = (1.0 - baked.0) * solid_j_per_kg_k + baked.0 * WATER.value;
    let water = WATER.value * (BOILING_K - t.dough_k)
        + EVAPORATION_AT_100.value
        + STEAM.value * (t.vapour_k - BOILING_K).max(0.0);
    Heat {
        water_kg_per_kg,
        product_j_per_kg: product * (t.exit_k - t.dough_k),
        water_j_per_kg: water_kg_per_kg * water,
    }
}

impl Heat {
    /// Useful heat \[kWh/kg baked\].
    ///
    /// - Equation: q = (product + water)/3.6e6
    /// - Units: heats \[J/kg\], q \[kWh/kg baked\]
    /// - Valid: any
    /// - Source: definition of the kilowatt hour
    ///
    /// ```
    /// use baking::line::energy::Heat;
    /// let heat = Heat { water_kg_per_kg: 0.3, product_j_per_kg: 0.36e6, water_j_per_kg: 0.72e6 };
    /// assert!((heat.kwh_per_kg() - 0.3).abs() < 1e-12);
    /// ```
    pub fn kwh_per_kg(&self) -> f64 {
        (self.product_j_per_kg + self.water_j_per_kg) / KILOWATT_HOUR_J
    }

    /// The same per another kilogram: of which so many kg hold one kg of this.
    pub(super) fn times(self, kg_per_kg: f64) -> Self {
        Self {
            water_kg_per_kg: self.water_kg_per_kg * kg_per_kg,
            product_j_per_kg: self.product_j_per_kg * kg_per_kg,
            water_j_per_kg: self.water_j_per_kg * kg_per_kg,
        }
    }

    /// Fuel \[kWh/kg baked\] at an efficiency.
    pub(crate) fn fuel_kwh_per_kg(&self, efficiency: f64) -> f64 {
        self.kwh_per_kg() / efficiency
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Worked example for 1260 kg/h: product 188.93 MJ/h, water 1014.76 MJ/h; at one half efficiency
    /// 63.35 m³/h of gas of 38 MJ/m³ (the gas value from memory).
    #[test]
    fn plant_example() {
        let t = Temperatures {
            dough_k: 298.15,
            exit_k: 378.15,
            vapour_k: 473.15,
        };
        let h = heat(WetBasis(0.28), WetBasis(0.07), 1700.0, &t);
        assert!((1260.0 * h.product_j_per_kg / 1e6 - 188.92944).abs() < 1e-6);
        assert!((1260.0 * h.water_j_per_kg / 1e6 - 1014.759375).abs() < 1e-6);
        let gas = 1260.0 * h.fuel_kwh_per_kg(0.5) * 3.6 / 38.0;
        assert!((gas - 63.352_043).abs() < 1e-5, "{gas}");
    }

    /// Theoretical demands seen on a trade page: rotary-moulded 0.17 to 0.20, hard sweet 0.25 to 0.27,
    /// crackers 0.30 to 0.33 kWh/kg. Dough and exit moistures are ours: 16→2, 24→2.5 and 28→2 %.
    #[test]
    fn demands_of_human_biscuits() {
        let t = Temperatures {
            dough_k: 300.15,
            exit_k: 378.15,
            vapour_k: 473.15,
        };
        for (dough, baked, low, high) in [
            (0.16, 0.02, 0.15, 0.22),
            (0.24, 0.025, 0.22, 0.29),
            (0.28, 0.02, 0.27, 0.35),
        ] {
            let kwh = heat(WetBasis(dough), WetBasis(baked), 1700.0, &t).kwh_per_kg();
            assert!((low..high).contains(&kwh), "{dough} {kwh}");
        }
    }
}
