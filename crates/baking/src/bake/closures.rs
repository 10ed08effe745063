//! The closures of the model: how heat capacity, conductivity, vapour pressure and transport
//! follow from moisture and temperature.

use super::isotherm::Isotherm;
use serde::Serialize;

/// Everything about the material that the balances need.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Closures {
    /// Heat capacity of the dry solid c_s \[J/(kg K)\].
    pub solid_heat_capacity_j_per_kg_k: f64,
    /// Heat capacity of liquid water c_w \[J/(kg K)\].
    pub water_heat_capacity_j_per_kg_k: f64,
    /// Thermal conductivity of the whole.
    pub conductivity: Conductivity,
    /// Saturation pressure of water.
    pub saturation: SaturationPressure,
    /// Heat of evaporation.
    pub latent_heat: LatentHeat,
    /// Water activity over moisture and temperature.
    pub isotherm: Isotherm,
    /// Movement of liquid and bound water.
    pub liquid: LiquidDiffusivity,
    /// Movement of vapour through the crumb.
    pub vapour: VapourTransport,
    /// Emissivity of the surface for heat radiation, 0 to 1.
    pub emissivity: f64,
    /// Whether the dough has neither sugar, polyols nor much salt: only then its wet phase counts by the quick laws of
    /// plain doughs. It moves neither heat nor water.
    pub plain_dough: bool,
}

/// Thermal conductivity k = Σ aᵢⱼ Xⁱ θʲ \[W/(m K)\], X moisture on dry solid, θ in °C.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Conductivity {
    /// aᵢⱼ with i the power of X (0 to 2) and j that of θ (0 or 1).
    pub a: [[f64; 2]; 3],
    /// k is never taken below this \[W/(m K)\]; still air is 0.026.
    pub floor_w_per_m_k: f64,
}

impl Conductivity {
    /// k = k₀ + k₁·X.
    pub fn linear(k0: f64, k1: f64) -> Self {
        Self {
            a: [[k0, 0.0], [k1, 0.0], [0.0, 0.0]],
            floor_w_per_m_k: 0.02,
        }
    }

    /// k \[W/(m K)\] at moisture X \[kg/kg dry solid\] and θ \[°C\].
    ///
    /// - Equation: k = max(Σᵢ Xⁱ (aᵢ₀ + aᵢ₁ θ), floor)
    /// - Units: X \[kg/kg dry solid\], θ \[°C\], k \[W/(m K)\]
    /// - Valid: over the moistures and temperatures of the fit; the floor beyond
    /// - Source: form chosen here (quadratic in X, straight in θ), no source; the example is arithmetic: 0.17 + 0.4
    ///   · 0.45
    ///
    /// ```
    /// let k = baking::bake::Conductivity::linear(0.17, 0.4);
    /// assert!((k.at(0.45, 60.0) - 0.35).abs() < 1e-12);
    /// ```
    pub fn at(&self, moisture: f64, celsius: f64) -> f64 {
        let row = |i: usize| self.a[i][0] + self.a[i][1] * celsius;
        (row(0) + moisture * (row(1) + moisture * row(2))).max(self.floor_w_per_m_k)
    }
}

/// Saturation pressure of water: ln p = c₋₁/T + c₀ + c₁T + c₂T² + c₃T³ + c_l ln T (p in Pa, T in K).
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct SaturationPressure {
    /// c₋₁ \[K\].
    pub over_t: f64,
    /// c₀, c₁, c₂, c₃: powers 0 to 3 of T.
    pub powers: [f64; 4],
    /// Factor of ln T.
    pub of_ln_t: f64,
}

impl SaturationPressure {
    /// Over liquid water, 0 to 200 °C: the equation of Hyland and Wexler (1983) as ASHRAE prints it;
    /// coefficients from memory, checked to 0.02 % against IAPWS values from 0 to 200 °C.
    pub const HYLAND_WEXLER: Self = Self {
        over_t: -5.800_220_6e3,
        powers: [
            1.391_499_3,
            -4.864_023_9e-2,
            4.176_476_8e-5,
            -1.445_209_3e-8,
        ],
        of_ln_t: 6.545_967_3,
    };

    /// exp(77.345 + 0.0057 T − 7235/T)/T^8.2: simple form used by the reference cases.
    pub const SIMPLE: Self = Self {
        over_t: -7235.0,
        powers: [77.345, 0.0057, 0.0, 0.0],
        of_ln_t: -8.2,
    };

    /// p_sat \[Pa\] at T \[K\].
    ///
    /// Check: 101 418 Pa at 100 °C (IAPWS).
    ///
    /// - Equation: ln p = c₋₁/T + c₀ + c₁ T + c₂ T² + c₃ T³ + c₄ ln T
    /// - Units: T \[K\], p \[Pa\]
    /// - Valid: 0 to 200 °C
    /// - Source: Hyland and Wexler 1983 as in the ASHRAE Handbook—Fundamentals (from memory, to be confirmed); the
    ///   example against IAPWS
    ///
    /// ```
    /// let p = baking::bake::SaturationPressure::HYLAND_WEXLER.pascal(373.15);
    /// assert!((p / 101_418.0 - 1.0).abs() < 1e-4);
    /// ```
    pub fn pascal(&self, kelvin: f64) -> f64 {
        let [c0, c1, c2, c3] = self.powers;
        (self.over_t / kelvin
            + c0
            + kelvin * (c1 + kelvin * (c2 + kelvin * c3))
            + self.of_ln_t * kelvin.ln())
        .exp()
    }
}

