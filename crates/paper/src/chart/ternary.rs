//! Three parts that make a whole: contours of a response over a triangle of mixtures.

use super::label::text_width;
use super::scale::{extent, labelled_ticks, proper};
use super::svg::{Anchor, LINE, TEXT, Width, circle, figure, n, polygon, polyline, text, text_mid};
use crate::number;
use maud::{Markup, html};

/// A mixture that was made, or is proposed.
#[derive(Clone, Debug, PartialEq)]
pub struct TernaryPoint {
    /// Its name; empty for none.
    pub name: String,
    /// Shares of the three parts; only their proportion counts.
    pub shares: [f64; 3],
    /// Whether it was measured (filled) or is proposed (open).
    pub measured: bool,
}

/// A response over mixtures of three parts.
#[derive(Clone, Debug, PartialEq)]
pub struct Ternary {
    /// What it shows.
    pub title: String,
    /// A sentence beside the title.
    pub note: String,
    /// The three parts: top, left, right.
    pub parts: [String; 3],
    /// What the contours measure.
    pub quantity: String,
    /// Its unit.
    pub unit: String,
    /// Parts that each side of the grid is cut into.
    pub divisions: usize,
    /// Values on the grid: for the first part from 0 to `divisions`, within it for the second
    /// part from 0 to what is left; the third is the rest. NaN is outside the limits.
    pub values: Vec<f64>,
    /// Where the response is as wanted; shaded. Ticks on the sides stand at every fifth.
    pub wanted: Option<(f64, f64)>,
    /// Mixtures to mark.
    pub points: Vec<TernaryPoint>,
}

impl Ternary {
    /// Values that a grid with so many divisions has.
    pub const fn grid_len(divisions: usize) -> usize {
        (divisions + 1) * (divisions + 2) / 2
    }

    /// The value at `i` parts of the first and `j` of the second.
    fn value(&self, i: usize, j: usize) -> f64 {
        // Rows before this one hold divisions + 1, divisions, … values.
        let before = i * (2 * self.divisions + 3 - i) / 2;
        self.values.get(before + j).copied().unwrap_or(f64::NAN)
    }
}

type Corner = ((f64, f64), f64);
type Segment = [(f64, f64); 2];
/// A level's text and the pieces of its line.
type Contour = (String, Vec<Segment>);

/// Where a mixture stands.
struct Triangle {
    top: (f64, f64),
    left: (f64, f64),
    right: (f64, f64),
}

impl Triangle {
    fn at(&self, shares: [f64; 3]) -> (f64, f64) {
        let sum: f64 = shares.iter().sum();
        let [a, b, c] = shares.map(|s| s / sum);
        let along =
            |f: fn((f64, f64)) -> f64| a * f(self.top) + b * f(self.left) + c * f(self.right);
        (along(|p| p.0), along(|p| p.1))
    }
}

/// Draws contours over a triangle.
pub fn ternary(plot: &Ternary) -> Markup {
    let found = extent(plot.values.iter().copied());
    let description = match found {
        Some((low, high)) => format!(
            "{} over mixtures of {}, {} and {}, from {} to {} {}",
            plot.quantity,
            plot.parts[0],
            plot.parts[1],
            plot.parts[2],
            number::three(low),
            number::three(high),
            plot.unit
        ),
        None => "no values".to_owned(),
    };
    figure(&plot.title, &plot.note, &description, |width| {
        drawing(plot, width)
    })
}

