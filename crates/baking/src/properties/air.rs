//! Moist oven air: humidity told three ways, and heat transfer from its speed.

use super::water::{STANDARD_PRESSURE_PA, saturation_pressure_pa, saturation_temperature_k};
use crate::bake::surface::AIR_GAS_CONSTANT;
use measure::Range;

/// Ratio of the molar masses of water and dry air.
///
/// - Units: \[1\]
/// - Source: 18.015 over 28.966 g/mol, as in the ASHRAE Handbook—Fundamentals (from memory, to be confirmed)
pub const MOLAR_MASS_RATIO: f64 = 0.621_945;

/// Water-vapour pressure \[Pa\] of air with W kg water per kg dry air at a total pressure \[Pa\]:
/// p = P·W / (0.621945 + W).
///
/// - Equation: p = P W/(0.621945 + W)
/// - Units: W \[kg/kg dry air\], p and P \[Pa\]
/// - Valid: ideal gas, W from 0
/// - Source: psychrometry of the ASHRAE Handbook—Fundamentals (from memory, to be confirmed); W of 20 °C and 60 %
///   by a reference program (computed apart)
///
/// ```
/// use baking::properties::air::vapour_pressure_pa;
/// // 20 °C and 60 % relative humidity is W 0.00873.
/// assert!((vapour_pressure_pa(0.00873, 101_325.0) / (0.60 * 2338.8) - 1.0).abs() < 2e-3);
/// ```
pub fn vapour_pressure_pa(kg_per_kg: f64, pressure_pa: f64) -> f64 {
    pressure_pa * kg_per_kg / (MOLAR_MASS_RATIO + kg_per_kg)
}

/// Humidity \[kg water per kg dry air\] of a vapour pressure \[Pa\]: W = 0.621945 p / (P − p).
///
/// - Equation: W = 0.621945 p/(P − p)
/// - Units: p and P \[Pa\], W \[kg/kg dry air\]
/// - Valid: ideal gas, p below P
/// - Source: as `vapour_pressure_pa`; 25 °C and 50 % is W 0.00988 by a reference program (computed apart)
///
/// ```
/// use baking::properties::air::humidity_kg_per_kg;
/// assert!((humidity_kg_per_kg(0.5 * 3169.2, 101_325.0) - 0.00988).abs() < 5e-6);
/// ```
pub fn humidity_kg_per_kg(vapour_pa: f64, pressure_pa: f64) -> f64 {
    MOLAR_MASS_RATIO * vapour_pa / (pressure_pa - vapour_pa)
}

/// Water per dry air \[kg/kg\] at which air of a temperature \[K\] has a wet bulb \[K\], at one atmosphere: the constant-rate
/// temperature of a wet surface without radiation.
///
/// W = ((2501 − 2.326 θ_w) W_s − 1.006 (θ − θ_w))/(2501 + 1.86 θ − 4.186 θ_w), W_s saturated at the wet bulb.
///
/// - Equation: W = ((2501 − 2.326 θ_w) W_s − 1.006 (θ − θ_w))/(2501 + 1.86 θ − 4.186 θ_w)
/// - Units: temperatures \[K\], W \[kg/kg dry air\]
/// - Valid: one atmosphere, Lewis number near 1, no radiation
/// - Source: psychrometry of the ASHRAE Handbook—Fundamentals (from memory, to be confirmed); examples computed
///   apart
///
/// ```
/// use baking::properties::air::humidity_of_wet_bulb;
/// // A wet bulb of 71.1 °C in air of 204.4 and 90 °C (computed apart).
/// assert!((humidity_of_wet_bulb(204.4 + 273.15, 71.1 + 273.15) - 0.2162).abs() < 0.003);
/// assert!((humidity_of_wet_bulb(363.15, 71.1 + 273.15) - 0.2841).abs() < 0.003);
/// ```
pub fn humidity_of_wet_bulb(air_k: f64, wet_bulb_k: f64) -> f64 {
    let (dry, wet) = (
        measure::temperature::celsius(air_k),
        measure::temperature::celsius(wet_bulb_k),
    );
    let saturated = humidity_kg_per_kg(saturation_pressure_pa(wet_bulb_k), STANDARD_PRESSURE_PA);
    let gained = (2501.0 - 2.326 * wet) * saturated - 1.006 * (dry - wet);
    gained / (2501.0 + 1.86 * dry - 4.186 * wet)
}

