//! A figure of the knock-on block for one treatment: its value, its difference, its small pictures.

use super::beside::{Place, beside, unknown};
use super::column::Column;
use super::frame::Frame;
use maud::{Markup, html};
use measure::rounding;
use paper::chart::spark;
use paper::number;
use paper::parts::{Known, known};
use study::Figure;
use study::compare::sheet::{self, Change, Shown};

pub fn value(f: &Frame, c: &Column, figure: Figure) -> Markup {
    html! { (bare(f, c, figure)) (beside(c, &[Place::Of(figure)])) }
}

/// The value alone, as the sheet writes it.
pub fn bare(f: &Frame, c: &Column, figure: Figure) -> Markup {
    let Some(compared) = c.compared else {
        return unknown(c.failed.unwrap_or("it isn’t worked out"));
    };
    let cell = sheet::figure_cell(compared, figure);
    let unit = figure.about().unit;
    let units = f.settings.units;
    let text = match &cell.shown {
        Shown::Unknown(why) => return unknown(why),
        Shown::Number(value, bound) => {
            let decimals = units.decimals(unit, decimals(f, figure));
            let shown = number::fixed(units.value(*value, unit), decimals);
            format!("{}{}", bound.mark(), f.mark(&shown))
        }
        Shown::MoreThan(value) => f.mark(&format!(">{value}")),
        Shown::Interval {
            mean,
            low,
            high,
            bound,
        } => {
            let interval = number::interval(*mean, *low, *high);
            format!("{}{}", bound.mark(), f.mark(&interval))
        }
        Shown::Empty | Shown::Limits { .. } | Shown::Count(_) => return html! {},
    };
    match cell.known {
        sheet::Known::Learned => known(&text, Known::Learned),
        sheet::Known::Assumed => known(&text, Known::Assumed),
        sheet::Known::Beyond => known(&text, Known::Beyond),
        sheet::Known::Calculated => html! { (text) },
    }
}

/// Decimals of a row, by the control.
pub fn decimals(f: &Frame, figure: Figure) -> usize {
    let control = f.columns.first().and_then(|c| c.compared);
    control.map_or(figure.about().decimals, |c| figure.decimals(&c.answer))
}

pub fn difference(f: &Frame, c: &Column, figure: Figure) -> Markup {
    let change = c
        .compared
        .and_then(|c| sheet::figure_cell(c, figure).change);
    let Some(Change::By { bound, word, .. }) = change else {
        return html! {};
    };
    let Some((gap, decimals)) = shown_gap(f, c, figure) else {
        return html! {};
    };
    let text = rounding::signed(gap, decimals);
    html! {
        @if text.starts_with(['+', '\u{2212}']) {
            (bound.mark()) (f.mark(&text)) @if let Some(word) = word { " " span .than { (word) } }
        }
    }
}

/// What the figure was when the study was last saved, where it reads another way now.
pub fn was(f: &Frame, c: &Column, figure: Figure) -> Markup {
    let then = f.saved.iter().find(|s| s.answer.id == c.id());
    let then = then.and_then(|s| figure.told(&s.answer).ok());
    let now = c.compared.and_then(|c| figure.told(&c.answer).ok());
    let (units, unit) = (f.settings.units, figure.about().unit);
    let decimals = units.decimals(unit, decimals(f, figure));
    let text = |v: f64| number::fixed(units.value(v, unit), decimals);
    html! {
        @if let Some(then) = then.map(text) && now.map(text).as_ref() != Some(&then) { "was " (f.mark(&then)) }
    }
}

/// The difference from the control by the numbers as they are shown, and its decimals.
fn shown_gap(f: &Frame, c: &Column, figure: Figure) -> Option<(f64, usize)> {
    let (here, there) = (c.compared?, f.columns.first()?.compared?);
    if figure == Figure::WaterNeed {
        let need = |c: &study::Compared| {
            let need = c.answer.dough.water_need;
            [need.mean, need.low95, need.high95]
        };
        return Some(number::gap_of_intervals(need(here), need(there)));
    }
    let (units, unit) = (f.settings.units, figure.about().unit);
    let decimals = units.decimals(unit, decimals(f, figure));
    let shown = |c: &study::Compared| Some(units.value(figure.told(&c.answer).ok()?, unit));
    Some((
        rounding::shown_gap(shown(here)?, shown(there)?, decimals),
        decimals,
    ))
}