fn drawing(plot: &Ternary, width: Width) -> (f64, Markup) {
    let side: f64 = match width {
        Width::Wide => 380.0,
        Width::Narrow => 284.0,
    };
    let tall = side * 3f64.sqrt() / 2.0;
    let (middle, top) = (width.units() / 2.0, LINE + 6.0);
    let triangle = Triangle {
        top: (middle, top),
        left: (middle - side / 2.0, top + tall),
        right: (middle + side / 2.0, top + tall),
    };
    let cells = cells(plot, &triangle);
    let (low, high) = extent(plot.values.iter().copied()).unwrap_or((0.0, 1.0));
    let (low, high) = proper(low, high);
    let contours: Vec<Contour> = labelled_ticks(low, high, 7)
        .into_iter()
        .map(|(level, words)| {
            (
                words,
                cells.iter().filter_map(|c| crossing(c, level)).collect(),
            )
        })
        .filter(|(_, segments): &(_, Vec<_>)| !segments.is_empty())
        .collect();
    let labels = contour_labels(&contours, &triangle);
    let drawing = html! {
        @if let Some(wanted) = plot.wanted {
            path .target d=(cells.iter().map(|c| polygon(clip(c, wanted))).collect::<String>()) {}
        }
        @for (_, segments) in &contours {
            path .contour d=(segments.iter().map(|s| polyline(*s)).collect::<String>()) {}
        }
        path .axis d=(polygon([triangle.top, triangle.left, triangle.right])) {}
        (side_ticks(&triangle))
        @for (words, at) in &labels { (text_mid(at.0, at.1, Anchor::Middle, "halo", words)) }
        @for point in plot.points.iter() {
            @let (x, y) = triangle.at(point.shares);
            (circle(if point.measured { "mark filled" } else { "mark open" }, x, y, 4.0))
            (text_mid(x + 8.0, y, Anchor::Start, "strong halo", &point.name))
        }
        (text(middle, LINE - 4.0, Anchor::Middle, "name", &plot.parts[0]))
        (text(triangle.left.0.max(text_width(&plot.parts[1]) / 2.0), top + tall + 2.0 * LINE, Anchor::Middle, "name", &plot.parts[1]))
        (text(triangle.right.0.min(width.units() - text_width(&plot.parts[2]) / 2.0), top + tall + 2.0 * LINE, Anchor::Middle, "name", &plot.parts[2]))
        (text(0.0, LINE - 4.0, Anchor::Start, "axis-name", &format!("{}, {}", plot.quantity, plot.unit)))
    };
    (top + tall + 2.0 * LINE + 8.0, drawing)
}

/// The small triangles of the grid, each corner with place and value; those with a NaN left out.
fn cells(plot: &Ternary, triangle: &Triangle) -> Vec<[Corner; 3]> {
    let m = plot.divisions;
    let corner = |i: usize, j: usize| {
        let shares = [i as f64, j as f64, (m - i - j) as f64];
        (triangle.at(shares), plot.value(i, j))
    };
    let mut cells = Vec::new();
    for i in 0..m {
        for j in 0..m - i {
            cells.push([corner(i, j), corner(i + 1, j), corner(i, j + 1)]);
            if i + j + 2 <= m {
                cells.push([corner(i + 1, j), corner(i, j + 1), corner(i + 1, j + 1)]);
            }
        }
    }
    cells.retain(|cell| cell.iter().all(|c| c.1.is_finite()));
    cells
}

/// The place between two corners where the value is `level`.
fn between(a: Corner, b: Corner, level: f64) -> (f64, f64) {
    let t = (level - a.1) / (b.1 - a.1);
    (a.0.0 + t * (b.0.0 - a.0.0), a.0.1 + t * (b.0.1 - a.0.1))
}

/// The piece of a contour inside one small triangle.
fn crossing(cell: &[Corner; 3], level: f64) -> Option<Segment> {
    let mut ends = (0..3).filter_map(|k| {
        let (a, b) = (cell[k], cell[(k + 1) % 3]);
        ((a.1 < level) != (b.1 < level)).then(|| between(a, b, level))
    });
    Some([ends.next()?, ends.next()?])
}

