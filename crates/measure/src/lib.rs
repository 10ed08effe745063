//! Units, bases, sources, estimates, findings, and names that look alike.
//!
//! Knows metrology: how a number is told, how sure it is and where it comes from.
//! Must not know any food, oven, file, clock, screen or database.

mod apart;
pub mod basis;
pub mod code;
pub mod estimate;
pub mod finding;
pub mod known;
pub mod names;
pub mod range;
pub mod rounding;
pub mod shown;
pub mod source;
pub mod temperature;
pub mod units;

pub use apart::Apart;
pub use basis::{DryBasis, WetBasis};
pub use code::{Code, Listed};
pub use estimate::Estimate;
pub use finding::{Finding, Severity};
pub use known::Tally;
pub use range::Range;
pub use shown::Units;
pub use source::{Constant, Given, Grade, Source};
