//! What the water of a batch comes to, and the doses that are offered for a tap.

use crate::{Batch, BatchState, Belief, in_unit, units_of};
use measure::{Constant, Grade, Range};
use serde::Serialize;

/// A dose for a tap, as a share of the dry mix: about a step that a hand feels in the dough.
pub const TAP_SHARE: Constant = Constant {
    name: "dose for a tap",
    value: 0.01,
    unit: "kg/kg",
    range: Range::new(0.002, 0.03),
    source: "what a hand feels in a stiff dough; common practice, no source",
    grade: Grade::Assumed,
};

/// The fine dose is this share of the usual one.
const FINE: f64 = 0.25;
/// The dry mix of a batch whose plan doesn't tell it, kg: doses for a bench bowl.
const BOWL_KG: f64 = 5.0;
/// Least and most dose for a tap, g.
const TAP_G: Range = Range::new(1.0, 5000.0);

/// Two doses for a tap, the usual and a fine one, as round numbers of g.
///
/// ```
/// let batch = bench::read_form::<bench::Batch>(
///     "code = 'B01'\nstudy = 's'\nrevision = 1\nhash = ''\ntreatment = 'control'\nlabel = 'control'\ndry_mix_kg = 8.0",
/// ).unwrap();
/// assert_eq!(bench::tap_doses_g(&batch), [50.0, 20.0]);
/// ```
pub fn tap_doses_g(batch: &Batch) -> [f64; 2] {
    let dry_mix_g = 1000.0 * batch.dry_mix_kg.unwrap_or(BOWL_KG);
    [1.0, FINE].map(|part| {
        let g = TAP_G.clamp(dry_mix_g * TAP_SHARE.value * part);
        let ten = 10_f64.powf(g.log10().floor());
        let step = [1.0, 2.0, 5.0, 10.0]
            .into_iter()
            .rfind(|s| s * ten <= g * 1.000_001)
            .unwrap_or(1.0);
        step * ten
    })
}

/// The water that a batch is believed to need.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct NeedOfBatch {
    /// Mean and 95 % interval, kg per 100 kg of dry mix.
    pub per_100kg: (f64, (f64, f64)),
    /// The same for the whole batch, kg; none where its dry mix isn't known.
    pub kg: Option<(f64, (f64, f64))>,
    /// What is in the dough, as a share of the mean; none before the first dose.
    pub share: Option<f64>,
}

/// What a belief means for a batch as it stands.
pub fn need_of(batch: &Batch, state: &BatchState, belief: &Belief) -> NeedOfBatch {
    let (mean, (low, high)) = (belief.learned.mean_kg, belief.intervals()[1]);
    let kg = batch.dry_mix_kg.map(|dry| {
        let of = |per_100kg: f64| per_100kg * dry / 100.0;
        (of(mean), (of(low), of(high)))
    });
    let so_far = state.water.per_100kg.filter(|_| mean > 0.0);
    NeedOfBatch {
        per_100kg: (mean, (low, high)),
        kg,
        share: so_far.map(|w| w / mean),
    }
}

/// The units that a mass may be typed in, each with what one of it is in kg: for a page that sums what it hasn't sent.
///
/// ```
/// let kg = bench::masses_kg();
/// assert!(kg.contains(&("g", 0.001)));
/// // Sixteen ounces are a pound of 0.453 592 37 kg (exact by the agreement of 1959).
/// let oz = kg.iter().find(|(unit, _)| *unit == "oz").unwrap().1;
/// assert!((16.0 * oz - 0.453_592_37).abs() < 1e-12);
/// ```
pub fn masses_kg() -> Vec<(&'static str, f64)> {
    let units = units_of("kg").into_iter();
    units
        .filter_map(|unit| Some((unit, in_unit(1.0, unit, "kg").ok()?)))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn doses_for_a_tap_are_round_and_follow_the_bowl() {
        let head =
            "code = 'B01'\nstudy = 's'\nrevision = 1\nhash = ''\ntreatment = 'c'\nlabel = 'c'";
        let of = |more: &str| tap_doses_g(&crate::read_form(&format!("{head}\n{more}")).unwrap());
        assert_eq!(of("dry_mix_kg = 5.0"), [50.0, 10.0]);
        assert_eq!(of(""), of("dry_mix_kg = 5.0"));
        assert_eq!(of("dry_mix_kg = 0.5"), [5.0, 1.0]);
        assert_eq!(of("dry_mix_kg = 80.0"), [500.0, 200.0]);
    }
}
