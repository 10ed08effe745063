//! Why a figure is what it is: what makes it differ from the control's, how sure it is, and, folded, how it comes about
//! and what it stands on.

use super::bridge::{self, Tries};
use super::frame::Frame;
use super::pieces::Pieces;
use super::sure;
use app::{App, AppError, WhyOf};
use maud::{Markup, html};
use measure::{Given, Grade, Source};
use paper::number;
use paper::parts::{Known, known};
use study::Figure;
use study::chain::Uncertain;
use study::compare::{Limit, Spread, StandsOn};

/// How much of the reasons is asked for: each takes longer than the one before.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum More {
    /// What makes a figure differ from the control's.
    Causes,
    /// What to try as well.
    Tries,
    /// How sure it is as well.
    Sure,
}

impl More {
    /// What a page asks for.
    pub fn of(word: Option<&str>) -> Self {
        match word {
            Some("sure") => Self::Sure,
            Some("tries") => Self::Tries,
            _ => Self::Causes,
        }
    }
}

/// The reasons of the figures that somebody asked for, by the key of their place.
pub async fn reasons(
    app: &App,
    f: &Frame<'_>,
    asked: &[String],
    more: More,
    sure: Option<&[Spread]>,
) -> Result<Pieces, AppError> {
    let mut reasons = Pieces::new();
    for key in asked.iter().take(Figure::ALL.len()) {
        if let Some(figure) = Figure::with_key(key) {
            let whys = app.whys(f.view, figure).await?;
            let tries = if more > More::Causes {
                to_try(app, f, figure).await
            } else {
                Tries::new()
            };
            let html = because(f, figure, &whys, &tries, sure).into_string();
            reasons.insert(format!("w.{key}"), html);
        }
    }
    Ok(reasons)
}

/// What to try for a figure, by treatment; one that nothing can be tried for is left out.
async fn to_try(app: &App, f: &Frame<'_>, figure: Figure) -> Tries {
    let mut tries = Tries::new();
    for column in f.columns.iter().filter(|c| c.compared.is_some()) {
        if let Ok(found) = app.tries(f.view, column.id(), figure).await
            && !found.is_empty()
        {
            tries.insert(column.id().to_owned(), found);
        }
    }
    tries
}

