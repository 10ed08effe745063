//! A first label draft: ingredient statement, guaranteed analysis, calorie content, flags.
//!
//! A draft, not a clearance: label law differs by place and changes. Have every label checked
//! against the rules in force, and by counsel where claims are made.

pub mod calories;
pub mod flags;
pub mod guarantee;
pub mod kept;
pub mod statement;

pub use calories::calorie_content;
pub use flags::{Flags, flags};
pub use guarantee::{Bound, Guarantee, Margin};
pub use kept::{Kept, guaranteed_analysis, guaranteed_analysis_kept, kcal_per_kg_at};
pub use statement::ingredient_statement;
