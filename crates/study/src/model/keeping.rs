//! How a pack is kept: film, area, content, climate, and when crispness is gone.

use baking::after::Climate;
use baking::after::keeping::CRISP_WATER_ACTIVITY;
use measure::{Constant, Grade, Range};
use serde::Serialize;

/// The film of a pack.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub enum FilmChoice {
    /// One of the table, by its short name.
    Known(String),
    /// By its own transmission at 38 °C and 90 % relative humidity, g/(m² d).
    Transmission(f64),
}

/// How the pack is kept.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Keeping {
    /// The film.
    pub film: FilmChoice,
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

/// Area of film on a pack.
pub const PACK_AREA: Constant = Constant {
    name: "area of film on a pack",
    value: 0.09,
    unit: "m²",
    range: Range::new(0.001, 100.0),
    source: "working value for a pouch of 200 × 225 mm; give your own",
    grade: Grade::Assumed,
};
/// Product in a pack.
pub const PACK_CONTENT: Constant = Constant {
    name: "product in a pack",
    value: 0.4,
    unit: "kg",
    range: Range::new(0.001, 1000.0),
    source: "working value for a pouch of 200 × 225 mm; give your own",
    grade: Grade::Assumed,
};

impl Default for Keeping {
    /// A named starting point: a pouch of oriented polypropylene with 400 g at 25 °C and 65 % relative humidity for a
    /// year.
    fn default() -> Self {
        Self {
            film: FilmChoice::Known("opp".into()),
            pack_area_m2: PACK_AREA.value,
            pack_kg: PACK_CONTENT.value,
            climate: Climate::steady(298.15, 0.65),
            months: 12.0,
            crisp_water_activity: CRISP_WATER_ACTIVITY.value,
        }
    }
}
