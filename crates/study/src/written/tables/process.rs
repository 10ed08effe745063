//! How the dough is mixed and formed, and the dough as it comes to the oven.

use crate::written::typed::table;
use crate::written::word::word;
use formula::Forming;

table! {
    /// Mixing and forming.
    PROCESS, ProcessRow = "process",
        "How the dough is mixed and formed. Temperatures are for the mixing water and its ice.";
    forming: choice(Forming) or_word("sheeted"), "how pieces are formed; each way asks for its own water";
    consistency_fu: number("farinograph units", 200.0, 4000.0) or(500.0),
        "consistency wanted: 500 is a bread dough, for which the water uptakes are told; stiff biscuit doughs are 1000 to 2500";
    flour_c: number("°C", -10.0, 45.0) or(20.0), "temperature of flour and powders";
    tap_water_c: number("°C", 0.5, 60.0) or(15.0), "temperature of the water at the tap";
    room_c: number("°C", -5.0, 50.0) or(22.0), "temperature of the room";
    mixing_work_kj_per_kg: number("kJ per kg dough", 0.0, 200.0) or(12.0),
        "heat that mixing puts into the dough";
}

table! {
    /// The dough.
    DOUGH, DoughRow = "dough", "The dough as it comes to the oven.";
    temperature_c: number("°C", 0.0, 60.0) or(26.0), "temperature wanted";
    density_kg_per_m3: number("kg/m³", 400.0, 1600.0) optional,
        "density as measured; from the true densities and the gas unless written";
    gas_pct: number("% by volume", 0.0, 60.0) or(8.0),
        "gas in the dough; not used when the density is given";
}

word! {
    Forming: |f| match f {
        Forming::Sheeted => "sheeted",
        Forming::RotaryMoulded => "rotary",
        Forming::WireCut => "wire-cut",
    };
}
