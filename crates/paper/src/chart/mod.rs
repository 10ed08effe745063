//! Drawings: figure data in, one `<figure>` or small `<svg>` out.
//!
//! Colours come from the style sheet's classes, so that a drawing follows the reader's mode and
//! prints; only ramps, where colour is the measure, are written into the drawing itself.

mod axis;
mod bars;
mod batches;
mod biscuit;
mod dots;
mod frame;
mod heat;
mod inline;
pub mod label;
mod line;
mod oven;
mod pairs;
pub mod piece;
mod ribbon;
mod rows;
pub mod scale;
mod small;
pub mod solid;
mod stack;
mod svg;
mod ternary;
mod variants;

pub use bars::{Bar, Bars, bars};
pub use batches::{BatchDots, BatchPlot, BatchRow, batch_plot};
pub use biscuit::biscuit;
pub use dots::{Dot, DotPlot, dot_plot};
pub use heat::{HeatStrip, heat_strip};
pub use inline::{Interval, interval, spark};
pub use line::{Axis, Band, Level, LineChart, Look, Mark, Series, Zone, line_chart};
pub use oven::{OvenDeed, OvenSide, OvenZone, oven_side};
pub use pairs::{Pair, Pairs, pairs};
pub use ribbon::{Ribbon, RibbonStage, ribbon};
pub use small::small_piece;
pub use stack::{Stack, StackRow, stack};
pub use svg::Width;
pub use ternary::{Ternary, TernaryPoint, ternary};
pub use variants::{
    Interaction, InteractionLine, PowerCurve, Residuals, interaction_plot, power_curve,
    residual_plot,
};
