//! What a label promises holds to the end of shelf life, not on the day of packing: a pack lets
//! moisture in or out, and everything else is diluted or gathered by it.

use super::guarantee::{Bound, Guarantee, Margin, guarantee};
use crate::composition::Nutrient;
use crate::nutrition::Nutrition;
use measure::WetBasis;
use serde::Serialize;

/// The moisture of a treat from packing to the end of its shelf life.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Kept {
    /// As packed.
    pub packed: WetBasis,
    /// The driest that it gets.
    pub driest: WetBasis,
    /// The wettest that it gets.
    pub wettest: WetBasis,
}

impl Kept {
    /// A treat that keeps its moisture: what is known on the day of packing.
    pub const fn as_packed(packed: WetBasis) -> Self {
        Self {
            packed,
            driest: packed,
            wettest: packed,
        }
    }

    /// From packing to a moisture at the end, which the pack approaches from one side.
    pub fn until(packed: WetBasis, end: WetBasis) -> Self {
        Self {
            packed,
            driest: WetBasis(packed.0.min(end.0)),
            wettest: WetBasis(packed.0.max(end.0)),
        }
    }
}

/// What a mass, a share or an energy per kg turns by from one moisture to another: the dry matter
/// is what stays, so a share goes with 1 − moisture and the mass of a piece against it.
///
/// - Equation: f = (1 − M)/(1 − M′)
/// - Units: moistures \[kg/kg, wet basis\], f \[1\]
/// - Valid: moistures under 1
/// - Source: an identity of dry matter
///
/// ```
/// use formula::label::kept::mass_factor;
/// use measure::WetBasis;
/// let (packed, end) = (WetBasis(0.08), WetBasis(0.102_44));
/// // 8 % moisture that becomes 10.24 % make the pack 2.5 % heavier and the energy per kg as much less.
/// assert!((mass_factor(packed, end) - 1.025).abs() < 1e-4);
/// assert!((mass_factor(packed, end) * mass_factor(end, packed) - 1.0).abs() < 1e-12);
/// ```
pub fn mass_factor(from: WetBasis, to: WetBasis) -> f64 {
    (1.0 - from.0) / (1.0 - to.0)
}

/// The other way round: what a share of the whole turns by, see [`mass_factor`].
pub(crate) fn share_factor(from: WetBasis, to: WetBasis) -> f64 {
    (1.0 - to.0) / (1.0 - from.0)
}

/// Crude protein min, crude fat min, crude fibre max, moisture max, in the order of a label, from
/// formula values alone, as packed; [`guaranteed_analysis_kept`] holds to the end of shelf life. Use
/// [`guarantee`] for each nutrient that was analysed in lots.
///
/// A constituent that isn't known of every material has a least but no most, so no `Max` is given for it.
pub fn guaranteed_analysis(nutrition: &Nutrition) -> Vec<Guarantee> {
    guaranteed_analysis_kept(nutrition, &Kept::as_packed(nutrition.moisture))
}

/// Crude protein min, crude fat min, crude fibre max, moisture max, in the order of a label, each at
/// the moisture at which it is hardest to keep: protein and fat at the wettest, fibre at the driest,
/// moisture at the wettest. The margin between lots comes on top.
///
/// `nutrition` is as packed; a constituent that isn't known of every material has a least but no most,
/// so no `Max` is given for it.
pub fn guaranteed_analysis_kept(nutrition: &Nutrition, kept: &Kept) -> Vec<Guarantee> {
    [
        (Nutrient::CrudeProtein, Bound::Min),
        (Nutrient::CrudeFat, Bound::Min),
        (Nutrient::CrudeFibre, Bound::Max),
        (Nutrient::Moisture, Bound::Max),
    ]
    .into_iter()
    .filter(|(n, b)| *b == Bound::Min || nutrition.get(*n).exact().is_some())
    .map(|(n, b)| {
        let mean_pct = match (n, b) {
            (Nutrient::Moisture, Bound::Max) => kept.wettest.percent(),
            (Nutrient::Moisture, Bound::Min) => kept.driest.percent(),
            (_, Bound::Min) => {
                nutrition.percent(n) * share_factor(nutrition.moisture, kept.wettest)
            }
            (_, Bound::Max) => nutrition.percent(n) * share_factor(nutrition.moisture, kept.driest),
        };
        guarantee(n, b, mean_pct, Margin::FormulaOnly)
    })
    .collect()
}

/// Metabolisable energy by modified Atwater factors, kcal/kg, at another moisture than as packed:
/// every constituent, carbohydrate by difference too, goes with the dry matter.
///
/// - Equation: e′ = e (1 − M′)/(1 − M)
/// - Units: energy \[kcal/kg\], moisture \[kg/kg, wet basis\]
/// - Valid: moistures under 1
/// - Source: an identity of dry matter
///
/// ```
/// use formula::{Formula, Line, Species, label::kcal_per_kg_at, nutrition::nutrition, shelf};
/// use measure::WetBasis;
/// let dough = Formula::new(vec![Line::new(shelf::find("wheat_flour_soft").unwrap(), 1.0)]).unwrap();
/// let packed = nutrition(&dough, WetBasis(0.08), Species::Dog).unwrap();
/// // 0.90/0.92 of it at 10 % moisture.
/// let later = kcal_per_kg_at(&packed, WetBasis(0.10));
/// assert!((later / packed.atwater_kcal_per_kg - 0.90 / 0.92).abs() < 1e-12);
/// ```
pub fn kcal_per_kg_at(nutrition: &Nutrition, moisture: WetBasis) -> f64 {
    nutrition.atwater_kcal_per_kg * share_factor(nutrition.moisture, moisture)
}
