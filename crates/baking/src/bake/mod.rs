//! The bake through the thickness: oven, cooling and closed pack in one run.

pub mod case;
pub mod closures;
pub mod colour;
pub mod derivatives;
pub mod edge;
pub mod error;
pub mod input;
pub mod isotherm;
mod kernel;
pub mod kill;
mod laws;
mod multiplier;
pub mod result;
mod run;
pub mod search;
mod seek;
pub mod solid;
pub mod surface;
pub mod through_thickness;
mod workspace;

/// Version of what the bake through the thickness computes. It goes up whenever a benchmark answer moves by more than a
/// millionth, so that what was worked out before is known to be old.
pub const MODEL_VERSION: u32 = 2;

pub use closures::{
    Closures, Conductivity, DryEnd, LatentHeat, LiquidDiffusivity, SaturationPressure,
    VapourTransport,
};
pub use edge::{Edge, HoleWalls};
pub use error::{BakeError, InputError};
pub use input::{Accuracy, BakeInput, Stage, StageKind};
pub use isotherm::Isotherm;
pub use kill::Kill;
pub use multiplier::{Direction, Multiplier};
pub use result::{Account, Ask, AskedTimes, BakeResult, History, Place, Profile, StageEnd, Work};
pub use search::{BandTime, TargetAt, band_time_for_target};
pub use through_thickness::{bake, bake_simple};
pub use workspace::Workspace;
