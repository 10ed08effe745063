//! How pieces lie on a band or a tray.

use super::Outline;
use serde::{Deserialize, Serialize};

/// Distances between the middles of neighbouring pieces.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Layout {
    /// Across the band \[m\].
    pub pitch_across_m: f64,
    /// Along the band \[m\].
    pub pitch_along_m: f64,
}

impl Layout {
    /// Pieces in rows with a gap all round \[m\], their length lying along the band.
    ///
    /// - Equation: pitch = extent of the outline + gap, both ways
    /// - Units: gap and pitches \[m\]
    /// - Valid: a gap of 0 or more
    /// - Source: geometry
    ///
    /// ```
    /// use baking::piece::{Layout, Outline};
    /// let layout = Layout::with_gap(&Outline::Round { diameter_m: 0.045 }, 0.005);
    /// assert!((layout.pitch_along_m - 0.050).abs() < 1e-15 && layout.pitch_across_m == layout.pitch_along_m);
    /// ```
    pub fn with_gap(outline: &Outline, gap_m: f64) -> Self {
        let (length, width) = outline.extent_m();
        Self {
            pitch_across_m: width + gap_m,
            pitch_along_m: length + gap_m,
        }
    }

    /// Pieces on a square metre of filled area.
    ///
    /// - Equation: n = 1/(p p′)
    /// - Units: pitches \[m\], n \[1/m²\]
    /// - Valid: an area filled without end
    /// - Source: geometry: 1/(0.055 · 0.045)
    ///
    /// ```
    /// use baking::piece::Layout;
    /// let layout = Layout { pitch_across_m: 0.055, pitch_along_m: 0.045 };
    /// assert!((layout.pieces_per_m2() - 404.04).abs() < 0.01);
    /// ```
    pub fn pieces_per_m2(&self) -> f64 {
        1.0 / (self.pitch_across_m * self.pitch_along_m)
    }
}

/// Share of a sheet that is trim for any outline in a layout.
pub(crate) fn trim_share(outline: &Outline, layout: &Layout) -> f64 {
    1.0 - outline.area_m2() * layout.pieces_per_m2()
}
