//! A figure of the knock-on block for one treatment: its value, its difference, its small pictures.

use super::column::Column;
use super::frame::Frame;
use super::pieces::{Place, beside, unknown};
use maud::{Markup, html};
use measure::rounding;
use paper::chart::spark;
use paper::number;
use paper::parts::{Known, known};
use study::Figure;

pub fn value(f: &Frame, c: &Column, figure: Figure) -> Markup {
    html! { (bare(f, c, figure)) (beside(f, c, &[Place::Of(figure)])) }
}

fn bare(f: &Frame, c: &Column, figure: Figure) -> Markup {
    let Some(compared) = c.compared else {
        return unknown(c.failed.unwrap_or("it isn’t worked out"));
    };
    let (about, k) = (figure.about(), &compared.answer);
    let value = match figure.told(k) {
        Ok(value) => value,
        Err(why) => return unknown(&why),
    };
    let units = f.settings.units;
    let decimals = units.decimals(about.unit, decimals(f, figure));
    let shown = number::fixed(units.value(value, about.unit), decimals);
    let mark = figure.sure(k).mark();
    match figure {
        Figure::WaterNeed => {
            let need = k.dough.water_need;
            let need = number::interval(need.mean, need.low95, need.high95);
            known(&format!("{mark}{}", f.mark(&need)), Known::Assumed)
        }
        Figure::Kill => {
            let ends = |c: char| c.is_alphabetic() || ",(".contains(c);
            let number = k.bake.kill_shown.split(ends).next().unwrap_or(&shown);
            known(&f.mark(number.trim()), Known::Assumed)
        }
        _ => html! { (mark) (f.mark(&shown)) },
    }
}

/// Decimals of a row, by the control.
fn decimals(f: &Frame, figure: Figure) -> usize {
    let control = f.columns.first().and_then(|c| c.compared);
    control.map_or(figure.about().decimals, |c| figure.decimals(&c.answer))
}

pub fn difference(f: &Frame, c: &Column, figure: Figure) -> Markup {
    let about = figure.about();
    let Some(gap) = c.compared.and_then(|c| c.difference(figure)) else {
        return html! {};
    };
    let (gap, sure) = (gap.value, gap.bound);
    let units = f.settings.units;
    let decimals = units.decimals(about.unit, decimals(f, figure));
    let text = rounding::signed(units.gap(gap, about.unit), decimals);
    if !text.starts_with(['+', '\u{2212}']) {
        return html! {};
    }
    let text = format!("{}{}", sure.mark(), f.mark(&text));
    match about
        .better
        .is_for_the_better(gap)
        .filter(|_| sure.tells_sign(gap))
    {
        None => html! { (text) },
        Some(true) => html! { span .better { (text) " ▲" span .unseen { " better" } } },
        Some(false) => html! { span .worse { (text) " ▼" span .unseen { " worse" } } },
    }
}

/// Moisture over bake and cooling, all treatments on one scale.
pub fn curve(f: &Frame, c: &Column) -> Markup {
    const STEPS: usize = 25;
    let Some(compared) = c.compared else {
        return html! { span .empty { "–" } };
    };
    let curve = &compared.answer.bake.curve;
    let at = |i: usize| {
        between(
            &curve.time_min,
            &curve.moisture_pct,
            f.minutes * i as f64 / (STEPS - 1) as f64,
        )
    };
    let values: Vec<f64> = (0..STEPS).map(at).collect();
    let minutes = number::fixed(compared.answer.bake.time_min, 1);
    spark(
        &values,
        Some((0.0, f.moisture)),
        &format!("mean moisture over {minutes} min in the oven and the cooling"),
    )
}

/// The value of a drawn curve between its points; nothing outside.
fn between(xs: &[f64], ys: &[f64], x: f64) -> f64 {
    let i = xs.partition_point(|v| *v <= x);
    match (i.checked_sub(1), xs.get(i)) {
        (Some(a), Some(next)) => ys[a] + (x - xs[a]) / (next - xs[a]) * (ys[i] - ys[a]),
        (Some(a), None) if xs[a] >= x => ys[a],
        _ => f64::NAN,
    }
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
