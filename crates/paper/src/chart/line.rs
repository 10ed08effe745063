//! Lines over a quantity: curves of a bake, of power, of drying, side by side with the control.

pub use super::axis::Axis;
use super::frame::{self, FOOT, Plot};
use super::label::{cut, push_apart, text_width, wrap};
use super::scale::{Scale, nice_range};
use super::svg::{
    Anchor, LINE, TEXT, Width, figure, line, n, polygon, polyline, rect, text, text_mid,
};
use crate::number;
use maud::{Markup, html};

/// How a series is told from the others.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Look {
    /// The control: a hairline.
    Control,
    /// A treatment: an ink line, each with a dash of its own.
    Treatment,
    /// The one being changed now, in the accent.
    Changed,
    /// One of many that stand behind the one that is looked at: a hairline in second ink.
    Behind,
    /// Marks only, no line.
    Points,
}

/// What stands on each point of a series, by how the point is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mark {
    /// Nothing: calculated.
    None,
    /// A filled circle: measured.
    Filled,
    /// An open circle: learned.
    Open,
}

/// A soft band of uncertainty at one place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Band {
    /// Where.
    pub x: f64,
    /// Lower limit.
    pub low: f64,
    /// Upper limit.
    pub high: f64,
}

/// One line.
#[derive(Clone, Debug, PartialEq)]
pub struct Series {
    /// The name written at the line's end; empty for none.
    pub name: String,
    /// Points in order of x; NaN breaks the line.
    pub points: Vec<(f64, f64)>,
    /// Uncertainty, in order of x; NaN breaks it.
    pub band: Vec<Band>,
    /// How it is told from the others.
    pub look: Look,
    /// What stands on each point.
    pub mark: Mark,
}

impl Series {
    /// A plain line without band or marks.
    pub fn new(
        name: impl Into<String>,
        look: Look,
        points: impl IntoIterator<Item = (f64, f64)>,
    ) -> Self {
        Self {
            name: name.into(),
            points: points.into_iter().collect(),
            band: Vec::new(),
            look,
            mark: Mark::None,
        }
    }

    /// The same series with marks on its points.
    #[must_use]
    pub fn marked(mut self, mark: Mark) -> Self {
        self.mark = mark;
        self
    }

    /// The same series with a band of uncertainty.
    #[must_use]
    pub fn banded(mut self, band: impl IntoIterator<Item = Band>) -> Self {
        self.band = band.into_iter().collect();
        self
    }

    fn end(&self) -> Option<(f64, f64)> {
        self.points
            .iter()
            .rev()
            .copied()
            .find(|(x, y)| x.is_finite() && y.is_finite())
    }

    /// The value at `x` on the line; nothing outside it or in a gap.
    fn value_at(&self, x: f64) -> Option<f64> {
        self.points.windows(2).find_map(|w| {
            let ((x0, y0), (x1, y1)) = (w[0], w[1]);
            let inside = x0 <= x && x <= x1 && x1 > x0;
            let y = y0 + (x - x0) / (x1 - x0) * (y1 - y0);
            (inside && y.is_finite()).then_some(y)
        })
    }
}

/// A stretch of the x axis with a name on top: a zone of the oven, a day.
#[derive(Clone, Debug, PartialEq)]
pub struct Zone {
    /// Its name.
    pub name: String,
    /// Where it begins.
    pub from: f64,
    /// Where it ends.
    pub to: f64,
}

/// A level or a range across the plot that the values are held against: a target, a limit.
#[derive(Clone, Debug, PartialEq)]
pub struct Level {
    /// Its name, written at its end.
    pub name: String,
    /// Lower end.
    pub low: f64,
    /// Upper end; the same as `low` for a single line.
    pub high: f64,
}

/// A line chart.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct LineChart {
    /// What it shows, in a few words.
    pub title: String,
    /// A sentence beside the title; empty for none.
    pub note: String,
    /// Across.
    pub x: Axis,
    /// Up.
    pub y: Axis,
    /// The lines; the control first.
    pub series: Vec<Series>,
    /// Stretches of the x axis with names.
    pub zones: Vec<Zone>,
    /// Targets and limits.
    pub levels: Vec<Level>,
}

impl LineChart {
    fn xs(&self) -> impl Iterator<Item = f64> {
        let points = self
            .series
            .iter()
            .flat_map(|s| s.points.iter().map(|p| p.0));
        points.chain(self.zones.iter().flat_map(|z| [z.from, z.to]))
    }

