//! The former: what turns dough into pieces.

use super::capacity;
use super::{LineError, LineLoad};
use crate::oven::Kind;
use crate::piece::{Layout, layout::trim_share};
use measure::{Constant, Grade, Range, units::HOUR_S};
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
        /// Its cavities.
        cavities: Cavities,
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

/// The cavities of a rotary die.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Cavities {
    /// A die made for the piece: as many as fit around and across at the oven's own pitch.
    ForPiece {
        /// Width of the die that may bear cavities \[m\].
        width_m: f64,
    },
    /// A die that is there: every piece has to fit its cavities' pitch.
    Own {
        /// Around.
        around: u32,
        /// Across.
        across: u32,
    },
}

/// Least wall between two cavities of a die.
pub static DIE_WALL: Constant = Constant {
    name: "least wall between cavities of a die",
    value: 0.0015,
    unit: "m",
    range: Range::new(0.0005, 0.01),
    source: "working value",
    grade: Grade::Assumed,
};

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

    /// Pieces per hour and trim for a load, in front of an oven whose band runs at a speed \[m/s\]
    /// (`None`: batch oven).
    ///
    /// A rotary die lays its pieces straight onto the band, so it turns at the band's speed and its
    /// own pitch sets how many there are.
    ///
    /// # Errors
    /// A piece that doesn't fit the die.
    pub(crate) fn forming(
        &self,
        load: &LineLoad,
        band_m_per_s: Option<f64>,
    ) -> Result<Forming, LineError> {
        let (outline, thickness_m) = (&load.piece.outline, load.piece.thickness_m);
        Ok(match *self {
            Self::SheeterCutter {
                width_m,
                speed_m_per_s,
                cut_gap_m,
                trim,
            } => {
                let dough = load.dough_kg_per_m3;
                let trim = trim
                    .unwrap_or_else(|| trim_share(outline, &Layout::with_gap(outline, cut_gap_m)));
                let gross = capacity::sheet_kg_per_h(width_m, thickness_m, speed_m_per_s, dough);
                Forming {
                    pieces_per_h: gross * (1.0 - trim) / load.green_kg,
                    trim,
                    how: format!(
                        "sheet {width_m:.2} m × {:.1} mm × {:.1} m/min × {dough:.0} kg/m³ = {gross:.0} kg/h, less {:.0} % trim",
                        thickness_m * 1000.0,
                        speed_m_per_s * 60.0,
                        trim * 100.0
                    ),
                }
            }
            Self::RotaryMoulder {
                die_diameter_m,
                cavities,
                most_rpm,
            } => {
                let (around, across) = fitted(die_diameter_m, cavities, load)?;
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
                        "{around} × {across} cavities {} at {:.2} rpm (surface speed {:.2} m/min)",
                        match cavities {
                            Cavities::ForPiece { .. } => "made for the piece",
                            Cavities::Own { .. } => "of the die",
                        },
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
        })
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
                cavities,
                most_rpm,
            } => {
                let count = Range::new(1.0, 500.0);
                let mut numbers = vec![
                    ("die diameter", die_diameter_m, "m", Range::new(0.05, 1.0)),
                    ("fastest turning", most_rpm, "rpm", Range::new(0.1, 100.0)),
                ];
                match cavities {
                    Cavities::ForPiece { width_m } => {
                        numbers.push(("die width", width_m, "m", Range::new(0.05, 4.0)));
                    }
                    Cavities::Own { around, across } => {
                        numbers.push(("cavities around", f64::from(around), "", count));
                        numbers.push(("cavities across", f64::from(across), "", count));
                    }
                }
                numbers
            }
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

/// Cavities around and across a die for a load's piece, its length lying around the die.
///
/// A die for the piece has the oven's pitch, but never less than [`DIE_WALL`] between pieces; across
/// it is as wide as itself and as the free width of a band.
///
/// # Errors
/// A piece that doesn't fit around or across.
pub(crate) fn fitted(
    die_diameter_m: f64,
    cavities: Cavities,
    load: &LineLoad,
) -> Result<(u32, u32), LineError> {
    let around_m = std::f64::consts::PI * die_diameter_m;
    let (length_m, width_m) = load.piece.outline.extent_m();
    let free_m = match load.oven.kind {
        Kind::Band {
            width_m,
            edge_clear_m,
            ..
        } => Some(width_m - 2.0 * edge_clear_m),
        Kind::Batch { .. } => None,
    };
    let too_big = |around, across| LineError::Die {
        length_mm: length_m * 1e3,
        width_mm: width_m * 1e3,
        around_mm: around_m * 1e3,
        around,
        across,
        most_around: (around_m / (length_m + DIE_WALL.value)).floor() as u32,
    };
    match cavities {
        Cavities::ForPiece { width_m: die_m } => {
            let pitch_m = load.layout.pitch_along_m.max(length_m + DIE_WALL.value);
            let across_pitch_m = load.layout.pitch_across_m.max(width_m + DIE_WALL.value);
            let around = (around_m / pitch_m + 1e-9).floor() as u32;
            let room_m = free_m.map_or(die_m, |free| free.min(die_m));
            let across = capacity::pieces_across(room_m, 0.0, width_m, across_pitch_m);
            if around == 0 || across == 0 {
                return Err(too_big(around, across));
            }
            Ok((around, across))
        }
        Cavities::Own { around, across } => {
            let hair = 1e-9;
            let fits_around = around_m / f64::from(around) + hair >= length_m + DIE_WALL.value;
            let fits_across = free_m.is_none_or(|free| f64::from(across) * width_m <= free + hair);
            if !fits_around || !fits_across {
                return Err(too_big(around, across));
            }
            Ok((around, across))
        }
    }
}
