//! How the dough is mixed and formed, and the dough as it comes to the oven.

use crate::written::typed::table;
use crate::written::word::word;
use baking::properties::transport;
use formula::Forming;

/// Most readings of sorption in a study.
const MOST_PAIRS: usize = 50;

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
    ph: number("", 2.0, 12.0) optional,
        "pH of the baked piece, as measured; without it no preservative is credited";
    sorption: lines(SORPTION, SorptionRow, MOST_PAIRS) optional,
        "moisture and water activity read together on your own baked pieces; the curve goes through them, and keeps the \
         form of the ingredients' one outside";
    water_moves: inline(WATER_MOVES, WaterMovesRow) optional,
        "how water moves in your own pieces, in place of the fit to print";
}

table! {
    /// One reading of one's own.
    SORPTION, SorptionRow = "sorption", "A moisture and the water activity read with it.";
    moisture_pct: number("%", 0.1, 60.0) required, "moisture, wet basis";
    water_activity: number("", 0.01, 0.99) required, "water activity";
    temperature_c: number("°C", 0.0, 60.0) or(25.0), "temperature of the reading";
}

table! {
    /// Numbers of one's own about the movement of water.
    WATER_MOVES, WaterMovesRow = "water_moves",
        "Numbers of your own about the movement of water; what isn't written keeps the fit to print.";
    liquid_diffusivity_m2_per_s: number("m²/s", transport::LIQUID_DIFFUSIVITY.range) optional,
        "diffusivity of liquid water at 60 °C";
    activation_kj_per_mol: number("kJ/mol", 12.0, 60.0) optional, "activation energy of it";
    held_below_kg_per_kg: number("kg/kg dry solid", transport::DRY_MOISTURE.range) optional,
        "moisture below which liquid water is held; 0 is none";
    held_power: number("", transport::DRY_POWER.range) optional, "how sharply it is held there";
    porosity_over_tortuosity: number("", transport::POROSITY_OVER_TORTUOSITY.range) optional,
        "open pores over the crookedness of their ways";
    permeability_m2: number("m²", transport::PERMEABILITY.range) optional, "permeability of the crumb";
}

word! {
    Forming: |f| match f {
        Forming::Sheeted => "sheeted",
        Forming::RotaryMoulded => "rotary",
        Forming::WireCut => "wire-cut",
    };
}
