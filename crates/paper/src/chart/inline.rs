//! Drawings small enough for a table's cell.

use super::scale::{Scale, extent, proper};
use super::svg::{circle, line, n, polyline, rect};
use crate::number;
use maud::{Markup, html};

/// A small curve: values at even steps, on a given range so that cells compare; `words` say it.
pub fn spark(values: &[f64], range: Option<(f64, f64)>, words: &str) -> Markup {
    let found = extent(values.iter().copied());
    let (low, high) = range.or(found).unwrap_or((0.0, 1.0));
    let y = Scale {
        values: proper(low, high),
        places: (18.0, 2.0),
    };
    let step = 54.0 / values.len().saturating_sub(1).max(1) as f64;
    let places = || (values.iter().enumerate()).map(|(i, v)| (2.0 + i as f64 * step, y.at(*v)));
    let end = places().rfind(|p| p.1.is_finite());
    html! {
        svg .spark role="img" viewBox="0 0 60 20" {
            title { (words) }
            path .line d=(polyline(places())) {}
            @if let Some((x, y)) = end { (circle("end", x, y, 1.8)) }
        }
    }
}

/// One number with its limits on a scale.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Interval {
    /// Best guess.
    pub mean: f64,
    /// Lower limit.
    pub low: f64,
    /// Upper limit.
    pub high: f64,
    /// Ends of the scale, the same for all that are compared.
    pub scale: (f64, f64),
    /// What it is held against: the control's value.
    pub control: Option<f64>,
}

/// Draws an interval for a table's cell, with the numbers as its title.
pub fn interval(interval: &Interval) -> Markup {
    let x = Scale {
        values: proper(interval.scale.0, interval.scale.1),
        places: (4.0, 92.0),
    };
    let at = |v: f64| x.at(v).clamp(1.0, 95.0);
    html! {
        svg .interval role="img" viewBox="0 0 96 20" {
            title { (number::interval(interval.mean, interval.low, interval.high)) }
            (line("base", (1.0, 10.0), (95.0, 10.0)))
            @if let Some(control) = interval.control.filter(|c| c.is_finite()) {
                (line("limit", (at(control), 2.0), (at(control), 18.0)))
            }
            @if interval.low.is_finite() && interval.high.is_finite() {
                (rect("reach", at(interval.low), 7.0, at(interval.high) - at(interval.low), 6.0))
            }
            @if interval.mean.is_finite() {
                circle .mark.filled cx=(n(at(interval.mean))) cy="10" r="3.5" {}
            }
        }
    }
}
