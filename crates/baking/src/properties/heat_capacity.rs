//! Heat capacity of the dry solid, as the bake uses it: one mean value.

use super::component::{self, Mixture};
use super::solids::DrySolids;
use measure::{Constant, DryBasis, Grade, Range};

/// Temperatures over which the mean is taken \[°C\].
pub const MEAN_OVER_CELSIUS: Range = Range::new(25.0, 120.0);

/// The factor a user may set on the computed heat capacity.
///
/// Against measured values the polynomials over-predict dry cereal solids by about a tenth (flour
/// with 12 to 13.5 % water 1.80 to 1.88 measured, 2.02 computed; air-dried peas 14 %), so 0.9 is a
/// fair setting for a lean cereal biscuit. The default leaves the published polynomials alone.
pub const FACTOR: Constant = Constant {
    name: "factor on the heat capacity of the dry solid",
    value: 1.0,
    unit: "1",
    range: Range::new(0.8, 1.1),
    source: "1 leaves the polynomials as published; measured flour, pasta and dried peas lie 8 to 14 % lower",
    grade: Grade::Assumed,
};

/// Mean heat capacity of the dry solid between 25 and 120 °C \[J/(kg K)\], times a factor.
///
/// - Equation: c = f Σ xᵢ c̄ᵢ(25 to 120 °C)
/// - Units: c \[J/(kg K)\], f \[1\]
/// - Valid: dry solid; f from 0.5 to 1.5
/// - Source: Choi and Okos 1986 (coefficients seen), worked out by hand in the example
///
/// ```
/// use baking::properties::{heat_capacity::solid_heat_capacity_j_per_kg_k, solids::DrySolids};
/// let solids = DrySolids {
///     protein: 0.0, fat: 0.0, carbohydrate: 1.0, fibre: 0.0, ash: 0.0,
///     sugars: None, salt: None, starch: None,
/// };
/// // Carbohydrate: 1548.8 + 1.9625·72.5 − 0.0059399·(25² + 25·120 + 120²)/3
/// let c = solid_heat_capacity_j_per_kg_k(&solids, 1.0);
/// assert!((c - 1655.39).abs() < 0.05);
/// ```
pub fn solid_heat_capacity_j_per_kg_k(solids: &DrySolids, factor: f64) -> f64 {
    let Range { low, high } = MEAN_OVER_CELSIUS;
    factor * Mixture::of(solids, DryBasis(0.0)).mean_heat_capacity_j_per_kg_k(low, high)
}

/// Where the value comes from.
pub const SOURCE: &str = component::SOURCE;
