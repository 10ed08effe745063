//! From what was typed in the form to edits, and from problems back to the fields they are about.

use super::{Field, shown_as};
use app::{AppError, Settings, StudyView, Units};
use std::collections::BTreeMap;
use study::edit::{Edit, EditError, Put, apply};
use study::written::{Path, Problem, StudyWritten, What};

/// What was typed, the edits that follow, and what was refused, by the path of the field; the empty path is the form.
#[derive(Debug, Default)]
pub(crate) struct Typed {
    pub texts: BTreeMap<String, String>,
    pub edits: Vec<Edit>,
    pub errors: BTreeMap<String, String>,
}

/// Makes edits one by one on a copy of the study, so that what can't be is told at its field.
pub(crate) struct Maker<'a> {
    section: &'static str,
    /// The treatment that gets values of its own.
    pub treatment: Option<&'a str>,
    written: StudyWritten,
    units: Units,
    pub typed: Typed,
}

impl<'a> Maker<'a> {
    /// For a section of a treatment, or of the study when none is named.
    pub(crate) fn of(
        view: &StudyView,
        section: &'static str,
        treatment: Option<&'a str>,
        units: Units,
    ) -> Self {
        Self {
            section,
            treatment,
            units,
            written: StudyWritten::clone(&view.written),
            typed: Typed::default(),
        }
    }

    /// Sets a field, or takes it away.
    pub(crate) fn set(&mut self, path: &str, value: Option<Put>) {
        let edit = Edit::SetField {
            treatment: self.treatment.map(str::to_owned),
            path: format!("{}.{path}", self.section),
            value,
        };
        let units = self.units;
        match apply(&self.written, &edit) {
            Ok(after) => {
                self.written = after;
                self.typed.edits.push(edit);
            }
            Err(EditError::BadValue { found, allowed, .. }) => {
                let (found, allowed) = (found.words(units), allowed.words(units));
                self.refuse(path, &format!("it is {found}; allowed is {allowed}"));
            }
            Err(error) => self.refuse(path, &error.words(units)),
        }
    }

    /// Refuses what was typed in a field.
    pub(crate) fn refuse(&mut self, path: &str, why: &str) {
        let why = sentence(why);
        self.typed.errors.entry(path.to_owned()).or_insert(why);
    }

    /// A number as this person writes it, in the metric unit.
    pub(crate) fn number(
        &mut self,
        path: &str,
        (name, unit): (&str, &str),
        text: &str,
        settings: &Settings,
    ) -> Option<f64> {
        match settings.number(name, text) {
            Ok(value) if settings.units.unit(unit) == unit => Some(value),
            // A number typed in another unit is only as sharp as it was typed.
            Ok(value) => Some((settings.units.back(value, unit) * 1e6).round() / 1e6),
            Err(error) => {
                match error {
                    AppError::Value { why, .. } => self.refuse(path, &why),
                    other => self.refuse(path, &other.to_string()),
                }
                None
            }
        }
    }
}

/// A field: set where it differs from what is written, taken away where it was emptied; `anew` sets it in any case.
pub(crate) fn one(
    maker: &mut Maker<'_>,
    f: &Field,
    text: &str,
    was: Option<&str>,
    anew: bool,
    settings: &Settings,
) {
    if text.is_empty() {
        match f.empty {
            None => maker.refuse(f.path, "nothing was given; fill it in"),
            Some(_) if was.is_some() => maker.set(f.path, None),
            Some(_) => {}
        }
        return;
    }
    if f.text {
        if anew || was != Some(text) {
            maker.set(f.path, Some(Put::Text(text.to_owned())));
        }
        return;
    }
    let as_shown = was.is_some_and(|w| shown_as(w, f.unit, settings) == text);
    if as_shown && !anew {
        return;
    }
    if let Some(value) = maker.number(f.path, (f.name, f.unit), text, settings)
        && (anew || was.and_then(|w| w.parse::<f64>().ok()) != Some(value))
    {
        maker.set(f.path, Some(Put::Number(value)));
    }
}

/// The field of a form that a problem is about, from the way below the section and what is wrong.
pub(crate) type FieldOf = fn(&Path, &What) -> Option<&'static str>;

/// Puts problems of a section at the fields they are about; those of another treatment stand over the form.
pub(crate) fn place(
    problems: &[Problem],
    section: &str,
    treatment: Option<&str>,
    field_of: FieldOf,
    units: Units,
    typed: &mut Typed,
) {
    for p in problems {
        let below = p.path.below_section();
        if p.path.section() != Some(section) || below.is_whole() {
            continue;
        }
        let words = p.words(units);
        let mut said = words.message;
        if !words.allowed.is_empty() {
            said.push_str("; allowed: ");
            said.push_str(&words.allowed);
        } else if !words.way_out.is_empty() {
            said.push_str("; ");
            said.push_str(&words.way_out);
        }
        let whose = p.path.treatment();
        let here = whose.is_none() || whose == treatment;
        let (field, said) = match here.then(|| field_of(&below, &p.what)).flatten() {
            Some(field) => (field, said),
            None => ("", format!("{}: {said}", p.path)),
        };
        typed
            .errors
            .entry(field.to_owned())
            .or_insert_with(|| sentence(&said));
    }
}

/// With a capital and a full stop.
fn sentence(text: &str) -> String {
    let mut chars = text.chars();
    let first: String = chars
        .next()
        .map_or_else(String::new, |c| c.to_uppercase().collect());
    let text = format!("{first}{}", chars.as_str());
    if text.ends_with(['.', '?', '!']) {
        text
    } else {
        format!("{text}.")
    }
}
