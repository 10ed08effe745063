//! What adds up to a whole: a cost built up from its parts, one row per treatment.

use super::label::{push_apart, text_width};
use super::rows::Rows;
use super::scale::Scale;
use super::svg::{Anchor, LINE, figure, line, rect, text, text_mid};
use crate::number;
use maud::{Markup, html};

/// One whole with its parts.
#[derive(Clone, Debug, PartialEq)]
pub struct StackRow {
    /// The treatment.
    pub name: String,
    /// Its parts, in the order of [`Stack::parts`]; `None` is unknown and left out of the sum.
    pub values: Vec<Option<f64>>,
}

/// Wholes and their parts in one scale.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Stack {
    /// What it shows.
    pub title: String,
    /// A sentence beside the title.
    pub note: String,
    /// Unit of the values.
    pub unit: String,
    /// Decimals shown.
    pub places: usize,
    /// Names of the parts, first to last.
    pub parts: Vec<String>,
    /// The wholes, control first.
    pub rows: Vec<StackRow>,
}

impl StackRow {
    fn known(&self) -> impl Iterator<Item = f64> {
        self.values
            .iter()
            .map(|v| v.filter(|v| v.is_finite()).unwrap_or(0.0).max(0.0))
    }

    /// The sum as told: "at least" when a part is unknown.
    fn told(&self, places: usize) -> String {
        let sum = number::fixed(self.known().sum(), places);
        if self.values.iter().all(Option::is_some) {
            sum
        } else {
            format!("≥ {sum}")
        }
    }
}

/// Draws stacked rows; the parts are named once, over the first row.
pub fn stack(chart: &Stack) -> Markup {
    let most = (chart.rows.iter().map(|r| r.known().sum::<f64>())).fold(0.0, f64::max);
    let description: Vec<String> = (chart.rows.iter())
        .map(|row| {
            let parts: Vec<String> = (chart.parts.iter().zip(&row.values))
                .map(|(name, v)| match v {
                    Some(v) => format!("{name} {}", number::fixed(*v, chart.places)),
                    None => format!("{name} not known"),
                })
                .collect();
            let sum = row.told(chart.places);
            format!("{}: {sum} {} ({})", row.name, chart.unit, parts.join(", "))
        })
        .collect();

    figure(
        &chart.title,
        &chart.note,
        &description.join("; "),
        |width| {
            let totals = chart.rows.iter().map(|r| text_width(&r.told(chart.places)));
            let room = totals.fold(0.0, f64::max) + 12.0;
            let widths: Vec<f64> = chart.parts.iter().map(|p| text_width(p) + 12.0).collect();
            let names = chart.rows.iter().map(|r| r.name.as_str());
            let probe = Rows::new(width, names.clone(), 0.0, room);
            let line_count = (widths.iter().sum::<f64>() / (width.units() - probe.left))
                .ceil()
                .max(1.0);
            let head = line_count * LINE + 14.0;
            let rows = Rows::new(width, names, head, room);
            let x = Scale {
                values: (0.0, if most > 0.0 { most } else { 1.0 }),
                places: (rows.left, rows.right),
            };
            let drawing = html! {
                (part_names(chart, &x, &widths, line_count as usize, (rows.left, width.units()), (head, rows.middle(0) - 10.0)))
                @for (i, row) in chart.rows.iter().enumerate() {
                    @let y = rows.middle(i);
                    (rows.name(i, "name", &row.name))
                    @for (k, (from, to)) in edges(row).enumerate() {
                        @let (from, to) = (x.at(from), x.at(to));
                        @let words = number::fixed(row.known().nth(k).unwrap_or(0.0), chart.places);
                        (rect(tint(k), from, y - 9.0, to - from, 18.0))
                        @if to - from > text_width(&words) + 4.0 {
                            (text_mid((from + to) / 2.0, y, Anchor::Middle, "on-band", &words))
                        }
                        @if k > 0 { (line("gap", (from, y - 9.0), (from, y + 9.0))) }
                    }
                    @let end = x.at(row.known().sum());
                    (text_mid(end + 6.0, y, Anchor::Start, "value strong", &row.told(chart.places)))
                }
                (rows.axis())
            };
            (rows.bottom(), drawing)
        },
    )
}

fn tint(part: usize) -> &'static str {
    ["tint-1", "tint-2", "tint-3"][part % 3]
}

fn edges(row: &StackRow) -> impl Iterator<Item = (f64, f64)> {
    row.known().scan(0.0, |sum, v| {
        let from = *sum;
        *sum += v;
        Some((from, *sum))
    })
}

/// The parts' names over the first row, pushed apart; on more than one line they take turns.
fn part_names(
    chart: &Stack,
    x: &Scale,
    widths: &[f64],
    lines: usize,
    (left, right): (f64, f64),
    (head, bar_top): (f64, f64),
) -> Markup {
    let Some(first) = chart.rows.first() else {
        return html! {};
    };
    let wanted: Vec<f64> = edges(first).map(|(a, b)| x.at((a + b) / 2.0)).collect();
    let count = wanted.len().min(chart.parts.len());
    let mut places = vec![0.0; count];
    for turn in 0..lines {
        let mine: Vec<usize> = (turn..count).step_by(lines).collect();
        let at: Vec<f64> = mine.iter().map(|&k| wanted[k]).collect();
        let room: Vec<f64> = mine.iter().map(|&k| widths[k]).collect();
        for (&k, place) in mine
            .iter()
            .zip(push_apart(&at, &room, left - 6.0, right + 6.0))
        {
            places[k] = place;
        }
    }
    html! {
        @for k in 0..count {
            @let y = (k % lines + 1) as f64 * LINE;
            (line("leader", (places[k], y), (places[k], head - 8.0)))
            (line("leader", (places[k], head - 8.0), (wanted[k], bar_top)))
        }
        @for k in 0..count {
            @let y = (k % lines + 1) as f64 * LINE - 4.0;
            (text(places[k], y, Anchor::Middle, "name halo", &chart.parts[k]))
        }
    }
}
