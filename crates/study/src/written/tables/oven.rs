//! The oven with its setting, and what comes after it.

use super::super::field::{Kind, Table, number, number_or, optional, required};
use super::{MOST_ZONES, NAME};

/// The oven.
pub static OVEN: Table = Table {
    name: "oven",
    doc: "Either a preset, of which single values may be overridden here, or an oven of your own \
          with its zones in order. Presets are examples with assumed values.",
    fields: &[
        optional(
            "preset",
            Kind::Choice(presets),
            "an oven that comes with the program",
        ),
        optional("name", Kind::Text(NAME), "what your oven is called"),
        optional(
            "kind",
            Kind::Choice(kinds),
            "a band oven runs, a batch oven bakes trays",
        ),
        optional("band", Kind::Choice(bands), "what the pieces lie on"),
        optional(
            "open_pct",
            number("%", 0.0, 95.0),
            "open share of a mesh band",
        ),
        optional(
            "length_m",
            number("m", 0.1, 200.0),
            "heated length of the band, or depth of the tray",
        ),
        optional(
            "width_m",
            number("m", 0.1, 5.0),
            "usable width of the band or tray",
        ),
        optional(
            "time_min",
            number("min", 0.5, 600.0),
            "bake time to report; the time that meets the target unless written",
        ),
        optional(
            "zone",
            Kind::Tables(&ZONE, MOST_ZONES),
            "the zones in order; a batch oven has one",
        ),
    ],
};

/// A zone.
pub static ZONE: Table = Table {
    name: "zone",
    doc: "One zone. Humidity is told as kg water per kg dry air or as dew point, heat transfer \
          directly or by the air's speed.",
    fields: &[
        optional("name", Kind::Text(NAME), "what the zone is called"),
        number_or(
            "share_pct",
            "%",
            0.01,
            100.0,
            100.0,
            "share of the heated length; the shares of all zones make 100",
        ),
        required(
            "air_c",
            number("°C", 20.0, 400.0),
            "temperature of the air at the piece",
        ),
        optional(
            "radiating_c",
            number("°C", 20.0, 600.0),
            "temperature of what the top sees; as the air unless written",
        ),
        optional(
            "band_c",
            number("°C", 10.0, 400.0),
            "temperature of the band; as the air unless written",
        ),
        optional(
            "humidity_kg_per_kg",
            number("kg/kg", 0.0, 5.0),
            "humidity of the air",
        ),
        optional(
            "dew_point_c",
            number("°C", -20.0, 99.5),
            "dew point of the air, in place of humidity",
        ),
        optional(
            "heat_transfer_w_per_m2k",
            number("W/m²K", 1.0, 300.0),
            "heat transfer from the air to the top",
        ),
        optional(
            "air_m_per_s",
            number("m/s", 0.0, 60.0),
            "speed of the air at the piece, in place of heat transfer",
        ),
        optional(
            "bottom_w_per_m2k",
            number("W/m²K", 0.0, 1000.0),
            "heat transfer from the band to the bottom",
        ),
    ],
};

/// Cooling after the oven.
pub static COOLING: Table = Table {
    name: "cooling",
    doc: "Cooling in room air after the oven. Water still leaves there.",
    fields: &[
        number_or("time_min", "min", 0.5, 600.0, 20.0, "time until packing"),
        number_or("air_c", "°C", -5.0, 60.0, 22.0, "temperature of the air"),
        number_or(
            "relative_humidity_pct",
            "%",
            0.0,
            100.0,
            50.0,
            "relative humidity of the air",
        ),
        number_or(
            "heat_transfer_w_per_m2k",
            "W/m²K",
            1.0,
            200.0,
            12.0,
            "heat transfer from the piece to the air",
        ),
    ],
};

/// The closed pack.
pub static PACK: Table = Table {
    name: "pack",
    doc: "The closed pack, in which moisture evens out inside the piece.",
    fields: &[
        number_or(
            "days",
            "days",
            0.1,
            60.0,
            2.0,
            "time in the pack after which \"packed\" is told",
        ),
        number_or(
            "store_c",
            "°C",
            -30.0,
            50.0,
            22.0,
            "temperature of the store",
        ),
    ],
};

fn presets() -> Vec<&'static str> {
    vec![
        "bench convection oven",
        "three-zone steel band",
        "mesh band",
    ]
}

fn kinds() -> Vec<&'static str> {
    vec!["band", "batch"]
}

fn bands() -> Vec<&'static str> {
    vec!["steel", "mesh", "tray", "tray with paper"]
}
