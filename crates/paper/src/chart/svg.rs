//! The few pieces of SVG that every drawing is made of.

use maud::{Markup, html};

/// Size of text in units of a drawing; at full width one unit is one CSS pixel.
pub const TEXT: f64 = 13.0;
/// From one line of text to the next.
pub const LINE: f64 = 16.0;

/// The two widths every figure is drawn in; the style sheet shows the one that fits its column.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Width {
    /// Across the page or the sheet.
    Wide,
    /// Half a page, or a telephone.
    Narrow,
}

impl Width {
    /// Both widths.
    pub const ALL: [Self; 2] = [Self::Wide, Self::Narrow];

    /// Units across.
    pub const fn units(self) -> f64 {
        match self {
            Self::Wide => 640.0,
            Self::Narrow => 320.0,
        }
    }

    /// Most parts that an axis across is cut into.
    pub(crate) const fn ticks_across(self) -> usize {
        match self {
            Self::Wide => 7,
            Self::Narrow => 4,
        }
    }

    const fn class(self) -> &'static str {
        match self {
            Self::Wide => "wide",
            Self::Narrow => "narrow",
        }
    }
}

/// Where a text hangs on its point.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Anchor {
    Start,
    Middle,
    End,
}

impl Anchor {
    const fn word(self) -> &'static str {
        match self {
            Self::Start => "start",
            Self::Middle => "middle",
            Self::End => "end",
        }
    }
}

/// A figure: its title and note, and the same drawing at both widths.
pub(crate) fn figure(
    title: &str,
    note: &str,
    description: &str,
    draw: impl Fn(Width) -> (f64, Markup),
) -> Markup {
    html! {
        figure .chart {
            figcaption { b { (title) } @if !note.is_empty() { " " span .note { (note) } } }
            @for width in Width::ALL {
                @let (height, drawing) = draw(width);
                svg class=(width.class()) role="img"
                    viewBox={ "0 0 " (n(width.units())) " " (n(height)) } {
                    title { (title) }
                    desc { (description) }
                    (drawing)
                }
            }
        }
    }
}

/// A coordinate with at most two decimals and no tail of zeros.
pub(crate) fn n(value: f64) -> String {
    if !value.is_finite() {
        return "0".to_owned();
    }
    let text = format!("{value:.2}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" {
        "0".to_owned()
    } else {
        text.to_owned()
    }
}

pub(crate) fn text(x: f64, y: f64, anchor: Anchor, class: &str, words: &str) -> Markup {
    html! { text .(class) x=(n(x)) y=(n(y)) text-anchor=(anchor.word()) { (words) } }
}

/// A text whose middle stands at `y`.
pub(crate) fn text_mid(x: f64, y: f64, anchor: Anchor, class: &str, words: &str) -> Markup {
    text(x, y + TEXT * 0.35, anchor, class, words)
}

pub(crate) fn line(class: &str, (x1, y1): (f64, f64), (x2, y2): (f64, f64)) -> Markup {
    html! { line .(class) x1=(n(x1)) y1=(n(y1)) x2=(n(x2)) y2=(n(y2)) {} }
}

pub(crate) fn rect(class: &str, x: f64, y: f64, width: f64, height: f64) -> Markup {
    html! {
        rect .(class) x=(n(x)) y=(n(y)) width=(n(width.max(0.0))) height=(n(height.max(0.0))) {}
    }
}

pub(crate) fn circle(class: &str, x: f64, y: f64, r: f64) -> Markup {
    html! { circle .(class) cx=(n(x)) cy=(n(y)) r=(n(r)) {} }
}

/// Path data through points, broken where one is missing.
pub(crate) fn polyline(points: impl IntoIterator<Item = (f64, f64)>) -> String {
    let mut data = String::new();
    let mut pen_down = false;
    for (x, y) in points {
        if !x.is_finite() || !y.is_finite() {
            pen_down = false;
            continue;
        }
        data.push(if pen_down { 'L' } else { 'M' });
        pen_down = true;
        data.push_str(&n(x));
        data.push(' ');
        data.push_str(&n(y));
    }
    data
}

/// Path data of a closed area through points.
pub(crate) fn polygon(points: impl IntoIterator<Item = (f64, f64)>) -> String {
    let data = polyline(points);
    if data.is_empty() { data } else { data + "Z" }
}