    fn ys(&self) -> impl Iterator<Item = f64> {
        let points = self
            .series
            .iter()
            .flat_map(|s| s.points.iter().map(|p| p.1));
        let bands = self.series.iter().flat_map(|s| s.band.iter());
        points
            .chain(bands.flat_map(|b| [b.low, b.high]))
            .chain(self.levels.iter().flat_map(|l| [l.low, l.high]))
    }

    /// The chart in words, for those who hear it.
    fn description(&self) -> String {
        let mut words = format!("{} against {}.", self.y.words(), self.x.words());
        for series in &self.series {
            if let Some((x, y)) = series.end().filter(|_| !series.name.is_empty()) {
                let (x, y) = (number::three(x), number::three(y));
                words += &format!(" {} ends at {y} ({}: {x}).", series.name, self.x.name);
            }
        }
        words
    }
}

const READINGS: usize = 40;

/// Draws a line chart.
pub fn line_chart(chart: &LineChart) -> Markup {
    figure(&chart.title, &chart.note, &chart.description(), |width| {
        (frame::height(width), drawing(chart, width))
    })
}

/// A name at the right edge and the place it belongs to.
struct EndLabel {
    from: (f64, f64),
    lines: Vec<String>,
    class: &'static str,
}

fn drawing(chart: &LineChart, width: Width) -> Markup {
    let units = width.units();
    let y_most = 5;
    let (x_low, x_high) = chart.x.span(chart.xs());
    let (y_low, y_high) = chart.y.span(chart.ys());
    let (y_low, y_high) = if chart.y.ticks.is_empty() {
        nice_range(y_low, y_high, 2 * y_most)
    } else {
        (y_low, y_high)
    };

    let (label_room, most_lines) = match width {
        Width::Wide => (150.0, 2),
        Width::Narrow => (92.0, 3),
    };
    let names: Vec<Vec<String>> = (chart.series.iter().map(|s| &s.name))
        .chain(chart.levels.iter().map(|l| &l.name))
        .map(|name| wrap(name, label_room, most_lines))
        .collect();
    let widest = names
        .iter()
        .flatten()
        .map(|l| text_width(l))
        .fold(0.0, f64::max);
    let x_ticks = frame::ticks_of(&chart.x, (x_low, x_high), width.ticks_across());
    let y_ticks = frame::ticks_of(&chart.y, (y_low, y_high), y_most);
    let last_tick = x_ticks.last().map_or(0.0, |(_, t)| text_width(t) / 2.0);
    let right_room = if widest > 0.0 { widest + 14.0 } else { 0.0 };

    let plot = Plot {
        left: frame::left_room(&y_ticks),
        right: units - right_room.max(last_tick).max(2.0),
        top: LINE
            + 8.0
            + if chart.zones.is_empty() {
                0.0
            } else {
                zone_rows(chart, width)
            },
        bottom: frame::height(width) - FOOT,
    };
    // Marks without a line need room beside the axis, and names beside each other need more.
    let marks_alone = chart.series.iter().all(|s| s.look == Look::Points);
    let inset = match (chart.x.ticks.is_empty(), marks_alone) {
        (true, false) => 0.0,
        (true, true) => 12.0,
        (false, _) => plot.width() * 0.08,
    };
    let x = Scale {
        values: (x_low, x_high),
        places: (plot.left + inset, plot.right - inset),
    };
    let y = Scale {
        values: (y_low, y_high),
        places: (plot.bottom, plot.top),
    };

    let classes = classes(&chart.series);
    let mut ends = Vec::new();
    for ((series, class), lines) in chart.series.iter().zip(&classes).zip(&names) {
        if let Some((ex, ey)) = series.end().filter(|_| !lines.is_empty()) {
            let class = if class.contains("changed") {
                "name changed"
            } else {
                "name"
            };
            let class = if series.look == Look::Control {
                "name control"
            } else {
                class
            };
            ends.push(EndLabel {
                from: (x.at(ex), y.at(ey)),
                lines: lines.clone(),
                class,
            });
        }
    }
    for (level, lines) in chart.levels.iter().zip(&names[chart.series.len()..]) {
        let middle = (level.low + level.high) / 2.0;
        if middle.is_finite() && !lines.is_empty() {
            let from = (plot.right, y.at(middle));
            ends.push(EndLabel {
                from,
                lines: lines.clone(),
                class: "name level",
            });
        }
    }

    html! {
        (zones(chart, &x, &plot))
        @for level in &chart.levels { (level_mark(level, &y, &plot)) }
        @for series in &chart.series {
            @if !series.band.is_empty() {
                path .uncertainty d=(band_path(&series.band, &x, &y)) {}
            }
        }
        @if y_low < 0.0 && y_high > 0.0 {
            (line("zero", (plot.left, y.at(0.0)), (plot.right, y.at(0.0))))
        }
        (frame::y_axis(&chart.y, &y, &y_ticks, &plot, units))
        (frame::x_axis(&chart.x, &x, &x_ticks, &plot))
        @for (series, class) in chart.series.iter().zip(&classes) {
            g .(class) {
                @if series.look != Look::Points {
                    path .line d=(polyline(series.points.iter().map(|p| (x.at(p.0), y.at(p.1))))) {}
                }
                (marks(series, &x, &y, chart))
            }
        }
        (end_labels(&ends, &plot))
        @if chart.x.ticks.is_empty() {
            (moment(&x, &plot))
            (readings(chart, &x, &plot))
        }
    }
}

