//! Moisture on two bases, kept apart by type.

use serde::{Deserialize, Serialize};

/// Moisture on wet basis: kg water per kg of the whole, 0 ≤ w < 1.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd, Serialize, Deserialize)]
#[serde(transparent)]
pub struct WetBasis(pub f64);

/// Moisture on dry basis: kg water per kg dry solid, X ≥ 0.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd, Serialize, Deserialize)]
#[serde(transparent)]
pub struct DryBasis(pub f64);

impl WetBasis {
    /// From percent of the whole.
    pub fn from_percent(percent: f64) -> Self {
        Self(percent / 100.0)
    }

    /// In percent of the whole.
    pub fn percent(self) -> f64 {
        self.0 * 100.0
    }

    /// X = w / (1 − w).
    ///
    /// ```
    /// use measure::WetBasis;
    /// assert!((WetBasis(0.30).to_dry().0 - 0.428571).abs() < 1e-6);
    /// ```
    pub fn to_dry(self) -> DryBasis {
        DryBasis(self.0 / (1.0 - self.0))
    }
}

impl DryBasis {
    /// w = X / (1 + X).
    pub fn to_wet(self) -> WetBasis {
        WetBasis(self.0 / (1.0 + self.0))
    }
}

/// A percentage as fed restated on dry matter: 100·p / (100 − moisture).
///
/// Check: 20 % protein at 10 % moisture is 22.2 % of dry matter (facts on nutrition, basis
/// conversions, seen in print).
///
/// ```
/// let dm = measure::basis::as_is_to_dry_pct(20.0, measure::WetBasis(0.10));
/// assert!((dm - 22.2222).abs() < 1e-4);
/// ```
pub fn as_is_to_dry_pct(as_is_pct: f64, moisture: WetBasis) -> f64 {
    as_is_pct / (1.0 - moisture.0)
}

/// A percentage of dry matter restated as fed at a moisture: p·(1 − w).
///
/// Check: 22.5 % of dry matter at 10 % moisture is 20.25 % (worked example A2 of the AAFCO
/// profile text, seen in print).
///
/// ```
/// let fed = measure::basis::dry_to_as_is_pct(22.5, measure::WetBasis(0.10));
/// assert!((fed - 20.25).abs() < 1e-12);
/// ```
pub fn dry_to_as_is_pct(dry_pct: f64, moisture: WetBasis) -> f64 {
    dry_pct * (1.0 - moisture.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bases_round_trip() {
        for i in 0..=95 {
            let w = f64::from(i) / 100.0;
            assert!((WetBasis(w).to_dry().to_wet().0 - w).abs() < 1e-14);
        }
    }
}
