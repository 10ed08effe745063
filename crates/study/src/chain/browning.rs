//! Sugars and free soda deepen browning: a stated factor on the rate of the crumb's browning law.

use super::{Sample, Uncertain};
use baking::bake::colour;
use formula::leavening::{self, Leavening};
use measure::{Constant, Given, Grade, Range};

/// How much faster the top browns per kg sugars in a kg of dry solid.
pub const PER_SUGAR: Constant = Constant {
    name: "faster browning per share of sugars in the dry solid",
    value: 10.0,
    unit: "1 per kg/kg",
    range: Range::new(0.0, 60.0),
    source: "working value: milk sugar and molasses darken a biscuit (common practice, no source); measure colour to replace it",
    grade: Grade::Assumed,
};

/// Factor on the rate of browning for a share of sugars in the dry solid, kg/kg, and the soda that no acid takes up.
pub fn factor(sugars: f64, leavening: &Leavening, sample: Sample, given: &mut Vec<Given>) -> f64 {
    given.push(PER_SUGAR.used());
    // What isn't known of soda and acid is a finding of the leavening; the rate is then that without.
    let soda = leavening.browning().map_or(1.0, |times| times.mid);
    if soda > 1.0 {
        given.push(leavening::BROWNING_PER_PH.used());
    }
    let per_sugar = PER_SUGAR.value * Uncertain::SugarBrowning.factor(sample);
    Uncertain::Browning.factor(sample) * soda * (1.0 + per_sugar * sugars.max(0.0))
}

/// The colour difference when the rate of browning is `factor` times as large all along.
///
/// ΔE = E∞ (1 − e^(−∫k dt)), so the factor goes into the exponent: 1 − (1 − ΔE/E∞)^f.
///
/// ```
/// let plain = 20.0;
/// assert_eq!(study::chain::browning::deepened(plain, 1.0), plain);
/// assert!(study::chain::browning::deepened(plain, 1.5) > plain);
/// assert!(study::chain::browning::deepened(51.9, 3.0) <= 52.0);
/// ```
pub fn deepened(delta_e: f64, factor: f64) -> f64 {
    let end = colour::END.value;
    if factor == 1.0 {
        return delta_e;
    }
    end * (1.0 - (1.0 - (delta_e / end).clamp(0.0, 1.0)).powf(factor))
}