/// A line that a script may move along the x axis; it stays hidden without one.
fn moment(x: &Scale, plot: &Plot) -> Markup {
    let ends = |(a, b): (f64, f64)| format!("{a:.4} {b:.4}");
    html! {
        line .moment data-values=(ends(x.values)) data-places=(ends(x.places))
            x1=(n(x.places.0)) x2=(n(x.places.0)) y1=(n(plot.top)) y2=(n(plot.bottom)) {}
    }
}

/// One class per series; treatments take the dashes in turn.
fn classes(series: &[Series]) -> Vec<String> {
    let mut treatments = 0;
    series
        .iter()
        .map(|s| match s.look {
            Look::Control => "series control".to_owned(),
            Look::Changed => "series changed".to_owned(),
            Look::Behind => "series behind".to_owned(),
            Look::Points => "series points".to_owned(),
            Look::Treatment => {
                treatments += 1;
                format!("series dash-{}", (treatments - 1) % 4)
            }
        })
        .collect()
}

/// Height of the zone names: one row, or two when a name is wider than its zone.
fn zone_rows(chart: &LineChart, width: Width) -> f64 {
    let (low, high) = chart.x.span(chart.xs());
    let per_unit = width.units() * 0.72 / (high - low);
    let tight = (chart.zones.iter()).any(|z| text_width(&z.name) > (z.to - z.from) * per_unit);
    if tight { 2.0 * LINE } else { LINE }
}

fn zones(chart: &LineChart, x: &Scale, plot: &Plot) -> Markup {
    if chart.zones.is_empty() {
        return html! {};
    }
    let rows = ((plot.top - LINE - 8.0) / LINE).round().max(1.0);
    html! {
        @for (i, zone) in chart.zones.iter().enumerate() {
            @let (from, to) = (x.at(zone.from).max(plot.left), x.at(zone.to).min(plot.right));
            @let row = if rows > 1.5 { i % 2 } else { 0 };
            @let head = plot.top - rows * LINE + row as f64 * LINE;
            // With staggered names each may run over its neighbours' half.
            @let room = if rows > 1.5 { 1.9 * (to - from) } else { to - from } - 2.0;
            (rect(if i % 2 == 0 { "zone" } else { "zone other" }, from, head, to - from, plot.bottom - head))
            (zone_name(&cut(&zone.name, room), (from + to) / 2.0, head, plot))
        }
    }
}

/// A zone's name over its middle, moved where it would leave the plot.
fn zone_name(name: &str, middle: f64, head: f64, plot: &Plot) -> Markup {
    let half = text_width(name) / 2.0 + 2.0;
    let x = middle.min(plot.right - half).max(plot.left + half);
    text(x, head + LINE - 4.0, Anchor::Middle, "zone-name", name)
}

fn level_mark(level: &Level, y: &Scale, plot: &Plot) -> Markup {
    let (low, high) = (y.at(level.low), y.at(level.high));
    html! {
        @if (low - high).abs() > 0.5 {
            (rect("target", plot.left, high.min(low), plot.width(), (low - high).abs()))
        } @else if low.is_finite() {
            (line("limit", (plot.left, low), (plot.right, low)))
        }
    }
}

