//! Thermal conductivity of the piece while it dries, from its components and its pores.
//!
//! The condensed phase (solids and water) is mixed side by side by volume; the pores are put into
//! it by a porous model. **Maxwell and Eucken with the condensed phase continuous is the default**:
//! it has no factor to fit, it is right for separate gas cells in a dense dough, and its modification
//! by Levy was the best of all over many foods in a published comparison (Fricke and Becker 2001,
//! HVAC&R Research 7(4), abstract seen). Krischer's model fits bread crumb and crust well (Hamdami,
//! Monteau and Le Bail 2004, Food Res. Int. 37:703-713, seen), but needs a share fitted to that
//! material, so it is there for someone who has measured it. Heat carried by vapour that
//! evaporates on one side of a pore and condenses on the other is *not* added: the bake moves that
//! vapour itself, and it would count twice.

use super::air::Air;
use super::component::Mixture;
use super::density::porosity_at;
use super::solids::DrySolids;
use measure::{DryBasis, Range};
use serde::{Deserialize, Serialize};

/// How the pores are put into the condensed phase.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum PorousModel {
    /// Maxwell and Eucken, separate gas cells in a continuous condensed phase.
    MaxwellEucken,
    /// Krischer: a share of the two phases in series, the rest in parallel.
    Krischer {
        /// The share in series, 0 to 1.
        series_share: f64,
    },
}

impl PorousModel {
    /// Conductivity \[W/(m K)\] of a condensed phase k_s with a share ε of gas k_g.
    ///
    /// Maxwell–Eucken: k = k_s \[2k_s + k_g − 2ε(k_s − k_g)\] / \[2k_s + k_g + ε(k_s − k_g)\].
    /// Krischer: 1/k = (1 − f)/k_parallel + f/k_series.
    ///
    /// - Equation: Maxwell–Eucken k_s (2k_s + k_g − 2ε(k_s − k_g))/(2k_s + k_g + ε(k_s − k_g)); Krischer 1/k = (1 −
    ///   f)/k_∥ + f/k_⊥
    /// - Units: conductivities \[W/(m K)\], ε \[1\], f \[1\]
    /// - Valid: ε from 0 to 1; closed pores for Maxwell–Eucken
    /// - Source: textbook forms (from memory, to be confirmed); the examples computed apart
    ///
    /// ```
    /// use baking::properties::conductivity::PorousModel;
    /// let k = PorousModel::MaxwellEucken.conductivity_w_per_m_k(0.28, 0.026, 0.3);
    /// assert!((k - 0.1833).abs() < 5e-5);
    /// let k = PorousModel::Krischer { series_share: 0.3 }.conductivity_w_per_m_k(0.28, 0.026, 0.3);
    /// assert!((k - 0.1308).abs() < 5e-5);
    /// ```
    pub fn conductivity_w_per_m_k(self, condensed: f64, gas: f64, porosity: f64) -> f64 {
        let (s, g, e) = (condensed, gas, porosity);
        match self {
            Self::MaxwellEucken => {
                s * (2.0 * s + g - 2.0 * e * (s - g)) / (2.0 * s + g + e * (s - g))
            }
            Self::Krischer { series_share: f } => {
                let parallel = (1.0 - e) * s + e * g;
                let series = 1.0 / ((1.0 - e) / s + e / g);
                1.0 / ((1.0 - f) / parallel + f / series)
            }
        }
    }
}

/// Conductivity \[W/(m K)\] of a piece at X and θ \[°C\], at the volume of its dough.
///
/// - Equation: the porous model with Σ vᵢ kᵢ as solid and dry air as gas
/// - Units: density \[kg dry solid per m³\], X \[kg/kg dry solid\], θ \[°C\], k \[W/(m K)\]
/// - Valid: 20 to 150 °C
/// - Source: forms as named beside the models; without pores it is the parallel model, 0.250 W/(m K) of a biscuit
///   computed apart
///
/// ```
/// use baking::properties::conductivity::{PorousModel, conductivity_w_per_m_k};
/// use baking::properties::DrySolids;
/// use measure::DryBasis;
/// let solids = DrySolids {
///     protein: 0.122 / 0.95, fat: 0.081 / 0.95, carbohydrate: 0.679 / 0.95, fibre: 0.048 / 0.95, ash: 0.020 / 0.95,
///     sugars: None, salt: None, starch: None,
/// };
/// // A biscuit of 5 % moisture of true density 1422 kg/m³, as if it had no pores.
/// let k = conductivity_w_per_m_k(&solids, 0.95 * 1422.0, DryBasis(0.05 / 0.95), 25.0, PorousModel::MaxwellEucken);
/// assert!((k - 0.250).abs() < 1e-3, "{k}");
/// ```
pub fn conductivity_w_per_m_k(
    solids: &DrySolids,
    dry_solid_kg_per_m3: f64,
    moisture: DryBasis,
    celsius: f64,
    model: PorousModel,
) -> f64 {
    let condensed = Mixture::of(solids, moisture).parallel_conductivity_w_per_m_k(celsius);
    let gas = Air::at(celsius + measure::temperature::ZERO_CELSIUS_K).conductivity_w_per_m_k;
    let porosity = porosity_at(solids, dry_solid_kg_per_m3, moisture);
    model.conductivity_w_per_m_k(condensed, gas, porosity)
}

