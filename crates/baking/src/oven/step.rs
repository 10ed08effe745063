//! Steps after the oven, each with a time of its own: a second, cooler bake, a drying cabinet, a dryer after the band, a
//! dwell under cover.

use super::stages::{StageError, within};
use super::{COEFFICIENT, Humidity};
use crate::bake::{Stage, StageKind};
use measure::Range;
use serde::{Deserialize, Serialize};

/// A step that keeps its time when the oven's zones stretch.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Step {
    /// Name shown to people.
    pub name: String,
    /// How long \[s\].
    pub time_s: f64,
    /// Air temperature \[K\].
    pub air_k: f64,
    /// Temperature of what lies below \[K\]: rack, tray or band; that of the air if none.
    pub below_k: Option<f64>,
    /// Humidity of the air.
    pub humidity: Humidity,
    /// Heat transfer at the top \[W/(m² K)\].
    pub top_w_per_m2_k: f64,
    /// Heat transfer from below \[W/(m² K)\].
    pub bottom_w_per_m2_k: f64,
    /// Share of the bottom open to vapour, 0 to 1: a rack more than a tray.
    pub open_fraction: f64,
}

/// Most steps.
pub const MOST_STEPS: usize = 8;
/// Temperatures of a step \[K\].
pub const STEP_K: Range = Range::new(283.15, 523.15);
/// Times of a step \[s\].
pub const STEP_S: Range = Range::new(1.0, 48.0 * 3600.0);

impl Step {
    /// The stage of a bake.
    ///
    /// # Errors
    /// The first number outside what is allowed, by name.
    pub fn stage(&self) -> Result<Stage, StageError> {
        let below_k = self.below_k.unwrap_or(self.air_k);
        within("time of a step", self.time_s, "s", STEP_S)?;
        within("air of a step", self.air_k, "K", STEP_K)?;
        within("what lies below in a step", below_k, "K", STEP_K)?;
        within(
            "heat transfer at the top of a step",
            self.top_w_per_m2_k,
            "W/(m² K)",
            COEFFICIENT,
        )?;
        within(
            "heat transfer from below of a step",
            self.bottom_w_per_m2_k,
            "W/(m² K)",
            COEFFICIENT,
        )?;
        within(
            "open share of a step",
            self.open_fraction,
            "",
            Range::new(0.0, 1.0),
        )?;
        let (name, value, unit, allowed) = self.humidity.number();
        within(name, value, unit, allowed)?;
        Ok(Stage {
            name: self.name.clone(),
            kind: StageKind::Drying,
            duration_s: self.time_s,
            air_k: self.air_k,
            radiating_k: self.air_k,
            band_k: below_k,
            air_vapour_pa: self.humidity.vapour_pressure_pa(),
            top_w_per_m2_k: self.top_w_per_m2_k,
            bottom_w_per_m2_k: self.bottom_w_per_m2_k,
            band_open: self.open_fraction,
            vapour_exchange: 1.0,
        })
    }
}

/// The stages of an oven with steps after its last zone; no steps leave them as they are.
///
/// ```
/// use baking::bake::StageKind;
/// use baking::oven::{Cooling, Humidity, Pack, Step, presets, stages, with_steps};
/// // The commonest bench protocol: bake, then two hours at 90 °C on a rack.
/// let mut oven = presets::bench_convection();
/// let baked = stages(&oven, 1200.0, 0.05, &Cooling::default(), &Pack::default())?;
/// let rack = Step {
///     name: "drying".into(), time_s: 7200.0, air_k: 363.15, below_k: None, humidity: Humidity::KgPerKg(0.02),
///     top_w_per_m2_k: 15.0, bottom_w_per_m2_k: 15.0, open_fraction: 0.7,
/// };
/// let both = with_steps(baked.clone(), &[rack.clone()])?;
/// assert_eq!(both.len(), baked.len() + 1);
/// assert_eq!(both[oven.zones.len()].kind, StageKind::Drying);
/// assert_eq!(with_steps(baked.clone(), &[])?, baked);
/// // An oven that has the step lays it out itself.
/// oven.steps.push(rack);
/// assert_eq!(stages(&oven, 1200.0, 0.05, &Cooling::default(), &Pack::default())?, both);
/// # Ok::<(), baking::oven::StageError>(())
/// ```
///
/// # Errors
/// A step that can't be, or more than [`MOST_STEPS`].
pub fn with_steps(mut stages: Vec<Stage>, steps: &[Step]) -> Result<Vec<Stage>, StageError> {
    within(
        "number of steps",
        steps.len() as f64,
        "",
        Range::new(0.0, MOST_STEPS as f64),
    )?;
    let after = stages.iter().rposition(|s| s.kind == StageKind::Oven);
    let at = after.map_or(0, |last| last + 1);
    let steps: Vec<Stage> = steps.iter().map(Step::stage).collect::<Result<_, _>>()?;
    stages.splice(at..at, steps);
    Ok(stages)
}

