//! A piece and its layout drawn to scale, in millimetres, with dimensions.
//!
//! A user unit is a millimetre and the drawing says how many of them it is wide, so that it prints at its true size.
//! Lines and letters take the ink of the page around them.

use super::svg::{n, polygon};
use maud::{Markup, html};

/// A piece seen from above, with its section below.
#[derive(Clone, Debug, PartialEq)]
pub struct PieceDrawing {
    /// What it shows.
    pub title: String,
    /// Corners of the outline \[mm\], y upwards.
    pub outline_mm: Vec<(f64, f64)>,
    /// Length and width as told \[mm\]; the corners of a round outline lie a hair inside.
    pub extent_mm: (f64, f64),
    /// Middles of the docker holes \[mm\], y upwards.
    pub holes_mm: Vec<(f64, f64)>,
    /// Diameter of the holes \[mm\].
    pub hole_mm: f64,
    /// Depth of the holes \[mm\].
    pub hole_depth_mm: f64,
    /// Thickness \[mm\].
    pub thickness_mm: f64,
}

/// Pieces on a sheet: a few cells of a layout that repeats.
#[derive(Clone, Debug, PartialEq)]
pub struct LayoutDrawing {
    /// What it shows.
    pub title: String,
    /// Corners of the outline \[mm\], y upwards.
    pub outline_mm: Vec<(f64, f64)>,
    /// The pieces of a cell: middle \[mm\], and whether turned by half a turn.
    pub pieces_mm: Vec<(f64, f64, bool)>,
    /// Length and width of the cell \[mm\].
    pub cell_mm: (f64, f64),
}

/// Sizes of letters, lines and room that go with the size of what is drawn \[mm\].
#[derive(Clone, Copy)]
struct Pen {
    /// Height of letters.
    text: f64,
    /// One step of distance between what is drawn and what is written.
    step: f64,
    fine: f64,
    firm: f64,
}

impl Pen {
    /// For a drawing whose longer side is so long: letters of 3 mm beside a piece of 100 mm.
    fn of(longer_mm: f64) -> Self {
        let scale = (longer_mm / 100.0).clamp(0.7, 20.0);
        Self {
            text: 3.0 * scale,
            step: scale,
            fine: 0.13 * scale,
            firm: 0.35 * scale,
        }
    }
}

/// Most holes that get their number.
const MOST_NUMBERED: usize = 40;

/// Draws a piece at its true size, its holes numbered in the order that they are told.
pub fn piece_drawing(d: &PieceDrawing) -> Markup {
    let (x, y) = (range(&d.outline_mm, |p| p.0), range(&d.outline_mm, |p| p.1));
    let length = x.1 - x.0;
    let pen = Pen::of((length + 20.0).max(y.1 - y.0));
    let step = pen.step;
    // Top of the section on paper: below the plan and its dimension.
    let section = -y.0 + 12.0 * step;
    let left = x.0 - 4.0 * step;
    let numbered = d.holes_mm.len() > 1 && d.holes_mm.len() <= MOST_NUMBERED;
    let inside = html! {
        path d=(polygon(d.outline_mm.iter().map(|p| (p.0, -p.1)))) fill="none" stroke="currentColor" stroke-width=(n(pen.firm)) {}
        @for (i, (hx, hy)) in d.holes_mm.iter().enumerate() {
            circle cx=(n(*hx)) cy=(n(-hy)) r=(n(0.5 * d.hole_mm)) fill="none" stroke="currentColor" stroke-width=(n(pen.fine)) {}
            (pen.cross(*hx, -hy, 0.5 * d.hole_mm + 0.8 * step))
            @if numbered {
                text .hole-number x=(n(hx + 0.5 * d.hole_mm + 0.4 * step)) y=(n(-hy - 0.5 * d.hole_mm - 0.3 * step)) font-size=(n(0.65 * pen.text)) fill="currentColor" { (i + 1) }
            }
        }
        (pen.across((x.0, x.1), -y.0 + 5.0 * step, -y.0, &mm(d.extent_mm.0)))
        (pen.down((-y.1, -y.0), x.1 + 5.0 * step, x.1, &mm(d.extent_mm.1)))
        rect x=(n(x.0)) y=(n(section)) width=(n(length)) height=(n(d.thickness_mm)) fill="none" stroke="currentColor" stroke-width=(n(pen.firm)) {}
        @for (hx, _) in &d.holes_mm {
            rect x=(n(hx - 0.5 * d.hole_mm)) y=(n(section)) width=(n(d.hole_mm)) height=(n(d.hole_depth_mm))
                fill="none" stroke="currentColor" stroke-width=(n(pen.fine)) stroke-dasharray={ (n(0.8 * step)) " " (n(0.5 * step)) } {}
        }
        (pen.down((section, section + d.thickness_mm), x.1 + 5.0 * step, x.1, &mm(d.thickness_mm)))
        @if !d.holes_mm.is_empty() {
            (letters(x.0, section + d.thickness_mm + 5.5 * step, "start", &format!("{} × ⌀ {}, {} deep", d.holes_mm.len(), mm(d.hole_mm), mm(d.hole_depth_mm))))
        }
    };
    pen.drawing(
        &d.title,
        (left, -y.1 - 4.0 * step),
        (x.1 + 22.0 * step, section + d.thickness_mm + 8.0 * step),
        &inside,
    )
}

