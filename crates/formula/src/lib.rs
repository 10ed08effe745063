//! What goes in: raw material, formula, treatment, batch, water, nutrition, label, cautions, cost.
//!
//! Knows mass arithmetic: what a mixture is made of, on which basis, and how sure that is.
//! Must not know time or heat transfer (only the heat balance of a dough at one temperature),
//! nor any file, clock, thread, screen or database.

pub mod composition;
pub mod formula;
pub mod material;
pub mod shelf;
pub mod treatment;
pub mod water;

pub use composition::{Composition, Nutrient, Value};
pub use formula::{DrySolids, Formula, FormulaError, Line, Stage};
pub use material::{
    Allergen, AllergenFlag, Category, Gluten, Material, MaterialError, MaterialPatch, Price,
    WaterUptake,
};
pub use treatment::{At, Change, ChangeError};
pub use water::{Forming, WaterNeed};
