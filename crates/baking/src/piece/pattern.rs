//! Where docker holes stand and how deep they go.

use super::{Docker, Outline, Piece};
use crate::Code;
use measure::{Apart, Constant, Finding, Grade, Range, Severity, Units};
use serde::{Deserialize, Serialize};
use std::f64::consts::PI;

/// How holes are placed on the outline.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Places {
    /// In rows along the piece, evenly over the length that lies inside the outline.
    #[default]
    Grid,
    /// Evenly on a circle about the middle of the area.
    Ring {
        /// Its diameter \[m\]; none for half of the largest circle that fits there.
        diameter_m: Option<f64>,
    },
    /// In one row along the longer axis.
    Axis,
    /// At these points \[m\], from the middle of the extent, x along the band.
    Points(Vec<(f64, f64)>),
}

impl Places {
    /// The word in files and shown to people.
    pub const fn word(&self) -> &'static str {
        match self {
            Self::Grid => "grid",
            Self::Ring { .. } => "ring",
            Self::Axis => "axis",
            Self::Points(_) => "points",
        }
    }
    /// Every word.
    pub const WORDS: [&str; 4] = ["grid", "ring", "axis", "points"];
}

/// Where the docker holes of a piece stand and how deep they go; beside [`Docker`], which tells how many and how wide.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct DockerPattern {
    /// Where.
    pub places: Places,
    /// Depth \[m\]; none for through to the band.
    pub depth_m: Option<f64>,
}

/// Why holes can't be made.
#[derive(Clone, Debug, PartialEq)]
pub enum PatternError {
    /// A hole outside the piece or through its edge.
    Outside {
        /// Which, counted from 1.
        number: usize,
        /// Place along the band \[mm\].
        x_mm: f64,
        /// Place across the band \[mm\].
        y_mm: f64,
        /// In what way it is outside.
        how: &'static str,
    },
    /// Two holes in one another.
    Together {
        /// One, counted from 1.
        first: usize,
        /// The other.
        second: usize,
        /// Place along the band \[mm\].
        x_mm: f64,
        /// Place across the band \[mm\].
        y_mm: f64,
    },
    /// Another number of points than of holes.
    Count {
        /// Points.
        points: usize,
        /// Holes.
        count: usize,
    },
    /// A depth that can't be.
    Depth {
        /// Depth \[mm\].
        depth_mm: f64,
        /// Thickness \[mm\].
        thickness_mm: f64,
    },
}

impl Apart for PatternError {
    fn apart(&self, units: Units) -> (String, String) {
        match self {
            Self::Outside {
                number,
                x_mm,
                y_mm,
                how,
            } => (
                format!(
                    "docker hole {number} at ({x_mm:.2}, {y_mm:.2}) mm{} {how}",
                    place(units, *x_mm, *y_mm)
                ),
                "move it inside, or choose another pattern".to_owned(),
            ),
            Self::Together {
                first,
                second,
                x_mm,
                y_mm,
            } => (
                format!(
                    "docker holes {first} and {second} run into each other at ({x_mm:.2}, {y_mm:.2}) mm{}",
                    place(units, *x_mm, *y_mm)
                ),
                "fewer or narrower holes, or another pattern".to_owned(),
            ),
            Self::Count { points, count } => (
                format!("{points} points are given for {count} docker holes"),
                "give as many points as holes".to_owned(),
            ),
            Self::Depth {
                depth_mm,
                thickness_mm,
            } => (
                format!(
                    "docker holes of {depth_mm} mm{} depth in a piece of {thickness_mm} mm{}",
                    units.also(&[*depth_mm], "mm"),
                    units.also(&[*thickness_mm], "mm")
                ),
                "a depth is above 0 and at most the thickness".to_owned(),
            ),
        }
    }
}

measure::error_apart!(PatternError);

/// A place told in the unit read as well.
fn place(units: Units, x_mm: f64, y_mm: f64) -> String {
    let unit = units.unit("mm");
    if unit == "mm" {
        return String::new();
    }
    let own = |mm| units.value(mm, "mm");
    format!(" (({:.3}, {:.3}) {unit})", own(x_mm), own(y_mm))
}