/// The form the bake uses, k = Σ a\[i\]\[j\] Xⁱ θʲ, i ≤ 2, j ≤ 1, with how well it fits.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Fitted {
    /// Coefficients \[W/(m K)\], `a[i]\[j\]` for Xⁱ θʲ, θ in °C.
    pub a: [[f64; 2]; 3],
    /// Largest relative difference from the porous model, at the points of the fit.
    pub largest_relative_error: f64,
    /// Working range of X \[kg/kg\].
    pub moisture: Range,
    /// Working range of θ \[°C\].
    pub celsius: Range,
}

impl Fitted {
    /// The fitted conductivity \[W/(m K)\].
    ///
    /// - Equation: k = Σᵢ Xⁱ (aᵢ₀ + aᵢ₁ θ)
    /// - Units: X \[kg/kg dry solid\], θ \[°C\], k \[W/(m K)\]
    /// - Valid: the range of the fit
    /// - Source: an identity of the form; the example by hand
    ///
    /// ```
    /// use baking::properties::conductivity::{PorousModel, fit};
    /// use baking::properties::DrySolids;
    /// use measure::DryBasis;
    /// let solids = DrySolids {
    ///     protein: 0.13, fat: 0.08, carbohydrate: 0.71, fibre: 0.05, ash: 0.03,
    ///     sugars: None, salt: None, starch: None,
    /// };
    /// let mut k = fit(&solids, 850.0, DryBasis(0.45), PorousModel::MaxwellEucken);
    /// k.a = [[0.1, 0.001], [0.2, 0.0], [0.0, 0.0]];
    /// assert!((k.at(DryBasis(0.5), 100.0) - 0.3).abs() < 1e-12);
    /// ```
    pub fn at(&self, moisture: DryBasis, celsius: f64) -> f64 {
        self.a
            .iter()
            .rev()
            .fold(0.0, |sum, [c, t]| sum * moisture.0 + c + t * celsius)
    }
}

/// Temperatures of the working range \[°C\]; the components' polynomials end at 150 °C.
pub const WORKING_CELSIUS: Range = Range::new(20.0, 150.0);

/// Fits the bake's form to the porous model by least squares on relative differences, over X from
/// bone dry to a little above the dough's and θ from 20 to 150 °C.
///
/// - Equation: least squares of relative differences over 13 moistures and 6 temperatures
/// - Units: density \[kg dry solid per m³\], X \[kg/kg dry solid\], k \[W/(m K)\]
/// - Valid: X up to 1.15 of the dough's, 20 to 150 °C
/// - Source: linear least squares; its own greatest miss is handed back
///
/// ```
/// use baking::properties::conductivity::{PorousModel, conductivity_w_per_m_k, fit};
/// use baking::properties::DrySolids;
/// use measure::DryBasis;
/// let solids = DrySolids {
///     protein: 0.13, fat: 0.08, carbohydrate: 0.71, fibre: 0.05, ash: 0.03,
///     sugars: None, salt: None, starch: None,
/// };
/// let (model, dough) = (PorousModel::MaxwellEucken, DryBasis(0.45));
/// let (fitted, there) = (fit(&solids, 850.0, dough, model), DryBasis(0.20));
/// let wanted = conductivity_w_per_m_k(&solids, 850.0, there, 80.0, model);
/// assert!((fitted.at(there, 80.0) / wanted - 1.0).abs() < 0.03);
/// ```
pub fn fit(
    solids: &DrySolids,
    dry_solid_kg_per_m3: f64,
    dough: DryBasis,
    model: PorousModel,
) -> Fitted {
    const ACROSS: usize = 13;
    const ALONG: usize = 6;
    let moisture = Range::new(0.0, (1.15 * dough.0).max(0.05));
    let points = || {
        (0..ACROSS).flat_map(move |i| {
            (0..ALONG).map(move |j| {
                let x = moisture.high * i as f64 / (ACROSS - 1) as f64;
                let share = j as f64 / (ALONG - 1) as f64;
                (
                    x,
                    WORKING_CELSIUS.low + share * (WORKING_CELSIUS.high - WORKING_CELSIUS.low),
                )
            })
        })
    };
    let k = |x, c| conductivity_w_per_m_k(solids, dry_solid_kg_per_m3, DryBasis(x), c, model);
    // Both variables scaled to 0..1, so that the normal equations are well conditioned.
    let basis = |x: f64, c: f64| {
        let (u, t) = (x / moisture.high, c / WORKING_CELSIUS.high);
        [1.0, t, u, u * t, u * u, u * u * t]
    };
    let mut normal = [[0.0; 7]; 6];
    for (x, c) in points() {
        let value = k(x, c);
        let row = basis(x, c).map(|b| b / value);
        for (i, equation) in normal.iter_mut().enumerate() {
            for (j, entry) in row.iter().enumerate() {
                equation[j] += row[i] * entry;
            }
            equation[6] += row[i];
        }
    }
    let solved = solve(normal);
    let mut a = [[0.0; 2]; 3];
    for (i, pair) in a.iter_mut().enumerate() {
        for (j, coefficient) in pair.iter_mut().enumerate() {
            *coefficient = solved[2 * i + j]
                / moisture.high.powi(i as i32)
                / WORKING_CELSIUS.high.powi(j as i32);
        }
    }
    let mut fitted = Fitted {
        a,
        largest_relative_error: 0.0,
        moisture,
        celsius: WORKING_CELSIUS,
    };
    fitted.largest_relative_error = points()
        .map(|(x, c)| (fitted.at(DryBasis(x), c) / k(x, c) - 1.0).abs())
        .fold(0.0, f64::max);
    fitted
}

