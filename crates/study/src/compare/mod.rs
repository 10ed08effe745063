//! Treatments beside the control: figures, differences, the sheet, how sure they are, and what would help most.

pub mod blend;
pub mod bound;
pub mod bridge;
pub mod causes;
pub mod compared;
pub mod figure;
pub mod limits;
pub mod report;
pub mod sensitivity;
pub mod sheet;
pub mod so_far;
pub mod told;
pub mod tries;
pub mod uncertainty;
pub mod validity;
pub mod water_curve;

pub use blend::blended;
pub use bound::Bound;
pub use bridge::{Bridge, Exchange};
pub use causes::StandsOn;
pub use compared::{Compared, Difference, compare};
pub use figure::Figure;
pub use limits::{LimitStands, limits};
pub use report::{Report, report, report_markdown, report_schema};
pub use sensitivity::{Sensitivity, sensitivities};
pub use sheet::{Per, Sheet, sheet};
pub use told::{MODEL_VERSION, Moved, Told, ToldTreatment, moved, told};
pub use uncertainty::{Drawing, Spread, spread};
pub use validity::Limit;
pub use water_curve::{WaterPoint, water_curve};
