//! The mass ribbon: dry matter and water from the mixer to the pack, each loss drawn to scale.

use super::label::{cut, text_width};
use super::svg::{Anchor, LINE, Width, figure, line, n, text, text_mid};
use crate::number;
use maud::{Markup, html};

/// The mass at one station.
#[derive(Clone, Debug, PartialEq)]
pub struct RibbonStage {
    /// The station, e.g. `mixed`.
    pub name: String,
    /// Dry matter, in the ribbon's unit.
    pub dry: f64,
    /// Water, in the ribbon's unit.
    pub water: f64,
    /// What the water lost before this station is called, e.g. `steam`.
    pub water_lost_as: String,
    /// What the dry matter lost before this station is called, e.g. `trim`.
    pub dry_lost_as: String,
}

/// A mass ribbon.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Ribbon {
    /// What it shows.
    pub title: String,
    /// A sentence beside the title.
    pub note: String,
    /// Unit of the masses, e.g. `kg per t packed`.
    pub unit: String,
    /// Decimals shown.
    pub places: usize,
    /// Stations in order.
    pub stages: Vec<RibbonStage>,
}

/// Masses of one station, as drawn: never negative, never missing.
fn masses(stage: &RibbonStage) -> (f64, f64) {
    let known = |v: f64| if v.is_finite() { v.max(0.0) } else { 0.0 };
    (known(stage.dry), known(stage.water))
}

/// Draws a mass ribbon. What is lost between two stations leaves it in its own width:
/// dry matter upwards, water downwards.
pub fn ribbon(ribbon: &Ribbon) -> Markup {
    let told = |v: f64| number::fixed(v, ribbon.places);
    let description: Vec<String> = (ribbon.stages.iter())
        .map(|s| {
            let (dry, water) = (told(s.dry), told(s.water));
            format!(
                "{}: {dry} dry matter, {water} water, {}",
                s.name, ribbon.unit
            )
        })
        .collect();
    figure(
        &ribbon.title,
        &ribbon.note,
        &description.join("; "),
        |width| drawing(ribbon, width),
    )
}

fn drawing(ribbon: &Ribbon, width: Width) -> (f64, Markup) {
    let most = (ribbon.stages.iter().map(masses).map(|(d, w)| d + w)).fold(0.0, f64::max);
    let full = match width {
        Width::Wide => 112.0,
        Width::Narrow => 88.0,
    };
    let per_unit = if most > 0.0 { full / most } else { 0.0 };
    let top = 2.0 * LINE + 36.0;
    let base = top + full;
    let height = base + 40.0 + 2.0 * LINE;
    let count = ribbon.stages.len().max(1) as f64;
    let pitch = width.units() / count;
    let middle = |i: usize| (i as f64 + 0.5) * pitch;
    let told = |v: f64| number::fixed(v, ribbon.places);

    // The seam between dry matter and water stays level; losses leave from the outer edges.
    let dry_most = (ribbon.stages.iter().map(|s| masses(s).0)).fold(0.0, f64::max);
    let seam = top + dry_most * per_unit;
    let edge = |i: usize| {
        let (dry, water) = masses(&ribbon.stages[i]);
        (seam - dry * per_unit, seam + water * per_unit)
    };
    let flat = pitch * 0.2;
    let last = ribbon.stages.len().saturating_sub(1);
    let drawing = html! {
        @for i in 0..ribbon.stages.len() {
            @let (upper, lower) = edge(i);
            @let from = if i == 0 { 0.0 } else { middle(i) - flat };
            @let to = if i == last { width.units() } else { middle(i) + flat };
            path .dry d=(block(from, to, upper, seam)) {}
            path .water d=(block(from, to, seam, lower)) {}
        }
        @for i in 1..ribbon.stages.len() {
            @let ((u0, l0), (u1, l1)) = (edge(i - 1), edge(i));
            @let stage = &ribbon.stages[i];
            @let (from, to) = (middle(i - 1) + flat, middle(i) - flat);
            path .dry d=(strip(from, to, (u0.max(u1), seam), (u1, seam))) {}
            path .water d=(strip(from, to, (seam, l0.min(l1)), (seam, l1))) {}
            @if l0 - l1 > 0.05 {
                path .water d=(branch(from, (l1, l0), base + 30.0)) {}
                (leaving(stage.water_lost_as.as_str(), &told((l0 - l1) / per_unit), from + 12.0 + (l0 - l1) / 2.0, base + 30.0 + LINE, pitch))
            }
            @if u1 - u0 > 0.05 {
                path .dry d=(branch(from, (u1, u0), top - 22.0)) {}
                (leaving(stage.dry_lost_as.as_str(), &told((u1 - u0) / per_unit), from + 12.0 + (u1 - u0) / 2.0, top - 26.0 - LINE + LINE, pitch))
            }
        }
        @for (i, stage) in ribbon.stages.iter().enumerate() {
            @let (dry, water) = masses(stage);
            (text(middle(i), LINE - 4.0, Anchor::Middle, "name", &cut(&stage.name, pitch - 4.0)))
            (inside(middle(i), seam - dry * per_unit / 2.0, dry * per_unit, &told(stage.dry)))
            (inside(middle(i), seam + water * per_unit / 2.0, water * per_unit, &told(stage.water)))
        }
        (line("seam", (0.0, seam), (width.units(), seam)))
    };
    (height, drawing)
}

/// A number inside its band, when the band is tall enough to hold it.
fn inside(x: f64, y: f64, tall: f64, words: &str) -> Markup {
    html! { @if tall >= 14.0 { (text_mid(x, y, Anchor::Middle, "on-band", words)) } }
}

fn leaving(name: &str, mass: &str, x: f64, y: f64, pitch: f64) -> Markup {
    let words = if name.is_empty() {
        mass.to_owned()
    } else {
        format!("{name} {mass}")
    };
    let room = pitch.max(text_width(mass) + 40.0);
    text(x, y, Anchor::Middle, "value", &cut(&words, room))
}

fn block(from: f64, to: f64, upper: f64, lower: f64) -> String {
    let (from, to, upper, lower) = (n(from), n(to), n(upper), n(lower));
    format!("M{from} {upper}H{to}V{lower}H{from}Z")
}

/// A strip that changes its edges along an easy curve.
fn strip(from: f64, to: f64, (u0, l0): (f64, f64), (u1, l1): (f64, f64)) -> String {
    let mid = n((from + to) / 2.0);
    let (from, to) = (n(from), n(to));
    let (u0, l0, u1, l1) = (n(u0), n(l0), n(u1), n(l1));
    format!("M{from} {u0}C{mid} {u0} {mid} {u1} {to} {u1}V{l1}C{mid} {l1} {mid} {l0} {from} {l0}Z")
}

/// A flow that turns out of the ribbon towards `end`, as wide all the way as it is tall.
fn branch(from: f64, (near, far): (f64, f64), end: f64) -> String {
    let wide = (far - near).abs();
    let bend = 12.0;
    let turn = if end > far { 1.0 } else { -1.0 };
    let (inner, outer) = (from + bend, from + bend + wide);
    format!(
        "M{} {}C{} {} {} {} {} {}V{}H{}V{}C{} {} {} {} {} {}Z",
        n(from),
        n(near),
        n(from + (bend + wide) * 0.55),
        n(near),
        n(outer),
        n(near + turn * (bend + wide) * 0.45),
        n(outer),
        n(near + turn * (bend + wide)),
        n(end),
        n(inner),
        n(far + turn * bend),
        n(inner),
        n(far + turn * bend * 0.45),
        n(from + bend * 0.55),
        n(far),
        n(from),
        n(far),
    )
}