/// Points of a small curve.
const STEPS: usize = 25;
/// Share of a small picture's height below which nobody sees a difference: about one pixel.
const SEEN: f64 = 0.04;

/// Moisture over bake and cooling at even steps of the scale that all treatments share.
fn moistures(f: &Frame, c: &Column) -> Option<Vec<f64>> {
    let curve = &c.compared?.answer.bake.curve;
    let at = |i: usize| {
        let minutes = f.minutes * i as f64 / (STEPS - 1) as f64;
        report::at(&curve.time_min, &curve.moisture_pct, minutes)
    };
    Some((0..STEPS).map(at).collect())
}

/// Dry matter and water of a piece from dough to pack.
fn pieces_g(c: &Column) -> Option<Vec<f64>> {
    let stages = &c.compared?.answer.piece.mass;
    Some(stages.iter().flat_map(|m| [m.dry_g, m.water_g]).collect())
}

/// Whether a treatment's picture can be told from the control's by eye.
fn differs(here: Option<Vec<f64>>, there: Option<Vec<f64>>, scale: f64) -> bool {
    match (here, there) {
        (Some(here), Some(there)) => {
            let gap = |(a, b): (&f64, &f64)| (a - b).abs() > SEEN * scale;
            here.len() != there.len() || here.iter().zip(&there).any(gap)
        }
        (here, there) => here.is_some() != there.is_some(),
    }
}

/// Whether a treatment's small curve is worth drawing beside the control's.
pub fn curve_differs(f: &Frame, c: &Column) -> bool {
    let control = f.columns.first().and_then(|c| moistures(f, c));
    differs(moistures(f, c), control, f.moisture)
}

/// Whether a treatment's masses are worth drawing beside the control's.
pub fn mass_differs(f: &Frame, c: &Column) -> bool {
    differs(
        pieces_g(c),
        f.columns.first().and_then(pieces_g),
        f.heaviest_g,
    )
}

/// Moisture over bake and cooling, all treatments on one scale.
pub fn curve(f: &Frame, c: &Column) -> Markup {
    let (Some(compared), Some(values)) = (c.compared, moistures(f, c)) else {
        return html! { span .empty { "–" } };
    };
    let minutes = number::fixed(compared.answer.bake.time_min, 1);
    spark(
        &values,
        Some((0.0, f.moisture)),
        &format!("mean moisture over {minutes} min in the oven and the cooling"),
    )
}

/// Dry matter above the seam and water below it, from dough to pack, all treatments on one scale.
pub fn masses(f: &Frame, c: &Column) -> Markup {
    const WIDTH: f64 = 60.0;
    const SEAM: f64 = 17.0;
    const HIGH: f64 = 24.0;
    let Some(compared) = c.compared.filter(|_| f.heaviest_g > 0.0) else {
        return html! { span .empty { "–" } };
    };
    let stages = &compared.answer.piece.mass;
    let step = WIDTH / stages.len().max(1) as f64;
    let scale = (HIGH - 2.0) / f.heaviest_g;
    let words: Vec<String> = stages
        .iter()
        .map(|m| {
            format!(
                "{}: {} g dry, {} g water",
                m.place,
                number::fixed(m.dry_g, 2),
                number::fixed(m.water_g, 2)
            )
        })
        .collect();
    html! {
        svg .mass role="img" viewBox="0 0 60 26" {
            title { (words.join("; ")) }
            @for (i, m) in stages.iter().enumerate() {
                @let (x, dry, water) = (i as f64 * step, m.dry_g * scale, m.water_g * scale);
                rect .dry x=(n(x)) y=(n(SEAM - dry)) width=(n(step)) height=(n(dry)) {}
                rect .water x=(n(x)) y=(n(SEAM)) width=(n(step)) height=(n(water)) {}
            }
        }
    }
}

fn n(v: f64) -> String {
    format!("{v:.1}")
}
