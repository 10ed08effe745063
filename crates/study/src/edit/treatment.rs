//! Treatments: add from another, take out, order.

use super::named::{index, short_name};
use super::{EditError, NameFault, bad, field};
use crate::written::problem::{Allowed, Found};
use crate::written::tables::{MOST_TREATMENTS, RootRow, StudyRow, TREATMENT, TreatmentRow};
use crate::written::{Row, StudyWritten};

/// A short name out of a name, that no treatment has yet.
fn free_id(w: &StudyWritten, name: &str) -> String {
    let mut stem = String::new();
    for c in name.to_lowercase().chars() {
        if c.is_ascii_alphanumeric() {
            stem.push(c);
        } else if !stem.is_empty() && !stem.ends_with('_') {
            stem.push('_');
        }
    }
    let stem: String = stem.trim_matches('_').chars().take(40).collect();
    let stem = if stem.is_empty() {
        "treatment".to_owned()
    } else {
        stem
    };
    let taken = |id: &str| w.treatment(id).is_some();
    let mut id = stem.clone();
    let mut n = 2;
    while taken(&id) {
        id = format!("{stem}_{n}");
        n += 1;
    }
    id
}

pub(super) fn add(w: &mut StudyWritten, from: &str, id: &str, name: &str) -> Result<(), EditError> {
    let at = index(w, from)?;
    let name = field::text(TreatmentRow::name, name.trim())?;
    if w.treatments().len() >= MOST_TREATMENTS {
        let found = Found::Count(MOST_TREATMENTS + 1);
        return Err(bad("treatments", found, Allowed::AtMost(MOST_TREATMENTS)));
    }
    let id = if id.is_empty() {
        free_id(w, &name)
    } else {
        id.to_owned()
    };
    short_name("treatment", &id)?;
    if index(w, &id).is_ok() {
        return Err(EditError::BadName {
            what: "treatment",
            id,
            why: NameFault::Taken,
        });
    }
    let mut row = Row::new(&TREATMENT);
    row.put(TreatmentRow::id, &id);
    row.put(TreatmentRow::name, &name);
    row.put(TreatmentRow::from, from);
    w.root.rows_mut(RootRow::treatment).insert(at + 1, row);
    Ok(())
}

pub(super) fn remove(w: &mut StudyWritten, id: &str) -> Result<(), EditError> {
    let at = index(w, id)?;
    let control = w.root.row(RootRow::study);
    let control = control.and_then(|s| s.get(StudyRow::control));
    // A study has at least one treatment.
    if control == Some(id) || w.treatments().len() == 1 {
        return Err(EditError::IsControl {
            treatment: id.to_owned(),
        });
    }
    let children: Vec<String> = w
        .treatments()
        .iter()
        .filter(|t| t.get(TreatmentRow::from) == Some(id))
        .filter_map(|t| t.get(TreatmentRow::id))
        .map(str::to_owned)
        .collect();
    if !children.is_empty() {
        return Err(EditError::HasChildren {
            treatment: id.to_owned(),
            children,
        });
    }
    w.root.rows_mut(RootRow::treatment).remove(at);
    Ok(())
}

pub(super) fn move_before(
    w: &mut StudyWritten,
    id: &str,
    before: Option<&str>,
) -> Result<(), EditError> {
    let at = index(w, id)?;
    if let Some(before) = before {
        index(w, before)?;
    }
    if before == Some(id) {
        return Ok(());
    }
    let rows = w.root.rows_mut(RootRow::treatment);
    let row = rows.remove(at);
    let to = before.and_then(|b| rows.iter().position(|t| t.get(TreatmentRow::id) == Some(b)));
    rows.insert(to.unwrap_or(rows.len()), row);
    Ok(())
}
