//! A number with its uncertainty.

use serde::{Deserialize, Serialize};

/// Standard normal quantile for a two-sided 95 % interval.
pub const Z95: f64 = 1.959_963_984_540_054;

/// A mean with a standard deviation, told as `24 (21 to 27)`.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Estimate {
    /// Best guess.
    pub mean: f64,
    /// Standard deviation, ≥ 0, in the unit of the mean.
    pub sd: f64,
}

impl Estimate {
    /// A number taken as exact.
    pub const fn exact(mean: f64) -> Self {
        Self { mean, sd: 0.0 }
    }

    /// Lower 95 % limit, normal.
    pub fn low95(self) -> f64 {
        self.mean - Z95 * self.sd
    }

    /// Upper 95 % limit, normal.
    pub fn high95(self) -> f64 {
        self.mean + Z95 * self.sd
    }
}