/// Gauss elimination with pivoting; the last column is the right-hand side.
fn solve(mut m: [[f64; 7]; 6]) -> [f64; 6] {
    for column in 0..6 {
        let pivot = (column..6)
            .max_by(|&a, &b| m[a][column].abs().total_cmp(&m[b][column].abs()))
            .unwrap_or(column);
        m.swap(column, pivot);
        let upper = m[column];
        for row in m.iter_mut().skip(column + 1) {
            let factor = row[column] / upper[column];
            for (entry, above) in row.iter_mut().zip(upper) {
                *entry -= factor * above;
            }
        }
    }
    let mut x = [0.0; 6];
    for i in (0..6).rev() {
        let known: f64 = (i + 1..6).map(|j| m[i][j] * x[j]).sum();
        x[i] = (m[i][6] - known) / m[i][i];
    }
    x
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::properties::density::{DoughDensity, density};
    use measure::WetBasis;

    /// Both models against values worked out independently (k_s 0.28, k_g 0.026).
    #[test]
    fn porous_models() {
        for (e, maxwell, krischer) in [
            (0.1, 0.2451, 0.2054),
            (0.3, 0.1833, 0.1308),
            (0.5, 0.1304, 0.0919),
        ] {
            assert!(
                (PorousModel::MaxwellEucken.conductivity_w_per_m_k(0.28, 0.026, e) - maxwell).abs()
                    < 6e-5
            );
            let k =
                PorousModel::Krischer { series_share: 0.3 }.conductivity_w_per_m_k(0.28, 0.026, e);
            assert!((k - krischer).abs() < 6e-5);
        }
    }

    #[test]
    fn the_fit_is_close_and_moisture_raises_it() {
        for (protein, fat, carbohydrate, fibre, ash, wet) in [
            (0.13, 0.08, 0.71, 0.05, 0.03, 0.30),
            (0.25, 0.15, 0.40, 0.15, 0.05, 0.36),
            (0.08, 0.02, 0.86, 0.02, 0.02, 0.20),
        ] {
            let solids = DrySolids {
                protein,
                fat,
                carbohydrate,
                fibre,
                ash,
                sugars: None,
                salt: None,
                starch: None,
            };
            let dough = density(&solids, WetBasis(wet), DoughDensity::Gas(0.08));
            let (rho_s, x) = (dough.dry_solid_kg_per_m3, WetBasis(wet).to_dry().0);
            for model in [
                PorousModel::MaxwellEucken,
                PorousModel::Krischer { series_share: 0.2 },
            ] {
                let fitted = fit(&solids, rho_s, DryBasis(x), model);
                let error = fitted.largest_relative_error;
                let allowed = if model == PorousModel::MaxwellEucken {
                    0.05
                } else {
                    0.10
                };
                assert!(error < allowed, "{model:?} {error}");
                assert!(fitted.at(DryBasis(x), 90.0) > fitted.at(DryBasis(0.02), 90.0));
                assert!(fitted.at(DryBasis(0.0), 200.0) > 0.0);
            }
        }
    }
}
