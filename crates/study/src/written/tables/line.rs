//! The stations beside the oven, and what they cost.

use super::NAME;
use crate::written::row::Row;
use crate::written::typed::table;
use crate::written::word::{Word, word};
use baking::line::energy::OVEN_EFFICIENCY;
use baking::line::setting::{BREAKAGE, DOUGH_LOSS, REWORK_CAP, UTILISATION};
use baking::line::{Heating, LineSetting, presets};
use measure::{Constant, Grade, Range};
use std::sync::LazyLock;

const fn pct(of: &Constant) -> Range {
    Range::new(100.0 * of.range.low, 100.0 * of.range.high)
}

table! {
    /// The line.
    LINE, LineRow = "line",
        "The stations of the line; the oven has a section of its own. What isn't written is taken \
         from the preset, an example with assumed values. Without a preset the one that goes with \
         the oven and the way of forming is taken.";
    preset: choice(LinePreset) optional, "a line that comes with the program";
    name: text(NAME) optional, "what the line is called";
    oven_utilisation_pct: number("%", pct(&UTILISATION)) optional,
        "share of the oven's places that are filled over a shift, stops included";
    oven_efficiency_pct: number("%", pct(&OVEN_EFFICIENCY)) optional,
        "useful heat over fuel, read off your own meters; unless written it comes from the oven's humidity, load and heating";
    heating: choice(Heating) optional,
        "what heats the oven; \"direct gas\" for a band oven and \"electric\" for a batch oven unless written";
    dough_loss_pct: number("%", pct(&DOUGH_LOSS)) optional,
        "dough lost between mixer and oven, trim apart";
    rework_cap_pct: number("%", pct(&REWORK_CAP)) optional, "most rework in the dough";
    breakage_pct: number("%", pct(&BREAKAGE)) optional, "pieces broken between oven and pack";
    source: text(NAME) optional, "where the description comes from, in words";
    grade: choice(Grade) optional, "how sure it is; \"assumed\" unless written";
    mixer: table(MIXER, MixerRow) optional, "the mixers";
    former: table(FORMER, FormerRow) optional, "what forms the pieces";
    dryer: table(DRYER, DryerRow) optional,
        "where the oven's steps are done after a band oven; a batch oven takes them itself";
    cooler: table(COOLER, CoolerRow) optional, "the cooler";
    packer: table(PACKER, PackerRow) optional, "packing";
    conversion: table(CONVERSION, ConversionRow) optional, "what a kilogram costs beside its materials";
}

table! {
    /// The mixer.
    MIXER, MixerRow = "mixer", "The mixers, all alike.";
    count: whole(1.0, 100.0) optional, "how many";
    batch_kg: number("kg", 0.05, 5000.0) optional, "dough in one batch";
    cycle_min: number("min", 0.5, 240.0) optional, "from one batch to the next";
}

table! {
    /// The former.
    FORMER, FormerRow = "former",
        "What turns dough into pieces. \"sheeter and cutter\" takes width_m, speed_m_min, gap_mm and \
         trim_pct; \"rotary moulder\" die_diameter_mm and most_rpm, and either width_m of a die made for \
         the piece or around and across of one that is there; \"wire cutter\" \
         across and cuts_per_min; \"hand cutting\" pieces_per_h and trim_pct.";
    kind: choice(FormerWord) optional, "which; it has to go with the process's forming";
    width_m: number("m", 0.05, 4.0) optional, "width of the sheet or of the die";
    speed_m_min: number("m/min", 0.06, 120.0) optional, "fastest sheet";
    gap_mm: number("mm", 0.0, 100.0) optional, "gap between neighbouring cuts";
    trim_pct: number("%", 0.0, 90.0) optional,
        "share that is trim; from outline and gap for a cutter unless written";
    die_diameter_mm: number("mm", 50.0, 1000.0) optional, "diameter of the die";
    around: whole(1.0, 500.0) optional, "cavities around the die";
    across: whole(1.0, 500.0) optional, "cavities or nozzles across";
    most_rpm: number("turns per minute", 0.1, 100.0) optional, "fastest turning";
    cuts_per_min: number("per min", 1.0, 500.0) optional, "cuts per minute at most";
    pieces_per_h: number("per h", 1.0, 20_000.0) optional, "pieces per hour";
}