/// A piece's holes, laid out.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Docked {
    /// Middles of the holes \[m\], from the middle of the extent, x along the band.
    pub centres_m: Vec<(f64, f64)>,
    /// Diameter \[m\].
    pub diameter_m: f64,
    /// Depth \[m\].
    pub depth_m: f64,
    /// Whether they go through.
    pub through: bool,
    /// Rules of the trade that the pattern breaks, or may.
    pub findings: Vec<Finding>,
}

/// Dough left between a hole's rim and the edge.
pub const LEAST_TO_EDGE_M: Constant = Constant {
    name: "dough between a docker hole and the edge",
    value: 0.003,
    unit: "m",
    range: Range::new(0.0, 0.02),
    source: "common practice, from memory",
    grade: Grade::Recalled,
};
/// Least distance between the middles of holes.
pub const LEAST_PITCH_M: Constant = Constant {
    name: "least distance between docker holes",
    value: 0.005,
    unit: "m",
    range: Range::new(0.001, 0.02),
    source: "working value: half of the 10 mm that are common practice, from memory",
    grade: Grade::Assumed,
};
/// Greatest distance between the middles of neighbouring holes.
pub const MOST_PITCH_M: Constant = Constant {
    name: "greatest distance between docker holes",
    value: 0.020,
    unit: "m",
    range: Range::new(0.005, 0.05),
    source: "10 to 15 mm, about 1.5 to 2 times the thickness, at most 20 mm: common practice, from memory",
    grade: Grade::Recalled,
};
/// A place narrower than this share of what lies on both sides of it is a neck.
///
/// - Units: \[1\]
/// - Source: house rule, assumed
const NECK_SHARE: f64 = 0.75;
/// Sides of the polygon that stands for the outline stay this close to it \[m\].
///
/// - Source: a numerical tolerance, chosen here
const TOLERANCE_M: f64 = 2e-5;

impl Docked {
    /// Volume of the holes \[m³\].
    ///
    /// - Equation: V = n π d²/4 · depth
    /// - Units: lengths \[m\], V \[m³\]
    /// - Valid: cylinders that don't overlap
    /// - Source: geometry
    ///
    /// ```
    /// use baking::piece::{DockerPattern, Outline, Piece, dock};
    /// let piece = Piece { outline: Outline::Round { diameter_m: 0.050 }, thickness_m: 0.008, docker: None };
    /// let mut docked = dock(&piece, &DockerPattern::default())?;
    /// docked.centres_m = vec![(0.0, 0.0); 4];
    /// (docked.diameter_m, docked.depth_m) = (0.002, 0.005);
    /// assert!((docked.volume_m3() * 1e9 - 20.0 * std::f64::consts::PI).abs() < 1e-9);
    /// # Ok::<(), baking::piece::PatternError>(())
    /// ```
    pub fn volume_m3(&self) -> f64 {
        self.centres_m.len() as f64 * PI / 4.0 * self.diameter_m.powi(2) * self.depth_m
    }

    /// Surface of the holes' walls \[m²\].
    ///
    /// - Equation: A = n π d · depth
    /// - Units: lengths \[m\], A \[m²\]
    /// - Valid: cylinders that don't overlap
    /// - Source: geometry
    ///
    /// ```
    /// use baking::piece::{DockerPattern, Outline, Piece, dock};
    /// let piece = Piece { outline: Outline::Round { diameter_m: 0.050 }, thickness_m: 0.008, docker: None };
    /// let mut docked = dock(&piece, &DockerPattern::default())?;
    /// docked.centres_m = vec![(0.0, 0.0); 4];
    /// (docked.diameter_m, docked.depth_m) = (0.002, 0.005);
    /// assert!((docked.wall_m2() * 1e6 - 40.0 * std::f64::consts::PI).abs() < 1e-9);
    /// # Ok::<(), baking::piece::PatternError>(())
    /// ```
    pub fn wall_m2(&self) -> f64 {
        self.centres_m.len() as f64 * PI * self.diameter_m * self.depth_m
    }
}

