//! A figure of the knock-on block for one treatment: its value, its difference, its small pictures.

use super::column::Column;
use super::frame::Frame;
use super::pieces::{Place, beside, unknown};
use formula::Nutrient;
use maud::{Markup, html};
use measure::rounding;
use paper::chart::spark;
use paper::number;
use paper::parts::{Known, known};
use study::Figure;
use study::answer::KnockOn;
use study::figure::Better;

pub fn value(f: &Frame, c: &Column, figure: Figure) -> Markup {
    html! { (bare(f, c, figure)) (beside(f, c, &[Place::Of(figure)])) }
}

fn bare(f: &Frame, c: &Column, figure: Figure) -> Markup {
    let Some(compared) = c.compared else {
        return unknown(c.failed.unwrap_or("it isn’t worked out"));
    };
    let (about, k) = (figure.about(), &compared.answer);
    let Some(value) = figure.value(k) else {
        return unknown(&why_unknown(k, figure));
    };
    if let (Figure::BakeTime, Some(limit)) = (figure, &k.bake.limit) {
        return unknown(&format!("the target isn’t reached: {limit}"));
    }
    let units = f.settings.units;
    let decimals = units.decimals(about.unit, about.decimals);
    let shown = number::fixed(units.value(value, about.unit), decimals);
    match figure {
        Figure::WaterNeed => {
            let need = k.dough.water_need;
            known(
                &f.mark(&number::interval(need.mean, need.low95, need.high95)),
                Known::Assumed,
            )
        }
        Figure::Kill => {
            let ends = |c: char| c.is_alphabetic() || ",(".contains(c);
            let number = k.bake.kill_shown.split(ends).next().unwrap_or(&shown);
            known(&f.mark(number.trim()), Known::Assumed)
        }
        _ if at_least(k, figure) => html! { "≥ " (f.mark(&shown)) },
        _ => html! { (f.mark(&shown)) },
    }
}

pub fn difference(f: &Frame, c: &Column, figure: Figure) -> Markup {
    let about = figure.about();
    let gap = c.compared.and_then(|c| {
        let (part, name) = about.key.split_once('.')?;
        c.versus_control.get(part)?.get(name)?.as_f64()
    });
    let Some(gap) = gap else { return html! {} };
    let units = f.settings.units;
    let decimals = units.decimals(about.unit, about.decimals);
    let text = rounding::signed(units.gap(gap, about.unit), decimals);
    if !text.starts_with(['+', '\u{2212}']) {
        return html! {};
    }
    let text = f.mark(&text);
    match about.better {
        Better::Neither => html! { (text) },
        Better::Higher if gap > 0.0 => better(&text),
        Better::Lower if gap < 0.0 => better(&text),
        Better::Higher | Better::Lower => {
            html! { span .worse { (text) " ▼" span .unseen { " worse" } } }
        }
    }
}

fn better(text: &str) -> Markup {
    html! { span .better { (text) " ▲" span .unseen { " better" } } }
}

/// Whether a figure is an "at least" because some material's value is unknown.
fn at_least(k: &KnockOn, figure: Figure) -> bool {
    nutrient(figure).is_some_and(|n| k.nutrition.at_least.contains_key(n.word()))
}

/// The constituent that a figure tells.
pub fn nutrient(figure: Figure) -> Option<Nutrient> {
    Some(match figure {
        Figure::Protein => Nutrient::CrudeProtein,
        Figure::Fat => Nutrient::CrudeFat,
        Figure::Fibre => Nutrient::CrudeFibre,
        Figure::Ash => Nutrient::Ash,
        Figure::Calcium => Nutrient::Calcium,
        Figure::Phosphorus => Nutrient::Phosphorus,
        Figure::Sodium => Nutrient::Sodium,
        _ => return None,
    })
}

fn why_unknown(k: &KnockOn, figure: Figure) -> String {
    let cost = matches!(figure, Figure::CostPerKg | Figure::CostPerPiece);
    if cost && !k.cost.unknown_prices.is_empty() {
        format!("no price is known for {}", k.cost.unknown_prices.join(", "))
    } else if figure == Figure::CrispDays && !k.bake.crisp_unknown.is_empty() {
        k.bake.crisp_unknown.clone()
    } else {
        "the answer doesn’t hold it".to_owned()
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
