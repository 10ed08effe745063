//! Bars in one scale from zero: the stations of a line, with the one that holds the others back.

use super::label::{cut, text_width};
use super::rows::Rows;
use super::scale::{Scale, extent};
use super::svg::{Anchor, LINE, figure, line, rect, text, text_mid};
use crate::number;
use maud::{Markup, html};

/// One bar.
#[derive(Clone, Debug, PartialEq)]
pub struct Bar {
    /// Its name.
    pub name: String,
    /// Its value; `None` is drawn as unknown, not as zero.
    pub value: Option<f64>,
    /// Lower and upper limit, when known.
    pub limits: Option<(f64, f64)>,
    /// A word after the value, e.g. `bottleneck`; a bar with a word is drawn in full ink.
    pub word: String,
}

/// Bars in one scale.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Bars {
    /// What it shows.
    pub title: String,
    /// A sentence beside the title.
    pub note: String,
    /// Unit of the values.
    pub unit: String,
    /// Decimals shown; more for a bar that would else show less than two significant digits.
    pub places: usize,
    /// The bars, top to bottom.
    pub bars: Vec<Bar>,
    /// A level across all bars, with its name: what is wanted.
    pub level: Option<(String, f64)>,
    /// Where the scale must reach, so that drawings compare; the data may widen it.
    pub reach: Option<f64>,
}

/// Draws horizontal bars from zero.
pub fn bars(chart: &Bars) -> Markup {
    let told = |bar: &Bar| match bar.value {
        Some(v) => {
            let places = measure::rounding::decimals_for(v, chart.places);
            format!("{} {}", number::fixed(v, places), chart.unit)
        }
        None => "not known".to_owned(),
    };
    let after = |bar: &Bar| match bar.word.as_str() {
        "" => told(bar),
        word => format!("{}, {word}", told(bar)),
    };
    let description: Vec<String> = (chart.bars.iter())
        .map(|bar| format!("{}: {}", bar.name, after(bar)))
        .collect();
    let values = chart.bars.iter().flat_map(|b| {
        let limits = b.limits.into_iter().flat_map(|(low, high)| [low, high]);
        limits.chain(b.value)
    });
    let (_, most) = extent(
        values
            .chain(chart.level.iter().map(|l| l.1))
            .chain(chart.reach)
            .chain([0.0]),
    )
    .unwrap_or((0.0, 1.0));

    figure(
        &chart.title,
        &chart.note,
        &description.join("; "),
        |width| {
            let texts = chart.bars.iter().map(|b| text_width(&after(b)));
            let room = texts.fold(0.0, f64::max) + 12.0;
            let head = if chart.level.is_some() {
                LINE + 4.0
            } else {
                2.0
            };
            let names = chart.bars.iter().map(|b| b.name.as_str());
            let rows = Rows::new(width, names, head, room);
            let x = Scale {
                values: (0.0, if most > 0.0 { most } else { 1.0 }),
                places: (rows.left, rows.right),
            };
            let height = rows.bottom();
            let drawing = html! {
                @for (i, bar) in chart.bars.iter().enumerate() {
                    @let y = rows.middle(i);
                    @if let Some(value) = bar.value.filter(|v| v.is_finite()) {
                        (rect(if bar.word.is_empty() { "bar" } else { "bar strong" }, rows.left, y - 7.0, x.at(value) - rows.left, 14.0))
                    }
                    @if let Some((low, high)) = bar.limits {
                        (line("limits", (x.at(low), y), (x.at(high), y)))
                    }
                }
                (rows.axis())
                @if let Some((name, value)) = &chart.level {
                    (line("limit", (x.at(*value), head), (x.at(*value), height)))
                    (level_name(name, x.at(*value), width.units()))
                }
                @for (i, bar) in chart.bars.iter().enumerate() {
                    @let strong = !bar.word.is_empty();
                    @let end = bar.limits.map_or(0.0, |l| l.1).max(bar.value.unwrap_or(0.0));
                    (rows.name(i, if strong { "name strong halo" } else { "name halo" }, &bar.name))
                    (text_mid(x.at(end) + 8.0, rows.middle(i), Anchor::Start, if strong { "value strong halo" } else { "value halo" }, &after(bar)))
                }
            };
            (height, drawing)
        },
    )
}

/// The name above a vertical line, kept on the paper.
fn level_name(name: &str, x: f64, units: f64) -> Markup {
    let words = cut(name, units);
    let half = text_width(&words) / 2.0;
    let middle = x.min(units - half).max(half);
    text(middle, LINE - 4.0, Anchor::Middle, "zone-name", &words)
}
