//! The frame around a plot: two axes with their names, units and few ticks.

use super::axis::Axis;
use super::label::{cut, text_width};
use super::scale::{Scale, labelled_ticks};
use super::svg::{Anchor, LINE, Width, line, text, text_mid};
use maud::{Markup, html};

const TICK: f64 = 4.0;

/// Where the plot stands in its drawing.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Plot {
    pub left: f64,
    pub right: f64,
    pub top: f64,
    pub bottom: f64,
}

impl Plot {
    pub fn width(&self) -> f64 {
        self.right - self.left
    }
    pub fn height(&self) -> f64 {
        self.bottom - self.top
    }
}

/// Height that the x axis takes under the plot.
pub(crate) const FOOT: f64 = 2.0 * LINE + 8.0;

/// Ticks of an axis: the given ones, or round ones.
pub(crate) fn ticks_of(axis: &Axis, (low, high): (f64, f64), most: usize) -> Vec<(f64, String)> {
    if axis.ticks.is_empty() {
        labelled_ticks(low, high, most)
    } else {
        axis.ticks.clone()
    }
}

/// Room that the y axis takes to the left of the plot.
pub(crate) fn left_room(ticks: &[(f64, String)]) -> f64 {
    let widest = ticks.iter().map(|(_, t)| text_width(t)).fold(0.0, f64::max);
    widest + TICK + 6.0
}

/// The y axis: name and unit above it, ticks to its left.
pub(crate) fn y_axis(
    axis: &Axis,
    scale: &Scale,
    ticks: &[(f64, String)],
    plot: &Plot,
    right: f64,
) -> Markup {
    html! {
        (text(0.0, LINE - 4.0, Anchor::Start, "axis-name", &cut(&axis.words(), right)))
        (line("axis", (plot.left, plot.top), (plot.left, plot.bottom)))
        @for (value, words) in ticks {
            @let y = scale.at(*value);
            (line("axis", (plot.left - TICK, y), (plot.left, y)))
            (text_mid(plot.left - TICK - 4.0, y, Anchor::End, "tick", words))
        }
    }
}

/// The x axis: ticks below it, name and unit at its end.
pub(crate) fn x_axis(axis: &Axis, scale: &Scale, ticks: &[(f64, String)], plot: &Plot) -> Markup {
    html! {
        (line("axis", (plot.left, plot.bottom), (plot.right, plot.bottom)))
        @for (value, words) in ticks {
            @let x = scale.at(*value);
            (line("axis", (x, plot.bottom), (x, plot.bottom + TICK)))
            (text(x, plot.bottom + LINE + 2.0, Anchor::Middle, "tick", words))
        }
        (text(plot.right, plot.bottom + 2.0 * LINE + 4.0, Anchor::End, "axis-name", &axis.words()))
    }
}

/// Height of a plot with its frame.
pub(crate) const fn height(width: Width) -> f64 {
    match width {
        Width::Wide => 320.0,
        Width::Narrow => 264.0,
    }
}
