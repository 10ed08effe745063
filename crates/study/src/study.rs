//! A study: a question, a control and its treatments, with everything that the knock-on needs.

use crate::after::FilmAsked;
use baking::after::Climate;
use baking::line::LineSetting;
use baking::oven::{Cooling, Oven, Pack};
use baking::piece::{DockerPattern, Layout, Piece};
use formula::{Change, Forming, Formula, Material};
use measure::WetBasis;
use std::collections::BTreeMap;
use std::sync::Arc;

pub use formula::Species;

/// Where a moisture holds: water flashes off after the oven.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Place {
    /// As the piece leaves the oven.
    OvenExit,
    /// As it goes into the pack.
    Cooled,
    /// After the first days in the closed pack.
    Packed,
}

impl Place {
    /// Every place, in the order a piece passes them.
    pub const ALL: [Self; 3] = [Self::OvenExit, Self::Cooled, Self::Packed];

    /// The word in files.
    pub const fn written(self) -> &'static str {
        match self {
            Self::OvenExit => "oven exit",
            Self::Cooled => "cooled",
            Self::Packed => "packed",
        }
    }
}

/// The mean moisture that the bake aims at.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Target {
    /// Moisture.
    pub moisture: WetBasis,
    /// Where it holds.
    pub at: Place,
}

/// What the amounts of a treatment were told on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Basis {
    /// All lines make 100.
    Mix,
    /// The flour lines make 100.
    Flour,
    /// All but added water makes 100.
    DryMix,
    /// Any scale.
    Parts,
}

impl Basis {
    /// Every basis.
    pub const ALL: [Self; 4] = [Self::Mix, Self::Flour, Self::DryMix, Self::Parts];

    /// The word in files and for people.
    pub const fn written(self) -> &'static str {
        match self {
            Self::Mix => "mix",
            Self::Flour => "flour",
            Self::DryMix => "dry mix",
            Self::Parts => "parts",
        }
    }
}

/// Where the added water of a treatment comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum WaterChoice {
    /// From the formula; it is compared with the need.
    Given,
    /// From the predicted need, whose interval runs on into the results.
    FromNeed,
}

impl WaterChoice {
    /// Every choice.
    pub const ALL: [Self; 2] = [Self::Given, Self::FromNeed];

    /// The word in files.
    pub const fn written(self) -> &'static str {
        match self {
            Self::Given => "given",
            Self::FromNeed => "need",
        }
    }
}

/// How the dough is mixed and formed.
#[derive(Clone, Copy, Debug, PartialEq)]
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
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum DoughDensity {
    /// As measured, kg/m³.
    Measured(f64),
    /// From the true densities and the usual gas: nobody has written any.
    UsualGas,
    /// From the true densities and this share of gas by volume, 0 to 1.
    GasFraction(f64),
}

/// The dough as it comes to the oven.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Dough {
    /// Temperature wanted, °C.
    pub temperature_c: f64,
    /// Density, measured or from its gas.
    pub density: DoughDensity,
}

/// How the pack is kept.
#[derive(Clone, Debug, PartialEq)]
pub struct Keeping {
    /// The film.
    pub film: FilmAsked,
    /// Area of film on a pack, m².
    pub pack_area_m2: f64,
    /// Product in a pack, kg.
    pub pack_kg: f64,
    /// Climate of the store.
    pub climate: Climate,
    /// Months of keeping.
    pub months: f64,
    /// Water activity at which crispness goes.
    pub crisp_water_activity: f64,
}

/// Everything about a treatment but its formula.
#[derive(Clone, Debug, PartialEq)]
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
}

/// One treatment, resolved: its formula and setting stand in full.
#[derive(Clone, Debug, PartialEq)]
pub struct Treatment {
    /// Short name, unique in the study.
    pub id: String,
    /// Name as shown.
    pub name: String,
    /// Why it is tried; empty when nothing was written.
    pub note: String,
    /// Index of the treatment that it starts from; none when its formula was written in full.
    pub from: Option<usize>,
    /// What its amounts were told on.
    pub basis: Basis,
    /// Where its added water comes from.
    pub water: WaterChoice,
    /// Its formula. With [`WaterChoice::FromNeed`] the added water in it, if any, is to be replaced.
    pub formula: Formula,
    /// Its own changes of the formula it starts from, in order.
    pub changes: Vec<Change>,
    /// Its setting: the study's with its own values in place.
    pub setting: Setting,
    /// The sections it has values of its own in, e.g. `piece`, its forebears' included.
    pub own: Vec<&'static str>,
}

/// A study, resolved.
#[derive(Clone, Debug, PartialEq)]
pub struct Study {
    /// What it is called.
    pub name: String,
    /// What it wants to know; empty when nothing was written.
    pub question: String,
    /// The animal the treat is for.
    pub species: Species,
    /// Whether the data are made up.
    pub invented: bool,
    /// Currency of every price, three letters.
    pub currency: String,
    /// Anything else.
    pub note: String,
    /// The moisture that the bake aims at.
    pub target: Target,
    /// Materials of its own, by id; these go before the shelf's.
    pub materials: BTreeMap<String, Arc<Material>>,
    /// The study's setting, before treatments put in their own values.
    pub setting: Setting,
    /// Index of the control.
    pub control: usize,
    /// The treatments in the order written; at least one.
    pub treatments: Vec<Treatment>,
}

impl Study {
    /// The control.
    pub fn control(&self) -> &Treatment {
        &self.treatments[self.control]
    }

    /// The treatment with an id.
    pub fn treatment(&self, id: &str) -> Option<&Treatment> {
        self.treatments.iter().find(|t| t.id == id)
    }

    /// A material: the study's own, else the shelf's.
    pub fn material(&self, id: &str) -> Option<Arc<Material>> {
        self.materials
            .get(id)
            .cloned()
            .or_else(|| formula::shelf::find(id))
    }
}
