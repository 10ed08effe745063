//! Everything about a treatment but its formula.

use super::{Keeping, Learned};
use baking::line::LineSetting;
use baking::oven::{Cooling, Oven, Pack};
use baking::piece::{DockerPattern, Layout, Piece};
use baking::properties::{SorptionSettings, TransportSettings};
use formula::Forming;
use serde::Serialize;

/// How the dough is mixed and formed.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Process {
    /// How pieces are formed.
    pub forming: Forming,
    /// Temperature of flour and powders, °C.
    pub flour_c: f64,
    /// Temperature of the water at the tap, °C.
    pub tap_water_c: f64,
    /// Temperature of the room, °C.
    pub room_c: f64,
    /// Consistency wanted, farinograph units; the water uptakes are told for 500.
    pub consistency_fu: f64,
    /// Heat that mixing puts into the dough, kJ per kg dough.
    pub mixing_work_kj_per_kg: f64,
}

/// How dense the dough is.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub enum DoughDensity {
    /// As measured, kg/m³.
    Measured(f64),
    /// From the true densities and the usual gas: nobody has written any.
    UsualGas,
    /// From the true densities and this share of gas by volume, 0 to 1.
    GasFraction(f64),
}

/// The dough as it comes to the oven.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Dough {
    /// Temperature wanted, °C.
    pub temperature_c: f64,
    /// Density, measured or from its gas.
    pub density: DoughDensity,
    /// pH of the baked piece, as measured.
    pub ph: Option<f64>,
    /// How its solids hold water; what dissolves comes from the formula.
    pub sorption: SorptionSettings,
    /// Own numbers about the movement of water.
    pub water_moves: TransportSettings,
}

/// Everything about a treatment but its formula.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Setting {
    /// The piece as cut.
    pub piece: Piece,
    /// Where its docker holes stand and how deep they go.
    pub docker_pattern: DockerPattern,
    /// Inner path of the edge as a share of area over perimeter, where it was fitted; none for the default.
    pub edge_path_share: Option<f64>,
    /// Mixing and forming.
    pub process: Process,
    /// The dough.
    pub dough: Dough,
    /// The oven with its setting.
    pub oven: Oven,
    /// How pieces lie on band or tray.
    pub layout: Layout,
    /// Time in the oven as it is set, s; none = the time that meets the target.
    pub bake_time_s: Option<f64>,
    /// Cooling after the oven.
    pub cooling: Cooling,
    /// The closed pack.
    pub pack: Pack,
    /// How it is kept.
    pub keeping: Keeping,
    /// The stations beside the oven, and what they cost.
    pub line: LineSetting,
    /// What was learned and taken up.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub learned: Option<Learned>,
}
