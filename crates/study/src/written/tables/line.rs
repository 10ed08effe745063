//! The stations beside the oven, and what they cost.

use super::super::field::{Kind, Table, number_or, optional};
use measure::Range;

/// The line.
pub static LINE: Table = Table {
    name: "line",
    doc: "The stations of the line; the oven has a section of its own.",
    fields: &[
        optional("mixer", Kind::Table(&MIXER), "the mixer"),
        optional(
            "former",
            Kind::Table(&FORMER),
            "sheeter and cutter, rotary moulder or wire-cut machine",
        ),
        optional("cooler", Kind::Table(&COOLER), "the cooler"),
        optional("packer", Kind::Table(&PACKER), "the packing machine"),
        optional(
            "conversion",
            Kind::Table(&CONVERSION),
            "what a kilogram costs beside its materials",
        ),
    ],
};

/// The mixer.
pub static MIXER: Table = Table {
    name: "mixer",
    doc: "The mixer; all machines of one kind together.",
    fields: &[
        number_or("batch_kg", "kg", 0.05, 5000.0, 50.0, "dough of one batch"),
        number_or("cycle_min", "min", 0.5, 240.0, 20.0, "from batch to batch"),
        optional(
            "count",
            Kind::Whole(Range::new(1.0, 20.0)),
            "how many mixers; 1 unless written",
        ),
    ],
};

/// The former.
pub static FORMER: Table = Table {
    name: "former",
    doc: "What forms the pieces.",
    fields: &[number_or(
        "gap_mm",
        "mm",
        0.0,
        200.0,
        3.0,
        "distance between pieces on sheet, roll or band",
    )],
};

/// The cooler.
pub static COOLER: Table = Table {
    name: "cooler",
    doc: "The cooler.",
    fields: &[number_or(
        "capacity_kg_per_h",
        "kg/h",
        0.1,
        1e5,
        1000.0,
        "what it takes",
    )],
};

/// The packing machine.
pub static PACKER: Table = Table {
    name: "packer",
    doc: "The packing machine.",
    fields: &[number_or(
        "capacity_kg_per_h",
        "kg/h",
        0.1,
        1e5,
        1000.0,
        "what it takes",
    )],
};

/// Costs beside materials.
pub static CONVERSION: Table = Table {
    name: "conversion",
    doc: "Costs beside materials.",
    fields: &[number_or(
        "energy_per_kwh",
        "per kWh",
        0.0,
        100.0,
        0.12,
        "price of heat",
    )],
};
