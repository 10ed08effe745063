//! What was measured over what was computed: a circle for each treatment with its interval, and the line where both agree.

use super::frame::{FOOT, Plot, left_room, x_axis, y_axis};
use super::label::{push_apart, wrap};
use super::line::Axis;
use super::scale::{Scale, extent, labelled_ticks, nice_range, proper};
use super::svg::{Anchor, LINE, Width, circle, figure, line, text_mid};
use crate::number;
use maud::{Markup, html};

/// A treatment.
#[derive(Clone, Debug, PartialEq)]
pub struct Pair {
    /// Its name.
    pub name: String,
    /// What was computed.
    pub computed: f64,
    /// The mean of what was measured.
    pub measured: f64,
    /// Its interval, where there is one.
    pub limits: Option<(f64, f64)>,
    /// What each batch has, with what was computed for it.
    pub batches: Vec<(f64, f64)>,
}

/// Pairs of one figure.
#[derive(Clone, Debug, PartialEq)]
pub struct Pairs {
    /// What it shows.
    pub title: String,
    /// A sentence beside the title.
    pub note: String,
    /// The figure's unit.
    pub unit: String,
    /// The treatments.
    pub pairs: Vec<Pair>,
}

/// Share of the drawing that names take on the right.
const NAMES: f64 = 0.38;

/// Draws the pairs, both axes alike.
pub fn pairs(plot: &Pairs) -> Markup {
    let values = plot.pairs.iter().flat_map(|p| {
        let ends = p.limits.into_iter().flat_map(|(low, high)| [low, high]);
        let batches = p.batches.iter().flat_map(|(a, b)| [*a, *b]);
        ends.chain(batches).chain([p.computed, p.measured])
    });
    let (low, high) = extent(values).unwrap_or((0.0, 1.0));
    let (low, high) = proper(low, high);
    // Room around what stands at the ends.
    let (low, high) = (low - 0.06 * (high - low), high + 0.06 * (high - low));
    let told: Vec<String> = plot
        .pairs
        .iter()
        .map(|p| {
            let (measured, computed) = (number::three(p.measured), number::three(p.computed));
            format!(
                "{}: measured {measured}, computed {computed} {}",
                p.name, plot.unit
            )
        })
        .collect();
    figure(&plot.title, &plot.note, &told.join("; "), |width| {
        let most = match width {
            Width::Wide => 5,
            Width::Narrow => 4,
        };
        let (low, high) = nice_range(low, high, most);
        let ticks = labelled_ticks(low, high, most);
        let left = left_room(&ticks);
        let side = (width.units() * (1.0 - NAMES) - left).min(320.0);
        let frame = Plot {
            left,
            right: left + side,
            top: LINE + 8.0,
            bottom: LINE + 8.0 + side,
        };
        let x = Scale {
            values: (low, high),
            places: (frame.left, frame.right),
        };
        let y = Scale {
            values: (low, high),
            places: (frame.bottom, frame.top),
        };
        let room = width.units() - frame.right - 14.0;
        let wanted: Vec<f64> = plot.pairs.iter().map(|p| y.at(p.measured)).collect();
        let names: Vec<Vec<String>> = plot.pairs.iter().map(|p| wrap(&p.name, room, 3)).collect();
        let heights: Vec<f64> = names.iter().map(|n| LINE * n.len() as f64).collect();
        let places = push_apart(&wanted, &heights, frame.top, frame.bottom);
        let drawing = html! {
            (line("limit", (frame.left, frame.bottom), (frame.right, frame.top)))
            (text_mid(frame.right - 0.08 * side - 10.0, frame.top + 0.08 * side - 6.0, Anchor::End, "zone-name halo", "as computed"))
            @for pair in &plot.pairs {
                g .points { @for (computed, measured) in &pair.batches { (circle("mark", x.at(*computed), y.at(*measured), 1.6)) } }
            }
            @for ((pair, place), name) in plot.pairs.iter().zip(&places).zip(&names) {
                @let at = (x.at(pair.computed), y.at(pair.measured));
                @if let Some((from, to)) = pair.limits { (line("limits", (at.0, y.at(from)), (at.0, y.at(to)))) }
                (line("leader", (at.0 + 5.0, at.1), (frame.right, at.1)))
                (line("leader", (frame.right, at.1), (frame.right + 8.0, *place)))
                circle .mark.filled cx=(super::svg::n(at.0)) cy=(super::svg::n(at.1)) r="4" {
                    title { (pair.name) ": measured " (number::three(pair.measured)) ", computed " (number::three(pair.computed)) " " (plot.unit) }
                }
                @for (i, words) in name.iter().enumerate() {
                    @let middle = place + LINE * (i as f64 + 0.5 - name.len() as f64 / 2.0);
                    (text_mid(frame.right + 11.0, middle, Anchor::Start, "name halo", words))
                }
            }
            (y_axis(&Axis::new("measured", plot.unit.clone()), &y, &ticks, &frame, frame.right))
            (x_axis(&Axis::new("computed", plot.unit.clone()), &x, &ticks, &frame))
        };
        (frame.bottom + FOOT, drawing)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Both axes have one scale, so that a circle on the line says that both agree: it stands as far from the left as
    /// from below.
    #[test]
    fn what_agrees_stands_on_the_line() {
        let pair = |name: &str, v: f64| Pair {
            name: name.to_owned(),
            computed: v,
            measured: v,
            limits: Some((v - 1.0, v + 1.0)),
            batches: vec![(v, v - 1.0), (v, v + 1.0)],
        };
        let drawn = pairs(&Pairs {
            title: "Bake".into(),
            note: String::new(),
            unit: "min".into(),
            pairs: vec![pair("a <b>", 13.0), pair("b", 15.5)],
        })
        .into_string();
        assert!(
            drawn.contains("a &lt;b&gt;: measured 13.0, computed 13.0 min"),
            "{drawn}"
        );
        let number = |from: &str, name: &str| -> f64 {
            let at = from.find(name).unwrap() + name.len();
            from[at..at + from[at..].find('"').unwrap()]
                .parse()
                .unwrap()
        };
        let diagonal = &drawn[drawn.find("class=\"limit\"").unwrap()..];
        let (left, bottom) = (number(diagonal, "x1=\""), number(diagonal, "y1=\""));
        for mark in drawn.split("class=\"mark filled\"").skip(1).take(2) {
            let (x, y) = (number(mark, "cx=\"") - left, bottom - number(mark, "cy=\""));
            assert!((x - y).abs() < 0.02, "{x} {y}");
        }
    }
}
