//! How outlines lie on a sheet or a roll: in rows, staggered, or in turned pairs.

use super::Outline;
use super::layout::Layout;
use super::pattern::sides;
use serde::Serialize;

/// How pieces are set beside each other on a sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Arrangement {
    /// In straight rows.
    Rectangular,
    /// Every second row moved by half a pitch, rows slid together.
    Staggered,
    /// Every second piece turned by half a turn, slid together along the row.
    TurnedPairs,
}

impl Arrangement {
    /// Every arrangement.
    pub const ALL: [Self; 3] = [Self::Rectangular, Self::Staggered, Self::TurnedPairs];

    /// The words shown to people.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Rectangular => "rectangular",
            Self::Staggered => "staggered",
            Self::TurnedPairs => "turned pairs",
        }
    }
}

/// One piece in the cell of a layout that repeats.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Placed {
    /// Middle of its extent along the sheet \[m\].
    pub x_m: f64,
    /// Across the sheet \[m\].
    pub y_m: f64,
    /// Whether it is turned by half a turn.
    pub turned: bool,
}

/// Pieces on a sheet: a cell that repeats along and across.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct OnSheet {
    /// How.
    pub arrangement: Arrangement,
    /// Length of the cell along the sheet \[m\].
    pub cell_along_m: f64,
    /// Width of the cell across the sheet \[m\].
    pub cell_across_m: f64,
    /// The pieces of a cell.
    pub pieces: Vec<Placed>,
    /// Pieces on a square metre.
    pub pieces_per_m2: f64,
    /// Share of the sheet that is trim \[1\], without the sheet's own edges.
    pub trim_share: f64,
}

/// Lays an outline on an endless sheet with a gap \[m\] between pieces.
///
/// Rows and pieces are slid together until the gap is left at the nearest place, as cutters can be set.
///
/// Check: discs without a gap leave 21.46 % in rows and 9.31 % staggered (1 − π/4 and 1 − π/(2√3)).
///
/// - Rule: rows slid together until the gap is left at the nearest place; trim = 1 − area of pieces/area of the
///   cell
/// - Units: gap \[m\], trim \[share\]
/// - Valid: outlines without holes, a gap of 0 or more
/// - Source: geometry: discs in rows 1 − π/4, staggered 1 − π/(2√3), identities
///
/// ```
/// use baking::piece::{Arrangement, Outline, on_sheet};
/// let disc = Outline::Round { diameter_m: 0.05 };
/// assert!((on_sheet(&disc, Arrangement::Rectangular, 0.0).trim_share - 0.2146).abs() < 5e-5);
/// assert!((on_sheet(&disc, Arrangement::Staggered, 0.0).trim_share - 0.0931).abs() < 5e-5);
/// ```
pub fn on_sheet(outline: &Outline, arrangement: Arrangement, gap_m: f64) -> OnSheet {
    let (length, width) = outline.extent_m();
    let (along, across) = (length + gap_m, width + gap_m);
    let upright = |x_m, y_m| Placed {
        x_m,
        y_m,
        turned: false,
    };
    let ring = outline.polygon(length.max(width) * 2e-5);
    let (cell_along_m, cell_across_m, pieces) = match arrangement {
        Arrangement::Rectangular => (along, across, vec![upright(0.0, 0.0)]),
        Arrangement::Staggered => {
            // The row above must clear the pieces to its left and right, and the one two rows down.
            let half = 0.5 * along;
            let below = moved(&ring, -half);
            let right = moved(&ring, half);
            let row = slide(&flipped(&ring), &flipped(&below), gap_m)
                .max(slide(&flipped(&ring), &flipped(&right), gap_m))
                .max(0.5 * across);
            (
                along,
                2.0 * row,
                vec![upright(0.0, 0.0), upright(half, row)],
            )
        }
        Arrangement::TurnedPairs => {
            let turned: Vec<_> = ring.iter().map(|(x, y)| (-x, -y)).collect();
            let there = slide(&ring, &turned, gap_m);
            let back = slide(&turned, &ring, gap_m);
            // A pair may not reach over into the next of its own kind.
            let pair = (there + back).max(slide(&ring, &ring, gap_m));
            let second = Placed {
                x_m: there,
                y_m: 0.0,
                turned: true,
            };
            (pair, across, vec![upright(0.0, 0.0), second])
        }
    };
    let pieces_per_m2 = pieces.len() as f64 / (cell_along_m * cell_across_m);
    OnSheet {
        arrangement,
        cell_along_m,
        cell_across_m,
        pieces,
        pieces_per_m2,
        trim_share: 1.0 - outline.area_m2() * pieces_per_m2,
    }
}

impl OnSheet {
    /// Lanes of cells that lie whole within a width \[m\], and pieces per metre of that sheet.
    ///
    /// - Equation: n = lanes that lie whole within the width/length of a cell
    /// - Units: width \[m\], n \[1/m\]
    /// - Valid: a sheet at least as wide as a piece
    /// - Source: geometry, counted by hand in the example
    ///
    /// ```
    /// use baking::piece::{Arrangement, Outline, on_sheet};
    /// let laid = on_sheet(&Outline::Round { diameter_m: 0.045 }, Arrangement::Rectangular, 0.005);
    /// // 1 m takes 20 rows (19 pitches of 50 mm and a piece), each with a piece every 50 mm.
    /// assert!((laid.pieces_per_metre(&Outline::Round { diameter_m: 0.045 }, 1.0) - 400.0).abs() < 1e-9);
    /// ```
    pub fn pieces_per_metre(&self, outline: &Outline, sheet_width_m: f64) -> f64 {
        let (_, width) = outline.extent_m();
        let rows: usize = self
            .pieces
            .iter()
            .map(|p| {
                let room = sheet_width_m - width - p.y_m;
                if room < -1e-9 {
                    0
                } else {
                    ((room + 1e-9) / self.cell_across_m) as usize + 1
                }
            })
            .sum();
        rows as f64 / self.cell_along_m
    }

