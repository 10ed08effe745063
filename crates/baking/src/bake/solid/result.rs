//! What a solid bake is asked and what it answers.

use crate::bake::{Account, Kill, Profile, StageKind};
use measure::{DryBasis, Range};

/// What is asked for beside the ends of the stages.
#[derive(Clone, Debug, PartialEq)]
pub struct SolidAsk {
    /// Times of the pictures \[s\], rising; at most [`MOST_FRAMES`].
    pub frame_times_s: Vec<f64>,
    /// The time is told at which the coldest place has reached this \[K\].
    pub last_place_k: f64,
    /// The time is told at which the wettest place has come down to this.
    pub last_place_moisture: Option<DryBasis>,
    /// The time is told at which the mean has come down to this, and the bake may end there.
    pub until: Option<DryBasis>,
    /// Whether the bake ends once `until` is reached.
    pub stop_there: bool,
    /// The bake ends with a stage, told by its index, unless the mean moisture then lies within these (wet basis): for
    /// searches, which need the rest only when the target is met.
    pub go_on_if: Option<(usize, Range)>,
}

/// Most pictures of a bake.
pub const MOST_FRAMES: usize = 60;
/// Largest size of all pictures together, in numbers of four bytes.
pub(super) const MOST_NUMBERS: usize = 180_000;

/// The temperature every place has to reach unless told otherwise, 90 °C: the hottest that kill is credited for. The
/// plateau of a boiling crumb lies between this and 100 °C, lower the more open the crumb is.
///
/// - Units: \[K\]
/// - Source: upper edge of the D values that kill is credited by, a university's thesis (seen)
pub const LAST_PLACE_K: f64 = 363.15;

impl Default for SolidAsk {
    fn default() -> Self {
        Self {
            frame_times_s: Vec::new(),
            last_place_k: LAST_PLACE_K,
            last_place_moisture: None,
            until: None,
            stop_there: false,
            go_on_if: None,
        }
    }
}

/// A place in the piece and what it is like there.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SolidPlace {
    /// From the middle of the extent along the band \[m\].
    pub x_m: f64,
    /// Across the band \[m\].
    pub y_m: f64,
    /// Over the band \[m\].
    pub z_m: f64,
    /// Moisture.
    pub moisture: DryBasis,
    /// Temperature \[K\].
    pub temperature_k: f64,
}

/// A number for every grid point of the plan; not a number outside the piece.
#[derive(Clone, Debug, PartialEq)]
pub struct PlanMap {
    /// Grid points along x and y.
    pub points: [usize; 2],
    /// Distance between them \[m\].
    pub step_m: [f64; 2],
    /// Place of the first one \[m\].
    pub first_m: [f64; 2],
    /// The numbers, x running fastest.
    pub values: Vec<f32>,
}

/// State at the end of a stage.
#[derive(Clone, Debug, PartialEq)]
pub struct SolidEnd {
    /// Name of the stage.
    pub name: String,
    /// Its kind.
    pub kind: StageKind,
    /// Time since the start \[s\].
    pub time_s: f64,
    /// Mean moisture.
    pub mean_moisture: DryBasis,
    /// Mean over the outer wall; the whole top and bottom are not in it.
    pub edge_moisture: DryBasis,
    /// Half way up, at the place farthest from outer and hole walls.
    pub centre: SolidPlace,
    /// Mean over top and bottom.
    pub surface_moisture: DryBasis,
    /// Mean half way up.
    pub middle_moisture: DryBasis,
    /// The wettest place.
    pub wettest: SolidPlace,
    /// The driest place.
    pub driest: SolidPlace,
    /// Spread of moisture over the volume, standard deviation \[kg/kg dry solid\].
    pub moisture_sd: f64,
    /// Log reduction where it is least.
    pub kill: Kill,
    /// Where that is.
    pub kill_least_at: SolidPlace,
    /// Browning of the top, mean over its area and most \[ΔE\].
    pub colour_mean_delta_e: f64,
    /// Most browned place of the top \[ΔE\].
    pub colour_most_delta_e: f64,
    /// Mean moisture through the thickness over the plan \[kg/kg dry solid\].
    pub moisture_map: PlanMap,
    /// Browning of the top over the plan \[ΔE\].
    pub colour_map: PlanMap,
}

/// Histories over the steps.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct SolidHistory {
    /// Time since the start \[s\].
    pub time_s: Vec<f64>,
    /// Mean moisture X \[kg/kg dry solid\].
    pub mean_moisture: Vec<f64>,
    /// Moisture at the wettest place.
    pub wettest: Vec<f64>,
    /// Temperature of the coldest place \[K\].
    pub coldest_k: Vec<f64>,
    /// Water out \[kg\], of the whole piece.
    pub water_out_kg: Vec<f64>,
    /// Net enthalpy in \[J\], of the whole piece.
    pub enthalpy_in_j: Vec<f64>,
}

