//! The oven with its setting, and what comes after it.

use super::super::field::{Kind, Table, number, number_or, optional};
use super::{MOST_ZONES, NAME};
use baking::after::Film;
use baking::oven::cooling::STILL_AIR;
use baking::oven::step::MOST_STEPS;
use baking::oven::{COEFFICIENT, LENGTH_M, OVEN_CELSIUS, Oven, SPEED, WIDTH_M, presets};
use measure::{Grade, Range};
use std::sync::LazyLock;

/// The oven.
pub static OVEN: Table = Table {
    name: "oven",
    doc: "A preset, an oven of your own, or a preset with values of your own in place. Presets are \
          examples with assumed values. A zone that has the name of one it starts from changes only \
          what it writes; zones with other names stand in place of all.",
    fields: &[
        optional(
            "preset",
            Kind::Choice(preset_names),
            "an oven that comes with the program",
        ),
        optional("name", Kind::Text(NAME), "what your oven is called"),
        optional(
            "kind",
            Kind::Choice(kinds),
            "\"band\": a band runs through zones; \"batch\": trays go in and come out",
        ),
        optional(
            "surface",
            Kind::Choice(surfaces),
            "the band: closed steel or wire mesh",
        ),
        optional(
            "open_pct",
            number("%", 0.0, 100.0),
            "open share of a mesh; 50 unless written",
        ),
        optional(
            "length_m",
            Kind::Number("m", LENGTH_M),
            "heated length of the band",
        ),
        optional("width_m", Kind::Number("m", WIDTH_M), "width of the band"),
        optional(
            "edge_clear_mm",
            number("mm", 0.0, 500.0),
            "left free at each edge of the band; 20 unless written",
        ),
        optional(
            "trays",
            Kind::Whole(Range::new(1.0, 1000.0)),
            "trays at a time",
        ),
        optional(
            "tray_area_m2",
            number("m²", 0.005, 5.0),
            "usable area of one tray",
        ),
        optional(
            "pieces_per_tray",
            Kind::Whole(Range::new(1.0, 100_000.0)),
            "pieces on one tray, when counted",
        ),
        optional(
            "paper",
            Kind::Flag,
            "whether baking paper lies under the pieces of a batch oven",
        ),
        optional(
            "loading_min",
            number("min", 0.0, 120.0),
            "opening, unloading and loading between two bakes; 3 unless written",
        ),
        number_or(
            "gap_mm",
            "mm",
            0.0,
            100.0,
            5.0,
            "gap between neighbouring pieces on band or tray",
        ),
        optional(
            "time_min",
            number("min", 0.1, 240.0),
            "time in the oven as it is set; the time that meets the target unless written",
        ),
        optional(
            "source",
            Kind::Text(NAME),
            "where the description comes from, in words",
        ),
        optional(
            "grade",
            Kind::Choice(grades),
            "how sure it is; \"assumed\" unless written",
        ),
        optional(
            "zone",
            Kind::Tables(&ZONE, MOST_ZONES),
            "the zones in the order the pieces pass them; a batch oven has one",
        ),
        optional(
            "step",
            Kind::Tables(&STEP, MOST_STEPS),
            "steps after the last zone, each with a time of its own: a cooler second bake, a drying cabinet, a dryer",
        ),
    ],
};

/// A step after the oven.
pub static STEP: Table = Table {
    name: "step",
    doc: "A step after the oven that keeps its time while the time in the oven is found: bake, then so long at so much. The \
          moisture at the oven's exit is told before it, the cooled and packed moisture after it.",
    fields: &[
        optional(
            "name",
            Kind::Text(NAME),
            "what the step is called; its number unless written",
        ),
        optional("time_min", number("min", 0.1, 2880.0), "how long it takes"),
        optional(
            "air_c",
            number("°C", 10.0, 250.0),
            "temperature of the air at the pieces",
        ),
        optional(
            "below_c",
            number("°C", 10.0, 250.0),
            "temperature of the rack or tray below; the air's unless written",
        ),
        number_or(
            "humidity_kg_per_kg",
            "kg/kg",
            0.0,
            5.0,
            0.02,
            "water per dry air",
        ),
        number_or(
            "heat_transfer_w_m2k",
            "W/(m² K)",
            0.0,
            500.0,
            15.0,
            "heat transfer from the air to the top",
        ),
        number_or(
            "bottom_w_m2k",
            "W/(m² K)",
            0.0,
            500.0,
            10.0,
            "heat transfer from below",
        ),
        number_or(
            "open_pct",
            "%",
            0.0,
            100.0,
            50.0,
            "open share of what lies below",
        ),
    ],
};

