//! The study's own limits beside its treatments.

use maud::{Markup, html};
use measure::Units;
use paper::number;
use study::compare::{LimitStands, limits};
use study::model::FigureLimit;
use study::{Compared, Study};

/// Each limit with how each treatment stands to it; nothing where the study has none.
pub fn limits_kept(study: &Study, compared: &[Compared], units: Units) -> Markup {
    let all = limits(study, compared);
    html! {
        @if !all.is_empty() {
            div .scroll role="region" aria-label="Limits" tabindex="0" { table .list {
                thead { tr { th scope="col" { "limit" } @for c in compared { th scope="col" { (c.answer.name) } } } }
                tbody { @for (limit, stands) in &all { tr {
                    th scope="row" { (limit_in_words(limit, units)) @if !limit.reason.is_empty() { p .second { (limit.reason) } } }
                    @for (stands, c) in stands.iter().zip(compared) { td { (stood(limit, stands, c, units)) } }
                } } }
            } }
        }
    }
}

/// A limit in words: `bake at most 14.5 min, in 95 of 100 cases`.
pub fn limit_in_words(limit: &FigureLimit, units: Units) -> String {
    let about = limit.figure.about();
    let places = units.decimals(about.unit, about.decimals.max(1));
    let value = |v: f64| number::fixed(units.value(v, about.unit), places);
    let ends = [("at least", limit.at_least), ("at most", limit.at_most)];
    let told: Vec<String> = ends
        .into_iter()
        .filter_map(|(word, end)| Some(format!("{word} {}", value(end?))))
        .collect();
    let sure = limit.probability.map_or_else(String::new, |p| {
        format!(", in {} of 100 cases", number::fixed(100.0 * p, 0))
    });
    format!(
        "{} {} {}{sure}",
        about.name,
        told.join(" and "),
        units.unit(about.unit)
    )
}

fn stood(limit: &FigureLimit, stands: &LimitStands, compared: &Compared, units: Units) -> Markup {
    let about = limit.figure.about();
    let digits = limit.figure.decimals(&compared.answer);
    let value = stands.value.map(|v| {
        let shown = units.value(v, about.unit);
        number::fixed(shown, units.decimals(about.unit, digits))
    });
    let word = match stands.kept {
        Some(true) => "kept",
        Some(false) => "not kept",
        None => "not known",
    };
    html! {
        @if stands.kept == Some(false) { strong { (word) } } @else { (word) }
        @if let Some(value) = value { ": " (value) }
        @if let Some(p) = stands.probability { span .second { ", " (number::fixed(100.0 * p, 0)) " of 100" } }
        @else if limit.probability.is_some() { span .second { ", how surely isn’t worked out here" } }
    }
}
