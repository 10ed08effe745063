//! Why a figure differs from the control's: causes that add up, as a sentence and a small drawing.

use super::column::Column;
use super::dialogs;
use super::figures;
use super::frame::Frame;
use app::WhyOf;
use formula::At;
use maud::{Markup, html};
use measure::rounding;
use measure::temperature::celsius;
use paper::number;
use std::collections::BTreeMap;
use std::sync::Arc;
use study::Figure;
use study::compare::bridge::Bridge;
use study::compare::tries::{self, Lever, Try};

/// What to try by treatment.
pub type Tries = BTreeMap<String, Arc<Vec<Try>>>;

/// Width of the drawing, and room at its ends.
const WIDTH: f64 = 150.0;
const END: f64 = 4.0;

/// The bridges of a figure, all on one scale.
pub fn bridges(f: &Frame, figure: Figure, whys: &[WhyOf], tries: &Tries) -> Markup {
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
            @if let Some(control) = f.columns.first().filter(|c| tries.contains_key(c.id())) {
                div .bridge { p { b { (control.name()) } ", the control" } (to_try(f, figure, control, tries)) }
            }
            @for why in whys {
                @if let Some(column) = f.columns.iter().find(|c| c.id() == why.id) {
                    div .bridge {
                        @match &why.bridge {
                            Ok(bridge) => @if let Some(told) = Told::of(f, figure, bridge) { (told.drawn(f, figure, column.name(), &scale)) },
                            Err(why) => p { b { (column.name()) } ": " (why) "." },
                        }
                        (to_try(f, figure, column, tries))
                    }
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

/// What to try, each with a look at what would change before it is taken.
fn to_try(f: &Frame, figure: Figure, column: &Column, tries: &Tries) -> Markup {
    let found = tries.get(column.id());
    html! {
        @for one in found.iter().flat_map(|t| t.iter()) {
            @if let Some((words, edit, fields)) = worded(f, column, &one.lever) {
                @let gap = gap(f, figure, one.gap);
                @if gap.starts_with(['+', '\u{2212}']) {
                    form .edit .try method="post" action={ (f.path()) "/sheet" } {
                        (dialogs::base(f, true))
                        input type="hidden" name="edit" value=(edit);
                        @for (name, value) in &fields { input type="hidden" name=(name) value=(value); }
                        span { "Try " (words) ": " span .figure { (f.mark(&gap)) } }
                        button .quiet name="act" value="preview" { "Show what would change" }
                        button .quiet name="act" value="edit" { "Take it" }
                        p .word-back role="alert" {}
                        div .preview aria-live="polite" {}
                    }
                }
            }
        }
    }
}

fn gap(f: &Frame, figure: Figure, gap: f64) -> String {
    let (units, unit) = (f.settings.units, figure.about().unit);
    let decimals = units.decimals(unit, figures::decimals(f, figure));
    rounding::signed(units.gap(gap, unit), decimals)
}

type Fields = Vec<(&'static str, String)>;

/// A lever in words, the edit that moves it, and the edit's fields.
fn worded(f: &Frame, column: &Column, lever: &Lever) -> Option<(String, &'static str, Fields)> {
    let t = column.treatment;
    let units = f.settings.units;
    // The control's setting is the study's.
    let mut fields: Fields = Vec::new();
    if t.id != f.study.control().id || matches!(lever, Lever::Exchange { .. }) {
        fields.push(("treatment", t.id.clone()));
    }
    let amount = |v: f64, metric: &str, decimals: usize| {
        let decimals = units.decimals(metric, decimals);
        let size = number::fixed(units.gap(v.abs(), metric), decimals);
        format!("{} {}", f.mark(&size), units.unit(metric))
    };
    Some(match lever {
        Lever::Thickness(by) => {
            let mm = 1e3 * (t.setting.piece.thickness_m + by);
            fields.push(("path", "piece.thickness_mm".to_owned()));
            fields.push(("value", f.mark(&format!("{mm:.3}"))));
            let word = if *by > 0.0 { "thicker" } else { "thinner" };
            (
                format!("{} {word}", amount(1e3 * by, "mm", 1)),
                "set_field",
                fields,
            )
        }
        Lever::Air { zone, by_k } => {
            let zone = t.setting.oven.zones.get(*zone)?;
            let air = celsius(zone.air_k) + by_k;
            fields.push(("zone", zone.name.clone()));
            fields.push(("field", "air_c".to_owned()));
            fields.push(("value", f.mark(&format!("{air:.2}"))));
            let word = if *by_k > 0.0 { "hotter" } else { "cooler" };
            let words = format!("the air of {} {} {word}", zone.name, amount(*by_k, "°C", 0));
            (words, "set_zone", fields)
        }
        Lever::Exchange { out, with } => {
            let name = |id: &str| {
                let line = column.lines.iter().find(|l| l.material.id == id)?;
                Some(line.material.name.clone())
            };
            let words = format!("{} for a fifth of {}", name(with)?, name(out)?);
            fields.push(("out", out.clone()));
            fields.push(("with", with.clone()));
            fields.push(("keep", At::EqualMass.word().to_owned()));
            fields.push((
                "share_pct",
                f.mark(&format!("{:.0}", 100.0 * tries::EXCHANGED)),
            ));
            (words, "swap", fields)
        }
    })
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
