//! The oven with its setting, and what comes after it.

use super::{MOST_ZONES, NAME};
use crate::written::row::Row;
use crate::written::typed::table;
use crate::written::word::Word;
use baking::after::Film;
use baking::oven::cooling::STILL_AIR;
use baking::oven::step::MOST_STEPS;
use baking::oven::{COEFFICIENT, LENGTH_M, OVEN_CELSIUS, Oven, SPEED, WIDTH_M, presets};
use measure::Grade;
use std::sync::LazyLock;

table! {
    /// The oven.
    OVEN, OvenRow = "oven",
        "A preset, an oven of your own, or a preset with values of your own in place. Presets are \
         examples with assumed values. A zone that has the name of one it starts from changes only \
         what it writes; zones with other names stand in place of all.";
    preset: choice(OvenPreset) optional, "an oven that comes with the program";
    name: text(NAME) optional, "what your oven is called";
    kind: choice(OvenKind) optional,
        "\"band\": a band runs through zones; \"batch\": trays go in and come out";
    surface: choice(SurfaceWord) optional, "the band: closed steel or wire mesh";
    open_pct: number("%", 0.0, 100.0) optional, "open share of a mesh; 50 unless written";
    length_m: number("m", LENGTH_M) optional, "heated length of the band";
    width_m: number("m", WIDTH_M) optional, "width of the band";
    edge_clear_mm: number("mm", 0.0, 500.0) optional,
        "left free at each edge of the band; 20 unless written";
    trays: whole(1.0, 1000.0) optional, "trays at a time";
    tray_area_m2: number("m²", 0.005, 5.0) optional, "usable area of one tray";
    pieces_per_tray: whole(1.0, 100_000.0) optional, "pieces on one tray, when counted";
    paper: flag() optional, "whether baking paper lies under the pieces of a batch oven";
    loading_min: number("min", 0.0, 120.0) optional,
        "opening, unloading and loading between two bakes; 3 unless written";
    gap_mm: number("mm", 0.0, 100.0) or(5.0), "gap between neighbouring pieces on band or tray";
    time_min: number("min", 0.1, 240.0) optional,
        "time in the oven as it is set; the time that meets the target unless written";
    source: text(NAME) optional, "where the description comes from, in words";
    grade: choice(Grade) optional, "how sure it is; \"assumed\" unless written";
    zone: tables(ZONE, ZoneRow, MOST_ZONES) optional,
        "the zones in the order the pieces pass them; a batch oven has one";
    step: tables(STEP, StepRow, MOST_STEPS) optional,
        "steps after the last zone, each with a time of its own: a cooler second bake, a drying cabinet, a dryer";
}

table! {
    /// A step after the oven.
    STEP, StepRow = "step",
        "A step after the oven that keeps its time while the time in the oven is found: bake, then so long at so much. \
         The moisture at the oven's exit is told before it, the cooled and packed moisture after it.";
    name: text(NAME) optional, "what the step is called; its number unless written";
    time_min: number("min", 0.1, 2880.0) required, "how long it takes";
    air_c: number("°C", 10.0, 250.0) required, "temperature of the air at the pieces";
    below_c: number("°C", 10.0, 250.0) optional,
        "temperature of the rack or tray below; the air's unless written";
    humidity_kg_per_kg: number("kg/kg", 0.0, 5.0) or(0.02), "water per dry air";
    heat_transfer_w_m2k: number("W/(m² K)", 0.0, 500.0) or(15.0), "heat transfer from the air to the top";
    bottom_w_m2k: number("W/(m² K)", 0.0, 500.0) or(10.0), "heat transfer from below";
    open_pct: number("%", 0.0, 100.0) or(50.0), "open share of what lies below";
}

table! {
    /// A zone.
    ZONE, ZoneRow = "zone",
        "What surrounds the pieces in one part of the oven. Of share and length_m, of humidity and \
         dew point, of heat transfer and air speed, one each.";
    name: text(NAME) optional, "what the zone is called; its number unless written";
    share: number("", 0.001, 100.0) optional,
        "its share of the heated length; shares are scaled to sum to one";
    length_m: number("m", 0.01, 150.0) optional, "its length, in place of share";
    air_c: number("°C", OVEN_CELSIUS) optional, "temperature of the air at the pieces";
    radiating_c: number("°C", 20.0, 626.0) optional,
        "temperature of what radiates onto the top; the air's unless written";
    band_c: number("°C", OVEN_CELSIUS) optional, "temperature of band or tray";
    humidity_kg_per_kg: number("kg/kg", 0.0, 5.0) optional, "water per dry air";
    dew_point_c: number("°C", 0.1, 99.3) optional, "dew point of the air, in place of humidity";
    heat_transfer_w_m2k: number("W/(m² K)", COEFFICIENT) optional,
        "heat transfer from the air to the top";
    air_speed_m_s: number("m/s", SPEED) optional,
        "speed of the air along the pieces, in place of heat transfer; a lower bound for jets";
    bottom_w_m2k: number("W/(m² K)", COEFFICIENT) optional,
        "heat transfer from band or tray to the bottom";
}