/// Lays a piece's holes out and looks at them.
///
/// ```
/// use baking::piece::{Docker, DockerPattern, Outline, Piece, dock};
/// let piece = Piece {
///     outline: Outline::Bar { length_m: 0.06, width_m: 0.03, corner_radius_m: 0.003 },
///     thickness_m: 0.008,
///     docker: Some(Docker { count: 6, diameter_m: 0.002 }),
/// };
/// let docked = dock(&piece, &DockerPattern::default())?;
/// // Two rows of three: 10 mm from the ends and 20 mm from each other, 7.5 mm from the long sides.
/// assert_eq!(docked.centres_m.len(), 6);
/// assert!((docked.centres_m[0].0 + 0.02).abs() < 1e-9 && (docked.centres_m[0].1 + 0.0075).abs() < 1e-9);
/// assert!(docked.findings.is_empty());
/// # Ok::<(), baking::piece::PatternError>(())
/// ```
///
/// # Errors
/// A hole outside the outline, through its edge or in another, by its number and place; a depth that can't be.
pub fn dock(piece: &Piece, pattern: &DockerPattern) -> Result<Docked, PatternError> {
    let thickness_m = piece.thickness_m;
    let depth_m = pattern.depth_m.unwrap_or(thickness_m);
    if !(depth_m > 0.0 && depth_m <= thickness_m * (1.0 + 1e-9)) {
        return Err(PatternError::Depth {
            depth_mm: depth_m * 1e3,
            thickness_mm: thickness_m * 1e3,
        });
    }
    let Docker { count, diameter_m } = piece.docker.unwrap_or(Docker {
        count: 0,
        diameter_m: 0.002,
    });
    let ring = piece.outline.polygon(TOLERANCE_M);
    let centres_m = centres(
        &piece.outline,
        &ring,
        (count as usize, 0.5 * diameter_m),
        &pattern.places,
    )?;
    for (i, &(x, y)) in centres_m.iter().enumerate() {
        let how = if !inside(&ring, (x, y)) {
            "lies outside the outline"
        } else if to_edge_m(&ring, (x, y)) < 0.5 * diameter_m {
            "breaks through the edge"
        } else {
            continue;
        };
        return Err(PatternError::Outside {
            number: i + 1,
            x_mm: hundredths_mm(x),
            y_mm: hundredths_mm(y),
            how,
        });
    }
    for (i, a) in centres_m.iter().enumerate() {
        for (j, b) in centres_m.iter().enumerate().skip(i + 1) {
            if (a.0 - b.0).hypot(a.1 - b.1) <= diameter_m {
                return Err(PatternError::Together {
                    first: i + 1,
                    second: j + 1,
                    x_mm: a.0 * 1e3,
                    y_mm: a.1 * 1e3,
                });
            }
        }
    }
    let mut docked = Docked {
        through: depth_m >= thickness_m * (1.0 - 1e-9),
        findings: Vec::new(),
        centres_m,
        diameter_m,
        depth_m,
    };
    docked.findings = rules(&docked, &ring, thickness_m);
    Ok(docked)
}

/// A place in mm to two decimals, never a negative zero.
fn hundredths_mm(m: f64) -> f64 {
    (m * 1e5).round() / 100.0 + 0.0
}

