//! Physical constants and the surface laws of heat and vapour that the balances use.

use measure::{Constant, Grade, Range};

/// Gas constant \[J/(mol K)\], exact in the SI.
///
/// - Source: exact in the SI, rounded
pub const GAS_CONSTANT: f64 = 8.314_462_618;
/// Molar mass of water \[kg/mol\] (CIAAW/IAPWS).
///
/// - Source: IAPWS (from memory, to be confirmed)
pub const WATER_MOLAR_MASS: f64 = 0.018_015_28;
/// Standard atmosphere \[Pa\], by definition.
///
/// - Source: by definition
pub const PRESSURE_PA: f64 = 101_325.0;
/// Stefan–Boltzmann constant \[W/(m² K⁴)\] (CODATA).
///
/// - Source: CODATA 2018, exact in the SI, rounded
pub const STEFAN_BOLTZMANN: f64 = 5.670_374_419e-8;
/// Gas constant of dry air \[J/(kg K)\].
pub const AIR_GAS_CONSTANT: Constant = Constant {
    name: "gas constant of dry air",
    value: 287.05,
    unit: "J/(kg K)",
    range: Range::new(287.0, 287.1),
    source: "R over 28.965 g/mol, textbook, from memory, to be confirmed",
    grade: Grade::Recalled,
};
/// Heat capacity of air in the transfer analogy \[J/(kg K)\]; 1010 within 0.5 % from 20 to 150 °C.
pub const AIR_HEAT_CAPACITY: Constant = Constant {
    name: "heat capacity of air in the transfer analogy",
    value: 1010.0,
    unit: "J/(kg K)",
    range: Range::new(1004.0, 1025.0),
    source: "within 0.5 % from 20 to 150 °C by a reference equation of state (computed)",
    grade: Grade::Computed,
};
/// Le^(−2/3) of the heat and mass transfer analogy (Chilton and Colburn) with Le = 0.86.
///
/// - Units: \[1\]
/// - Source: Chilton and Colburn; Le 0.86 for water vapour in warm air (from memory, to be confirmed; 0.83 at 100
///   °C computed)
pub const LEWIS_FACTOR: f64 = 1.105_777_373_611_413;

/// Vapour transfer coefficient k_m \[m/s\] per kelvin of film temperature: k_m = this · T_f, with
/// T_f = (T_air + T_surface)/2 and k_m = h_c/(ρ_air c_p)·Le^(−2/3).
///
/// - Equation: k_m/T_f = h R_a/(P c_p) · Le^(−2/3), for an ideal gas of density P/(R_a T_f)
/// - Units: h \[W/(m² K)\], result \[m/(s K)\]
/// - Valid: film temperatures of an oven, vapour thin in the air
/// - Source: Chilton and Colburn's analogy; air at 100 °C with h 20 gives 0.0237 m/s with reference properties
///   (computed apart)
///
/// ```
/// use baking::bake::surface::mass_transfer_per_film_kelvin;
/// assert!((373.15 * mass_transfer_per_film_kelvin(20.0) / 0.0237 - 1.0).abs() < 0.08);
/// ```
#[inline(always)]
pub fn mass_transfer_per_film_kelvin(top_w_per_m2_k: f64) -> f64 {
    top_w_per_m2_k * AIR_GAS_CONSTANT.value / (PRESSURE_PA * AIR_HEAT_CAPACITY.value) * LEWIS_FACTOR
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lewis_factor_is_what_it_says() {
        assert!(
            (0.86_f64.powf(-2.0 / 3.0) - LEWIS_FACTOR).abs() < 1e-15,
            "{}",
            0.86_f64.powf(-2.0 / 3.0)
        );
    }

    #[test]
    fn transfer_coefficient_of_the_handbook_case() {
        // Air at 100 °C, h 20 W/m2K: h_m 0.02370 m/s with Le 0.829 (computed from printed air properties).
        let k = mass_transfer_per_film_kelvin(20.0) * 373.15 * (0.829_f64 / 0.86).powf(-2.0 / 3.0);
        assert!((k - 0.0237).abs() < 0.0002, "{k}");
    }
}
