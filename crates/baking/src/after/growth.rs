//! Water activities below which things don't grow.

use measure::{Grade, Source};

/// A lower limit of growth.
#[derive(Clone, Debug, PartialEq)]
pub struct GrowthLimit {
    /// What grows.
    pub what: &'static str,
    /// Water activity below which it doesn't, least and most of the values printed.
    pub water_activity: (f64, f64),
    /// Where that comes from.
    pub source: Source,
}

const fn limit(what: &'static str, low: f64, high: f64, source: Source) -> GrowthLimit {
    GrowthLimit {
        what,
        water_activity: (low, high),
        source,
    }
}

const BANDS: Source = Source::fixed(
    Grade::Published,
    "bands after Beuchat 1981, as reprinted (seen)",
);
const MEMORY: Source = Source::fixed(
    Grade::Recalled,
    "values as regulators print them, from memory; older bands begin lower",
);

/// The table, from wet to dry. Nothing here says that what doesn't grow dies: *Salmonella* survives in dry biscuits
/// for months.
pub const GROWTH_LIMITS: [GrowthLimit; 11] = [
    limit("Escherichia coli", 0.95, 0.95, MEMORY),
    limit("Salmonella", 0.91, 0.95, BANDS),
    limit("Clostridium botulinum (proteolytic)", 0.91, 0.95, BANDS),
    limit("Bacillus cereus", 0.92, 0.93, MEMORY),
    limit("Listeria monocytogenes", 0.92, 0.92, MEMORY),
    limit("many yeasts", 0.87, 0.91, BANDS),
    limit("Staphylococcus aureus, most moulds", 0.80, 0.87, BANDS),
    limit("mycotoxin-forming aspergilli", 0.75, 0.80, BANDS),
    limit("moulds that like it dry", 0.65, 0.75, BANDS),
    limit("yeasts that like sugar", 0.60, 0.65, BANDS),
    limit("nothing grows below", 0.60, 0.60, BANDS),
];