/// A zone.
pub static ZONE: Table = Table {
    name: "zone",
    doc: "What surrounds the pieces in one part of the oven. Of share and length_m, of humidity and \
          dew point, of heat transfer and air speed, one each.",
    fields: &[
        optional(
            "name",
            Kind::Text(NAME),
            "what the zone is called; its number unless written",
        ),
        optional(
            "share",
            number("", 0.001, 100.0),
            "its share of the heated length; shares are scaled to sum to one",
        ),
        optional(
            "length_m",
            number("m", 0.01, 150.0),
            "its length, in place of share",
        ),
        optional(
            "air_c",
            Kind::Number("°C", OVEN_CELSIUS),
            "temperature of the air at the pieces",
        ),
        optional(
            "radiating_c",
            number("°C", 20.0, 626.0),
            "temperature of what radiates onto the top; the air's unless written",
        ),
        optional(
            "band_c",
            Kind::Number("°C", OVEN_CELSIUS),
            "temperature of band or tray",
        ),
        optional(
            "humidity_kg_per_kg",
            number("kg/kg", 0.0, 5.0),
            "water per dry air",
        ),
        optional(
            "dew_point_c",
            number("°C", 0.1, 99.3),
            "dew point of the air, in place of humidity",
        ),
        optional(
            "heat_transfer_w_m2k",
            Kind::Number("W/(m² K)", COEFFICIENT),
            "heat transfer from the air to the top",
        ),
        optional(
            "air_speed_m_s",
            Kind::Number("m/s", SPEED),
            "speed of the air along the pieces, in place of heat transfer; a lower bound for jets",
        ),
        optional(
            "bottom_w_m2k",
            Kind::Number("W/(m² K)", COEFFICIENT),
            "heat transfer from band or tray to the bottom",
        ),
    ],
};

/// Keys of a zone of which only one can hold.
pub(in super::super) const EITHER: [[&str; 2]; 3] = [
    ["share", "length_m"],
    ["humidity_kg_per_kg", "dew_point_c"],
    ["heat_transfer_w_m2k", "air_speed_m_s"],
];

/// Cooling after the oven.
pub static COOLING: Table = Table {
    name: "cooling",
    doc: "Cooling in room air after the oven. Water still leaves there.",
    fields: &[
        optional(
            "time_min",
            number("min", 0.1, 2880.0),
            "cooling time; 20 min when neither this nor a multiple of the bake time is written",
        ),
        optional(
            "of_bake_time",
            number("", 0.05, 20.0),
            "cooling time as a multiple of the bake time, as on a conveyor coupled to the band",
        ),
        number_or("room_c", "°C", -10.0, 60.0, 22.0, "temperature of the room"),
        number_or(
            "relative_humidity_pct",
            "%",
            0.0,
            100.0,
            50.0,
            "relative humidity of the room",
        ),
        number_or(
            "heat_transfer_w_m2k",
            "W/(m² K)",
            0.5,
            500.0,
            STILL_AIR.value,
            "heat transfer at the top",
        ),
        number_or(
            "bottom_w_m2k",
            "W/(m² K)",
            0.0,
            500.0,
            STILL_AIR.value,
            "heat transfer at the bottom",
        ),
        number_or(
            "open_pct",
            "%",
            0.0,
            100.0,
            100.0,
            "share of the bottom open to vapour",
        ),
    ],
};