    /// The pitches as the oven and the line take them: one piece to a rectangle of the same area, as wide as a row.
    pub fn pitches(&self) -> Layout {
        let rows = match self.arrangement {
            Arrangement::Rectangular | Arrangement::TurnedPairs => 1.0,
            Arrangement::Staggered => 2.0,
        };
        let pitch_across_m = self.cell_across_m / rows;
        Layout {
            pitch_across_m,
            pitch_along_m: 1.0 / (self.pieces_per_m2 * pitch_across_m),
        }
    }
}

/// Pieces engraved on a roll.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct OnRoll {
    /// Cavities around.
    pub around: u32,
    /// Cavities across its face.
    pub across: u32,
    /// From one to the next around, on the surface \[m\].
    pub pitch_around_m: f64,
    /// From one to the next across \[m\].
    pub pitch_across_m: f64,
    /// Pieces a turn.
    pub pieces_per_turn: u32,
    /// Share of the face that is cavity \[1\].
    pub filled_share: f64,
}

/// Lays an outline on a roll of a diameter and face width \[m\] with a least gap \[m\] between cavities.
/// `None` when not one fits.
///
/// - Equation: around = ⌊π D/(l + g)⌋, across = ⌊(W + g)/(w + g)⌋
/// - Units: lengths \[m\]
/// - Valid: from one cavity to ten million
/// - Source: geometry, counted by hand in the example
///
/// ```
/// use baking::piece::{Outline, on_roll};
/// let bar = Outline::Bar { length_m: 0.06, width_m: 0.03, corner_radius_m: 0.0 };
/// // π · 0.25 m = 785.4 mm around: 12 of 60 + 4 mm; 1 m across: 29 of 30 + 4 mm.
/// let roll = on_roll(&bar, 0.25, 1.0, 0.004).unwrap();
/// assert_eq!((roll.around, roll.across, roll.pieces_per_turn), (12, 29, 348));
/// assert!((roll.pitch_around_m - 0.0654498).abs() < 1e-6);
/// ```
pub fn on_roll(outline: &Outline, roll_diameter_m: f64, face_m: f64, gap_m: f64) -> Option<OnRoll> {
    let (length, width) = outline.extent_m();
    let turn = std::f64::consts::PI * roll_diameter_m;
    let fits = |room: f64, size: f64| (room / size + 1e-9).floor();
    let (around, across) = (
        fits(turn, length + gap_m),
        fits(face_m + gap_m, width + gap_m),
    );
    if !(around >= 1.0 && across >= 1.0 && around * across < 1e7) {
        return None;
    }
    let (around, across) = (around as u32, across as u32);
    Some(OnRoll {
        around,
        across,
        pitch_around_m: turn / f64::from(around),
        pitch_across_m: if across > 1 {
            (face_m - width) / f64::from(across - 1)
        } else {
            face_m
        },
        pieces_per_turn: around * across,
        filled_share: f64::from(around * across) * outline.area_m2() / (turn * face_m),
    })
}

fn moved(ring: &[(f64, f64)], x: f64) -> Vec<(f64, f64)> {
    ring.iter().map(|p| (p.0 + x, p.1)).collect()
}

fn flipped(ring: &[(f64, f64)]) -> Vec<(f64, f64)> {
    ring.iter().map(|p| (p.1, p.0)).collect()
}

/// How far along x a second outline has to stand from the first to leave a gap, sliding in from far away.
///
/// Two polygons come closest where a corner of one meets a side of the other, so every corner is held against every
/// side that it can meet: the side widened by the gap.
fn slide(first: &[(f64, f64)], second: &[(f64, f64)], gap_m: f64) -> f64 {
    let against = |corners: &[(f64, f64)], ring: &[(f64, f64)], sign: f64| -> f64 {
        let mut most = f64::NEG_INFINITY;
        for (a, b) in sides(ring) {
            let (low, high) = (a.1.min(b.1) - gap_m, a.1.max(b.1) + gap_m);
            let (a, b) = ((sign * a.0, a.1), (sign * b.0, b.1));
            for c in corners.iter().filter(|c| low <= c.1 && c.1 <= high) {
                most = most.max(sign * c.0 - leftmost(a, b, c.1, gap_m));
            }
        }
        most
    };
    against(first, second, 1.0).max(against(second, first, -1.0))
}

/// Smallest x at a height of all that lies within a distance of a side; infinite where there is nothing.
fn leftmost(a: (f64, f64), b: (f64, f64), y: f64, distance: f64) -> f64 {
    let round = |p: (f64, f64)| {
        let rise = (p.1 - y).abs();
        if rise <= distance {
            p.0 - (distance * distance - rise * rise).sqrt()
        } else {
            f64::INFINITY
        }
    };
    let (u, v) = (b.0 - a.0, b.1 - a.1);
    let length = u.hypot(v);
    let beside = |sign: f64| {
        let t = (y - a.1 + sign * distance * u / length) / v;
        if (0.0..=1.0).contains(&t) {
            a.0 + t * u + sign * distance * v / length
        } else {
            f64::INFINITY
        }
    };
    round(a).min(round(b)).min(beside(1.0)).min(beside(-1.0))
}
