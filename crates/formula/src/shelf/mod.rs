//! The shelf: the table of raw materials that the program carries, read once.
//!
//! The numbers live in `materials.csv` (composition, one row per material, source per row),
//! `water_uptake.csv` (what dough asks for) and `water_kin.csv` (from which kin a missing uptake is
//! borrowed), `holding.csv` (what holds a raw dough together). An empty cell is unknown, never zero.

pub mod holding;
mod read;
pub mod uptake;

use crate::material::Material;
use measure::names::closest_called;
use std::sync::{Arc, LazyLock};

static SHELF: LazyLock<Vec<Arc<Material>>> = LazyLock::new(|| {
    read::materials()
        .expect("the built-in table is read by a test of this crate")
        .into_iter()
        .map(Arc::new)
        .collect()
});

/// Every material of the built-in table, in the order of the table.
pub fn shelf() -> &'static [Arc<Material>] {
    &SHELF
}

/// The material of the built-in table with this id.
///
/// ```
/// let flour = formula::shelf::find("wheat_flour_soft").unwrap();
/// assert_eq!(flour.label_name, "Wheat Flour");
/// assert!(formula::shelf::find("moon_dust").is_none());
/// ```
pub fn find(id: &str) -> Option<Arc<Material>> {
    SHELF.iter().find(|m| m.id == id).cloned()
}

/// The ids of the built-in table most like a misspelt one, or whose name is, best first, at most three.
///
/// ```
/// assert_eq!(formula::shelf::closest("wheat_flour_sofd")[0], "wheat_flour_soft");
/// assert_eq!(formula::shelf::closest("chicken_fat")[0], "poultry_fat");
/// ```
pub fn closest(id: &str) -> Vec<&'static str> {
    closest_called(id, SHELF.iter().map(|m| (m.id.as_str(), m.name.as_str())))
}

/// Water, the shelf's own.
pub fn water() -> Arc<Material> {
    find("water").expect("the built-in table has water")
}

#[cfg(test)]
mod tests;
