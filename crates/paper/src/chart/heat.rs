//! A section through a piece, cell by cell, in one of our ramps.

use super::label::text_width;
use super::scale::{Scale, extent, labelled_ticks, proper};
use super::svg::{Anchor, LINE, figure, line, n, rect, text, text_mid};
use crate::{Ramp, number};
use maud::{Markup, html};

/// Colour steps in a drawing: enough for the eye, few enough to keep the file small.
const STEPS: usize = 32;

/// A section through a piece.
#[derive(Clone, Debug, PartialEq)]
pub struct HeatStrip {
    /// What it shows.
    pub title: String,
    /// A sentence beside the title.
    pub note: String,
    /// Rows of cells, top to bottom, each left to right; NaN is outside the piece.
    pub rows: Vec<Vec<f64>>,
    /// Which ramp.
    pub ramp: Ramp,
    /// What the colour measures, e.g. `temperature`.
    pub quantity: String,
    /// Its unit.
    pub unit: String,
    /// Ends of the ramp, so that sections compare; the data's own when `None`.
    pub range: Option<(f64, f64)>,
    /// Height over width of the section.
    pub aspect: f64,
    /// Words at the top edge, the bottom edge and along the width.
    pub edges: [String; 3],
}

/// Draws a section with the key of its ramp.
pub fn heat_strip(strip: &HeatStrip) -> Markup {
    let found = extent(strip.rows.iter().flatten().copied());
    let (low, high) = strip.range.or(found).unwrap_or((0.0, 1.0));
    let (low, high) = proper(low, high);
    let description = match found {
        Some((least, most)) => format!(
            "{} from {} to {} {}",
            strip.quantity,
            number::three(least),
            number::three(most),
            strip.unit
        ),
        None => "no values".to_owned(),
    };
    figure(&strip.title, &strip.note, &description, |width| {
        let [top, bottom, across] = &strip.edges;
        let left = text_width(top).max(text_width(bottom)) + 8.0;
        let wide = width.units() - left - 1.0;
        let tall = (wide * strip.aspect).clamp(24.0, 320.0);
        let key = tall + 1.0 + if across.is_empty() { 0.0 } else { LINE + 8.0 } + 12.0;
        let drawing = html! {
            (cells(strip, (low, high), left, wide, tall))
            (text_mid(left - 8.0, LINE / 2.0, Anchor::End, "tick", top))
            (text_mid(left - 8.0, tall - LINE / 2.0 + 1.0, Anchor::End, "tick", bottom))
            @if !across.is_empty() {
                (line("axis", (left, tall + 7.0), (left + wide, tall + 7.0)))
                (line("axis", (left, tall + 4.0), (left, tall + 10.0)))
                (line("axis", (left + wide, tall + 4.0), (left + wide, tall + 10.0)))
                (text(left + wide / 2.0, tall + LINE + 6.0, Anchor::Middle, "tick", across))
            }
            (ramp_key(strip, (low, high), left, key))
        };
        (key + 10.0 + LINE + 6.0, drawing)
    })
}

/// One path per colour; cells of a colour side by side run together.
fn cells(strip: &HeatStrip, range: (f64, f64), left: f64, wide: f64, tall: f64) -> Markup {
    let mut paths = vec![String::new(); STEPS];
    let down = tall / strip.rows.len().max(1) as f64;
    for (r, row) in strip.rows.iter().enumerate() {
        let across = wide / row.len().max(1) as f64;
        let steps: Vec<Option<usize>> = row.iter().map(|&v| step(v, range)).collect();
        let mut c = 0;
        for run in steps.chunk_by(|a, b| a == b) {
            if let Some(step) = run[0] {
                let (x, y) = (left + c as f64 * across, r as f64 * down);
                let long = run.len() as f64 * across;
                paths[step] += &format!("M{} {}h{}v{}h{}z", n(x), n(y), n(long), n(down), n(-long));
            }
            c += run.len();
        }
    }
    html! {
        g .cells {
            @for (step, path) in paths.iter().enumerate().filter(|(_, p)| !p.is_empty()) {
                path fill=(shade(strip.ramp, step)) stroke=(shade(strip.ramp, step)) d=(path) {}
            }
        }
    }
}

fn step(value: f64, (low, high): (f64, f64)) -> Option<usize> {
    let share = (value - low) / (high - low);
    value
        .is_finite()
        .then(|| (share.clamp(0.0, 1.0) * (STEPS - 1) as f64).round() as usize)
}

fn shade(ramp: Ramp, step: usize) -> String {
    ramp.colour(step as f64 / (STEPS - 1) as f64).hex()
}

fn ramp_key(strip: &HeatStrip, (low, high): (f64, f64), left: f64, y: f64) -> Markup {
    let name = match strip.unit.as_str() {
        "" => strip.quantity.clone(),
        unit => format!("{}, {unit}", strip.quantity),
    };
    let x = Scale {
        values: (low, high),
        places: (left, left + 160.0),
    };
    let cell = 160.0 / STEPS as f64;
    html! {
        g .cells {
            @for step in 0..STEPS {
                rect fill=(shade(strip.ramp, step)) x=(n(left + step as f64 * cell)) y=(n(y)) width=(n(cell)) height="10" {}
            }
        }
        (rect("outline", left, y, 160.0, 10.0))
        @for (value, words) in labelled_ticks(low, high, 4) {
            (line("axis", (x.at(value), y + 10.0), (x.at(value), y + 13.0)))
            (text(x.at(value), y + 12.0 + LINE - 2.0, Anchor::Middle, "tick", &words))
        }
        (text_mid(left + 172.0, y + 5.0, Anchor::Start, "axis-name", &name))
    }
}