/// Heat of evaporation λ = l₀ + l₁θ + l₂θ² \[J/kg\], θ in °C.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct LatentHeat {
    /// Coefficients l₀, l₁, l₂.
    pub l: [f64; 3],
}

impl LatentHeat {
    /// Least-squares parabola through the IAPWS heat of evaporation at eleven temperatures from 0 to
    /// 200 °C; largest error 0.23 %.
    pub const IAPWS_FIT: Self = Self {
        l: [2_496_310.20, -2_043.527_33, -3.585_769_47],
    };

    /// λ \[J/kg\] at θ \[°C\].
    ///
    /// Check: 2256.4 kJ/kg at 100 °C (IAPWS).
    ///
    /// - Equation: λ = l₀ + l₁ θ + l₂ θ²
    /// - Units: θ \[°C\], λ \[J/kg\]
    /// - Valid: 0 to 200 °C, within 0.23 %
    /// - Source: fitted here to IAPWS-IF97; the example is its value at 100 °C
    ///
    /// ```
    /// let l = baking::bake::LatentHeat::IAPWS_FIT.j_per_kg(100.0);
    /// assert!((l / 2_256_400.0 - 1.0).abs() < 0.0023);
    /// ```
    pub fn j_per_kg(&self, celsius: f64) -> f64 {
        self.l[0] + celsius * (self.l[1] + celsius * self.l[2])
    }
}

/// Liquid diffusivity D_l = D₀ exp(−E/R (1/T − 1/T_ref) + b·X)·g(X) \[m²/s\], g the fall at the dry end.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct LiquidDiffusivity {
    /// D₀ \[m²/s\] at the reference temperature; with a dry end that of the wet dough, without one that at X → 0.
    pub d0_m2_per_s: f64,
    /// Activation energy E \[J/mol\].
    pub activation_j_per_mol: f64,
    /// Reference temperature \[K\].
    pub reference_k: f64,
    /// Exponent b of moisture.
    pub moisture_exponent: f64,
    /// The fall at the dry end; none leaves g = 1.
    pub dry_end: Option<DryEnd>,
}

/// How liquid water stops moving as the solid dries: g = 1 − exp(−(X/X_c)^n), nought at X ≤ 0.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct DryEnd {
    /// X_c \[kg/kg dry solid\], above 0: below about this much the liquid is held.
    pub moisture: f64,
    /// n, at least 1: how sharply.
    pub power: f64,
}

impl DryEnd {
    /// The fall with X_c and n; an X_c of 0 is none.
    pub fn of(moisture: f64, power: f64) -> Option<Self> {
        (moisture != 0.0).then_some(Self { moisture, power })
    }

    /// g at moisture X \[kg/kg dry solid\].
    ///
    /// - Equation: g = 1 − exp(−(X/X_c)ⁿ)
    /// - Units: X and X_c \[kg/kg dry solid\], n and g \[1\]
    /// - Valid: X from 0; n 1 to 4
    /// - Source: form chosen for a fit of thirty published pairs at once (docs/model/transport.md)
    ///
    /// ```
    /// use baking::bake::DryEnd;
    /// // At X_c it is 1 − 1/e whatever the exponent; a wet crumb isn't slowed.
    /// let dry = DryEnd::of(0.10, 2.8).expect("both above 0");
    /// assert!((dry.factor(0.10) - (1.0 - (-1.0_f64).exp())).abs() < 1e-12);
    /// assert!((dry.factor(0.40) - 1.0).abs() < 1e-9 && dry.factor(0.0) == 0.0);
    /// ```
    pub fn factor(&self, moisture: f64) -> f64 {
        -(-(moisture.max(0.0) / self.moisture).powf(self.power)).exp_m1()
    }
}