#[cfg(test)]
mod tests {
    use super::super::{Cooling, Pack, presets, stages};
    use super::*;
    use crate::bake::search::{Found, TargetAt, band_time_for_target};
    use crate::bake::{Accuracy, BakeInput, Workspace, bake_simple, case::Benchmark};
    use measure::WetBasis;

    fn rack(hours: f64) -> Step {
        Step {
            name: "drying".into(),
            time_s: 3600.0 * hours,
            air_k: 363.15,
            below_k: None,
            humidity: Humidity::KgPerKg(0.02),
            top_w_per_m2_k: 15.0,
            bottom_w_per_m2_k: 15.0,
            open_fraction: 0.7,
        }
    }

    fn bench(steps: &[Step]) -> BakeInput {
        let oven = presets::bench_convection();
        let baked = stages(&oven, 1200.0, 0.05, &Cooling::default(), &Pack::default()).unwrap();
        BakeInput {
            stages: with_steps(baked, steps).unwrap(),
            accuracy: Accuracy::Quick,
            ..Benchmark::SteelBand.case().input
        }
    }

    /// Common practice, no source: a drying step after the oven takes water off, lets the oven stop earlier for the same
    /// dryness, and hardly browns.
    #[test]
    fn a_drying_step_takes_over_from_the_oven() {
        let packed = |input: &BakeInput| {
            let result = bake_simple(input).unwrap();
            let end = result.end_of(StageKind::Pack).unwrap().clone();
            (end.mean_moisture.to_wet().0, end.colour_delta_e)
        };
        let ((plain, _), (dried, _)) = (packed(&bench(&[])), packed(&bench(&[rack(2.0)])));
        assert!(dried < plain, "{dried} {plain}");
        let time = |input: &BakeInput| {
            let allowed = Range::new(60.0, 10_800.0);
            let found = band_time_for_target(
                input,
                WetBasis(0.06),
                TargetAt::Packed,
                allowed,
                None,
                &mut Workspace::new(),
            )
            .unwrap();
            assert_eq!(found.found, Found::Met);
            // The step keeps its time.
            let step = found
                .bake
                .stages
                .iter()
                .position(|s| s.kind == StageKind::Drying);
            if let Some(i) = step {
                let took = found.bake.stages[i].time_s - found.bake.stages[i - 1].time_s;
                assert!((took - 1800.0).abs() < 1e-6);
            }
            let top = found.bake.end_of(StageKind::Pack).unwrap().colour_delta_e;
            (found.time_s, top)
        };
        let (one, two) = (time(&bench(&[])), time(&bench(&[rack(0.5)])));
        println!("{one:?} {two:?}");
        assert!(two.0 < one.0 && two.1 < one.1);
    }

    #[test]
    fn what_cannot_be_is_named() {
        let wrong = Step {
            air_k: 90.0,
            ..rack(2.0)
        };
        let error = wrong.stage().unwrap_err().to_string();
        assert!(error.contains("air of a step is 90 K"), "{error}");
        assert!(with_steps(Vec::new(), &vec![rack(1.0); 9]).is_err());
    }
}
