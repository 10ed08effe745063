//! Means with their intervals, the single values behind them, and the letters of comparison.

use super::frame::{FOOT, Plot, x_axis};
use super::label::text_width;
use super::line::Axis;
use super::rows::Rows;
use super::scale::{Scale, extent, labelled_ticks, proper};
use super::svg::{Anchor, LINE, figure, line, n, text, text_mid};
use crate::number;
use maud::{Markup, html};

/// One treatment's mean.
#[derive(Clone, Debug, PartialEq)]
pub struct Dot {
    /// The treatment.
    pub name: String,
    /// Its mean.
    pub mean: f64,
    /// Lower and upper limit, when there are enough values for one.
    pub limits: Option<(f64, f64)>,
    /// Single observations.
    pub observations: Vec<f64>,
    /// Letters: treatments that share one were not shown to differ.
    pub letters: String,
}

/// Means side by side.
#[derive(Clone, Debug, PartialEq)]
pub struct DotPlot {
    /// What it shows.
    pub title: String,
    /// A sentence beside the title: which interval, which comparison.
    pub note: String,
    /// The response with its unit.
    pub axis: Axis,
    /// The treatments, control first.
    pub dots: Vec<Dot>,
    /// Values held against all of them, with their names: the control's mean, a limit, two margins.
    pub levels: Vec<(String, f64)>,
}

/// Draws means with intervals and letters.
pub fn dot_plot(plot: &DotPlot) -> Markup {
    let limits = || plot.dots.iter().filter_map(|d| d.limits);
    let places = limits()
        .map(|(low, high)| number::places_for(low, high))
        .min();
    let told = |dot: &Dot| match (dot.limits, places) {
        (Some((low, high)), Some(places)) => number::interval_to(dot.mean, low, high, places),
        (None, Some(places)) => number::fixed(dot.mean, places),
        (_, None) => number::three(dot.mean),
    };
    let description: Vec<String> = (plot.dots.iter())
        .map(|d| format!("{}: {} {} {}", d.name, told(d), plot.axis.unit, d.letters))
        .collect();
    let values = plot.dots.iter().flat_map(|d| {
        let limits = d.limits.into_iter().flat_map(|(low, high)| [low, high]);
        limits.chain(d.observations.iter().copied()).chain([d.mean])
    });
    let fixed = plot
        .axis
        .range
        .into_iter()
        .flat_map(|(low, high)| [low, high]);
    let zero = plot.axis.zero.then_some(0.0);
    let levels = plot.levels.iter().map(|l| l.1);
    let (low, high) = extent(values.chain(fixed).chain(zero).chain(levels)).unwrap_or((0.0, 1.0));
    let (low, high) = proper(low, high);

    figure(&plot.title, &plot.note, &description.join("; "), |width| {
        let widest = |texts: &mut dyn Iterator<Item = f64>| texts.fold(0.0, f64::max);
        let letters = widest(&mut plot.dots.iter().map(|d| text_width(&d.letters)));
        let numbers = widest(&mut plot.dots.iter().map(|d| text_width(&told(d))));
        let wide = width == super::svg::Width::Wide;
        let room = letters + 14.0 + if wide { numbers + 16.0 } else { 0.0 };
        let head = if plot.levels.is_empty() {
            2.0
        } else {
            LINE + 4.0
        };
        let rows = Rows::new(width, plot.dots.iter().map(|d| d.name.as_str()), head, room);
        let pad = 8.0;
        let x = Scale {
            values: (low, high),
            places: (rows.left + pad, rows.right - pad),
        };
        let frame = Plot {
            left: rows.left,
            right: rows.right,
            top: head,
            bottom: rows.bottom(),
        };
        let (from, to) = (x.value(frame.left), x.value(frame.right));
        let ticks = labelled_ticks(from, to, width.ticks_across());
        let drawing = html! {
            @for (name, value) in &plot.levels {
                (line("limit", (x.at(*value), head), (x.at(*value), frame.bottom)))
                (text(x.at(*value), LINE - 4.0, Anchor::Middle, "zone-name", name))
            }
            @for (i, dot) in plot.dots.iter().enumerate() {
                @let y = rows.middle(i);
                (rows.name(i, "name halo", &dot.name))
                @for value in dot.observations.iter().filter(|v| v.is_finite()) {
                    path .observation d={ "M" (n(x.at(*value))) " " (n(y - 6.0)) "v12" } {}
                }
                @if let Some((low, high)) = dot.limits {
                    (line("limits", (x.at(low), y), (x.at(high), y)))
                }
                @if dot.mean.is_finite() {
                    circle .mark.filled cx=(n(x.at(dot.mean))) cy=(n(y)) r="4" {
                        title { (dot.name) " " (told(dot)) " " (plot.axis.unit) }
                    }
                }
                @if wide {
                    (text_mid(rows.right + 8.0 + numbers, y, Anchor::End, "value", &told(dot)))
                }
                (text_mid(width.units() - letters - 2.0, y, Anchor::Start, "letters", &dot.letters))
            }
            (x_axis(&plot.axis, &x, &ticks, &frame))
        };
        (frame.bottom + FOOT, drawing)
    })
}
