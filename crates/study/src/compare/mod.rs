//! Treatments beside the control: figures, differences, the sheet, how sure they are, and what would help most.

pub mod bound;
pub mod compared;
pub mod figure;
pub mod sensitivity;
pub mod uncertainty;
pub mod water_curve;

pub use bound::Bound;
pub use compared::{Compared, Difference, compare};
pub use figure::Figure;
pub use sensitivity::{Sensitivity, sensitivities};
pub use uncertainty::{Spread, spread};
pub use water_curve::{WaterPoint, water_curve};
