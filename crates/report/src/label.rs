//! The label drafts of all treatments, beside each other.

use crate::findings::only;
use formula::Nutrient;
use maud::{Markup, html};
use measure::{Finding, Severity, rounding};
use paper::parts::{Cell, Group, Row, SideBySide, side_by_side};
use study::Compared;
use study::compare::bound::Bound;
use study::compare::figure::Figure;
use study::views::knock_on::{KnockOn, Nutrition};

/// What is left of the dry matter, by difference.
const REST: &str = "nitrogen-free extract";
/// Columns that fit on paper without their differences.
const ON_PAPER: usize = 8;

/// Drafts of the labels, side by side: guarantees and composition with their differences from the control, then what is
/// written on each, told once where several share it, and the cautions once. The first of `compared` is the control.
pub fn labels_beside(compared: &[Compared]) -> Markup {
    let Some(control) = compared.first() else {
        return html! {};
    };
    let all: Vec<&Compared> = compared.iter().collect();
    let blocks = all[1..].chunks(ON_PAPER - 1).map(|rivals| {
        let block: Vec<&Compared> = std::iter::once(control)
            .chain(rivals.iter().copied())
            .collect();
        table(&block, false)
    });
    let blocks: Vec<Markup> = blocks.collect();
    html! {
        div .labels-beside .study-sheet {
            div .on-screen[!blocks.is_empty()] { (table(&all, true)) }
            @if !blocks.is_empty() { div .on-paper aria-hidden="true" { @for block in &blocks { (block) } } }
        }
        @for unsure in unsure(compared) { p .second .unsure { (unsure) } }
        div .label-words {
            @for (title, words) in WRITTEN {
                section { h3 { (title) } (written(compared, words)) }
            }
        }
        p .draft { "Drafts. Have them checked against the rules in force where the treat is sold." }
        (only(compared, |f| f.severity >= Severity::Warn && concerns_label(f)))
    }
}

/// Findings about materials, nutrition or the label itself.
fn concerns_label(finding: &Finding) -> bool {
    ["material:", "label", "nutrition", "formula"]
        .iter()
        .any(|part| finding.about.starts_with(part))
}