/// Pictures of the piece through time. With symmetry only one half or quarter is kept; `mirrored` tells
/// across which middle the rest follows.
#[derive(Clone, Debug, PartialEq)]
pub struct SolidFrames {
    /// Time of each \[s\].
    pub time_s: Vec<f64>,
    /// Across the middle of x, of y.
    pub mirrored: [bool; 2],
    /// The plan half way up: points, steps, first place as in [`PlanMap`].
    pub plan_points: [usize; 2],
    /// Distances \[m\].
    pub plan_step_m: [f64; 2],
    /// First place \[m\].
    pub plan_first_m: [f64; 2],
    /// Points of the section along x and up.
    pub section_points: [usize; 2],
    /// Distances along x and up \[m\].
    pub section_step_m: [f64; 2],
    /// Place of the section across the band \[m\].
    pub section_y_m: f64,
    /// Moisture in plan, a row for each frame.
    pub plan_moisture: Vec<Vec<f32>>,
    /// Temperature in plan \[°C\].
    pub plan_c: Vec<Vec<f32>>,
    /// Moisture in section, x running fastest, from the band up.
    pub section_moisture: Vec<Vec<f32>>,
    /// Temperature in section \[°C\].
    pub section_c: Vec<Vec<f32>>,
}

/// The grid that was used.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GridTold {
    /// Nodes that were followed.
    pub nodes: usize,
    /// Nodes of the whole piece.
    pub nodes_in_full: usize,
    /// Columns that were followed.
    pub columns: usize,
    /// Distance between columns along x and y \[m\].
    pub step_m: [f64; 2],
    /// Cells through the thickness.
    pub cells: usize,
    /// Whether the middle of x, of y is a mirror.
    pub mirrored: [bool; 2],
    /// Volume of the whole piece \[m³\].
    pub volume_m3: f64,
    /// Area of the outer wall of the whole piece \[m²\].
    pub wall_m2: f64,
    /// Area of the walls of the holes \[m²\].
    pub hole_wall_m2: f64,
}

/// Work done.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct SolidWork {
    /// Steps accepted.
    pub steps: usize,
    /// Steps rejected.
    pub rejected: usize,
    /// Linear iterations.
    pub iterations: usize,
}

/// The answer of a solid bake.
#[derive(Clone, Debug, PartialEq)]
pub struct SolidResult {
    /// State at the end of each stage that was reached.
    pub stages: Vec<SolidEnd>,
    /// Histories.
    pub history: SolidHistory,
    /// Mean over the plan by height, from the oven's exit on after every step.
    pub layers: Vec<Profile>,
    /// Pictures, if asked for.
    pub frames: Option<SolidFrames>,
    /// When the coldest place had reached the temperature asked for \[s\].
    pub last_place_hot_s: Option<f64>,
    /// When the wettest place had come down to the moisture asked for \[s\].
    pub last_place_dry_s: Option<f64>,
    /// When the mean had come down to the moisture asked for \[s\].
    pub reached_s: Option<f64>,
    /// The grid.
    pub grid: GridTold,
    /// How water and energy close.
    pub account: Account,
    /// Work done.
    pub work: SolidWork,
}

impl SolidResult {
    /// End of the last stage of a kind, if there is one.
    pub fn end_of(&self, kind: StageKind) -> Option<&SolidEnd> {
        self.stages.iter().rev().find(|s| s.kind == kind)
    }
}

impl SolidFrames {
    /// The whole of a plan from the half or quarter that is kept: points and numbers.
    pub fn whole_plan(&self, values: &[f32]) -> ([usize; 2], Vec<f32>) {
        unfolded(self.plan_points, self.mirrored, values)
    }

    /// The whole of a section.
    pub fn whole_section(&self, values: &[f32]) -> ([usize; 2], Vec<f32>) {
        unfolded(self.section_points, [self.mirrored[0], false], values)
    }
}

fn unfolded(points: [usize; 2], mirrored: [bool; 2], values: &[f32]) -> ([usize; 2], Vec<f32>) {
    let whole = [0, 1].map(|a| {
        if mirrored[a] {
            2 * points[a] - 1
        } else {
            points[a]
        }
    });
    let fold = |i: usize, a: usize| {
        if mirrored[a] {
            i.abs_diff(points[a] - 1)
        } else {
            i
        }
    };
    let numbers = (0..whole[1])
        .flat_map(|j| (0..whole[0]).map(move |i| (i, j)))
        .map(|(i, j)| values[fold(j, 1) * points[0] + fold(i, 0)])
        .collect();
    (whole, numbers)
}
