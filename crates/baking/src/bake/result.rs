//! What a bake answers.

use super::input::StageKind;
use super::kill::Kill;
use measure::{DryBasis, Range};

/// Which histories are asked for; the steps taken don't depend on it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Ask {
    /// At which times.
    pub history: AskedTimes,
    /// Times of whole profiles \[s\], rising.
    pub profile_times_s: Vec<f64>,
    /// Leaves the kill step out, which takes about a tenth of the time: for searches.
    pub without_kill: bool,
    /// Goes on beyond a stage only if the mean moisture at its end lies within a range (wet basis): a search ends most of
    /// its bakes there.
    pub go_on_if: Option<(usize, Range)>,
}

impl Ask {
    /// The ends of stages alone, without the kill.
    pub fn without_kill() -> Self {
        Self {
            without_kill: true,
            ..Self::default()
        }
    }
}

/// At which times the history is kept.
#[derive(Clone, Debug, Default, PartialEq)]
pub enum AskedTimes {
    /// None: ends of stages only.
    #[default]
    None,
    /// At the start and after every step.
    EveryStep,
    /// At these times \[s\], rising, from 0 to the end of the last stage.
    At(Vec<f64>),
}

/// State at one place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Place {
    /// Moisture.
    pub moisture: DryBasis,
    /// Temperature \[K\].
    pub temperature_k: f64,
    /// Water activity at that moisture and temperature.
    pub water_activity: f64,
}

/// State at the end of a stage.
#[derive(Clone, Debug, PartialEq)]
pub struct StageEnd {
    /// Name of the stage.
    pub name: String,
    /// Its kind.
    pub kind: StageKind,
    /// Time since the start \[s\].
    pub time_s: f64,
    /// Mean moisture.
    pub mean_moisture: DryBasis,
    /// Water activity at 25 °C once the moisture has evened out.
    pub evened_water_activity: f64,
    /// Top surface.
    pub top: Place,
    /// Middle.
    pub centre: Place,
    /// Bottom surface.
    pub bottom: Place,
    /// Water that has left since the start \[kg/m²\].
    pub water_out_kg_per_m2: f64,
    /// Net enthalpy that has entered since the start \[J/m²\].
    pub enthalpy_in_j_per_m2: f64,
    /// Browning of the top so far, ΔE \[1\].
    pub colour_delta_e: f64,
    /// Log reduction at the place where it is least.
    pub kill: Kill,
}

/// Histories, one column per quantity, all equally long.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct History {
    /// Time since the start \[s\].
    pub time_s: Vec<f64>,
    /// Mean moisture X \[kg/kg dry solid\].
    pub mean_moisture: Vec<f64>,
    /// Top surface \[K\].
    pub top_k: Vec<f64>,
    /// Middle \[K\].
    pub centre_k: Vec<f64>,
    /// Bottom surface \[K\].
    pub bottom_k: Vec<f64>,
    /// X at the top.
    pub top_moisture: Vec<f64>,
    /// X in the middle.
    pub centre_moisture: Vec<f64>,
    /// X at the bottom.
    pub bottom_moisture: Vec<f64>,
    /// Water out \[kg/m²\].
    pub water_out_kg_per_m2: Vec<f64>,
    /// Net enthalpy in \[J/m²\].
    pub enthalpy_in_j_per_m2: Vec<f64>,
    /// Browning of the top, ΔE (within a step as if it went evenly).
    pub colour_delta_e: Vec<f64>,
    /// Least log reduction (within a step as if it went evenly).
    pub kill_log10: Vec<f64>,
}

/// The whole piece at one time, from bottom to top.
#[derive(Clone, Debug, PartialEq)]
pub struct Profile {
    /// Time since the start \[s\].
    pub time_s: f64,
    /// X at each node.
    pub moisture: Vec<f64>,
    /// Temperature at each node \[K\].
    pub temperature_k: Vec<f64>,
}

/// Work done.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Work {
    /// Steps accepted.
    pub steps: usize,
    /// Steps rejected.
    pub rejected: usize,
    /// Jacobians.
    pub jacobians: usize,
    /// Right-hand sides.
    pub rhs: usize,
}

/// How well water and energy close: what the nodes hold against what passed the surfaces.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Account {
    /// Largest gap at a stage's end, relative to the water at the start.
    pub water_rel_error: f64,
    /// Largest gap at a stage's end, relative to the largest enthalpy turned over.
    pub energy_rel_error: f64,
}

/// The answer of a bake.
#[derive(Clone, Debug, PartialEq)]
pub struct BakeResult {
    /// State at the end of each stage.
    pub stages: Vec<StageEnd>,
    /// Histories, if asked for.
    pub history: History,
    /// Profiles, if asked for.
    pub profiles: Vec<Profile>,
    /// Highest temperature of the middle \[K\].
    pub centre_peak_k: f64,
    /// Highest temperature of the top \[K\].
    pub top_peak_k: f64,
    /// Work done.
    pub work: Work,
    /// Accounts.
    pub account: Account,
}

impl BakeResult {
    /// End of the last stage of a kind, if there is one.
    ///
    /// `StageKind::Oven` gives the state at the oven's exit, `Cooling` the cooled, `Pack` the packed.
    pub fn end_of(&self, kind: StageKind) -> Option<&StageEnd> {
        self.stages.iter().rev().find(|s| s.kind == kind)
    }
}
