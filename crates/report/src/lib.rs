//! A study and its answers, told: the side-by-side sheet, curves, label drafts, findings, and the
//! whole report as one document.
//!
//! Knows the study's answers and how a technologist tells them. Must not know files, HTTP or
//! databases, and works out nothing: a number that isn't in the answer isn't in the report.

mod bake;
mod bake_svg;
mod document;
mod findings;
mod how;
mod label;
mod limits;
mod line;
mod sheet;
pub mod trial;
mod water;

pub use bake::bake_curves;
pub use bake_svg::bake_svg;
pub use document::{Options, document};
pub use findings::findings;
pub use how::how_it_comes_about;
pub use label::label_draft;
pub use limits::limits_of_validity;
pub use line::{cost_build_up, line_stations, mass_ribbon};
pub use sheet::{Per, sheet};
pub use water::{Curve, water_curve};

/// The report's own style, to stand after [`paper::STYLE`].
pub const STYLE: &str = include_str!("style.css");

/// Where the target moisture holds, and how much it is: `packed at 8.0 % moisture`.
pub fn target_words(study: &study::Study) -> String {
    format!(
        "{} at {} % moisture",
        study.target.at.written(),
        paper::number::fixed(study.target.moisture.percent(), 1)
    )
}
