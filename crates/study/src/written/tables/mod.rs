//! The field lists: the one place that says what a study file may hold. Each table is written once;
//! its rows as a struct and its keys come with it.

mod learned;
mod limits;
mod line;
mod material;
mod oven;
mod piece;
mod process;
mod root;
mod treatment;

pub use learned::{
    LEARNED, LEARNED_BAKE, LEARNED_FACTOR, LEARNED_UPTAKE, LEARNED_WATER, LEARNED_WHOLE,
    LearnedBakeRow, LearnedFactorRow, LearnedRow, LearnedUptakeRow, LearnedWaterRow,
    LearnedWholeRow, TOGETHER, TogetherRow,
};
pub use limits::{LIMIT, LimitRow};
pub use line::{
    CONVERSION, COOLER, ConversionRow, CoolerRow, DRYER, DryerRow, FORMER, FormerRow, FormerWord,
    LINE, LinePreset, LineRow, MIXER, MixerRow, PACKER, PackerRow,
};
pub use material::{MATERIAL, MaterialRow, SPREAD, SpreadRow, constituent};
pub use oven::{
    COOLING, CoolingRow, FilmWord, OVEN, OvenKind, OvenPreset, OvenRow, PACK, PackRow, STEP,
    StepRow, SurfaceWord, ZONE, ZoneRow,
};
pub(crate) use piece::shapes;
pub use piece::{DOCKER, DockerRow, OutlineWord, PIECE, PatternWord, PieceRow};
pub use process::{
    DOUGH, DoughRow, PROCESS, ProcessRow, SORPTION, SorptionRow, WATER_MOVES, WaterMovesRow,
};
pub use root::{ROOT, RootRow, STUDY, StudyRow, TARGET, TargetRow};
pub use treatment::{
    ADD, AddRow, AmountOf, CHANGES, ChangeRow, FORMULA_LINE, FormulaLineRow, REMOVE, RemoveRow,
    SCALE_WATER, SET, SWAP, ScaleWaterRow, SetRow, SwapRow, TREATMENT, TreatmentRow,
};

/// Longest name.
pub(super) const NAME: usize = 200;
/// Longest note.
pub(super) const NOTE: usize = 20_000;
/// Most treatments in a study.
pub const MOST_TREATMENTS: usize = 200;
/// Most lines in a formula.
pub const MOST_LINES: usize = 200;
/// Most changes in a treatment.
pub const MOST_CHANGES: usize = 200;
/// Most materials of a study's own.
pub const MOST_MATERIALS: usize = 500;
/// Most limits of a study.
pub const MOST_LIMITS: usize = 40;
/// Most zones of an oven.
pub const MOST_ZONES: usize = 20;

/// Fields of which only one can hold: each says in another way what the other says. One list for the reader's
/// contradictions, for values over those of a preset, and for edits.
pub(crate) mod either {
    use super::{MaterialRow, OvenRow, PackRow, ZoneRow};
    use crate::written::field::Table;

    /// Two keys of a table.
    pub type Either = [&'static str; 2];

    /// Keys of a zone.
    pub const ZONE: [Either; 3] = [
        [ZoneRow::share.name, ZoneRow::length_m.name],
        [ZoneRow::humidity_kg_per_kg.name, ZoneRow::dew_point_c.name],
        [
            ZoneRow::heat_transfer_w_m2k.name,
            ZoneRow::air_speed_m_s.name,
        ],
    ];
    /// Keys of a pack.
    pub const PACK: [Either; 1] = [[PackRow::film.name, PackRow::film_g_m2_day.name]];
    /// Keys of an oven.
    const OVEN: [Either; 1] = [[OvenRow::preset.name, OvenRow::kind.name]];
    /// Keys of a material.
    const MATERIAL: [Either; 2] = [
        [
            MaterialRow::price_per_kg.name,
            MaterialRow::price_low_per_kg.name,
        ],
        [
            MaterialRow::price_per_kg.name,
            MaterialRow::price_high_per_kg.name,
        ],
    ];

    /// Those of a table.
    pub fn of(table: &'static Table) -> &'static [Either] {
        let is = |other: &'static Table| std::ptr::eq(table, other);
        if is(&super::ZONE) {
            &ZONE
        } else if is(&super::PACK) {
            &PACK
        } else if is(&super::OVEN) {
            &OVEN
        } else if is(&super::MATERIAL) {
            &MATERIAL
        } else {
            &[]
        }
    }
}
