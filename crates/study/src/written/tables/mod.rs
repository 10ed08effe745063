//! The field lists: the one place that says what a study file may hold.

mod line;
mod material;
mod oven;
mod piece;
mod process;
mod root;
mod treatment;

pub use line::{CONVERSION, COOLER, FORMER, LINE, MIXER, PACKER};
pub(super) use line::{FORMERS, LINES};
pub use material::{MATERIAL, SPREAD};
pub(super) use material::{constituent_keys, gluten_words};
pub use oven::{COOLING, OVEN, PACK, STEP, ZONE};
pub(super) use oven::{EITHER, PRESETS};
pub use piece::OUTLINES;
pub use piece::{DOCKER, PIECE};
pub(crate) use piece::{EDGE_PATH, shapes};
pub(super) use process::forming_word;
pub use process::{DOUGH, PROCESS};
pub use root::{AT, ROOT, STUDY, TARGET};
pub(super) use treatment::keep_word;
pub use treatment::{CHANGES, FORMULA_LINE, TREATMENT};

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
/// Most zones of an oven.
pub const MOST_ZONES: usize = 20;