/// Draws three by three cells of a layout at true size, with the cell's measures; a turned piece has a finer line.
pub fn layout_drawing(d: &LayoutDrawing) -> Markup {
    let mut places = Vec::new();
    for column in 0..3 {
        for row in 0..3 {
            for (x, y, turned) in &d.pieces_mm {
                places.push((
                    x + f64::from(column) * d.cell_mm.0,
                    y + f64::from(row) * d.cell_mm.1,
                    *turned,
                ));
            }
        }
    }
    let corners: Vec<(bool, Vec<(f64, f64)>)> = places
        .iter()
        .map(|(x, y, turned)| {
            let sign = if *turned { -1.0 } else { 1.0 };
            let moved = d.outline_mm.iter();
            let moved = moved.map(|p| (sign * p.0 + x, -(sign * p.1 + y))).collect();
            (*turned, moved)
        })
        .collect();
    let all: Vec<(f64, f64)> = corners.iter().flat_map(|c| &c.1).copied().collect();
    let (x, y) = (range(&all, |p| p.0), range(&all, |p| p.1));
    // Many pieces are mostly shown small.
    let pen = Pen::of(1.4 * (x.1 - x.0).max(y.1 - y.0));
    let step = pen.step;
    let inside = html! {
        @for (turned, one) in &corners {
            path d=(polygon(one.iter().copied())) fill="none" stroke="currentColor" stroke-width=(n(if *turned { pen.fine } else { pen.firm })) {}
        }
        (pen.across((0.0, d.cell_mm.0), y.1 + 5.0 * step, y.1, &mm(d.cell_mm.0)))
        (pen.down((-d.cell_mm.1, 0.0), x.1 + 5.0 * step, x.1, &mm(d.cell_mm.1)))
    };
    pen.drawing(
        &d.title,
        (x.0 - 4.0 * step, y.0 - 4.0 * step),
        (x.1 + 22.0 * step, y.1 + 8.0 * step),
        &inside,
    )
}

/// The `<svg>` as a file of its own, on white.
pub fn as_file(drawing: &Markup) -> String {
    let head = "<svg xmlns=\"http://www.w3.org/2000/svg\" style=\"background:#fff;color:#222\"";
    drawing.0.replacen("<svg", head, 1)
}

fn range(points: &[(f64, f64)], of: fn(&(f64, f64)) -> f64) -> (f64, f64) {
    let both = points
        .iter()
        .map(of)
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| {
            (l.min(v), h.max(v))
        });
    if both.0.is_finite() { both } else { (0.0, 0.0) }
}

/// A length with at most two decimals.
fn mm(value: f64) -> String {
    format!("{} mm", n(value))
}

fn letters(x: f64, y: f64, anchor: &str, words: &str) -> Markup {
    html! { text x=(n(x)) y=(n(y)) text-anchor=(anchor) fill="currentColor" { (words) } }
}

