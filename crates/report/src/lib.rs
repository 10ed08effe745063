//! A study and its answers, told: the side-by-side sheet, curves, label drafts, findings, and the
//! whole report as one document.
//!
//! Knows the study's answers and how a technologist tells them. Must not know files, HTTP or
//! databases, and works out nothing: a number that isn't in the answer isn't in the report.

mod after_svg;
mod answer;
mod bake;
mod bake_svg;
mod cross_section;
mod document;
mod findings;
mod helps_most;
mod how;
mod label;
mod limits;
mod limits_kept;
mod line;
mod moved;
mod over_zones;
mod sheet;
pub mod trial;
mod water;

pub use after_svg::after_svg;
pub use bake::{bake_curves, bake_in_words, how_all_dry};
pub use bake_svg::bake_svg;
pub use cross_section::{Shown, passes_last, through_time};
pub use document::{Options, document};
pub use findings::findings;
pub use helps_most::helps_most;
pub use how::how_it_comes_about;
pub use label::labels_beside;
pub use limits::limits_of_validity;
pub use limits_kept::{limit_in_words, limits_kept};
pub use line::{
    cost_build_up, largest_capacity, line_stations, mass_ribbon, station_bars, stations_beside,
    stations_in_words,
};
pub use moved::moved_figures;
pub use over_zones::bake_over_zones;
pub use sheet::{at, sheet};
pub use study::compare::Per;
pub use water::{Curve, water_curve, water_curve_with};

/// The report's own style, to stand after [`paper::STYLE`].
pub const STYLE: &str = include_str!("style.css");

/// Where the target moisture holds, and how much it is: `packed at 8.0 % moisture`.
pub fn target_words(study: &study::Study) -> String {
    let kill = study.target.kill_log10.map_or_else(String::new, |k| {
        format!(", kill of {} log₁₀", paper::number::fixed(k, 1))
    });
    format!(
        "{} at {} % moisture{kill}",
        study.target.at.written(),
        paper::number::fixed(study.target.moisture.percent(), 1)
    )
}