/// What stands on a label in words: its title, and the words of a treatment.
type Words = (&'static str, fn(&KnockOn) -> String);

/// What stands on a label in words.
const WRITTEN: [Words; 4] = [
    ("Ingredients", |k| k.label.ingredient_statement.clone()),
    ("Calories", |k| k.label.calorie_statement.clone()),
    ("Gluten", |k| {
        if k.label.gluten.is_empty() {
            "No material with gluten is known in it; that is not yet a claim.".to_owned()
        } else {
            k.label.gluten.join("; ")
        }
    }),
    ("Allergens for the people who handle it", |k| {
        if k.label.allergens.is_empty() {
            "None of the listed ones is known in it.".to_owned()
        } else {
            k.label.allergens.join(", ")
        }
    }),
];

/// Words with the treatments that they stand on.
fn written(compared: &[Compared], words: fn(&KnockOn) -> String) -> Markup {
    let mut told: Vec<(String, Vec<&str>)> = Vec::new();
    for c in compared {
        let text = words(&c.answer);
        let name = c.answer.name.as_str();
        match told.iter_mut().find(|(t, _)| *t == text) {
            Some((_, names)) => names.push(name),
            None => told.push((text, vec![name])),
        }
    }
    html! {
        dl .written {
            @for (text, names) in &told {
                dt { @if names.len() == compared.len() && names.len() > 1 { "All treatments" } @else { (names.join(" · ")) } }
                dd { (text) }
            }
        }
    }
}

/// A figure of a label, and how surely it is told.
type Told = (f64, Bound);
/// How a treatment tells a figure; none where it isn't known.
type Teller = Box<dyn Fn(&KnockOn) -> Option<Told>>;
/// A row: its name, its unit, its decimals, its figures.
type LabelRow = (String, &'static str, usize, Teller);

fn table(columns: &[&Compared], changes: bool) -> Markup {
    let row = |(name, unit, places, told): LabelRow| {
        let there = columns.first().and_then(|c| told(&c.answer));
        Row {
            name,
            unit: unit.to_owned(),
            cells: columns
                .iter()
                .enumerate()
                .map(|(i, c)| cell(told(&c.answer), there.filter(|_| changes && i > 0), places))
                .collect(),
            sum: false,
        }
    };
    let group = |name: &str, rows: Vec<LabelRow>| Group {
        name: name.to_owned(),
        rows: rows.into_iter().map(row).collect(),
    };
    side_by_side(&SideBySide {
        caption: "What the labels would say".to_owned(),
        row_head: "at the packed moisture".to_owned(),
        columns: columns.iter().map(|c| c.answer.name.clone()).collect(),
        groups: vec![
            group("guaranteed analysis", guarantees()),
            group(
                "composition as packed, calculated",
                composition(columns, false),
            ),
            group("composition of the dry matter", composition(columns, true)),
            group("energy", energy()),
        ],
    })
}

fn cell(here: Option<Told>, there: Option<Told>, places: usize) -> Cell {
    let Some((value, bound)) = here else {
        return Cell::unknown("a material of it has no value for this");
    };
    let cell = Cell::text(format!(
        "{}{}",
        bound.mark(),
        paper::number::fixed(value, places)
    ));
    match there {
        // Only what both tell exactly has a difference.
        Some((control, Bound::Exactly)) if bound == Bound::Exactly => {
            cell.change(rounding::shown_gap(value, control, places), places, None)
        }
        _ => cell,
    }
}

fn guarantees() -> Vec<LabelRow> {
    let row = |name: &str, of: fn(&KnockOn) -> Option<f64>| -> LabelRow {
        let told = move |k: &KnockOn| of(k).map(|v| (v, Bound::Exactly));
        (name.to_owned(), "%", 1, Box::new(told))
    };
    vec![
        row("crude protein, at least", |k| {
            k.label.guaranteed.crude_protein_min_pct
        }),
        row("crude fat, at least", |k| {
            k.label.guaranteed.crude_fat_min_pct
        }),
        row("crude fibre, at most", |k| {
            k.label.guaranteed.crude_fibre_max_pct
        }),
        row("moisture, at most", |k| k.label.guaranteed.moisture_max_pct),
    ]
}

/// How surely a part of the composition is told.
fn bound(n: &Nutrition, name: &str) -> Bound {
    match name {
        REST if !n.energy_unsure.is_empty() => Bound::AtMost,
        _ if n.at_least.contains_key(name) => Bound::AtLeast,
        _ => Bound::Exactly,
    }
}

fn composition(columns: &[&Compared], dry: bool) -> Vec<LabelRow> {
    let others = Nutrient::ALL
        .into_iter()
        .filter(|x| x.beside_label() && !Nutrient::PROXIMATE.contains(x));
    let known = |x: &Nutrient| {
        columns
            .iter()
            .any(|c| c.answer.nutrition.as_packed_pct(*x).is_some())
    };
    let row = |x: Nutrient, places: usize| -> LabelRow {
        let name = x.word();
        let told = move |k: &KnockOn| {
            let n = &k.nutrition;
            let value = if dry {
                *n.dry_matter.get(name)?
            } else {
                n.as_packed_pct(x)?
            };
            Some((value, bound(n, name)))
        };
        (name.to_owned(), "%", places, Box::new(told))
    };
    let rest = |k: &KnockOn| {
        let n = &k.nutrition;
        Some((n.nfe_pct, bound(n, REST)))
    };
    let rest: Option<LabelRow> =
        (!dry).then(|| (REST.to_owned(), "%", 1, Box::new(rest) as Teller));
    let moisture = |k: &KnockOn| Some((k.nutrition.moisture_pct, Bound::Exactly));
    let moisture: Option<LabelRow> =
        (!dry).then(|| ("moisture".to_owned(), "%", 1, Box::new(moisture) as Teller));
    let proximate = Nutrient::PROXIMATE.into_iter().filter(known);
    moisture
        .into_iter()
        .chain(proximate.map(|x| row(x, 1)))
        .chain(rest)
        .chain(others.filter(known).map(|x| row(x, 2)))
        .collect()
}

fn energy() -> Vec<LabelRow> {
    let row = |name: &str, of: fn(&KnockOn) -> f64| -> LabelRow {
        let told = move |k: &KnockOn| Some((of(k), Figure::Energy.sure(k)));
        (name.to_owned(), "kcal/kg", 0, Box::new(told))
    };
    vec![
        row("by modified Atwater", |k| k.nutrition.me_kcal_per_kg),
        row("by the four-step equation for the species", |k| {
            k.nutrition.me_nrc_kcal_per_kg
        }),
    ]
}

/// Why some figures are told as at least so much: materials without a value, by what they leave open.
fn unsure(compared: &[Compared]) -> Vec<String> {
    let mut told: Vec<(&[String], Vec<&str>, Vec<&str>)> = Vec::new();
    for c in compared {
        for (figure, unknown) in &c.answer.nutrition.at_least {
            let at = told.iter().position(|(u, ..)| *u == unknown.as_slice());
            let at = at.unwrap_or_else(|| {
                told.push((unknown, Vec::new(), Vec::new()));
                told.len() - 1
            });
            let (_, figures, names) = &mut told[at];
            if !figures.contains(&figure.as_str()) {
                figures.push(figure);
            }
            if !names.contains(&c.answer.name.as_str()) {
                names.push(&c.answer.name);
            }
        }
    }
    told.iter()
        .map(|(unknown, figures, names)| {
            let whose = if names.len() == compared.len() {
                String::new()
            } else {
                format!(" in {}", names.join(", "))
            };
            format!(
                "{}{whose}: at least, {}",
                figures.join(", "),
                unknown_words(unknown)
            )
        })
        .collect()
}

fn unknown_words(unknown: &[String]) -> String {
    let count = match unknown.len() {
        1 => "1 material unknown".to_owned(),
        n => format!("{n} materials unknown"),
    };
    format!("{count} ({}).", unknown.join(", "))
}
