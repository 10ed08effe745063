//! How heavy the dough is: true density, gas, and dry solid per volume.

use super::component::Mixture;
use super::solids::DrySolids;
use measure::{Constant, DryBasis, Grade, Range, WetBasis};
use serde::{Deserialize, Serialize};

/// Share of a formed dough's volume that is gas.
pub const GAS_FRACTION: Constant = Constant {
    name: "gas in the formed dough",
    value: 0.08,
    unit: "m³/m³",
    range: Range::new(0.05, 0.12),
    source: "working assumption for dense sheeted or moulded dough; weigh a cut block of known size to replace it",
    grade: Grade::Assumed,
};

/// Temperature at which densities are told \[°C\].
///
/// - Source: a reference state, chosen here
pub const AT_CELSIUS: f64 = 25.0;

/// How the dough's density is known.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum DoughDensity {
    /// Weighed: mass over volume of a cut piece \[kg/m³\].
    Measured(f64),
    /// From the true densities of the components and a share of gas by volume.
    Gas(f64),
}

/// Density of a dough.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Density {
    /// Of the pore-free dough \[kg/m³\].
    pub true_kg_per_m3: f64,
    /// Of the dough with its gas \[kg/m³\].
    pub dough_kg_per_m3: f64,
    /// Dry solid per volume of dough \[kg/m³\]: what stays in place while water leaves.
    pub dry_solid_kg_per_m3: f64,
    /// Share of the volume that is gas; below zero when a measured density can't be.
    pub porosity: f64,
}

/// Density of a dough with a moisture, at 25 °C.
///
/// - Equation: ρ_dough = ρ_true (1 − gas); ρ_solid = ρ_dough (1 − M); ε = 1 − ρ_dough/ρ_true
/// - Units: M \[kg/kg, wet basis\], densities \[kg/m³\], ε and gas \[1\]
/// - Valid: 25 °C, gas from 0 to under 1
/// - Source: volumes that add up; the true density of the example computed apart from the table of Choi and Okos
///
/// ```
/// use baking::properties::{DoughDensity, DrySolids, density::density};
/// use measure::WetBasis;
/// let solids = DrySolids {
///     protein: 0.09 / 0.70, fat: 0.06 / 0.70, carbohydrate: 0.50 / 0.70, fibre: 0.035 / 0.70, ash: 0.015 / 0.70,
///     sugars: None, salt: None, starch: None,
/// };
/// let dough = density(&solids, WetBasis(0.30), DoughDensity::Gas(0.10));
/// assert!((dough.true_kg_per_m3 - 1277.6).abs() < 0.1);
/// assert!((dough.dry_solid_kg_per_m3 - 1277.6 * 0.9 * 0.7).abs() < 0.1 && (dough.porosity - 0.1).abs() < 1e-12);
/// ```
pub fn density(solids: &DrySolids, moisture: WetBasis, known: DoughDensity) -> Density {
    let true_kg_per_m3 = Mixture::of(solids, moisture.to_dry()).true_density_kg_per_m3(AT_CELSIUS);
    let dough_kg_per_m3 = match known {
        DoughDensity::Measured(value) => value,
        DoughDensity::Gas(gas) => true_kg_per_m3 * (1.0 - gas),
    };
    Density {
        true_kg_per_m3,
        dough_kg_per_m3,
        dry_solid_kg_per_m3: dough_kg_per_m3 * (1.0 - moisture.0),
        porosity: 1.0 - dough_kg_per_m3 / true_kg_per_m3,
    }
}

/// Porosity of the piece when it has dried to X at its dough volume: what the water leaves is gas.
///
/// ε = 1 − ρ_s (1 + X) / ρ_true(X), never below zero, with the true density at 25 °C: the volume
/// stands still.
pub(crate) fn porosity_at(solids: &DrySolids, dry_solid_kg_per_m3: f64, moisture: DryBasis) -> f64 {
    let condensed = Mixture::of(solids, moisture).true_density_kg_per_m3(AT_CELSIUS);
    (1.0 - dry_solid_kg_per_m3 * (1.0 + moisture.0) / condensed).max(0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn gas_and_measured_density_agree() {
        let solids = DrySolids {
            protein: 0.09 / 0.7,
            fat: 0.06 / 0.7,
            carbohydrate: 0.5 / 0.7,
            fibre: 0.035 / 0.7,
            ash: 0.015 / 0.7,
            sugars: None,
            salt: None,
            starch: None,
        };
        let by_gas = density(&solids, WetBasis(0.30), DoughDensity::Gas(0.08));
        // Pore-free dough of this make-up: 1277.6 kg/m³, worked out independently.
        assert!((by_gas.true_kg_per_m3 - 1277.6).abs() < 0.1);
        assert!((by_gas.dough_kg_per_m3 - 1277.6 * 0.92).abs() < 0.1);
        let measured = density(
            &solids,
            WetBasis(0.30),
            DoughDensity::Measured(by_gas.dough_kg_per_m3),
        );
        assert!((measured.porosity - 0.08).abs() < 1e-12);
        let dough_x = WetBasis(0.30).to_dry();
        assert!((porosity_at(&solids, by_gas.dry_solid_kg_per_m3, dough_x) - 0.08).abs() < 1e-12);
        assert!(porosity_at(&solids, by_gas.dry_solid_kg_per_m3, DryBasis(0.03)) > 0.35);
    }
}