/// Dew point \[K\] of a vapour pressure \[Pa\] above 611 Pa.
///
/// - Equation: T with p_sat(T) = p
/// - Units: p \[Pa\], T \[K\]
/// - Valid: 611 Pa to 22 MPa
/// - Source: IAPWS-IF97; the example from a reference equation of moist air (computed apart)
///
/// ```
/// use baking::properties::air::{dew_point_k, vapour_pressure_pa};
/// // Oven air of 0.10 kg/kg has its dew point at 52.49 °C by a reference equation of state; the
/// // ideal gas here lies 0.1 K higher.
/// let dew = dew_point_k(vapour_pressure_pa(0.10, 101_325.0));
/// assert!((dew - 273.15 - 52.49).abs() < 0.15);
/// ```
pub fn dew_point_k(vapour_pa: f64) -> f64 {
    saturation_temperature_k(vapour_pa)
}

/// Dry air at standard pressure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Air {
    /// Density \[kg/m³\].
    pub density_kg_per_m3: f64,
    /// Thermal conductivity \[W/(m K)\].
    pub conductivity_w_per_m_k: f64,
    /// Dynamic viscosity \[Pa s\].
    pub viscosity_pa_s: f64,
    /// Heat capacity \[J/(kg K)\].
    pub heat_capacity_j_per_kg_k: f64,
}

impl Air {
    /// Dry air at T \[K\], 250 to 600 K: ideal gas, Sutherland's law for viscosity and conductivity
    /// (textbook constants, from memory; within 1.5 % of the reference equation of state at 100
    /// and 200 °C), heat capacity as a straight line.
    ///
    /// - Equation: ρ = P/(R_a T); k, μ ∝ T^1.5/(T + S); c = 1004 + 0.1 (T − 298.15)
    /// - Units: T \[K\], ρ \[kg/m³\], k \[W/(m K)\], μ \[Pa s\], c \[J/(kg K)\]
    /// - Valid: 250 to 600 K, one atmosphere
    /// - Source: Sutherland's law with textbook constants (from memory, to be confirmed); at 100 °C 0.9459,
    ///   0.03162, 2.190e-5 and 1011.2 by a reference equation of state (computed apart)
    ///
    /// ```
    /// use baking::properties::air::Air;
    /// let air = Air::at(373.15);
    /// assert!((air.density_kg_per_m3 / 0.9459 - 1.0).abs() < 0.002);
    /// assert!((air.conductivity_w_per_m_k / 0.03162 - 1.0).abs() < 0.015);
    /// assert!((air.viscosity_pa_s / 2.190e-5 - 1.0).abs() < 0.015);
    /// assert!((air.heat_capacity_j_per_kg_k / 1011.2 - 1.0).abs() < 0.002);
    /// ```
    pub fn at(temperature_k: f64) -> Self {
        let t = temperature_k;
        let sutherland =
            |at_zero: f64, s: f64| at_zero * (t / 273.15).powf(1.5) * (273.15 + s) / (t + s);
        Self {
            density_kg_per_m3: STANDARD_PRESSURE_PA / (AIR_GAS_CONSTANT.value * t),
            conductivity_w_per_m_k: sutherland(0.0241, 194.0),
            viscosity_pa_s: sutherland(1.716e-5, 110.4),
            heat_capacity_j_per_kg_k: 1004.0 + 0.1 * (t - 298.15),
        }
    }

