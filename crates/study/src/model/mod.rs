//! What a study holds once every name is looked up and every change applied.

mod keeping;
mod learned;
mod limit;
mod setting;
mod study;
mod treatment;

pub use formula::Species;
pub use keeping::{FilmChoice, Keeping, PACK_AREA, PACK_CONTENT};
pub use learned::{Joint, Learned, LearnedBake, LearnedWater, LearnedWhole};
pub use limit::FigureLimit;
pub use setting::{Dough, DoughDensity, Process, Setting};
pub use study::{Place, Study, Target};
pub use treatment::{Basis, Treatment, WaterChoice};