impl LiquidDiffusivity {
    /// D_l \[m²/s\] at moisture X \[kg/kg dry solid\] and T \[K\].
    ///
    /// Check: 8.025e-11 m²/s at 60 °C and X 0.05 with D₀ 6e-10, E 31 kJ/mol, X_c 0.10 and n 2.8 (computed apart).
    ///
    /// - Equation: D = D₀ exp(E/R (1/T_r − 1/T) + b X) g(X), g of the dry end
    /// - Units: X \[kg/kg dry solid\], T \[K\], D \[m²/s\], E \[J/mol\]
    /// - Valid: X 0 to 0.5, 20 to 150 °C
    /// - Source: form usual for doughs and pasta (Arrhenius), dry end from a fit of published pairs; the example
    ///   computed apart
    ///
    /// ```
    /// use baking::bake::{DryEnd, LiquidDiffusivity};
    /// let law = LiquidDiffusivity {
    ///     d0_m2_per_s: 6e-10, activation_j_per_mol: 31_000.0, reference_k: 333.15,
    ///     moisture_exponent: 0.0, dry_end: DryEnd::of(0.10, 2.8),
    /// };
    /// assert!((law.m2_per_s(0.05, 333.15) / 8.025e-11 - 1.0).abs() < 1e-4);
    /// ```
    pub fn m2_per_s(&self, moisture: f64, kelvin: f64) -> f64 {
        let warmth = self.activation_j_per_mol / super::surface::GAS_CONSTANT
            * (1.0 / self.reference_k - 1.0 / kelvin);
        let wet = self.d0_m2_per_s * (warmth + self.moisture_exponent * moisture).exp();
        wet * self.dry_end.map_or(1.0, |dry| dry.factor(moisture))
    }
}

/// Vapour through the crumb: diffusion (which Stefan flow helps) in series with flow by pressure.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct VapourTransport {
    /// Porosity over tortuosity, the share of free-air diffusion that is left.
    pub porosity_over_tortuosity: f64,
    /// Permeability κ \[m²\].
    pub permeability_m2: f64,
    /// Knudsen (slip) diffusivity \[m²/s\].
    pub knudsen_m2_per_s: f64,
    /// Smoothing δ of the passage through boiling, as a share of the pressure.
    pub smoothing: f64,
}

impl VapourTransport {
    /// K_v = D_e M_w/(R T) \[kg/(m s Pa)\] at a vapour pressure \[Pa\] and T \[K\], as the balances take it.
    ///
    /// - Equation: K = D_e M_w/(R T), D_e from D ε/τ widened by the flow of pressure, 2.26e-5 (T/273.15)^1.81 for D
    /// - Units: vapour pressure \[Pa\], T \[K\], K \[kg/(m s Pa)\]
    /// - Valid: 20 to 200 °C; the pressure-driven part takes over as vapour reaches the pressure of the room
    /// - Source: diffusivity after Massman 1998 (from memory, to be confirmed); the joining with pressure-driven
    ///   flow is chosen here
    ///
    /// ```
    /// use baking::bake::VapourTransport;
    /// let crumb = VapourTransport {
    ///     porosity_over_tortuosity: 0.01, permeability_m2: 1e-13, knudsen_m2_per_s: 0.0, smoothing: 0.01,
    /// };
    /// // Nearly dry at 25 °C: 0.01 times free air, 2.65e-5 m²/s, over 461.5 J/(kg K) and T.
    /// let k = crumb.kg_per_m_s_pa(100.0, 298.15);
    /// assert!((k / (2.65e-7 / (461.5 * 298.15)) - 1.0).abs() < 0.01);
    /// ```
    pub fn kg_per_m_s_pa(&self, vapour_pa: f64, kelvin: f64) -> f64 {
        use super::surface::{GAS_CONSTANT, PRESSURE_PA, WATER_MOLAR_MASS};
        let free = self.porosity_over_tortuosity * 2.26e-5 * (kelvin / 273.15).powf(1.81);
        let gap = 1.0 - vapour_pa / PRESSURE_PA;
        let air = 0.5 * (gap + gap.hypot(self.smoothing));
        let viscosity = 1.23e-5 * kelvin / 373.15;
        let by_pressure = self.knudsen_m2_per_s
            + self.permeability_m2 * PRESSURE_PA * (1.0 - gap + air) / viscosity;
        free * by_pressure / (air * by_pressure + free).max(f64::MIN_POSITIVE) * WATER_MOLAR_MASS
            / (GAS_CONSTANT * kelvin)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// IAPWS-IF97 saturation pressure \[Pa\] and heat of evaporation \[kJ/kg\], computed with open libraries.
    const IAPWS: [(f64, f64, f64); 11] = [
        (0.01, 611.66, 2500.91),
        (20.0, 2339.21, 2453.52),
        (25.0, 3169.75, 2441.68),
        (40.0, 7384.43, 2405.98),
        (60.0, 19_945.80, 2357.65),
        (80.0, 47_414.72, 2308.00),
        (100.0, 101_417.98, 2256.40),
        (120.0, 198_665.4, 2202.11),
        (150.0, 476_101.4, 2113.75),
        (180.0, 1_002_634.6, 2014.16),
        (200.0, 1_554_671.9, 1939.74),
    ];

    #[test]
    fn saturation_and_latent_heat_to_200_celsius() {
        for (celsius, pascal, kj) in IAPWS {
            let p = SaturationPressure::HYLAND_WEXLER.pascal(celsius + 273.15);
            assert!((p / pascal - 1.0).abs() < 3e-4, "{celsius} {p}");
            let l = LatentHeat::IAPWS_FIT.j_per_kg(celsius);
            assert!((l / (kj * 1e3) - 1.0).abs() < 2.3e-3, "{celsius} {l}");
        }
    }
}
