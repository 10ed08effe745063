//! From tables as written to the model: names looked up, changes applied, settings merged.

mod formulas;
mod keeping;
mod line;
mod materials;
mod oven;
mod setting;
mod treatments;

pub(super) use setting::holding;

use super::StudyWritten;
use super::problem::{Code, Problem, did_you_mean};
use super::reader::Reader;
use super::row::Row;
use super::told::quote;
use crate::model::{Place, Study, Target};
use formula::Species;
use measure::WetBasis;
use measure::names::closest;
use std::ops::Range;

/// The model; `None` when something is missing without which nothing can be built. Problems are
/// told to the reader either way.
pub(super) fn study(written: &StudyWritten, reader: &mut Reader<'_>) -> Option<Study> {
    let root = &written.root;
    let head = root.row("study");
    let materials = materials::own(root.rows("material"), reader);
    let setting = setting::from(root, "", reader);
    if let Some(piece) = root.row("piece") {
        setting::idle_measures(piece, "piece", reader);
    }
    if let Some(row) = root.row("oven") {
        oven::contradictions(row, "oven", reader);
    }
    if let Some(row) = root.row("line") {
        line::idle_measures(row, "line", reader);
    }
    let aim = head.and_then(aim);
    let treatments = treatments::all(root, &materials, setting.as_ref(), aim.as_ref(), reader);
    let (head, aim) = (head?, aim);
    check_currency(head, reader);
    let control = control(head, root.rows("treatment"), reader);
    let aim = aim?;
    Some(Study {
        name: head.text("name")?.to_owned(),
        question: head.text("question").unwrap_or_default().to_owned(),
        species: aim.species,
        invented: head.flag("invented"),
        currency: aim.currency,
        note: head.text("note").unwrap_or_default().to_owned(),
        target: aim.target,
        materials,
        setting: setting?,
        control: control?,
        treatments: treatments?,
    })
}

/// What the study says once for all its treatments.
struct Aim {
    species: Species,
    currency: String,
    target: Target,
}

fn aim(head: &Row) -> Option<Aim> {
    Some(Aim {
        species: chosen(Species::ALL, Species::word, head.text("species")?)?,
        currency: head.text("currency")?.to_owned(),
        target: head.row("target").and_then(target)?,
    })
}

fn target(row: &Row) -> Option<Target> {
    Some(Target {
        moisture: WetBasis::from_percent(row.number("moisture_pct")?),
        at: chosen(Place::ALL, Place::written, row.text("at")?)?,
    })
}

fn check_currency(head: &Row, reader: &mut Reader<'_>) {
    let Some(currency) = head.text("currency") else {
        return;
    };
    if currency.len() != 3 || !currency.bytes().all(|b| b.is_ascii_uppercase()) {
        reader.tell(
            Problem::new(
                Code::BadText,
                head.place("currency"),
                "study.currency",
                format!("{} isn't a currency", quote(currency)),
            )
            .allowed("three capital letters")
            .suggest("write \"EUR\" or \"USD\""),
        );
    }
}

fn control(head: &Row, treatments: &[Row], reader: &mut Reader<'_>) -> Option<usize> {
    let wanted = head.text("control")?;
    let ids = || treatments.iter().filter_map(|t| t.text("id"));
    let found = treatments.iter().position(|t| t.text("id") == Some(wanted));
    if found.is_none() && all_named(treatments) {
        reader.tell(unknown_treatment(
            wanted,
            ids(),
            "study.control",
            head.place("control"),
        ));
    }
    found
}

/// Whether every treatment could be read; else a name that isn't found may be one of the others.
fn all_named(treatments: &[Row]) -> bool {
    !treatments.is_empty() && treatments.iter().all(|t| t.has("id"))
}

fn unknown_treatment<'a>(
    wanted: &str,
    ids: impl Iterator<Item = &'a str> + Clone,
    path: &str,
    place: Range<usize>,
) -> Problem {
    Problem::new(
        Code::UnknownTreatment,
        place,
        path,
        format!("there is no treatment {}", quote(wanted)),
    )
    .allowed(first_ones(ids.clone()))
    .suggest(did_you_mean(&closest(wanted, ids)))
}

/// The first twenty names.
fn first_ones<'a>(names: impl Iterator<Item = &'a str>) -> String {
    let all: Vec<_> = names.collect();
    let mut out = all.iter().take(20).copied().collect::<Vec<_>>().join(", ");
    if all.len() > 20 {
        out.push_str(", …");
    }
    out
}

/// The value whose written word this is.
fn chosen<T: Copy>(
    all: impl IntoIterator<Item = T>,
    written: impl Fn(T) -> &'static str,
    word: &str,
) -> Option<T> {
    all.into_iter().find(|v| written(*v) == word)
}

/// A problem from an error whose text tells what was found and, after the semicolon, the way out.
pub(super) fn from_error(code: Code, place: Range<usize>, path: &str, text: &str) -> Problem {
    match text.split_once("; ") {
        Some((found, way_out)) => Problem::new(code, place, path, found).suggest(way_out),
        None => Problem::new(code, place, path, text),
    }
}
