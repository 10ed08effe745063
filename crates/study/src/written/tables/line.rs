//! The stations beside the oven, and what they cost.

use super::super::field::{Kind, Table, number, optional};
use super::NAME;
use baking::line::energy::OVEN_EFFICIENCY;
use baking::line::setting::{BREAKAGE, DOUGH_LOSS, REWORK_CAP, UTILISATION};
use baking::line::{Heating, LineSetting, presets};
use measure::{Constant, Grade, Range};
use std::sync::LazyLock;

const fn pct(of: &Constant) -> Kind {
    Kind::Number("%", Range::new(100.0 * of.range.low, 100.0 * of.range.high))
}

/// The line.
pub static LINE: Table = Table {
    name: "line",
    doc: "The stations of the line; the oven has a section of its own. What isn't written is taken \
          from the preset, an example with assumed values. Without a preset the one that goes with \
          the oven and the way of forming is taken.",
    fields: &[
        optional(
            "preset",
            Kind::Choice(preset_names),
            "a line that comes with the program",
        ),
        optional("name", Kind::Text(NAME), "what the line is called"),
        optional(
            "oven_utilisation_pct",
            pct(&UTILISATION),
            "share of the oven's places that are filled over a shift, stops included",
        ),
        optional(
            "oven_efficiency_pct",
            pct(&OVEN_EFFICIENCY),
            "useful heat over fuel, read off your own meters; unless written it comes from the oven's humidity, load and heating",
        ),
        optional(
            "heating",
            Kind::Choice(heatings),
            "what heats the oven; \"direct gas\" for a band oven and \"electric\" for a batch oven unless written",
        ),
        optional(
            "dough_loss_pct",
            pct(&DOUGH_LOSS),
            "dough lost between mixer and oven, trim apart",
        ),
        optional(
            "rework_cap_pct",
            pct(&REWORK_CAP),
            "most rework in the dough",
        ),
        optional(
            "breakage_pct",
            pct(&BREAKAGE),
            "pieces broken between oven and pack",
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
        optional("mixer", Kind::Table(&MIXER), "the mixers"),
        optional("former", Kind::Table(&FORMER), "what forms the pieces"),
        optional("cooler", Kind::Table(&COOLER), "the cooler"),
        optional("packer", Kind::Table(&PACKER), "packing"),
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
    doc: "The mixers, all alike.",
    fields: &[
        optional("count", Kind::Whole(Range::new(1.0, 100.0)), "how many"),
        optional("batch_kg", number("kg", 0.05, 5000.0), "dough in one batch"),
        optional(
            "cycle_min",
            number("min", 0.5, 240.0),
            "from one batch to the next",
        ),
    ],
};

/// The former.
pub static FORMER: Table = Table {
    name: "former",
    doc: "What turns dough into pieces. \"sheeter and cutter\" takes width_m, speed_m_min, gap_mm and \
          trim_pct; \"rotary moulder\" die_diameter_mm and most_rpm, and either width_m of a die made for \
          the piece or around and across of one that is there; \"wire cutter\" \
          across and cuts_per_min; \"hand cutting\" pieces_per_h and trim_pct.",
    fields: &[
        optional(
            "kind",
            Kind::Choice(former_kinds),
            "which; it has to go with the process's forming",
        ),
        optional(
            "width_m",
            number("m", 0.05, 4.0),
            "width of the sheet or of the die",
        ),
        optional("speed_m_min", number("m/min", 0.06, 120.0), "fastest sheet"),
        optional(
            "gap_mm",
            number("mm", 0.0, 100.0),
            "gap between neighbouring cuts",
        ),
        optional(
            "trim_pct",
            number("%", 0.0, 90.0),
            "share that is trim; from outline and gap for a cutter unless written",
        ),
        optional(
            "die_diameter_mm",
            number("mm", 50.0, 1000.0),
            "diameter of the die",
        ),
        optional(
            "around",
            Kind::Whole(Range::new(1.0, 500.0)),
            "cavities around the die",
        ),
        optional(
            "across",
            Kind::Whole(Range::new(1.0, 500.0)),
            "cavities or nozzles across",
        ),
        optional(
            "most_rpm",
            number("turns per minute", 0.1, 100.0),
            "fastest turning",
        ),
        optional(
            "cuts_per_min",
            number("per min", 1.0, 500.0),
            "cuts per minute at most",
        ),
        optional(
            "pieces_per_h",
            number("per h", 1.0, 20_000.0),
            "pieces per hour",
        ),
    ],
};

/// The measures of each former: its word, those it has to have, those it may have.
pub(in super::super) const FORMERS: [(&str, &[&str], &[&str]); 4] = [
    (
        "sheeter and cutter",
        &["width_m", "speed_m_min", "gap_mm"],
        &["trim_pct"],
    ),
    (
        "rotary moulder",
        &["die_diameter_mm", "most_rpm"],
        &["width_m", "around", "across"],
    ),
    ("wire cutter", &["across", "cuts_per_min"], &[]),
    ("hand cutting", &["pieces_per_h", "trim_pct"], &[]),
];

/// The cooler.
pub static COOLER: Table = Table {
    name: "cooler",
    doc: "The cooling conveyor or the racks.",
    fields: &[
        optional(
            "area_m2",
            number("m²", 0.01, 5000.0),
            "area that pieces cool on",
        ),
        optional(
            "crowding",
            number("", 0.1, 20.0),
            "pieces per area over those in the oven; above 1 where they are pushed together or stacked",
        ),
    ],
};

/// Packing.
pub static PACKER: Table = Table {
    name: "packer",
    doc: "Packing.",
    fields: &[
        optional(
            "packs_per_min",
            number("per min", 0.01, 2000.0),
            "packs per minute",
        ),
        optional(
            "label_g",
            number("g", 1.0, 1_000_000.0),
            "net mass on the label",
        ),
        optional(
            "giveaway_pct",
            number("%", 0.0, 20.0),
            "share of the mean fill that lies above the label",
        ),
    ],
};

/// Costs beside materials.
pub static CONVERSION: Table = Table {
    name: "conversion",
    doc: "Costs beside materials, in the study's currency; what isn't written is left out.",
    fields: &[
        optional(
            "per_kg",
            number("per kg", 0.0, 1e6),
            "pack, labels and whatever else goes by mass, per kg saleable",
        ),
        optional(
            "per_line_hour",
            number("per hour", 0.0, 1e6),
            "people and plant, per hour the line runs",
        ),
        optional(
            "heat_per_kwh",
            number("per kWh", 0.0, 1e3),
            "fuel or electricity of the oven",
        ),
    ],
};

/// The lines that come with the program.
pub(in super::super) static LINES: LazyLock<Vec<LineSetting>> = LazyLock::new(presets::all);

fn preset_names() -> Vec<&'static str> {
    LINES.iter().map(|line| line.name.as_str()).collect()
}

fn heatings() -> Vec<&'static str> {
    Heating::ALL.into_iter().map(Heating::word).collect()
}

fn former_kinds() -> Vec<&'static str> {
    FORMERS.iter().map(|f| f.0).collect()
}

fn grades() -> Vec<&'static str> {
    Grade::ALL.into_iter().map(Grade::word).collect()
}
