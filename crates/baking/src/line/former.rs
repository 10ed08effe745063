//! The former: what turns dough into pieces.

use super::capacity;
use crate::piece::{Layout, Outline, layout::trim_share};
use measure::{Range, units::HOUR_S};
use serde::{Deserialize, Serialize};

/// How pieces are formed.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Former {
    /// A sheet is rolled and cut; the trim goes back.
    SheeterCutter {
        /// Width of the sheet \[m\].
        width_m: f64,
        /// Fastest sheet \[m/s\].
        speed_m_per_s: f64,
        /// Gap between neighbouring cuts \[m\].
        cut_gap_m: f64,
        /// Share of the sheet that is trim; `None` takes it from outline and gap.
        trim: Option<f64>,
    },
    /// Dough is pressed into the cavities of a turning die; no trim.
    RotaryMoulder {
        /// Diameter of the die \[m\].
        die_diameter_m: f64,
        /// Cavities around.
        around: u32,
        /// Cavities across.
        across: u32,
        /// Fastest turning \[rpm\].
        most_rpm: f64,
    },
    /// Dough is pressed through nozzles and cut by a wire; no trim.
    WireCutter {
        /// Nozzles across.
        across: u32,
        /// Cuts per minute at most.
        cuts_per_min: f64,
    },
    /// Rolled and cut by hand.
    Hand {
        /// Pieces per hour.
        pieces_per_h: f64,
        /// Share of the dough left as trim.
        trim: f64,
    },
}

/// What a former can do.
#[derive(Clone, Debug, PartialEq)]
pub struct Forming {
    /// Pieces per hour at most.
    pub pieces_per_h: f64,
    /// Share of the dough that is trim.
    pub trim: f64,
    /// How it was worked out, in words.
    pub how: String,
}

impl Former {
    /// The word shown to people.
    pub const fn word(&self) -> &'static str {
        match self {
            Self::SheeterCutter { .. } => "sheeter and cutter",
            Self::RotaryMoulder { .. } => "rotary moulder",
            Self::WireCutter { .. } => "wire cutter",
            Self::Hand { .. } => "hand cutting",
        }
    }

    /// Pieces per hour and trim, for a piece of an outline, thickness \[m\], green mass \[kg\] and dough
    /// density \[kg/m³\], in front of an oven whose band runs at a speed \[m/s\] (`None`: batch oven).
    ///
    /// A rotary die lays its pieces straight onto the band, so it turns at the band's speed and its
    /// own pitch sets how many there are.
    pub fn forming(
        &self,
        outline: &Outline,
        thickness_m: f64,
        green_kg: f64,
        dough_kg_per_m3: f64,
        band_m_per_s: Option<f64>,
    ) -> Forming {
        match *self {
            Self::SheeterCutter {
                width_m,
                speed_m_per_s,
                cut_gap_m,
                trim,
            } => {
                let trim = trim
                    .unwrap_or_else(|| trim_share(outline, &Layout::with_gap(outline, cut_gap_m)));
                let gross =
                    capacity::sheet_kg_per_h(width_m, thickness_m, speed_m_per_s, dough_kg_per_m3);
                Forming {
                    pieces_per_h: gross * (1.0 - trim) / green_kg,
                    trim,
                    how: format!(
                        "sheet {width_m:.2} m × {:.1} mm × {:.1} m/min × {dough_kg_per_m3:.0} kg/m³ = {gross:.0} kg/h, less {:.0} % trim",
                        thickness_m * 1000.0,
                        speed_m_per_s * 60.0,
                        trim * 100.0
                    ),
                }
            }
            Self::RotaryMoulder {
                die_diameter_m,
                around,
                across,
                most_rpm,
            } => {
                let around_m = std::f64::consts::PI * die_diameter_m;
                let most = most_rpm / 60.0 * around_m;
                let speed = band_m_per_s.map_or(most, |band| band.min(most));
                Forming {
                    pieces_per_h: capacity::rotary_pieces_per_h(
                        die_diameter_m,
                        around,
                        across,
                        speed,
                    ),
                    trim: 0.0,
                    how: format!(
                        "{around} × {across} cavities at {:.2} rpm (surface speed {:.2} m/min)",
                        speed / around_m * 60.0,
                        speed * 60.0
                    ),
                }
            }
            Self::WireCutter {
                across,
                cuts_per_min,
            } => Forming {
                pieces_per_h: f64::from(across) * cuts_per_min * HOUR_S / 60.0,
                trim: 0.0,
                how: format!("{across} nozzles × {cuts_per_min:.0} cuts/min"),
            },
            Self::Hand { pieces_per_h, trim } => Forming {
                pieces_per_h,
                trim,
                how: format!("{pieces_per_h:.0} pieces an hour by hand"),
            },
        }
    }

    /// Pitch of the die along the band \[m\], for a rotary moulder.
    ///
    /// ```
    /// use baking::line::Former;
    /// let die = Former::RotaryMoulder { die_diameter_m: 0.240, around: 16, across: 21, most_rpm: 20.0 };
    /// assert!((die.die_pitch_m().unwrap() * 1000.0 - 47.124).abs() < 5e-4);
    /// ```
    pub fn die_pitch_m(&self) -> Option<f64> {
        match *self {
            Self::RotaryMoulder {
                die_diameter_m,
                around,
                ..
            } => Some(std::f64::consts::PI * die_diameter_m / f64::from(around)),
            Self::SheeterCutter { .. } | Self::WireCutter { .. } | Self::Hand { .. } => None,
        }
    }

    /// Every number with its name, unit and allowed range.
    pub(super) fn numbers(&self) -> Vec<(&'static str, f64, &'static str, Range)> {
        let trim_range = Range::new(0.0, 0.9);
        match *self {
            Self::SheeterCutter {
                width_m,
                speed_m_per_s,
                cut_gap_m,
                trim,
            } => vec![
                ("sheet width", width_m, "m", Range::new(0.05, 4.0)),
                ("sheet speed", speed_m_per_s, "m/s", Range::new(1e-3, 2.0)),
                ("gap between cuts", cut_gap_m, "m", Range::new(0.0, 0.1)),
                ("trim", trim.unwrap_or(0.0), "", trim_range),
            ],
            Self::RotaryMoulder {
                die_diameter_m,
                around,
                across,
                most_rpm,
            } => vec![
                ("die diameter", die_diameter_m, "m", Range::new(0.05, 1.0)),
                (
                    "cavities around",
                    f64::from(around),
                    "",
                    Range::new(1.0, 500.0),
                ),
                (
                    "cavities across",
                    f64::from(across),
                    "",
                    Range::new(1.0, 500.0),
                ),
                ("fastest turning", most_rpm, "rpm", Range::new(0.1, 100.0)),
            ],
            Self::WireCutter {
                across,
                cuts_per_min,
            } => vec![
                (
                    "nozzles across",
                    f64::from(across),
                    "",
                    Range::new(1.0, 500.0),
                ),
                (
                    "cuts per minute",
                    cuts_per_min,
                    "1/min",
                    Range::new(1.0, 500.0),
                ),
            ],
            Self::Hand { pieces_per_h, trim } => vec![
                (
                    "pieces per hour by hand",
                    pieces_per_h,
                    "1/h",
                    Range::new(1.0, 20_000.0),
                ),
                ("trim", trim, "", trim_range),
            ],
        }
    }
}