/// The closed pack.
pub static PACK: Table = Table {
    name: "pack",
    doc: "The closed pack, in which moisture evens out inside the piece, and how it is kept.",
    fields: &[
        number_or(
            "time_days",
            "days",
            0.01,
            3650.0,
            7.0,
            "time in the pack after which \"packed\" is told",
        ),
        number_or(
            "store_c",
            "°C",
            -20.0,
            60.0,
            22.0,
            "temperature of the store",
        ),
        number_or(
            "heat_transfer_w_m2k",
            "W/(m² K)",
            0.1,
            100.0,
            5.0,
            "heat transfer through the pack",
        ),
        optional(
            "film",
            Kind::Choice(films),
            "film of the pack, for keeping; oriented polypropylene (\"opp\") unless written",
        ),
        optional(
            "film_g_m2_day",
            number("g/(m² d)", 1e-4, 1e5),
            "the film's own transmission of water vapour at 38 °C and 90 %, from its maker's sheet, in place of a film of \
             the table",
        ),
        optional(
            "area_cm2",
            number("cm²", 10.0, 1e6),
            "area of film on a pack; 900 unless written",
        ),
        optional(
            "content_g",
            number("g", 1.0, 1e6),
            "product in a pack; 400 unless written",
        ),
        optional(
            "climate",
            Kind::Text(NAME),
            "climate in which packs are kept, as °C/% relative humidity: \"25/65\"; several share the year in order: \
             \"10/60, 30/75\"; 25/65 unless written",
        ),
        optional(
            "keep_months",
            number("months", 0.5, 60.0),
            "how long keeping is looked at; 12 unless written",
        ),
        optional(
            "crisp_water_activity",
            number("", 0.1, 0.9),
            "water activity at which crispness goes; a working value of the program unless written",
        ),
    ],
};

/// The ovens that come with the program.
pub(in super::super) static PRESETS: LazyLock<Vec<Oven>> = LazyLock::new(presets::all);

fn preset_names() -> Vec<&'static str> {
    PRESETS.iter().map(|oven| oven.name.as_str()).collect()
}

fn films() -> Vec<&'static str> {
    Film::ALL.iter().map(|f| f.key).collect()
}

fn kinds() -> Vec<&'static str> {
    vec!["band", "batch"]
}

fn surfaces() -> Vec<&'static str> {
    vec!["steel", "mesh"]
}

fn grades() -> Vec<&'static str> {
    Grade::ALL.into_iter().map(Grade::word).collect()
}

#[cfg(test)]
mod tests {
    use super::super::super::field::Need;
    use super::*;
    use baking::oven::cooling::USUAL_S;
    use baking::oven::{Cooling, CoolingTime, Pack};

    /// The defaults shown in the field list are those of the physics.
    #[test]
    fn defaults_are_those_of_the_oven_room_and_pack() {
        let or = |table: &Table, key: &str| match table.field(key).unwrap().need {
            Need::Or(n) => n,
            _ => panic!("{key}"),
        };
        let c = Cooling::default();
        assert_eq!(
            measure::temperature::kelvin(or(&COOLING, "room_c")),
            c.room_k
        );
        assert_eq!(
            or(&COOLING, "relative_humidity_pct") / 100.0,
            c.relative_humidity
        );
        assert_eq!(c.time, CoolingTime::Seconds(USUAL_S.value));
        assert_eq!(or(&COOLING, "heat_transfer_w_m2k"), c.top_w_per_m2_k);
        assert_eq!(or(&COOLING, "bottom_w_m2k"), c.bottom_w_per_m2_k);
        assert_eq!(or(&COOLING, "open_pct") / 100.0, c.open_fraction);
        let p = Pack::default();
        assert_eq!(
            measure::temperature::kelvin(or(&PACK, "store_c")),
            p.store_k
        );
        assert_eq!(or(&PACK, "time_days") * measure::units::DAY_S, p.time_s);
        assert_eq!(or(&PACK, "heat_transfer_w_m2k"), p.w_per_m2_k);
    }
}
