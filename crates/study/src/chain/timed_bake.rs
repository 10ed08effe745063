//! The bake at the time that meets the target, or at the time that is set.

use super::dough_and_piece::DoughAndPiece;
use super::{BakeOptions, Why};
use crate::model::{Place, Target, Treatment};
use baking::after::course_times_s;
use baking::bake::search::{BandTarget, Cooling, Found, band_time, stretched};
use baking::bake::{
    Ask, AskedTimes, BakeInput, BakeResult, StageEnd, StageKind, TargetAt, Workspace, bake,
};
use baking::oven::CoolingTime;
use measure::{DryBasis, Range, WetBasis};

/// Times in the oven that are tried, s: half a minute to three hours.
pub const OVEN_TIME_S: Range = Range::new(30.0, 10_800.0);

/// A bake with its time and how the search for it ended.
#[derive(Clone, Debug)]
pub struct TimedBake {
    /// Time in the oven, s.
    pub time_s: f64,
    /// How the search ended.
    pub found: Found,
    /// Moisture where the target holds.
    pub moisture: WetBasis,
    /// What was baked, its stages at that time.
    pub input: BakeInput,
    /// The bake with every step.
    pub result: BakeResult,
    /// The end of the oven.
    pub exit: StageEnd,
    /// The end of the cooling; that of the oven without one.
    pub cooled: StageEnd,
}

impl TimedBake {
    /// Whether the bake meets its target.
    pub fn reached(&self, target: &Target) -> bool {
        self.found == Found::Met && self.moisture.0 <= target.moisture.0 + 5e-4
    }
}

/// The bake of a treatment at the time that is asked for or set, else at the time that meets the target.
///
/// # Errors
/// What can't be baked, by name and value.
pub fn timed_bake(
    treatment: &Treatment,
    made: &DoughAndPiece,
    options: &BakeOptions,
    workspace: &mut Workspace,
) -> Result<TimedBake, Why> {
    let at = target_at(treatment);
    // The profiles are what the time after the oven is told from.
    let every_step = |at: &BakeInput| Ask {
        history: AskedTimes::EveryStep,
        profile_times_s: if options.checks {
            course_times_s(at)
        } else {
            Vec::new()
        },
        ..Ask::default()
    };
    if let Some(time_s) = options.bake_time_s.or(treatment.setting.bake_time_s) {
        let result = bake(&made.bake, &every_step(&made.bake), workspace)?;
        let moisture = result
            .end_of(at.stage())
            .map_or(made.dough_moisture, |e| e.mean_moisture.to_wet());
        let input = made.bake.clone();
        return timed(time_s, Found::Met, moisture, input, result, made.model_off);
    }
    let aimed = BandTarget {
        moisture: moved(treatment.target.moisture, -made.model_off),
        ..wanted(treatment)
    };
    let found = band_time(&made.bake, &aimed, &every_step, workspace)?;
    // The search may have needed closer steps; what follows the bake is asked for as it was.
    let input = stretched(&made.bake, found.time_s, cooling_of(treatment));
    timed(
        found.time_s,
        found.found,
        found.moisture,
        input,
        found.bake,
        made.model_off,
    )
}

/// A moisture moved by an error of the model, kg/kg dry solid.
fn moved(moisture: WetBasis, off: f64) -> WetBasis {
    if off == 0.0 {
        return moisture;
    }
    DryBasis((moisture.to_dry().0 + off).max(1e-3)).to_wet()
}

/// What the band time of a treatment is sought for.
pub fn wanted(treatment: &Treatment) -> BandTarget {
    BandTarget {
        moisture: treatment.target.moisture,
        at: target_at(treatment),
        allowed_s: OVEN_TIME_S,
        guess_s: None,
        cooling: cooling_of(treatment),
    }
}

fn timed(
    time_s: f64,
    found: Found,
    moisture: WetBasis,
    input: BakeInput,
    result: BakeResult,
    model_off: f64,
) -> Result<TimedBake, Why> {
    let mut exit = result.end_of(StageKind::Oven).ok_or(Why::NoOven)?.clone();
    let mut cooled = result.end_of(StageKind::Cooling).unwrap_or(&exit).clone();
    for end in [&mut exit, &mut cooled] {
        if model_off != 0.0 {
            end.mean_moisture = moved(end.mean_moisture.to_wet(), model_off).to_dry();
        }
    }
    Ok(TimedBake {
        time_s,
        found,
        moisture: moved(moisture, model_off),
        input,
        exit,
        cooled,
        result,
    })
}

/// Where the target of a treatment holds.
pub fn target_at(treatment: &Treatment) -> TargetAt {
    match treatment.target.at {
        Place::OvenExit => TargetAt::OvenExit,
        Place::Cooled => TargetAt::Cooled,
        Place::Packed => TargetAt::Packed,
    }
}

/// A cooling told as a multiple of the bake follows the time that is found.
pub fn cooling_of(treatment: &Treatment) -> Cooling {
    match treatment.setting.cooling.time {
        CoolingTime::OfBakeTime(_) => Cooling::WithTheOven,
        CoolingTime::Seconds(_) => Cooling::AsGiven,
    }
}

/// What goes into the pack: the mean after cooling. A bake that ends wetter than the dough
/// (steam on a cold piece) counts as the dough.
pub(crate) fn packed_moisture(baked: &TimedBake, dough: WetBasis) -> WetBasis {
    let moisture = baked.cooled.mean_moisture.to_wet();
    WetBasis(moisture.0.clamp(0.0, dough.0))
}

/// How far the quick bake is to be trusted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BakeChecks {
    /// How much the edge takes off the time of an endless slab, %; none where the target isn't met.
    pub edge_correction_pct: Option<f64>,
    /// Spatial error of the mean moisture at the oven's exit, percentage points; none without an exit.
    pub grid_error_points: Option<f64>,
}

/// Bakes once more on half the cells, and without a rim.
pub(crate) fn bake_checks(
    treatment: &Treatment,
    made: &DoughAndPiece,
    baked: &TimedBake,
    workspace: &mut Workspace,
) -> Result<BakeChecks, Why> {
    let cooling = cooling_of(treatment);
    let mut coarse = stretched(&made.bake, baked.time_s, cooling);
    coarse.cells = (made.bake.cells / 2).max(4);
    let coarse_bake = bake(&coarse, &Ask::without_kill(), workspace)?;
    let exit = |e: &StageEnd| e.mean_moisture.to_wet().percent();
    let grid_error_points = coarse_bake
        .end_of(StageKind::Oven)
        .map(|e| (exit(&baked.exit) - exit(e)).abs() / 3.0);
    if baked.found != Found::Met {
        return Ok(BakeChecks {
            edge_correction_pct: None,
            grid_error_points,
        });
    }
    // The slab without a rim, on the coarse grid, brought to what the coarse piece reaches.
    let wanted = wanted(treatment);
    let reached = coarse_bake
        .end_of(wanted.at.stage())
        .map_or(baked.moisture, |e| e.mean_moisture.to_wet());
    let mut slab = coarse;
    slab.edge = None;
    let wanted = BandTarget {
        moisture: reached,
        guess_s: Some(baked.time_s * 1.15),
        ..wanted
    };
    let slab = band_time(&slab, &wanted, &|_| Ask::without_kill(), workspace)?;
    let edge_correction_pct = match slab.found {
        Found::Met => Some(100.0 * (1.0 - baked.time_s / slab.time_s)),
        Found::TooWet(_) | Found::TooDry | Found::DoughTooDry => None,
    };
    Ok(BakeChecks {
        edge_correction_pct,
        grid_error_points,
    })
}
