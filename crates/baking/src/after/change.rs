//! What would help against checking: each change baked again to the same dryness.

use super::checking::{Crumb, checking};
use super::evening::{Course, course};
use crate::bake::search::{BandTarget, Cooling, Found, TargetAt, band_time, stretched};
use crate::bake::{Ask, BakeError, BakeInput, Edge, HoleWalls, StageKind, Workspace};
use crate::properties::water::saturation_pressure_pa;
use measure::{Range, WetBasis};
use serde::Serialize;

/// A change that the trade makes against checking.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Change {
    /// The last zone 30 K cooler: air, what radiates, and band.
    CoolerLastZone,
    /// The damper of the last zone more closed: half as much water again in its air, 5 kPa at least.
    CloserDamper,
    /// Five docker holes of 2 mm more.
    DockerHoles,
    /// A tenth thinner.
    Thinner,
    /// Cooled for three times as long in warm moist air (45 °C, 60 % relative humidity).
    WarmMoistCooling,
}

impl Change {
    /// Every change.
    pub const ALL: [Self; 5] = [
        Self::CoolerLastZone,
        Self::CloserDamper,
        Self::DockerHoles,
        Self::Thinner,
        Self::WarmMoistCooling,
    ];

    /// The words shown to people.
    pub const fn word(self) -> &'static str {
        match self {
            Self::CoolerLastZone => "last zone 30 K cooler",
            Self::CloserDamper => "damper of the last zone more closed",
            Self::DockerHoles => "five docker holes more",
            Self::Thinner => "a tenth thinner",
            Self::WarmMoistCooling => "three times as long a cooling at 45 °C and 60 %",
        }
    }
}

/// The same bake with a change, before its time is sought. `area_m2` is the plan area of a piece.
///
/// - Rule: last zone 30 K cooler; its vapour half as much again; five holes more; a tenth thinner; or three times
///   the cooling at 45 °C and 60 %
/// - Units: temperatures \[K\], vapour \[Pa\], thickness \[m\], plan area \[m²\]
/// - Valid: a bake with an oven; its band time is sought afterwards
/// - Source: house choice of what a person would try, no source
///
/// ```
/// use baking::after::{Change, change::changed};
/// use baking::bake::case::Benchmark;
/// let input = Benchmark::SteelBand.case().input;
/// let thinner = changed(&input, Change::Thinner, 0.002);
/// assert!((thinner.thickness_m / input.thickness_m - 0.9).abs() < 1e-12);
/// ```
pub fn changed(input: &BakeInput, change: Change, area_m2: f64) -> BakeInput {
    let mut out = input.clone();
    let last = out.stages.iter().rposition(|s| s.kind == StageKind::Oven);
    match change {
        Change::CoolerLastZone => {
            if let Some(zone) = last.map(|i| &mut out.stages[i]) {
                for k in [&mut zone.air_k, &mut zone.radiating_k, &mut zone.band_k] {
                    *k = (*k - 30.0).max(293.15);
                }
            }
        }
        Change::CloserDamper => {
            if let Some(zone) = last.map(|i| &mut out.stages[i]) {
                zone.air_vapour_pa = (1.5 * zone.air_vapour_pa).clamp(5e3, 9e4);
            }
        }
        Change::DockerHoles => {
            // Five more than there are; a slab has no others.
            let edge = out.edge.unwrap_or_else(|| Edge::of(1.0, 0.0));
            let five = HoleWalls::of(5, 0.002, area_m2, 1.0).wall_per_area_per_m;
            let before = edge.holes.map_or(0.0, |h| h.wall_per_area_per_m);
            let count = (5.0 * (1.0 + before / five)).round() as u32;
            out.edge = Some(Edge {
                holes: Some(HoleWalls::of(count, 0.002, area_m2, 1.0)),
                ..edge
            });
        }
        Change::Thinner => out.thickness_m *= 0.9,
        Change::WarmMoistCooling => {
            for stage in out
                .stages
                .iter_mut()
                .filter(|s| s.kind == StageKind::Cooling)
            {
                stage.duration_s *= 3.0;
                for k in [&mut stage.air_k, &mut stage.radiating_k, &mut stage.band_k] {
                    *k = 318.15;
                }
                stage.air_vapour_pa = 0.6 * saturation_pressure_pa(318.15);
            }
        }
    }
    out
}

/// What a change does.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Changed {
    /// Which.
    pub change: Change,
    /// Time in the oven that gives the same dryness when cooled \[s\].
    pub bake_time_s: f64,
    /// Whether that dryness was met.
    pub met: bool,
    /// Greatest checking index \[1\].
    pub index: f64,
    /// Index over that without the change, less one \[1\].
    pub relative: f64,
    /// Centre less surfaces when packed \[percentage points, wet basis\].
    pub centre_surface_points: f64,
}

/// Times that are tried \[s\].
const TIMES_S: Range = Range::new(30.0, 10_800.0);

/// Bakes every change to the dryness that the bake as it is has when cooled, and tells its index.
///
/// - Rule: each change baked to the dryness of the bake as it is when cooled, and its index of checking told beside
///   that
/// - Units: plan area \[m²\], index \[1\]
/// - Valid: bakes that can be followed, times within the range that is searched
/// - Source: house rule, no source: changes are compared at one dryness
///
/// ```
/// use baking::after::{Change, Crumb, changes};
/// use baking::bake::{Workspace, case::Benchmark};
/// let input = Benchmark::SteelBand.case().input;
/// let told = changes(&input, &Crumb::default(), 0.002, &mut Workspace::new())?;
/// // A thinner piece is as dry sooner.
/// let thinner = told.iter().find(|c| c.change == Change::Thinner).unwrap();
/// assert!(thinner.met && thinner.bake_time_s < input.oven_time_s());
/// # Ok::<(), baking::bake::BakeError>(())
/// ```
///
/// # Errors
/// A bake that can't be followed.
pub fn changes(
    input: &BakeInput,
    crumb: &Crumb,
    area_m2: f64,
    w: &mut Workspace,
) -> Result<Vec<Changed>, BakeError> {
    let base = course(input, w)?;
    let index = checking(&base, crumb).greatest;
    let dryness: WetBasis = base
        .bake
        .end_of(StageKind::Cooling)
        .or_else(|| base.bake.end_of(StageKind::Oven))
        .map_or(input.initial_moisture.to_wet(), |e| {
            e.mean_moisture.to_wet()
        });
    Change::ALL
        .into_iter()
        .map(|change| {
            let other = changed(input, change, area_m2);
            let mut unpacked = other.clone();
            unpacked.stages.retain(|s| s.kind != StageKind::Pack);
            let at = if unpacked.stages.iter().any(|s| s.kind == StageKind::Cooling) {
                TargetAt::Cooled
            } else {
                TargetAt::OvenExit
            };
            let wanted = BandTarget {
                moisture: dryness,
                at,
                allowed_s: TIMES_S,
                guess_s: None,
                cooling: Cooling::AsGiven,
            };
            let time = band_time(&unpacked, &wanted, &|_| Ask::without_kill(), w)?;
            let course = course(&stretched(&other, time.time_s, wanted.cooling), w)?;
            let new = checking(&course, crumb).greatest;
            Ok(Changed {
                change,
                bake_time_s: time.time_s,
                met: time.found == Found::Met,
                index: new,
                relative: if index > 0.0 { new / index - 1.0 } else { 0.0 },
                centre_surface_points: Course::centre_surface_points(course.at(course.packed_s)),
            })
        })
        .collect()
}