impl Pen {
    fn drawing(
        self,
        title: &str,
        (x0, y0): (f64, f64),
        (x1, y1): (f64, f64),
        inside: &Markup,
    ) -> Markup {
        let (width, height) = (x1 - x0, y1 - y0);
        html! {
            svg .to-scale role="img" width={ (n(width)) "mm" } height={ (n(height)) "mm" }
                viewBox={ (n(x0)) " " (n(y0)) " " (n(width)) " " (n(height)) }
                font-family="sans-serif" font-size=(n(self.text)) {
                title { (title) }
                (inside)
            }
        }
    }

    fn stroke(self, x1: f64, y1: f64, x2: f64, y2: f64) -> Markup {
        html! { line x1=(n(x1)) y1=(n(y1)) x2=(n(x2)) y2=(n(y2)) stroke="currentColor" stroke-width=(n(self.fine)) {} }
    }

    fn cross(self, x: f64, y: f64, r: f64) -> Markup {
        html! { (self.stroke(x - r, y, x + r, y)) (self.stroke(x, y - r, x, y + r)) }
    }

    /// A dimension along x at a height, with lines from the height of what is measured.
    fn across(self, (x0, x1): (f64, f64), y: f64, from: f64, words: &str) -> Markup {
        let s = self.step;
        html! {
            (self.stroke(x0, from + s, x0, y + s)) (self.stroke(x1, from + s, x1, y + s)) (self.stroke(x0, y, x1, y))
            (self.slash(x0, y)) (self.slash(x1, y))
            (letters(0.5 * (x0 + x1), y - 0.8 * s, "middle", words))
        }
    }

    /// A dimension along y beside what is measured.
    fn down(self, (y0, y1): (f64, f64), x: f64, from: f64, words: &str) -> Markup {
        let s = self.step;
        html! {
            (self.stroke(from + s, y0, x + s, y0)) (self.stroke(from + s, y1, x + s, y1)) (self.stroke(x, y0, x, y1))
            (self.slash(x, y0)) (self.slash(x, y1))
            (letters(x + 1.6 * s, 0.5 * (y0 + y1) + 0.35 * self.text, "start", words))
        }
    }

    fn slash(self, x: f64, y: f64) -> Markup {
        let half = 0.8 * self.step;
        self.stroke(x - half, y + half, x + half, y - half)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn bar() -> PieceDrawing {
        PieceDrawing {
            title: "bar".into(),
            outline_mm: vec![(-30.0, -15.0), (30.0, -15.0), (30.0, 15.0), (-30.0, 15.0)],
            extent_mm: (60.0, 30.0),
            holes_mm: vec![(-10.0, 5.0), (10.0, 0.0)],
            hole_mm: 2.0,
            hole_depth_mm: 8.0,
            thickness_mm: 8.0,
        }
    }

    #[test]
    fn a_unit_is_a_millimetre_and_the_measures_stand_beside() {
        let file = as_file(&piece_drawing(&bar()));
        let document = roxmltree::Document::parse(&file).unwrap();
        let root = document.root_element();
        let view: Vec<f64> = root
            .attribute("viewBox")
            .unwrap()
            .split(' ')
            .map(|v| v.parse().unwrap())
            .collect();
        assert_eq!(root.attribute("width").unwrap(), format!("{}mm", view[2]));
        let words: Vec<&str> = document.descendants().filter_map(|d| d.text()).collect();
        for wanted in ["60 mm", "30 mm", "8 mm", "2 × ⌀ 2 mm, 8 mm deep"] {
            assert!(words.contains(&wanted), "{wanted} {words:?}");
        }
        // Up on the piece is up on paper.
        let first = document
            .descendants()
            .find(|d| d.has_tag_name("circle"))
            .unwrap();
        assert_eq!(
            (first.attribute("cx"), first.attribute("cy")),
            (Some("-10"), Some("-5"))
        );
    }

    #[test]
    fn a_layout_shows_nine_cells() {
        let d = bar();
        let layout = LayoutDrawing {
            title: "pairs".into(),
            outline_mm: d.outline_mm,
            pieces_mm: vec![(0.0, 0.0, false), (64.0, 0.0, true)],
            cell_mm: (128.0, 34.0),
        };
        let file = as_file(&layout_drawing(&layout));
        let document = roxmltree::Document::parse(&file).unwrap();
        assert_eq!(
            document
                .descendants()
                .filter(|d| d.has_tag_name("path"))
                .count(),
            18
        );
    }
}