    /// Prandtl number.
    pub(crate) fn prandtl(&self) -> f64 {
        self.heat_capacity_j_per_kg_k * self.viscosity_pa_s / self.conductivity_w_per_m_k
    }
}

/// Reynolds numbers over which the laminar flat plate stands.
pub const LAMINAR: Range = Range::new(0.0, 5e5);

/// Mean heat-transfer coefficient \[W/(m² K)\] of air at T \[K\] blowing along a piece of a length \[m\]
/// at a speed \[m/s\], laminar flat plate: Nu = 0.664 Re^½ Pr^⅓, valid within [`LAMINAR`].
///
/// An idle stream and a piece on its own: jets, edges and turbulence in a real oven give more, so
/// this is where to start before calibration, not where to end.
///
/// - Equation: h = 0.664 Re^½ Pr^⅓ k/L
/// - Units: L \[m\], speed \[m/s\], T \[K\], h \[W/(m² K)\]
/// - Valid: Reynolds numbers below 5e5, Prandtl above 0.6
/// - Source: mean of a laminar boundary layer, textbook (from memory, to be confirmed); the example with reference
///   properties of air (computed apart)
///
/// ```
/// use baking::properties::air::flat_plate_w_per_m2_k;
/// // 50 mm, 2 m/s, 200 °C: 24.1 W/(m² K), worked out with reference air properties.
/// assert!((flat_plate_w_per_m2_k(0.050, 2.0, 473.15) - 24.1).abs() < 0.3);
/// ```
pub fn flat_plate_w_per_m2_k(length_m: f64, speed_m_per_s: f64, air_k: f64) -> f64 {
    let air = Air::at(air_k);
    let reynolds = air.density_kg_per_m3 * speed_m_per_s * length_m / air.viscosity_pa_s;
    0.664 * reynolds.sqrt() * air.prandtl().cbrt() * air.conductivity_w_per_m_k / length_m
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Reference equation of state at 100 and 200 °C, computed independently.
    #[test]
    fn dry_air_near_the_reference() {
        for (celsius, rho, k, mu) in [
            (100.0, 0.9459, 0.03162, 2.190e-5),
            (200.0, 0.7458, 0.03825, 2.605e-5),
        ] {
            let air = Air::at(celsius + 273.15);
            assert!((air.density_kg_per_m3 / rho - 1.0).abs() < 1e-3);
            assert!((air.conductivity_w_per_m_k / k - 1.0).abs() < 0.015);
            assert!((air.viscosity_pa_s / mu - 1.0).abs() < 0.015);
        }
    }

    /// States and dew points computed with two independent psychrometric programs.
    #[test]
    fn humidity_table() {
        for (celsius, rh, w, dew) in [
            (25.0, 0.5, 0.00988, 13.83),
            (20.0, 0.6, 0.00873, 11.98),
            (30.0, 0.8, 0.02157, 26.13),
            (38.0, 0.9, 0.03893, 36.03),
        ] {
            let p = rh * saturation_pressure_pa(celsius + 273.15);
            assert!(
                (humidity_kg_per_kg(p, STANDARD_PRESSURE_PA) - w).abs() < 2e-5,
                "{celsius}"
            );
            assert!((dew_point_k(p) - 273.15 - dew).abs() < 0.06, "{celsius}");
            assert!(
                (vapour_pressure_pa(
                    humidity_kg_per_kg(p, STANDARD_PRESSURE_PA),
                    STANDARD_PRESSURE_PA
                ) - p)
                    .abs()
                    < 1e-9 * p
            );
        }
        for (w, dew) in [(0.02, 24.86), (0.05, 40.30), (0.10, 52.49), (0.20, 64.52)] {
            assert!(
                (dew_point_k(vapour_pressure_pa(w, STANDARD_PRESSURE_PA)) - 273.15 - dew).abs()
                    < 0.15,
                "{w}"
            );
        }
    }
}