fn band_path(band: &[Band], x: &Scale, y: &Scale) -> String {
    band.split(|b| !(b.x.is_finite() && b.low.is_finite() && b.high.is_finite()))
        .map(|run| {
            let upper = run.iter().map(|b| (x.at(b.x), y.at(b.high)));
            let lower = run.iter().rev().map(|b| (x.at(b.x), y.at(b.low)));
            polygon(upper.chain(lower))
        })
        .collect()
}

fn marks(series: &Series, x: &Scale, y: &Scale, chart: &LineChart) -> Markup {
    let class = match series.mark {
        Mark::None => return html! {},
        Mark::Filled => "mark filled",
        Mark::Open => "mark open",
    };
    html! {
        @for (px, py) in series.points.iter().filter(|p| p.0.is_finite() && p.1.is_finite()) {
            circle .(class) cx=(n(x.at(*px))) cy=(n(y.at(*py))) r="3.5" {
                title {
                    (series.name) " " (number::three(*py)) " " (chart.y.unit)
                    @if chart.x.ticks.is_empty() { " at " (number::three(*px)) " " (chart.x.unit) }
                }
            }
        }
    }
}

fn end_labels(ends: &[EndLabel], plot: &Plot) -> Markup {
    let wanted: Vec<f64> = ends.iter().map(|e| e.from.1).collect();
    let heights: Vec<f64> = ends.iter().map(|e| e.lines.len() as f64 * LINE).collect();
    let top = plot.top - TEXT / 2.0;
    let places = push_apart(&wanted, &heights, top, plot.bottom + TEXT / 2.0);
    html! {
        @for ((end, middle), height) in ends.iter().zip(&places).zip(&heights) {
            @let moved = (end.from.1 - middle).abs() > 4.0;
            @let early = plot.right - end.from.0 > 4.0;
            @if early {
                (line("leader", (end.from.0 + 3.0, end.from.1), (plot.right, end.from.1)))
            }
            @if moved {
                (line("leader", (plot.right + 1.0, end.from.1), (plot.right + 9.0, *middle)))
            }
            @for (i, words) in end.lines.iter().enumerate() {
                @let y = middle - height / 2.0 + (i as f64 + 0.5) * LINE;
                (text_mid(plot.right + 12.0, y, Anchor::Start, end.class, words))
            }
        }
    }
}

/// Thin strips over the plot: pointing at one reads every line there, without a script.
fn readings(chart: &LineChart, x: &Scale, plot: &Plot) -> Markup {
    let step = plot.width() / READINGS as f64;
    let strips = (0..READINGS).filter_map(|i| {
        let place = plot.left + (i as f64 + 0.5) * step;
        let at = x.value(place);
        let values: Vec<String> = (chart.series.iter())
            .filter(|s| !matches!(s.look, Look::Points | Look::Behind))
            .filter_map(|s| Some(format!("{} {}", s.name, number::three(s.value_at(at)?))))
            .collect();
        (!values.is_empty()).then(|| (place, at, values.join(", ")))
    });
    html! {
        g .readings {
            @for (place, at, values) in strips {
                g {
                    (rect("strip", place - step / 2.0, plot.top, step, plot.height()))
                    (line("hair", (place, plot.top), (place, plot.bottom)))
                    title { (number::three(at)) " " (chart.x.unit) ": " (values) " " (chart.y.unit) }
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn chart() -> LineChart {
        LineChart {
            title: "Drying".into(),
            x: Axis::new("time", "min"),
            y: Axis::new("moisture", "%"),
            series: vec![Series::new(
                "Control",
                Look::Control,
                [(0.0, 30.0), (5.0, f64::NAN), (10.0, 12.0), (15.0, 8.0)],
            )],
            ..LineChart::default()
        }
    }

    #[test]
    fn a_missing_value_breaks_the_line() {
        let html = line_chart(&chart()).into_string();
        let at = html.find("class=\"line\"").expect("there is a line");
        let path: String = html[at..].chars().take(80).collect();
        assert_eq!(path.matches('M').count(), 2, "{path}");
    }

    #[test]
    fn nothing_is_read_off_a_gap() {
        let chart = chart();
        assert_eq!(chart.series[0].value_at(7.0), None);
        assert_eq!(chart.series[0].value_at(12.5), Some(10.0));
    }

    #[test]
    fn an_empty_chart_still_draws() {
        let html = line_chart(&LineChart::default()).into_string();
        assert!(!html.contains("NaN") && !html.contains("inf"));
    }
}