table! {
    /// The dryer.
    DRYER, DryerRow = "dryer",
        "The band or the racks that carry out the steps after a band oven. Unless written its capacity isn't known.";
    area_m2: number("m²", 0.01, 5000.0) required, "area that pieces dry on";
    crowding: number("", 0.1, 20.0) optional,
        "pieces per area over those in the oven; 1 unless written";
}

table! {
    /// The cooler.
    COOLER, CoolerRow = "cooler", "The cooling conveyor or the racks.";
    area_m2: number("m²", 0.01, 5000.0) optional, "area that pieces cool on";
    crowding: number("", 0.1, 20.0) optional,
        "pieces per area over those in the oven; above 1 where they are pushed together or stacked";
}

table! {
    /// Packing.
    PACKER, PackerRow = "packer", "Packing.";
    packs_per_min: number("per min", 0.01, 2000.0) optional, "packs per minute";
    label_g: number("g", 1.0, 1_000_000.0) optional, "net mass on the label";
    giveaway_pct: number("%", 0.0, 20.0) optional, "share of the mean fill that lies above the label";
}

table! {
    /// Costs beside materials.
    CONVERSION, ConversionRow = "conversion",
        "Costs beside materials, in the study's currency; what isn't written is left out.";
    per_kg: number("per kg", 0.0, 1e6) optional,
        "pack, labels and whatever else goes by mass, per kg saleable";
    per_line_hour: number("per hour", 0.0, 1e6) optional, "people and plant, per hour the line runs";
    heat_per_kwh: number("per kWh", 0.0, 1e3) optional, "fuel or electricity of the oven";
}

/// A line that comes with the program.
#[derive(Clone, Copy, Debug)]
pub struct LinePreset {
    /// The line.
    pub line: &'static LineSetting,
    /// The line as a row, so that it takes values of one's own like any other.
    pub row: &'static Row,
}

static PRESETS: LazyLock<Vec<(LineSetting, Row)>> = LazyLock::new(|| {
    let with_row = |line: LineSetting| {
        let row = crate::written::resolve::line_row(&line);
        (line, row)
    };
    presets::all().into_iter().map(with_row).collect()
});

impl Word for LinePreset {
    fn all() -> Vec<Self> {
        PRESETS
            .iter()
            .map(|(line, row)| Self { line, row })
            .collect()
    }

    fn written(self) -> &'static str {
        &self.line.name
    }
}

/// A former as a file names it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FormerWord {
    /// A sheet that is cut.
    SheeterCutter,
    /// A die roll.
    RotaryMoulder,
    /// Nozzles and a wire.
    WireCutter,
    /// By hand.
    Hand,
}

impl FormerWord {
    /// The measures that it has to have.
    pub const fn wants(self) -> &'static [&'static str] {
        match self {
            Self::SheeterCutter => &[
                FormerRow::width_m.name,
                FormerRow::speed_m_min.name,
                FormerRow::gap_mm.name,
            ],
            Self::RotaryMoulder => &[FormerRow::die_diameter_mm.name, FormerRow::most_rpm.name],
            Self::WireCutter => &[FormerRow::across.name, FormerRow::cuts_per_min.name],
            Self::Hand => &[FormerRow::pieces_per_h.name, FormerRow::trim_pct.name],
        }
    }

    /// The measures that it may have beside.
    pub const fn may(self) -> &'static [&'static str] {
        match self {
            Self::SheeterCutter => &[FormerRow::trim_pct.name],
            Self::RotaryMoulder => &[
                FormerRow::width_m.name,
                FormerRow::around.name,
                FormerRow::across.name,
            ],
            Self::WireCutter | Self::Hand => &[],
        }
    }
}

impl Word for FormerWord {
    fn all() -> Vec<Self> {
        vec![
            Self::SheeterCutter,
            Self::RotaryMoulder,
            Self::WireCutter,
            Self::Hand,
        ]
    }

    fn written(self) -> &'static str {
        match self {
            Self::SheeterCutter => "sheeter and cutter",
            Self::RotaryMoulder => "rotary moulder",
            Self::WireCutter => "wire cutter",
            Self::Hand => "hand cutting",
        }
    }
}

word! {
    Heating: Heating::word;
}