table! {
    /// Cooling after the oven.
    COOLING, CoolingRow = "cooling", "Cooling in room air after the oven. Water still leaves there.";
    time_min: number("min", 0.1, 2880.0) optional,
        "cooling time; 20 min when neither this nor a multiple of the bake time is written";
    of_bake_time: number("", 0.05, 20.0) optional,
        "cooling time as a multiple of the bake time, as on a conveyor coupled to the band";
    room_c: number("°C", -10.0, 60.0) or(22.0), "temperature of the room";
    relative_humidity_pct: number("%", 0.0, 100.0) or(50.0), "relative humidity of the room";
    heat_transfer_w_m2k: number("W/(m² K)", 0.5, 500.0) or(STILL_AIR.value), "heat transfer at the top";
    bottom_w_m2k: number("W/(m² K)", 0.0, 500.0) or(STILL_AIR.value), "heat transfer at the bottom";
    open_pct: number("%", 0.0, 100.0) or(100.0), "share of the bottom open to vapour";
}

table! {
    /// The closed pack.
    PACK, PackRow = "pack",
        "The closed pack, in which moisture evens out inside the piece, and how it is kept.";
    time_days: number("days", 0.01, 3650.0) or(7.0),
        "time in the pack after which \"packed\" is told";
    store_c: number("°C", -20.0, 60.0) or(22.0), "temperature of the store";
    heat_transfer_w_m2k: number("W/(m² K)", 0.1, 100.0) or(5.0), "heat transfer through the pack";
    film: choice(FilmWord) optional,
        "film of the pack, for keeping; oriented polypropylene (\"opp\") unless written";
    film_g_m2_day: number("g/(m² d)", 1e-4, 1e5) optional,
        "the film's own transmission of water vapour at 38 °C and 90 %, from its maker's sheet, in place of a film of \
         the table";
    area_cm2: number("cm²", 10.0, 1e6) optional, "area of film on a pack; 900 unless written";
    content_g: number("g", 1.0, 1e6) optional, "product in a pack; 400 unless written";
    climate: text(NAME) optional,
        "climate in which packs are kept, as °C/% relative humidity: \"25/65\"; several share the year in order: \
         \"10/60, 30/75\"; 25/65 unless written";
    keep_months: number("months", 0.5, 60.0) optional, "how long keeping is looked at; 12 unless written";
    crisp_water_activity: number("", 0.1, 0.9) optional,
        "water activity at which crispness goes; a working value of the program unless written";
}

/// An oven that comes with the program, and its place among them.
#[derive(Clone, Copy, Debug)]
pub struct OvenPreset {
    /// The oven.
    pub oven: &'static Oven,
    /// The oven as a row, so that it takes values of one's own like any other.
    pub row: &'static Row,
}

static PRESETS: LazyLock<Vec<(Oven, Row)>> = LazyLock::new(|| {
    let with_row = |oven: Oven| {
        let row = crate::written::resolve::oven_row(&oven);
        (oven, row)
    };
    presets::all().into_iter().map(with_row).collect()
});

impl Word for OvenPreset {
    fn all() -> Vec<Self> {
        PRESETS
            .iter()
            .map(|(oven, row)| Self { oven, row })
            .collect()
    }

    fn written(self) -> &'static str {
        &self.oven.name
    }
}

/// A film that the program knows.
#[derive(Clone, Copy, Debug)]
pub struct FilmWord(pub &'static Film);

impl Word for FilmWord {
    fn all() -> Vec<Self> {
        static FILMS: LazyLock<Vec<Film>> = LazyLock::new(|| Film::ALL.to_vec());
        FILMS.iter().map(Self).collect()
    }

    fn written(self) -> &'static str {
        self.0.key
    }
}

/// A kind of oven.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum OvenKind {
    /// A band runs through zones.
    Band,
    /// Trays go in and come out.
    Batch,
}

impl Word for OvenKind {
    fn all() -> Vec<Self> {
        vec![Self::Band, Self::Batch]
    }

    fn written(self) -> &'static str {
        match self {
            Self::Band => "band",
            Self::Batch => "batch",
        }
    }
}

/// The surface of a band.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SurfaceWord {
    /// Closed steel.
    Steel,
    /// Wire mesh.
    Mesh,
}

impl Word for SurfaceWord {
    fn all() -> Vec<Self> {
        vec![Self::Steel, Self::Mesh]
    }

    fn written(self) -> &'static str {
        match self {
            Self::Steel => "steel",
            Self::Mesh => "mesh",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use baking::oven::cooling::USUAL_S;
    use baking::oven::{Cooling, CoolingTime, Pack};
    use measure::temperature::kelvin;

    /// The defaults shown in the field list are those of the physics.
    #[test]
    fn defaults_are_those_of_the_oven_room_and_pack() {
        let (cooling, pack) = (Row::new(&COOLING), Row::new(&PACK));
        let (told, c) = (CoolingRow::read(&cooling).unwrap(), Cooling::default());
        assert_eq!(kelvin(told.room_c.value), c.room_k);
        assert_eq!(
            told.relative_humidity_pct.value / 100.0,
            c.relative_humidity
        );
        assert_eq!((told.time_min.value, told.of_bake_time.value), (None, None));
        assert_eq!(CoolingTime::Seconds(USUAL_S.value), c.time);
        assert_eq!(told.heat_transfer_w_m2k.value, c.top_w_per_m2_k);
        assert_eq!(told.bottom_w_m2k.value, c.bottom_w_per_m2_k);
        assert_eq!(told.open_pct.value / 100.0, c.open_fraction);
        let (told, p) = (PackRow::read(&pack).unwrap(), Pack::default());
        assert_eq!(kelvin(told.store_c.value), p.store_k);
        assert_eq!(told.time_days.value * measure::units::DAY_S, p.time_s);
        assert_eq!(told.heat_transfer_w_m2k.value, p.w_per_m2_k);
    }
}
