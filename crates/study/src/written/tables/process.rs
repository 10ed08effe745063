//! How the dough is mixed and formed, and the dough as it comes to the oven.

use super::super::field::{Field, Kind, Need, Table, number, number_or, optional};
use formula::Forming;

/// Mixing and forming.
pub static PROCESS: Table = Table {
    name: "process",
    doc: "How the dough is mixed and formed. Temperatures are for the mixing water and its ice.",
    fields: &[
        Field {
            key: "forming",
            kind: Kind::Choice(formings),
            need: Need::OrWord("sheeted"),
            doc: "how pieces are formed; each way asks for its own water",
        },
        number_or(
            "consistency_fu",
            "farinograph units",
            200.0,
            4000.0,
            500.0,
            "consistency wanted: 500 is a bread dough, for which the water uptakes are told; stiff biscuit doughs are 1000 to 2500",
        ),
        number_or(
            "flour_c",
            "°C",
            -10.0,
            45.0,
            20.0,
            "temperature of flour and powders",
        ),
        number_or(
            "tap_water_c",
            "°C",
            0.5,
            60.0,
            15.0,
            "temperature of the water at the tap",
        ),
        number_or("room_c", "°C", -5.0, 50.0, 22.0, "temperature of the room"),
        number_or(
            "mixing_work_kj_per_kg",
            "kJ per kg dough",
            0.0,
            200.0,
            12.0,
            "heat that mixing puts into the dough",
        ),
    ],
};

/// The dough.
pub static DOUGH: Table = Table {
    name: "dough",
    doc: "The dough as it comes to the oven.",
    fields: &[
        number_or("temperature_c", "°C", 0.0, 60.0, 26.0, "temperature wanted"),
        optional(
            "density_kg_per_m3",
            number("kg/m³", 400.0, 1600.0),
            "density as measured; from the true densities and the gas unless written",
        ),
        number_or(
            "gas_pct",
            "% by volume",
            0.0,
            60.0,
            8.0,
            "gas in the dough; not used when the density is given",
        ),
    ],
};

/// The word of a way of forming in files.
pub(in super::super) const fn forming_word(forming: Forming) -> &'static str {
    match forming {
        Forming::Sheeted => "sheeted",
        Forming::RotaryMoulded => "rotary",
        Forming::WireCut => "wire-cut",
    }
}

fn formings() -> Vec<&'static str> {
    Forming::ALL.into_iter().map(forming_word).collect()
}