fn centres(
    outline: &Outline,
    ring: &[(f64, f64)],
    (count, radius_m): (usize, f64),
    places: &Places,
) -> Result<Vec<(f64, f64)>, PatternError> {
    if count == 0 {
        return Ok(Vec::new());
    }
    let (length, width) = outline.extent_m();
    // Rows run along the longer side.
    let turned = width > length;
    let short = length.min(width);
    let in_rows = |rows: usize| -> Vec<(f64, f64)> {
        (0..rows)
            .flat_map(|row| {
                let y = short * ((row as f64 + 0.5) / rows as f64 - 0.5);
                let holes = count * (row + 1) / rows - count * row / rows;
                on_row(ring, (y, !turned), holes, radius_m)
                    .into_iter()
                    .map(move |x| if turned { (y, x) } else { (x, y) })
            })
            .collect()
    };
    Ok(match places {
        Places::Grid => {
            // The number of rows that leaves the most room between holes, and half of that to the edge.
            let room = |places: &[(f64, f64)]| -> f64 {
                let pitch = |i: usize, a: &(f64, f64)| {
                    let others = places[..i].iter();
                    let nearest = others.map(|b| (a.0 - b.0).hypot(a.1 - b.1));
                    nearest.fold(2.0 * to_edge_m(ring, *a), f64::min)
                };
                let all = places.iter().enumerate().map(|(i, a)| pitch(i, a));
                all.fold(f64::INFINITY, f64::min)
            };
            let mut best = in_rows(1);
            for rows in 2..=count.min(MOST_ROWS) {
                let other = in_rows(rows);
                if other.len() == count && room(&other) > room(&best) * (1.0 + 1e-9) {
                    best = other;
                }
            }
            best
        }
        Places::Axis => in_rows(1),
        Places::Ring { diameter_m } => {
            let middle = centroid(ring);
            let r = diameter_m.map_or_else(|| 0.5 * to_edge_m(ring, middle), |d| 0.5 * d);
            (0..count)
                .map(|i| {
                    let angle = PI * (0.5 + 2.0 * i as f64 / count as f64);
                    (
                        r.mul_add(angle.cos(), middle.0),
                        r.mul_add(angle.sin(), middle.1),
                    )
                })
                .collect()
        }
        Places::Points(points) if points.len() != count => {
            return Err(PatternError::Count {
                points: points.len(),
                count,
            });
        }
        Places::Points(points) => points.clone(),
    })
}

/// Places of holes on a line through a polygon: evenly over what lies inside; where one would come closer to the edge
/// than is usual, evenly over what keeps that distance, or a third of it, or none.
fn on_row(
    ring: &[(f64, f64)],
    (at, along_x): (f64, bool),
    holes: usize,
    radius_m: f64,
) -> Vec<f64> {
    let whole = chords(ring, at, along_x);
    let even = spread(&whole, holes);
    let room = |x: &f64| to_edge_m(ring, if along_x { (*x, at) } else { (at, *x) }) - radius_m;
    for share in [1.0, 1.0 / 3.0, 0.0] {
        let least = share * LEAST_TO_EDGE_M.value - 1e-9;
        if even.iter().all(|x| room(x) >= least) {
            return even;
        }
        let clear: Vec<(f64, f64)> = whole
            .iter()
            .flat_map(|chord| {
                let place =
                    |i: usize| chord.0 + (chord.1 - chord.0) * i as f64 / ROW_SAMPLES as f64;
                let places: Vec<(f64, bool)> = (0..=ROW_SAMPLES)
                    .map(place)
                    .map(|x| (x, room(&x) >= least))
                    .collect();
                let runs = places.chunk_by(|a, b| a.1 == b.1);
                runs.filter(|run| run[0].1)
                    .map(|run| (run[0].0, run[run.len() - 1].0))
                    .collect::<Vec<_>>()
            })
            .collect();
        let apart = |places: &[f64]| places.windows(2).all(|w| w[1] - w[0] > 2.5 * radius_m);
        let placed = spread(&clear, holes);
        if placed.len() == holes && apart(&placed) {
            return placed;
        }
    }
    even
}

/// Rows that are tried.
const MOST_ROWS: usize = 8;
/// Places that are tried on a chord.
const ROW_SAMPLES: usize = 60;

/// Places on some chords: each gets its share of the holes by length, evenly spaced, half a pitch from its ends.
fn spread(chords: &[(f64, f64)], count: usize) -> Vec<f64> {
    let mut holes = vec![0_usize; chords.len()];
    for _ in 0..count {
        // The next hole goes where it leaves the widest pitch.
        let pitch = |i: usize| (chords[i].1 - chords[i].0) / (holes[i] + 1) as f64;
        if let Some(widest) = (0..chords.len()).max_by(|a, b| pitch(*a).total_cmp(&pitch(*b))) {
            holes[widest] += 1;
        }
    }
    let places = chords.iter().zip(holes);
    places
        .flat_map(|((a, b), n)| (0..n).map(move |i| a + (b - a) * (i as f64 + 0.5) / n as f64))
        .collect()
}