fn because(
    f: &Frame,
    figure: Figure,
    whys: &[WhyOf],
    tries: &Tries,
    sure: Option<&[Spread]>,
) -> Markup {
    let about = figure.about();
    let rows = stands_on(f, figure);
    html! {
        (bridge::bridges(f, figure, whys, tries))
        @if let Some(sure) = sure { (how_sure(f, figure, sure)) }
        @else { p .sure { button .quiet .scripted type="button" data-do="sure" { "How sure is it?" } } }
        details .stands {
            summary { "How it comes about, and what it stands on" }
            p { (about.how) "." }
            @if !figure.follows_from().is_empty() {
                p .second { "Follows from "
                    @for (i, source) in figure.follows_from().iter().enumerate() {
                        @if i > 0 { ", " }
                        a href={ "#row-" (source.about().key) } { (source.about().name) }
                    }
                    ", above in each column."
                }
            }
            @for (head, rest) in figure.limits().map(Limit::words) { p .second { b { (head) } " " (rest) } }
            @if !rows.is_empty() {
                table .givens {
                    thead { tr { th scope="col" { "stands on" } th .figure scope="col" { "value" } th scope="col" { "unit" } th scope="col" { "how it is known" } } }
                    tbody {
                        @for row in &rows {
                            tr {
                                th scope="row" { (row.name) }
                                td .figure { (known(&f.mark(&row.value), Known::from(row.grade))) }
                                td .unit { @if row.unit != "1" { (row.unit) } }
                                td .source { b { (row.grade.word()) } @if !row.source.is_empty() { ": " (row.source) } }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// Least share of a figure's spread that is worth a line.
const TOLD_FROM: f64 = 0.05;

/// The limits of each column, and what widens the control's most, with where it is known from.
fn how_sure(f: &Frame, figure: Figure, spreads: &[Spread]) -> Markup {
    let key = figure.about().key;
    let told = f.columns.iter().filter(|c| c.compared.is_some());
    let limits: Vec<(&str, String)> = told
        .zip(spreads)
        .filter_map(|(c, s)| Some((c.name(), sure::of_figure(f, figure, s)?)))
        .collect();
    let widest = spreads.first().and_then(|s| s.widest.get(key));
    let widest: Vec<_> = widest
        .into_iter()
        .flatten()
        .filter(|w| w.share >= TOLD_FROM)
        .collect();
    html! {
        @if !limits.is_empty() {
            p .sure { "How sure, 19 times in 20: " @for (i, (name, limits)) in limits.iter().enumerate() { @if i > 0 { "; " } (name) " " span .figure { (limits) } } "." }
        }
        @if !widest.is_empty() {
            table .givens .widest {
                thead { tr { th scope="col" { "leaves it open most" } th .figure scope="col" { "share" } th scope="col" { "how it is known" } } }
                tbody {
                    @for w in &widest {
                        tr {
                            th scope="row" { (w.input) }
                            td .figure { (number::fixed(100.0 * w.share, 0)) " %" }
                            td .source { (source_of(f, &w.input)) }
                        }
                    }
                }
            }
        }
    }
}

/// Where an input that varies is known from: a constant's own source, a material's otherwise.
fn source_of(f: &Frame, input: &str) -> Markup {
    if let Some(constant) = Uncertain::ALL
        .iter()
        .map(|u| u.about())
        .find(|c| c.name == input)
    {
        return html! { b { (constant.grade.word()) } ": " (constant.source) };
    }
    let of = used(f).find(|m| input.ends_with(&format!(" of {}", m.name)));
    html! { @if let Some(m) = of { b { (m.source.grade.word()) } ": " (m.source.text) } }
}

struct On {
    name: String,
    value: String,
    unit: String,
    grade: Grade,
    source: String,
}

impl On {
    fn new(name: &str, value: String, unit: &str, source: &Source) -> Self {
        Self {
            name: name.to_owned(),
            value,
            unit: unit.to_owned(),
            grade: source.grade,
            source: source.text.to_string(),
        }
    }
}

/// What a figure stands on, the least sure first.
fn stands_on(f: &Frame, figure: Figure) -> Vec<On> {
    let mut rows = match figure.stands_on() {
        StandsOn::Uptakes => uptakes(f),
        StandsOn::Prices => prices(f),
        StandsOn::Constituent(nutrient) => shares(f, nutrient),
        StandsOn::Constants(names) => givens(f, &names),
    };
    rows.sort_by_key(|row| std::cmp::Reverse(row.grade));
    rows
}

fn givens(f: &Frame, names: &[&str]) -> Vec<On> {
    let mut kept: Vec<(&Given, Option<(f64, f64)>)> = Vec::new();
    for given in f
        .columns
        .iter()
        .filter_map(|c| c.compared)
        .flat_map(|c| &c.answer.given)
    {
        if !names.contains(&&*given.name) {
            continue;
        }
        match kept
            .iter_mut()
            .find(|(g, _)| g.name == given.name && g.source == given.source)
        {
            Some((_, values)) => {
                let both = values.zip(given.value);
                *values = both.map(|((low, high), v)| (low.min(v), high.max(v)));
            }
            None => kept.push((given, given.value.map(|v| (v, v)))),
        }
    }
    let told = |v: f64| {
        if v == 0.0 || !v.is_finite() || v.abs() >= 1e-3 {
            return number::three(v);
        }
        let order = v.abs().log10().floor();
        let power: String = format!("{order:.0}").chars().map(raised).collect();
        format!("{} × 10{power}", number::three(v / 10f64.powf(order)))
    };
    let tell = |(g, values): &(&Given, Option<(f64, f64)>)| {
        let value = values.map_or("–".to_owned(), |(low, high)| {
            let (low, high) = (told(low), told(high));
            if low == high {
                low
            } else {
                format!("{low} to {high}")
            }
        });
        On::new(&g.name, value, &g.unit, &g.source)
    };
    kept.iter().map(tell).collect()
}

fn used<'f>(f: &'f Frame) -> impl Iterator<Item = &'f formula::Material> {
    let mut seen: Vec<&str> = Vec::new();
    f.rows.iter().filter_map(move |r| {
        let new = !seen.contains(&r.id());
        seen.push(r.id());
        new.then_some(&*r.material)
    })
}

fn shares(f: &Frame, nutrient: formula::Nutrient) -> Vec<On> {
    let tell = |m: &formula::Material| {
        let value = m
            .composition
            .fraction(nutrient)
            .map_or_else(|| "not known".to_owned(), |x| number::fixed(100.0 * x, 2));
        On::new(&m.name, value, "%", &m.source)
    };
    used(f).map(tell).collect()
}

fn uptakes(f: &Frame) -> Vec<On> {
    let uptake = |m: &formula::Material| {
        let u = m.water_uptake.as_ref()?;
        Some(On::new(
            &m.name,
            number::fixed(u.kg_per_kg, 2),
            "kg water per kg",
            &u.source,
        ))
    };
    used(f).filter_map(uptake).collect()
}

fn prices(f: &Frame) -> Vec<On> {
    let price = |m: &formula::Material| {
        let p = m.price.as_ref()?;
        let (low, high) = (
            number::fixed(p.low_per_kg, 2),
            number::fixed(p.high_per_kg, 2),
        );
        let value = if low == high {
            low
        } else {
            format!("{low} to {high}")
        };
        Some(On::new(
            &m.name,
            value,
            &format!("{}/kg", f.study.currency),
            &p.source,
        ))
    };
    used(f).filter_map(price).collect()
}

/// A digit or sign of an exponent.
fn raised(c: char) -> char {
    let at = "-0123456789".chars().position(|d| d == c);
    at.and_then(|i| "⁻⁰¹²³⁴⁵⁶⁷⁸⁹".chars().nth(i)).unwrap_or(c)
}
