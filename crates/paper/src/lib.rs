//! The look: style sheet, page, tables and drawings that every report and screen share.
//!
//! Knows HTML, SVG and our own tokens of colour, space and type.
//! Must not know HTTP, files, databases or any science: it draws the figure data it is given.

pub mod chart;
mod fonts;
pub mod number;
pub mod page;
pub mod parts;
pub mod ramp;

pub use fonts::{FONTS, Font};
pub use page::{STYLE, self_contained};
pub use ramp::{CRUST_DELTA_E, Ramp, Rgb};