/// The parts of a line that lie inside a polygon: along x at a height `at`, or along y at a length `at`.
pub(super) fn chords(ring: &[(f64, f64)], at: f64, along_x: bool) -> Vec<(f64, f64)> {
    let turn = |p: (f64, f64)| if along_x { p } else { (p.1, p.0) };
    let mut cuts: Vec<f64> = sides(ring)
        .filter_map(|(a, b)| {
            let (a, b) = (turn(a), turn(b));
            ((a.1 > at) != (b.1 > at)).then(|| a.0 + (at - a.1) / (b.1 - a.1) * (b.0 - a.0))
        })
        .collect();
    cuts.sort_by(f64::total_cmp);
    cuts.chunks_exact(2).map(|c| (c[0], c[1])).collect()
}

pub(super) fn sides(ring: &[(f64, f64)]) -> impl Iterator<Item = ((f64, f64), (f64, f64))> + '_ {
    ring.iter()
        .copied()
        .zip(ring.iter().copied().cycle().skip(1))
}

/// Whether a point lies inside a polygon.
pub(super) fn inside(ring: &[(f64, f64)], (x, y): (f64, f64)) -> bool {
    let left = sides(ring)
        .filter(|(a, b)| (a.1 > y) != (b.1 > y) && a.0 + (y - a.1) / (b.1 - a.1) * (b.0 - a.0) < x)
        .count();
    left % 2 == 1
}

/// Distance from a point to the nearest side of a polygon \[m\].
pub(super) fn to_edge_m(ring: &[(f64, f64)], p: (f64, f64)) -> f64 {
    sides(ring)
        .map(|(a, b)| {
            let (u, v) = ((b.0 - a.0, b.1 - a.1), (p.0 - a.0, p.1 - a.1));
            let t = ((u.0 * v.0 + u.1 * v.1) / (u.0 * u.0 + u.1 * u.1)).clamp(0.0, 1.0);
            (v.0 - t * u.0).hypot(v.1 - t * u.1)
        })
        .fold(f64::INFINITY, f64::min)
}

/// Middle of a polygon's area.
pub(super) fn centroid(ring: &[(f64, f64)]) -> (f64, f64) {
    let (mut area, mut x, mut y) = (0.0, 0.0, 0.0);
    for (a, b) in sides(ring) {
        let c = a.0 * b.1 - b.0 * a.1;
        area += c;
        x += c * (a.0 + b.0);
        y += c * (a.1 + b.1);
    }
    (x / (3.0 * area), y / (3.0 * area))
}

/// Tenths of a millimetre of a place in metres, without a minus before nothing.
fn tenth_mm(m: f64) -> f64 {
    (m * 1e4).round() / 10.0 + 0.0
}

const PRACTICE: &str = "common practice, from memory";

