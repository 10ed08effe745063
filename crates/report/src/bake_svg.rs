//! The bake curves of one treatment as a drawing file of its own.

use crate::bake::{Scales, moisture, temperatures};
use maud::{Markup, PreEscaped, html};
use paper::chart::{Width, line_chart};
use study::views::knock_on::KnockOn;

/// Colours of our paper, spelt out: a drawing program knows no style sheet but this.
const STYLE: &str = include_str!("bake_svg.css");
const MARGIN: f64 = 24.0;
const HEAD: f64 = 36.0;

/// One SVG file with the temperatures above and the moisture below, its style inside.
pub fn bake_svg(k: &KnockOn) -> String {
    let scales = Scales::of(std::iter::once(k), measure::Units::Metric);
    let charts = [temperatures(k, &scales), moisture(k, &scales)].map(|chart| line_chart(&chart));
    charts_svg(&format!("Bake of {}", k.name), &charts)
}

/// Charts one under the other as an SVG file of their own, its style inside.
pub(crate) fn charts_svg(title: &str, charts: &[Markup]) -> String {
    let drawings: Vec<Drawing> = charts.iter().map(drawing).collect();
    let width = Width::Wide.units() + 2.0 * MARGIN;
    let height = drawings.iter().map(|d| d.height + MARGIN).sum::<f64>() + HEAD + MARGIN;
    let mut next = HEAD + MARGIN;
    let placed: Vec<(f64, &Drawing)> = drawings
        .iter()
        .map(|d| {
            let top = next;
            next += d.height + MARGIN;
            (top, d)
        })
        .collect();
    html! {
        svg xmlns="http://www.w3.org/2000/svg" width=(width) height=(height) viewBox={ "0 0 " (width) " " (height) } {
            title { (title) }
            style { (PreEscaped(STYLE)) }
            rect .paper width=(width) height=(height) {}
            text .title x=(MARGIN) y=(MARGIN + 14.0) { (title) }
            @for (y, d) in &placed {
                svg x=(MARGIN) y=(y) width=(Width::Wide.units()) height=(d.height) viewBox={ "0 0 " (Width::Wide.units()) " " (d.height) } {
                    (PreEscaped(&d.inside))
                }
            }
        }
    }
    .into_string()
}

/// One figure as an SVG file of its own, its style inside.
pub(crate) fn figure_svg(title: &str, figure: &Markup) -> String {
    charts_svg(title, std::slice::from_ref(figure))
}

struct Drawing {
    height: f64,
    inside: String,
}

/// The wide drawing of a figure, without the page around it.
fn drawing(figure: &Markup) -> Drawing {
    let figure = &figure.0;
    let between = |text: &str, open: &str, close: &str| {
        let from = text.find(open)? + open.len();
        let to = from + text[from..].find(close)?;
        Some(text[from..to].to_owned())
    };
    let wide = between(figure, "<svg class=\"wide\"", "</svg>").unwrap_or_default();
    let height = between(&wide, "viewBox=\"0 0 ", "\"")
        .and_then(|b| b.split(' ').nth(1)?.parse().ok())
        .unwrap_or(320.0);
    let inside = wide
        .split_once('>')
        .map_or(String::new(), |(_, inside)| inside.to_owned());
    Drawing { height, inside }
}
