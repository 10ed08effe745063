//! Water: saturation, and the diffusivity of its vapour in air.

/// IF97 region 4 coefficients n1 to n10 (IAPWS R7-97, table 34).
///
/// - Units: for temperatures in \[K\] and pressures in \[MPa\]
/// - Source: IAPWS-IF97, region 4, as named
const N: [f64; 10] = [
    0.116_705_214_527_67e4,
    -0.724_213_167_032_06e6,
    -0.170_738_469_400_92e2,
    0.120_208_247_024_70e5,
    -0.323_255_503_223_33e7,
    0.149_151_086_135_30e2,
    -0.482_326_573_615_91e4,
    0.405_113_405_420_57e6,
    -0.238_555_575_678_49,
    0.650_175_348_447_98e3,
];

/// Standard atmosphere \[Pa\], exact by definition.
pub use crate::bake::surface::PRESSURE_PA as STANDARD_PRESSURE_PA;

/// Saturation pressure of water \[Pa\] at T \[K\], 273.15 to 647 K (IAPWS-IF97, region 4).
///
/// - Equation: the quartic of region 4
/// - Units: T \[K\], p \[Pa\]
/// - Valid: 273.15 to 647 K
/// - Source: IAPWS-IF97, equation 30; the examples by another program of the same standard
///
/// ```
/// use baking::properties::water::saturation_pressure_pa;
/// assert!((saturation_pressure_pa(373.15) / 101_417.98 - 1.0).abs() < 1e-6);
/// assert!((saturation_pressure_pa(473.15) / 1_554_671.9 - 1.0).abs() < 1e-6);
/// ```
pub fn saturation_pressure_pa(temperature_k: f64) -> f64 {
    let t = temperature_k + N[8] / (temperature_k - N[9]);
    let a = t * t + N[0] * t + N[1];
    let b = N[2] * t * t + N[3] * t + N[4];
    let c = N[5] * t * t + N[6] * t + N[7];
    let root = (b * b - 4.0 * a * c).sqrt();
    (2.0 * c / (root - b)).powi(4) * 1e6
}

/// Temperature \[K\] at which water of a pressure \[Pa\] boils, 611 Pa to 22 MPa (IAPWS-IF97,
/// region 4 backward equation).
///
/// - Equation: the backward equation of region 4
/// - Units: p \[Pa\], T \[K\]
/// - Valid: 611 Pa to 22 MPa
/// - Source: IAPWS-IF97, equation 31; the example by another program of the same standard
///
/// ```
/// use baking::properties::water::saturation_temperature_k;
/// assert!((saturation_temperature_k(101_325.0) - 273.15 - 99.974).abs() < 1e-3);
/// ```
pub fn saturation_temperature_k(pressure_pa: f64) -> f64 {
    let beta = (pressure_pa / 1e6).powf(0.25);
    let e = beta * beta + N[2] * beta + N[5];
    let f = N[0] * beta * beta + N[3] * beta + N[6];
    let g = N[1] * beta * beta + N[4] * beta + N[7];
    let d = 2.0 * g / (-f - (f * f - 4.0 * e * g).sqrt());
    let s = N[9] + d;
    (s - (s * s - 4.0 * (N[8] + N[9] * d)).sqrt()) / 2.0
}

/// Diffusivity of water vapour in air \[m²/s\] by Marrero and Mason 1972 (J. Phys. Chem. Ref. Data
/// 1:3; from memory): 1.87e-10 T^2.072 / (P in atm), 282 to 450 K.
///
/// - Equation: D = 1.87e-10 T^2.072/P, P in atmospheres
/// - Units: T \[K\], P \[Pa\], D \[m²/s\]
/// - Valid: 282 to 450 K
/// - Source: Marrero and Mason 1972, from memory, to be confirmed; the example by hand
///
/// ```
/// use baking::properties::water::vapour_diffusivity_marrero_mason;
/// let d = vapour_diffusivity_marrero_mason(373.15, 101_325.0);
/// assert!((d - 3.988e-5).abs() < 1e-8);
/// ```
pub fn vapour_diffusivity_marrero_mason(temperature_k: f64, pressure_pa: f64) -> f64 {
    1.87e-10 * temperature_k.powf(2.072) * STANDARD_PRESSURE_PA / pressure_pa
}

/// Diffusivity of water vapour in air \[m²/s\] by Massman 1998 (from memory):
/// 2.178e-5 (T/273.15)^1.81 · P0/P.
///
/// The two correlations part by 10 % at 200 °C; all four in common use by 20 %. That is the
/// honest uncertainty.
///
/// - Equation: D = 2.178e-5 (T/273.15)^1.81 P₀/P
/// - Units: T \[K\], P \[Pa\], D \[m²/s\]
/// - Valid: 273 to 373 K; an extrapolation in an oven
/// - Source: Massman 1998, from memory, to be confirmed; the example by hand
///
/// ```
/// use baking::properties::water::vapour_diffusivity_massman;
/// let d = vapour_diffusivity_massman(373.15, 101_325.0);
/// assert!((d - 3.831e-5).abs() < 1e-8);
/// ```
pub fn vapour_diffusivity_massman(temperature_k: f64, pressure_pa: f64) -> f64 {
    2.178e-5 * (temperature_k / 273.15).powf(1.81) * STANDARD_PRESSURE_PA / pressure_pa
}

#[cfg(test)]
mod tests {
    use super::*;

    /// IF97 values computed with an independent program.
    #[test]
    fn saturation_pressure_table() {
        let table = [
            (0.01, 611.66),
            (20.0, 2339.21),
            (25.0, 3169.75),
            (40.0, 7384.43),
            (60.0, 19_945.80),
            (80.0, 47_414.72),
            (100.0, 101_417.98),
            (120.0, 198_665.4),
            (150.0, 476_101.4),
            (180.0, 1_002_634.6),
            (200.0, 1_554_671.9),
        ];
        for (celsius, pa) in table {
            let k = measure::temperature::kelvin(celsius);
            assert!(
                (saturation_pressure_pa(k) / pa - 1.0).abs() < 1e-5,
                "{celsius}"
            );
            assert!((saturation_temperature_k(saturation_pressure_pa(k)) - k).abs() < 1e-6);
        }
    }

    #[test]
    fn diffusivity_table() {
        let table = [
            (25.0, 2.505e-5, 2.552e-5),
            (50.0, 2.960e-5, 2.953e-5),
            (150.0, 5.175e-5, 4.810e-5),
            (200.0, 6.523e-5, 5.887e-5),
        ];
        for (celsius, marrero, massman) in table {
            let k = celsius + 273.15;
            assert!(
                (vapour_diffusivity_marrero_mason(k, STANDARD_PRESSURE_PA) - marrero).abs()
                    < 1.2e-8
            );
            assert!((vapour_diffusivity_massman(k, STANDARD_PRESSURE_PA) - massman).abs() < 1.2e-8);
        }
    }
}
