//! A piece as a small picture beside a name: its outline and holes, all on one scale.

use super::svg::n;
use maud::{Markup, html};

/// Pixels to a millimetre, so that a bar of 100 mm is as wide as a short word.
const SCALE: f64 = 0.8;
/// Pixels that no picture is wider or higher than.
const MOST: f64 = 96.0;

/// A piece from above: corners of its outline and middles of its holes \[mm\], y upwards. `said` tells what it shows.
///
/// ```
/// let drawn = paper::chart::small_piece("a square", &[(0.0, 0.0), (40.0, 0.0), (40.0, 40.0), (0.0, 40.0)], &[(20.0, 20.0)], 1.5);
/// assert!(drawn.into_string().contains("<circle"));
/// ```
pub fn small_piece(
    said: &str,
    outline_mm: &[(f64, f64)],
    holes_mm: &[(f64, f64)],
    hole_radius_mm: f64,
) -> Markup {
    let of = |part: fn(&(f64, f64)) -> f64| {
        let all = outline_mm.iter().map(part);
        all.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| {
            (low.min(v), high.max(v))
        })
    };
    let ((left, right), (bottom, top)) = (of(|p| p.0), of(|p| p.1));
    let (wide, high) = (right - left, top - bottom);
    if !(wide.is_finite() && high.is_finite() && wide > 0.0 && high > 0.0) {
        return html! {};
    }
    let scale = SCALE.min(MOST / wide.max(high));
    // One pixel of room for the line.
    let at = |(x, y): &(f64, f64)| ((x - left) * scale + 1.0, (top - y) * scale + 1.0);
    let points = outline_mm
        .iter()
        .map(at)
        .map(|(x, y)| format!("{},{}", n(x), n(y)));
    let points: Vec<String> = points.collect();
    let (width, height) = (wide * scale + 2.0, high * scale + 2.0);
    html! {
        svg .small-piece role="img" width=(n(width)) height=(n(height)) viewBox={ "0 0 " (n(width)) " " (n(height)) } {
            title { (said) }
            polygon points=(points.join(" ")) {}
            @for (x, y) in holes_mm.iter().map(at) { circle cx=(n(x)) cy=(n(y)) r=(n((hole_radius_mm * scale).max(0.8))) {} }
        }
    }
}