fn rules(docked: &Docked, ring: &[(f64, f64)], thickness_m: f64) -> Vec<Finding> {
    let mut findings = Vec::new();
    let mut tell = |code: Code, message: String, help: &str| {
        findings.push(
            Finding::new(Severity::Note, code, "piece.docker", message)
                .help(help)
                .source(PRACTICE),
        );
    };
    let place = |i: usize, p: (f64, f64)| {
        format!(
            "docker hole {} at ({:.1}, {:.1}) mm",
            i + 1,
            tenth_mm(p.0),
            tenth_mm(p.1)
        )
    };
    let centres = &docked.centres_m;
    let nearest_edge = centres
        .iter()
        .map(|c| to_edge_m(ring, *c) - 0.5 * docked.diameter_m)
        .enumerate()
        .min_by(|a, b| a.1.total_cmp(&b.1));
    if let Some((i, left)) = nearest_edge.filter(|(_, left)| *left < LEAST_TO_EDGE_M.value - 1e-9) {
        tell(
            Code::DockerNearTheEdge,
            format!(
                "{} leaves {:.1} mm of dough to the edge; {:.0} mm or more is usual",
                place(i, centres[i]),
                left * 1e3,
                LEAST_TO_EDGE_M.value * 1e3
            ),
            "move the hole inwards: the edge tears there when the piece leaves the cutter",
        );
    }
    let pitch_of = |i: usize| {
        let a = centres[i];
        let others = centres.iter().enumerate().filter(|(j, _)| *j != i);
        others
            .map(|(_, b)| (a.0 - b.0).hypot(a.1 - b.1))
            .fold(f64::INFINITY, f64::min)
    };
    let pitches: Vec<f64> = (0..centres.len()).map(pitch_of).collect();
    let closest = pitches
        .iter()
        .copied()
        .enumerate()
        .min_by(|a, b| a.1.total_cmp(&b.1));
    if let Some((i, pitch)) = closest.filter(|(_, p)| *p < LEAST_PITCH_M.value) {
        tell(
            Code::DockerHolesClose,
            format!(
                "{} stands {:.1} mm from the next; 10 to 15 mm is usual",
                place(i, centres[i]),
                pitch * 1e3
            ),
            "fewer holes, or spread them",
        );
    }
    let farthest = pitches
        .iter()
        .copied()
        .enumerate()
        .max_by(|a, b| a.1.total_cmp(&b.1));
    if let Some((i, pitch)) =
        farthest.filter(|(_, p)| p.is_finite() && *p > MOST_PITCH_M.value + 1e-9)
    {
        tell(
            Code::DockerHolesApart,
            format!(
                "{} stands {:.1} mm from the next; 10 to 15 mm is usual, {:.0} mm the most",
                place(i, centres[i]),
                pitch * 1e3,
                MOST_PITCH_M.value * 1e3
            ),
            "more holes, or none",
        );
    }
    for (i, c) in centres.iter().enumerate() {
        if let Some((here, beside)) = neck(ring, *c) {
            tell(
                Code::DockerInANeck,
                format!(
                    "{} stands in a neck {:.1} mm wide between parts {:.1} mm wide",
                    place(i, *c),
                    here * 1e3,
                    beside * 1e3
                ),
                "keep holes out of the neck: it is where pieces break",
            );
        }
    }
    let (d, t) = (docked.diameter_m * 1e3, thickness_m * 1e3);
    let usual = if t > 8.0 { (1.0, 3.0) } else { (1.0, 2.0) };
    if !centres.is_empty() && !(usual.0 - 1e-9..=usual.1 + 1e-9).contains(&d) {
        tell(
            Code::DockerDiameter,
            format!(
                "docker holes of {d:.1} mm in a piece of {t:.1} mm; {} to {} mm is usual",
                usual.0, usual.1
            ),
            "thin pins close again in the oven, thick ones weaken the piece",
        );
    }
    if !centres.is_empty() && !docked.through {
        tell(
            Code::DockerNotThrough,
            format!(
                "docker holes go {:.1} mm deep in {t:.1} mm; through to the band is usual",
                docked.depth_m * 1e3
            ),
            "deeper pins; area and mass elsewhere take the holes as through, here their true depth is taken",
        );
    }
    findings
}

/// Width at a place and the lesser of the greatest widths on either side of it along the longer axis \[m\], where
/// the place is a neck.
fn neck(ring: &[(f64, f64)], p: (f64, f64)) -> Option<(f64, f64)> {
    let range = |f: fn(&(f64, f64)) -> f64| {
        ring.iter()
            .map(f)
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| {
                (l.min(v), h.max(v))
            })
    };
    let ((x0, x1), (y0, y1)) = (range(|p| p.0), range(|p| p.1));
    let along_x = x1 - x0 >= y1 - y0;
    let (low, high, at, across) = if along_x {
        (x0, x1, p.0, p.1)
    } else {
        (y0, y1, p.1, p.0)
    };
    let width_at = |s: f64| -> f64 {
        let inside = chords(ring, s, !along_x);
        inside.iter().map(|(a, b)| b - a).fold(0.0, f64::max)
    };
    let here = chords(ring, at, !along_x)
        .into_iter()
        .find(|(a, b)| *a <= across && across <= *b)
        .map(|(a, b)| b - a)?;
    let widest = |from: f64, to: f64| {
        (0..=24)
            .map(|i| width_at(from + (to - from) * (f64::from(i) + 0.5) / 25.0))
            .fold(0.0, f64::max)
    };
    let beside = widest(low, at).min(widest(at, high));
    (here < NECK_SHARE * beside).then_some((here, beside))
}
