//! Why a figure differs from the control's: causes that add up, as a sentence and a small drawing.

use super::figures;
use super::frame::Frame;
use app::WhyOf;
use maud::{Markup, html};
use measure::rounding;
use paper::number;
use study::Figure;
use study::compare::bridge::Bridge;

/// Width of the drawing, and room at its ends.
const WIDTH: f64 = 150.0;
const END: f64 = 4.0;

/// The bridges of a figure, all on one scale.
pub fn bridges(f: &Frame, figure: Figure, whys: &[WhyOf]) -> Markup {
    let told: Vec<Told> = whys
        .iter()
        .filter_map(|w| Told::of(f, figure, w.bridge.as_ref().ok()?))
        .collect();
    let ends = told.iter().flat_map(|t| t.places().collect::<Vec<f64>>());
    let (low, high) = ends.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| {
        (l.min(v), h.max(v))
    });
    let scale = Scale { low, high };
    html! {
        div .bridges {
            @for why in whys {
                @let name = f.columns.iter().find(|c| c.id() == why.id).map_or(why.id.as_str(), |c| c.name());
                @match &why.bridge {
                    Ok(bridge) => @if let Some(told) = Told::of(f, figure, bridge) { (told.drawn(f, figure, name, &scale)) },
                    Err(why) => div .bridge { p { b { (name) } ": " (why) "." } },
                }
            }
        }
    }
}

struct Scale {
    low: f64,
    high: f64,
}

impl Scale {
    fn x(&self, value: f64) -> f64 {
        let span = self.high - self.low;
        if span <= 0.0 {
            return WIDTH / 2.0;
        }
        END + (WIDTH - 2.0 * END) * (value - self.low) / span
    }
}

/// A bridge as it is shown, in the units on screen.
struct Told<'b> {
    from: f64,
    steps: Vec<(&'b str, f64)>,
    to: f64,
    decimals: usize,
}

impl<'b> Told<'b> {
    fn of(f: &Frame, figure: Figure, bridge: &'b Bridge) -> Option<Self> {
        let (units, unit) = (f.settings.units, figure.about().unit);
        let decimals = units.decimals(unit, figures::decimals(f, figure));
        let shown = |v: f64| rounding::to_decimals(units.value(v, unit), decimals);
        let told = Self {
            from: shown(bridge.from),
            steps: bridge.shown(decimals, |v| units.value(v, unit)),
            to: shown(bridge.to),
            decimals,
        };
        (told.from.is_finite() && told.to.is_finite()).then_some(told)
    }

    /// Where the figure stands before and after each step.
    fn places(&self) -> impl Iterator<Item = f64> {
        let mut at = self.from;
        let after = self.steps.iter().map(move |(_, by)| {
            at += by;
            at
        });
        std::iter::once(self.from).chain(after)
    }

    fn drawn(&self, f: &Frame, figure: Figure, name: &str, scale: &Scale) -> Markup {
        let number = |v: f64| f.mark(&number::fixed(v, self.decimals));
        let gap = rounding::signed(self.to - self.from, self.decimals);
        let differs = gap.starts_with(['+', '\u{2212}']);
        let places: Vec<f64> = self.places().collect();
        html! {
            div .bridge {
                p {
                    b { (name) } " "
                    @if differs { (f.mark(gap.trim_start_matches(['+', '\u{2212}']))) " " (figure.than(self.to - self.from)) " than the control" }
                    @else if self.steps.is_empty() { "as the control" }
                    @else { "as the control, since its causes weigh each other up" }
                }
                table {
                    tbody {
                        tr { td .figure { (number(self.from)) } th scope="row" { "control" } td { (stroke(scale, self.from, self.from)) } }
                        @for ((cause, by), pair) in self.steps.iter().zip(places.windows(2)) {
                            tr { td .figure { (f.mark(&rounding::signed(*by, self.decimals))) } th scope="row" { (cause) } td { (stroke(scale, pair[0], pair[1])) } }
                        }
                        tr .end { td .figure { (number(self.to)) } th scope="row" { (name) } td { (stroke(scale, self.to, self.to)) } }
                    }
                }
            }
        }
    }
}

/// A step from one place to another; an end where both are the same.
fn stroke(scale: &Scale, from: f64, to: f64) -> Markup {
    let (a, b) = (scale.x(from), scale.x(to));
    let n = |v: f64| format!("{v:.1}");
    html! {
        svg .stroke viewBox="0 0 150 16" aria-hidden="true" {
            @if from == to {
                line .stop x1=(n(a)) x2=(n(a)) y1="1" y2="15" {}
            } @else {
                line .was x1=(n(a)) x2=(n(a)) y1="0" y2="16" {}
                line .by x1=(n(a)) x2=(n(b)) y1="8" y2="8" {}
                line .was x1=(n(b)) x2=(n(b)) y1="0" y2="16" {}
            }
        }
    }
}
