//! The mass ribbon: dry matter and water from the mixer to the pack, each loss drawn to scale.

use super::label::cut;
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
    let stages = &ribbon.stages;
    let largest = |of: fn((f64, f64)) -> f64| stages.iter().map(masses).map(of).fold(0.0, f64::max);
    let full = match width {
        Width::Wide => 112.0,
        Width::Narrow => 88.0,
    };
    let most = largest(|(dry, _)| dry) + largest(|(_, water)| water);
    let per_unit = if most > 0.0 { full / most } else { 0.0 };
    let top = 4.0 * LINE + 24.0;
    let base = top + full;
    let pitch = width.units() / stages.len().max(1) as f64;
    let middle = |i: usize| (i as f64 + 0.5) * pitch;
    let turn = |i: usize| middle(i) + pitch * 0.2;
    let told = |v: f64| number::fixed(v, ribbon.places);

    // The seam between dry matter and water stays level; losses leave from the outer edges.
    let seam = top + largest(|(dry, _)| dry) * per_unit;
    let uppers: Vec<f64> = (stages.iter())
        .map(|s| seam - masses(s).0 * per_unit)
        .collect();
    let lowers: Vec<f64> = (stages.iter())
        .map(|s| seam + masses(s).1 * per_unit)
        .collect();
    let drawing = html! {
        path .dry d=(layer(&uppers, seam, width.units(), &turn)) {}
        path .water d=(layer(&lowers, seam, width.units(), &turn)) {}
        @for (i, stage) in stages.iter().enumerate().skip(1) {
            @let (from, shrinks) = (turn(i - 1), (uppers[i] - uppers[i - 1], lowers[i - 1] - lowers[i]));
            @if shrinks.0 > 0.05 {
                path .dry d=(branch(from, (uppers[i], uppers[i - 1]), top - 14.0)) {}
                (leaving(&stage.dry_lost_as, &told(shrinks.0 / per_unit), from + BEND + shrinks.0 / 2.0, top - 20.0 - LINE, pitch))
            }
            @if shrinks.1 > 0.05 {
                path .water d=(branch(from, (lowers[i], lowers[i - 1]), base + 26.0)) {}
                (leaving(&stage.water_lost_as, &told(shrinks.1 / per_unit), from + BEND + shrinks.1 / 2.0, base + 26.0 + LINE, pitch))
            }
        }
        @for (i, stage) in stages.iter().enumerate() {
            @let (dry, water) = masses(stage);
            (text(middle(i), LINE - 4.0, Anchor::Middle, "name", &cut(&stage.name, pitch - 4.0)))
            (text(middle(i), 2.0 * LINE - 4.0, Anchor::Middle, "value", &told(dry + water)))
            (on_band(middle(i), (uppers[i], seam), uppers[i] - 6.0, &told(stage.dry)))
            (on_band(middle(i), (seam, lowers[i]), lowers[i] + LINE - 3.0, &told(stage.water)))
        }
        (line("seam", (0.0, seam), (width.units(), seam)))
    };
    (base + 26.0 + 2.0 * LINE + 6.0, drawing)
}

/// How far a loss runs along before it turns out.
const BEND: f64 = 10.0;

/// A number inside its band, or beside it at `outside` when the band is too thin.
fn on_band(x: f64, (upper, lower): (f64, f64), outside: f64, words: &str) -> Markup {
    html! {
        @if lower - upper >= 14.0 {
            (text_mid(x, (upper + lower) / 2.0, Anchor::Middle, "on-band", words))
        } @else {
            (text(x, outside, Anchor::Middle, "value halo", words))
        }
    }
}

/// What is lost: its name, and its mass on the line below.
fn leaving(name: &str, mass: &str, x: f64, y: f64, pitch: f64) -> Markup {
    html! {
        (text(x, y, Anchor::Middle, "name", &cut(name, pitch - 2.0)))
        (text(x, y + LINE - 1.0, Anchor::Middle, "value", mass))
    }
}

/// One layer of the ribbon: its outer edge steps where a loss turns out, and runs along an easy
/// curve where something came in.
fn layer(edges: &[f64], seam: f64, width: f64, turn: &impl Fn(usize) -> f64) -> String {
    let Some(first) = edges.first() else {
        return String::new();
    };
    let mut path = format!("M0 {}V{}", n(seam), n(*first));
    for (i, pair) in edges.windows(2).enumerate() {
        let (from, to) = (turn(i), turn(i) + 2.0 * BEND);
        path += &format!("H{}", n(from));
        if (pair[1] - seam).abs() > (pair[0] - seam).abs() {
            let (x0, x1) = (n(from + BEND), n(to));
            let (y0, y1) = (n(pair[0]), n(pair[1]));
            path += &format!("C{x0} {y0} {x0} {y1} {x1} {y1}");
        } else {
            path += &format!("V{}", n(pair[1]));
        }
    }
    path + &format!("H{}V{}Z", n(width), n(seam))
}

/// A flow that turns out of the ribbon towards `end`, as wide all the way as it is tall.
fn branch(from: f64, (near, far): (f64, f64), end: f64) -> String {
    let wide = (far - near).abs();
    let bend = BEND;
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
