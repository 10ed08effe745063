//! From tables as written to the model: names looked up, changes applied, settings merged.

mod formulas;
mod keeping;
mod learned;
mod line;
mod materials;
mod oven;
mod over;
mod sections;
mod setting;
mod treatments;

pub(super) use line::line_row;
pub(super) use oven::oven_row;
pub(super) use sections::holding;
pub(crate) use sections::oven_holding;

use super::StudyWritten;
use super::path::At;
use super::problem::{Problems, What};
use super::row::Row;
use super::tables::{LimitRow, RootRow, StudyRow, TargetRow, TreatmentRow};
use super::typed::Told;
use crate::model::{FigureLimit, Study, Target};
use formula::Species;
use measure::WetBasis;
use sections::Sections;

/// The model; `None` when something is missing without which nothing can be built. Problems are
/// told either way.
pub(super) fn study(written: &StudyWritten, problems: &mut Problems) -> Option<Study> {
    let root = written.told()?;
    let whole = At::WHOLE;
    let materials = materials::own(&root.material.value, problems);
    let sections = Sections::from(&root);
    let setting = setting::from(&sections, &whole, problems);
    setting::contradictions(&sections, &whole, problems);
    let aim = root.study.get().and_then(aim);
    let treatments = treatments::all(&root, &materials, setting.as_ref(), aim.as_ref(), problems);
    let head = root.study.get()?;
    check_currency(head, problems);
    let control = control(head, &root.treatment.value, problems);
    let aim = aim?;
    Some(Study {
        name: head.name.value?.to_owned(),
        question: head.question.value.unwrap_or_default().to_owned(),
        species: aim.species,
        invented: head.invented.value == Some(true),
        currency: aim.currency,
        note: head.note.value.unwrap_or_default().to_owned(),
        target: aim.target,
        materials,
        setting: setting?,
        control: control?,
        limits: limits(&root.limits.value, problems),
        treatments: treatments?,
    })
}

/// The limits; one that says neither at most nor at least is a problem.
fn limits(rows: &[LimitRow<'_>], problems: &mut Problems) -> Vec<FigureLimit> {
    let mut all = Vec::new();
    for (i, row) in rows.iter().enumerate() {
        let (most, least) = (row.at_most.value, row.at_least.value);
        let at = At::WHOLE.key(RootRow::limits.name);
        let at = at.nth(i);
        if most.is_none() && least.is_none() {
            let key = LimitRow::at_most.name;
            missing(row.row, key, &at, "or at_least: what it may be", problems);
            continue;
        }
        if let (Some(most), Some(least)) = (most, least)
            && least > most
        {
            let what = What::LimitsCross { least, most };
            problems.tell(&at.key(LimitRow::at_least.name), &row.at_least.place, what);
            continue;
        }
        all.extend(row.figure.value.map(|figure| FigureLimit {
            figure,
            at_most: most,
            at_least: least,
            probability: row.probability_pct.value.map(|p| p / 100.0),
            reason: row.reason.value.unwrap_or_default().to_owned(),
        }));
    }
    all
}

/// What the study says once for all its treatments.
struct Aim {
    species: Species,
    currency: String,
    target: Target,
}

fn aim(head: &StudyRow<'_>) -> Option<Aim> {
    Some(Aim {
        species: head.species.value?,
        currency: head.currency.value?.to_owned(),
        target: head.target.get().and_then(target)?,
    })
}

fn target(row: &TargetRow<'_>) -> Option<Target> {
    Some(Target {
        moisture: WetBasis::from_percent(row.moisture_pct.value?),
        at: row.at.value?,
        kill_log10: row.kill_log10.value,
    })
}

fn check_currency(head: &StudyRow<'_>, problems: &mut Problems) {
    let Some(currency) = head.currency.value else {
        return;
    };
    if currency.len() != 3 || !currency.bytes().all(|b| b.is_ascii_uppercase()) {
        let text = currency.to_owned();
        let at = At::WHOLE.key(RootRow::study.name);
        let at = at.key(StudyRow::currency.name);
        problems.tell(&at, &head.currency.place, What::NotACurrency { text });
    }
}

fn control(
    head: &StudyRow<'_>,
    treatments: &[TreatmentRow<'_>],
    problems: &mut Problems,
) -> Option<usize> {
    let wanted = head.control.value?;
    let found = treatments.iter().position(|t| t.id.value == Some(wanted));
    if found.is_none() {
        let at = At::WHOLE.key(RootRow::study.name);
        let at = at.key(StudyRow::control.name);
        unknown_treatment(wanted, treatments, &at, &head.control, problems);
    }
    found
}

/// Tells of a treatment that isn't there, unless one couldn't be read: then it may be that one.
fn unknown_treatment<V>(
    wanted: &str,
    treatments: &[TreatmentRow<'_>],
    at: &At<'_>,
    told: &Told<V>,
    problems: &mut Problems,
) {
    if treatments.is_empty() || treatments.iter().any(|t| !t.id.written) {
        return;
    }
    let there = treatments.iter().filter_map(|t| t.id.value);
    let what = What::UnknownTreatment {
        wanted: wanted.to_owned(),
        there: there.map(str::to_owned).collect(),
    };
    problems.tell(at, &told.place, what);
}

/// Tells of a key that has to be there once all values are merged.
fn missing(row: &Row, key: &str, at: &At<'_>, why: impl Into<String>, problems: &mut Problems) {
    let Some(field) = row.table.field(key).filter(|_| !row.failed(key)) else {
        return;
    };
    let why = why.into();
    problems.tell(&at.key(key), &row.place, What::Wanted { field, why });
}

/// Metres from millimetres.
fn metres(told: &Told<Option<f64>>) -> Option<f64> {
    told.value.map(|mm| mm / 1000.0)
}
