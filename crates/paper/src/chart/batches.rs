//! Every batch a dot, its pieces small dots beside it, the means of treatments with their intervals, the control's mean
//! as a hairline down all of them.

use super::frame::{FOOT, Plot, x_axis};
use super::line::Axis;
use super::rows::Rows;
use super::scale::{Scale, extent, labelled_ticks, proper};
use super::svg::{Anchor, LINE, Width, figure, line, n, text, text_mid};
use crate::number;
use maud::{Markup, html};

/// A batch.
#[derive(Clone, Debug, PartialEq)]
pub struct BatchDots {
    /// Its code.
    pub name: String,
    /// Its mean.
    pub mean: f64,
    /// Its pieces, or whatever was read on it.
    pub pieces: Vec<f64>,
    /// Readings that are set aside.
    pub set_aside: Vec<f64>,
}

/// A treatment with its batches.
#[derive(Clone, Debug, PartialEq)]
pub struct BatchRow {
    /// The treatment.
    pub name: String,
    /// Its mean with the limits of its interval, as the analysis has them.
    pub mean: Option<(f64, Option<(f64, f64)>)>,
    /// Its batches, in the order of work.
    pub batches: Vec<BatchDots>,
}

/// Batches of all treatments.
#[derive(Clone, Debug, PartialEq)]
pub struct BatchPlot {
    /// What it shows.
    pub title: String,
    /// A sentence beside the title.
    pub note: String,
    /// The response with its unit.
    pub axis: Axis,
    /// The treatments, control first.
    pub rows: Vec<BatchRow>,
    /// The control's mean with its name.
    pub level: Option<(String, f64)>,
}

/// Least and most height that the batches of a treatment take.
const BAND: (f64, f64) = (24.0, 96.0);
/// Height that a batch takes while there is room.
const STEP: f64 = 9.0;
/// Most pieces of a batch that are drawn.
const MOST_PIECES: usize = 60;

/// Draws the batches.
pub fn batch_plot(plot: &BatchPlot) -> Markup {
    let values = plot.rows.iter().flat_map(|r| {
        let limits = r.mean.and_then(|m| m.1);
        let ends = limits.into_iter().flat_map(|(low, high)| [low, high]);
        let batches = r.batches.iter();
        let own =
            batches.flat_map(|b| b.pieces.iter().chain(&b.set_aside).copied().chain([b.mean]));
        own.chain(ends)
    });
    let level = plot.level.iter().map(|l| l.1);
    let (low, high) = extent(values.chain(level)).unwrap_or((0.0, 1.0));
    let (low, high) = proper(low, high);
    let told: Vec<String> = plot
        .rows
        .iter()
        .map(|r| {
            let batches = r.batches.iter();
            let all: Vec<String> = batches
                .map(|b| format!("{} {}", b.name, number::three(b.mean)))
                .collect();
            format!("{}: {} {}", r.name, all.join(", "), plot.axis.unit)
        })
        .collect();
    let most = plot.rows.iter().map(|r| r.batches.len()).max().unwrap_or(1);
    let band = (STEP * most as f64 + 14.0).clamp(BAND.0, BAND.1);
    figure(&plot.title, &plot.note, &told.join("; "), |width| {
        let head = if plot.level.is_some() {
            LINE + 4.0
        } else {
            2.0
        };
        // Names stand as in other drawings of rows; the rows themselves are as high as their batches ask.
        let names = Rows::new(width, plot.rows.iter().map(|r| r.name.as_str()), head, 14.0);
        let above = if width == Width::Narrow {
            LINE + 3.0
        } else {
            0.0
        };
        let pitch = band + above + 8.0;
        let bottom = head + pitch * plot.rows.len() as f64;
        let x = Scale {
            values: (low, high),
            places: (names.left + 8.0, names.right - 8.0),
        };
        let frame = Plot {
            left: names.left,
            right: names.right,
            top: head,
            bottom,
        };
        let ticks = labelled_ticks(
            x.value(frame.left),
            x.value(frame.right),
            width.ticks_across(),
        );
        let drawing = html! {
            @if let Some((name, value)) = &plot.level {
                (line("limit", (x.at(*value), head), (x.at(*value), bottom)))
                (text(x.at(*value), LINE - 4.0, Anchor::Middle, "zone-name", name))
            }
            @for (i, row) in plot.rows.iter().enumerate() {
                @let top = head + pitch * i as f64 + above;
                @if width == Width::Narrow {
                    (text_mid(0.0, top - LINE / 2.0, Anchor::Start, "name halo", &row.name))
                } @else {
                    @let words = super::label::wrap(&row.name, (names.left - 12.0) / 1.2 + 0.5, 2);
                    @for (i, part) in words.iter().enumerate() {
                        @let middle = top + band / 2.0 + LINE * (i as f64 + 0.5 - words.len() as f64 / 2.0);
                        (text_mid(names.left - 12.0, middle, Anchor::End, "name halo", part))
                    }
                }
                @if let Some((mean, limits)) = row.mean {
                    @if let Some((from, to)) = limits {
                        (line("limits", (x.at(from), top + band - 4.0), (x.at(to), top + band - 4.0)))
                    }
                    @if mean.is_finite() {
                        (line("limits", (x.at(mean), top + band - 9.0), (x.at(mean), top + band + 1.0)))
                    }
                }
                @let step = (band - 14.0) / row.batches.len().max(1) as f64;
                @for (k, batch) in row.batches.iter().enumerate() {
                    @let y = top + step * (k as f64 + 0.5);
                    g .points {
                        @for value in batch.pieces.iter().filter(|v| v.is_finite()).take(MOST_PIECES) {
                            circle .mark cx=(n(x.at(*value))) cy=(n(y)) r="1.2" {}
                        }
                    }
                    @for value in batch.set_aside.iter().filter(|v| v.is_finite()) {
                        circle .mark.open cx=(n(x.at(*value))) cy=(n(y)) r="1.8" { title { (batch.name) ": set aside " (number::three(*value)) } }
                    }
                    @if batch.mean.is_finite() {
                        circle .mark.filled cx=(n(x.at(batch.mean))) cy=(n(y)) r="3.2" {
                            title { (batch.name) ": " (number::three(batch.mean)) " " (plot.axis.unit) }
                        }
                    }
                }
            }
            (x_axis(&plot.axis, &x, &ticks, &frame))
        };
        (bottom + FOOT, drawing)
    })
}