/// The part of a small triangle where the value lies in a range.
fn clip(cell: &[Corner; 3], (low, high): (f64, f64)) -> Vec<(f64, f64)> {
    let mut shape: Vec<Corner> = cell.to_vec();
    for (limit, sign) in [(low, 1.0), (high, -1.0)] {
        let inside = |c: &Corner| sign * (c.1 - limit) >= 0.0;
        let mut kept = Vec::new();
        for k in 0..shape.len() {
            let (a, b) = (shape[k], shape[(k + 1) % shape.len()]);
            if inside(&a) {
                kept.push(a);
            }
            if inside(&a) != inside(&b) {
                kept.push((between(a, b, limit), limit));
            }
        }
        shape = kept;
    }
    shape.into_iter().map(|c| c.0).collect()
}

/// One label per contour, well inside the triangle and away from the others.
fn contour_labels(contours: &[Contour], triangle: &Triangle) -> Vec<(String, (f64, f64))> {
    let centre = triangle.at([1.0; 3]);
    let distance = |a: (f64, f64), b: (f64, f64)| (a.0 - b.0).hypot(a.1 - b.1);
    let mut placed: Vec<(String, (f64, f64))> = Vec::new();
    for (words, segments) in contours {
        let middles = (segments.iter()).map(|[a, b]| ((a.0 + b.0) / 2.0, (a.1 + b.1) / 2.0));
        let room = |p: (f64, f64)| {
            let near = placed
                .iter()
                .map(|(_, q)| distance(p, *q))
                .fold(3.0 * TEXT, f64::min);
            near - 0.1 * distance(p, centre)
        };
        if let Some(best) = middles.max_by(|a, b| room(*a).total_cmp(&room(*b))) {
            placed.push((words.clone(), best));
        }
    }
    placed
}

/// Small ticks at every fifth of each side.
fn side_ticks(triangle: &Triangle) -> Markup {
    let ticks = (1..5).flat_map(|k| {
        let (a, b) = (f64::from(k) / 5.0, 1.0 - f64::from(k) / 5.0);
        [
            ([a, b, 0.0], (-5.0, -3.0)),
            ([b, 0.0, a], (5.0, -3.0)),
            ([0.0, a, b], (0.0, 6.0)),
        ]
    });
    html! {
        @for (shares, (dx, dy)) in ticks {
            @let (x, y) = triangle.at(shares);
            path .axis d={ "M" (n(x)) " " (n(y)) "l" (n(dx)) " " (n(dy)) } {}
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_grid_is_read_in_its_stated_order() {
        let m = 4;
        let mut values = Vec::new();
        for i in 0..=m {
            for j in 0..=m - i {
                values.push((10 * i + j) as f64);
            }
        }
        assert_eq!(values.len(), Ternary::grid_len(m));
        let plot = Ternary {
            title: String::new(),
            note: String::new(),
            parts: Default::default(),
            quantity: String::new(),
            unit: String::new(),
            divisions: m,
            values,
            wanted: None,
            points: Vec::new(),
        };
        for i in 0..=m {
            for j in 0..=m - i {
                assert_eq!(plot.value(i, j), (10 * i + j) as f64);
            }
        }
    }

    #[test]
    fn a_straight_response_gives_a_straight_contour() {
        let cell = [((0.0, 0.0), 0.0), ((10.0, 0.0), 10.0), ((0.0, 10.0), 0.0)];
        let [a, b] = crossing(&cell, 4.0).expect("the level crosses");
        assert!((a.0 - 4.0).abs() < 1e-12 && (b.0 - 4.0).abs() < 1e-12);
        assert_eq!(crossing(&cell, 11.0), None);
    }

    #[test]
    fn clipping_keeps_the_wanted_part_alone() {
        let cell = [((0.0, 0.0), 0.0), ((10.0, 0.0), 10.0), ((0.0, 10.0), 0.0)];
        let shape = clip(&cell, (2.0, 5.0));
        assert_eq!(shape.len(), 4);
        assert!(shape.iter().all(|p| p.0 >= 2.0 - 1e-9 && p.0 <= 5.0 + 1e-9));
        assert!(clip(&cell, (20.0, 30.0)).is_empty());
    }
}
