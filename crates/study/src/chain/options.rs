//! How the bake of a treatment is asked for.

use baking::bake::Accuracy;

/// How the bake is asked for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BakeOptions {
    /// Cells through the thickness.
    pub cells: usize,
    /// Accuracy of the steps.
    pub accuracy: Accuracy,
    /// Water to give instead of the treatment's, kg per 100 kg dry mix.
    pub water_kg_per_100kg: Option<f64>,
    /// Time in the oven to look at instead of the target, s.
    pub bake_time_s: Option<f64>,
    /// Whether to follow the piece into the pack and to tell the edge correction and the grid error, which takes a few
    /// bakes more.
    pub checks: bool,
}

impl BakeOptions {
    /// As while typing: 32 cells, which err as little as 40 did before the water was held at the dry end, quick.
    pub const QUICK: Self = Self {
        cells: 32,
        accuracy: Accuracy::Quick,
        water_kg_per_100kg: None,
        bake_time_s: None,
        checks: true,
    };

    /// The bake alone: as while typing, without what comes after and without checks.
    pub const BAKE_ONLY: Self = Self {
        checks: false,
        ..Self::QUICK
    };

    /// For differences between bakes on one grid, which are surer than the bakes: 20 cells, no checks.
    pub const COARSE: Self = Self {
        cells: 20,
        ..Self::BAKE_ONLY
    };
}
