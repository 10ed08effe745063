//! What goes in: raw material, formula, treatment, batch, water, nutrition, label, cautions, cost.
//!
//! Knows mass arithmetic: what a mixture is made of, on which basis, and how sure that is.
//! Must not know time or heat transfer (only the heat balance of a dough at one temperature),
//! nor any file, clock, thread, screen or database.

mod acid;
pub mod batch;
mod called;
pub mod cautions;
pub mod code;
pub mod composition;
pub mod cost;
pub mod dough;
pub mod dough_temperature;
mod flour_absorption;
mod formula;
pub mod hold;
pub mod label;
mod leavener;
pub mod leavening;
pub mod material;
pub mod material_patch;
mod names;
pub mod nutrition;
pub mod preservative;
pub mod shelf;
pub mod solute;
pub mod solutes;
pub mod spread;
mod stage;
pub mod treatment;
pub mod water;

pub use code::Code;
pub use composition::{Composition, Nutrient, Value};
pub use dough::{BakeBalance, DrySolids};
pub use formula::{Formula, FormulaError, Line, Stage};
pub use hold::Hold;
pub use material::{
    Allergen, AllergenFlag, Category, Gluten, Material, Price, PriceFrom, WaterUptake,
};
pub use material_patch::{MaterialError, MaterialPatch, PatchValue};
pub use nutrition::{Nutrition, Proximate, Species};
pub use solute::Solute;
pub use solutes::Solutes;
pub use treatment::{Amount, At, Change, ChangeError};
pub use water::{Forming, WaterNeed};
