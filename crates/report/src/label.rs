//! The label draft of a treatment.

use formula::Nutrient;
use maud::{Markup, html};
use measure::{Finding, Severity};
use paper::number;
use paper::parts::findings;
use std::collections::BTreeMap;
use study::compare::bound::Bound;
use study::compare::figure::Figure;
use study::views::knock_on::KnockOn;

/// What is left of the dry matter, by difference.
const REST: &str = "nitrogen-free extract";

/// A draft of the label: ingredients, guaranteed analysis, calories, gluten and allergens, and the
/// composition it rests on.
pub fn label_draft(k: &KnockOn) -> Markup {
    let cautions: Vec<Finding> = k
        .findings
        .iter()
        .filter(|f| f.severity >= Severity::Warn && concerns_label(f))
        .cloned()
        .collect();
    html! {
        article .label-draft {
            h3 { (k.name) }
            div .label-columns {
                div { (ingredients(k)) }
                div { (guarantees(k)) }
                (proximate(k))
            }
            (findings(&cautions))
        }
    }
}

/// Findings about materials, nutrition or the label itself.
fn concerns_label(finding: &Finding) -> bool {
    ["material:", "label", "nutrition", "formula"]
        .iter()
        .any(|part| finding.about.starts_with(part))
}

fn ingredients(k: &KnockOn) -> Markup {
    html! {
        h4 { "Ingredients" }
        p { (k.label.ingredient_statement) }
        h4 { "Gluten" }
        p { @if k.label.gluten.is_empty() { "No material with gluten is known in it; that is not yet a claim." } @else { (k.label.gluten.join("; ")) } }
        h4 { "Allergens for the people who handle it" }
        p { @if k.label.allergens.is_empty() { "None of the listed ones is known in it." } @else { (k.label.allergens.join(", ")) } }
    }
}

fn guarantees(k: &KnockOn) -> Markup {
    let g = &k.label.guaranteed;
    let guarantee = |name: &str, bound: &str, value: Option<f64>| {
        html! {
            tr {
                th scope="row" { (name) } td { (bound) }
                @match value {
                    Some(value) => { td .figure { (number::fixed(value, 1)) } td .unit { "%" } }
                    None => { td .figure { "unknown" } td .unit {} }
                }
            }
        }
    };
    html! {
        h4 { "Guaranteed analysis" }
        table {
            tbody {
                (guarantee("Crude protein", "at least", g.crude_protein_min_pct))
                (guarantee("Crude fat", "at least", g.crude_fat_min_pct))
                (guarantee("Crude fibre", "at most", g.crude_fibre_max_pct))
                (guarantee("Moisture", "at most", g.moisture_max_pct))
            }
        }
        h4 { "Calories" }
        p { (k.label.calorie_statement) }
        p .draft { "Draft. Have it checked against the rules in force where the treat is sold." }
    }
}

fn proximate(k: &KnockOn) -> Markup {
    let n = &k.nutrition;
    let energy = |kcal_per_kg: f64| {
        format!(
            "{}{} kcal/kg",
            Figure::Energy.sure(k).mark(),
            number::fixed(kcal_per_kg, 0)
        )
    };
    let told = |x: Nutrient, places: usize| Some((x.word(), n.as_packed_pct(x)?, places));
    let beside = |x: &Nutrient| x.beside_label() && !Nutrient::PROXIMATE.contains(x);
    let proximate = Nutrient::PROXIMATE.into_iter();
    let others = Nutrient::ALL.into_iter().filter(beside);
    let rows: Vec<(&str, f64, usize)> = proximate
        .filter_map(|x| told(x, 1))
        .chain([(REST, n.nfe_pct, 1)])
        .chain(others.filter_map(|x| told(x, 2)))
        .collect();
    // What the same materials make unsure is told in one line.
    let mut alike: BTreeMap<&[String], Vec<&str>> = BTreeMap::new();
    for (name, ..) in &rows {
        if let Some(unknown) = n.at_least.get(*name) {
            alike.entry(unknown).or_default().push(name);
        }
    }
    html! {
        div {
            table .proximate {
                caption { "Composition, calculated" }
                thead { tr { th scope="col" { "%" } th .figure scope="col" { "as packed" } th .figure scope="col" { "dry matter" } } }
                tbody {
                    tr { th scope="row" { "moisture" } td .figure { (number::fixed(n.moisture_pct, 1)) } td .figure { span .empty { "–" } } }
                    @for (name, packed, places) in rows {
                        @let mark = match name {
                            REST if !n.energy_unsure.is_empty() => Bound::AtMost,
                            _ if n.at_least.contains_key(name) => Bound::AtLeast,
                            _ => Bound::Exactly,
                        }.mark();
                        tr {
                            th scope="row" { (name) }
                            td .figure { (mark) (number::fixed(packed, places)) }
                            td .figure {
                                @match n.dry_matter.get(name) {
                                    Some(dry) => { (mark) (number::fixed(*dry, places)) }
                                    None => span .empty { "–" }
                                }
                            }
                        }
                    }
                }
            }
            p .second {
                "Energy by modified Atwater " (energy(n.me_kcal_per_kg))
                ", by the four-step equation for the species " (energy(n.me_nrc_kcal_per_kg)) "."
            }
            @for (unknown, names) in alike {
                p .second { (names.join(", ")) ": at least, " (unknown_words(unknown)) }
            }
        }
    }
}

fn unknown_words(unknown: &[String]) -> String {
    let count = match unknown.len() {
        1 => "1 material unknown".to_owned(),
        n => format!("{n} materials unknown"),
    };
    format!("{count} ({}).", unknown.join(", "))
}
