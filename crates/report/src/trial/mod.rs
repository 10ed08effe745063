//! Trials, told: plans, power, analyses, models of amounts and palatability, each as pictures, a
//! plain sentence, tables and findings, and that as HTML, Markdown or CSV.

mod analysis;
mod as_good;
mod keeping;
mod kept;
mod model;
mod named;
mod palatability;
mod plan;
mod power;
mod sheet;
mod written;

pub use analysis::analysis;
pub use as_good::as_good;
pub use keeping::{keeping, looks, several};
pub use kept::{batches, of_trial};
pub use model::{best, mixture, surface, trend};
pub use named::named;
pub use palatability::{ranking, two_bowl};
pub use plan::plan;
pub use power::{curve_svg, power};
pub use sheet::{Cell, Sheet};

use maud::Markup;
use measure::Finding;

/// Something of a trial, told: every output is drawn from this one form.
#[derive(Clone, Debug, Default)]
pub struct Told {
    /// What kind of page it is, e.g. `Trial analysis`.
    pub kind: &'static str,
    /// Its title.
    pub title: String,
    /// What it says, in plain words: first of all.
    pub sentence: String,
    /// What it stands on: unit, layout, method.
    pub facts: Vec<(&'static str, String)>,
    /// Drawings.
    pub pictures: Vec<Markup>,
    /// Tables, the most wanted first.
    pub sheets: Vec<Sheet>,
    /// What to know beside it.
    pub findings: Vec<Finding>,
}
