//! Treatments: add from another, take out, order.

use super::{EditError, bad, rows_mut};
use crate::written::tables::{MOST_TREATMENTS, TREATMENT};
use crate::written::{Row, StudyWritten, Value};

/// Where a treatment stands.
pub(super) fn index(w: &StudyWritten, id: &str) -> Result<usize, EditError> {
    let rows = w.root.rows("treatment");
    rows.iter()
        .position(|t| t.text("id") == Some(id))
        .ok_or_else(|| EditError::NoTreatment {
            treatment: id.chars().take(80).collect(),
            there: rows
                .iter()
                .filter_map(|t| t.text("id"))
                .map(str::to_owned)
                .collect(),
        })
}

pub(super) fn get<'a>(w: &'a StudyWritten, id: &str) -> Result<&'a Row, EditError> {
    index(w, id).map(|i| &w.root.rows("treatment")[i])
}

pub(super) fn get_mut<'a>(w: &'a mut StudyWritten, id: &str) -> Result<&'a mut Row, EditError> {
    let i = index(w, id)?;
    Ok(&mut rows_mut(&mut w.root, "treatment")[i])
}

/// Whether a short name can be one.
pub(super) fn short_name(what: &'static str, id: &str) -> Result<(), EditError> {
    let plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_' || c == '-';
    if !id.is_empty() && id.len() <= 60 && id.chars().all(plain) {
        return Ok(());
    }
    Err(EditError::BadName {
        what,
        id: id.chars().take(60).collect(),
        why: "can't be a short name; write 1 to 60 of a–z, 0–9, _ and -".to_owned(),
    })
}

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
    let taken = |id: &str| {
        w.root
            .rows("treatment")
            .iter()
            .any(|t| t.text("id") == Some(id))
    };
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
    let name = name.trim();
    let length = name.chars().count();
    if !(1..=200).contains(&length) {
        return Err(bad(
            "name",
            format!("{length} letters long"),
            "1 to 200 letters",
        ));
    }
    if w.root.rows("treatment").len() >= MOST_TREATMENTS {
        return Err(bad(
            "treatments",
            MOST_TREATMENTS + 1,
            format!("at most {MOST_TREATMENTS} in a study"),
        ));
    }
    let id = if id.is_empty() {
        free_id(w, name)
    } else {
        id.to_owned()
    };
    short_name("treatment", &id)?;
    if index(w, &id).is_ok() {
        return Err(EditError::BadName {
            what: "treatment",
            id,
            why: "is there already; give another name".to_owned(),
        });
    }
    let mut row = Row::new(&TREATMENT);
    for (key, text) in [("id", id.as_str()), ("name", name), ("from", from)] {
        row.set(key, Value::Text(text.to_owned()));
    }
    rows_mut(&mut w.root, "treatment").insert(at + 1, row);
    Ok(())
}

pub(super) fn remove(w: &mut StudyWritten, id: &str) -> Result<(), EditError> {
    let at = index(w, id)?;
    if w.root.row("study").and_then(|s| s.text("control")) == Some(id) {
        return Err(EditError::IsControl {
            treatment: id.to_owned(),
        });
    }
    let children: Vec<String> = w
        .root
        .rows("treatment")
        .iter()
        .filter(|t| t.text("from") == Some(id))
        .filter_map(|t| t.text("id"))
        .map(str::to_owned)
        .collect();
    if !children.is_empty() {
        return Err(EditError::HasChildren {
            treatment: id.to_owned(),
            children,
        });
    }
    rows_mut(&mut w.root, "treatment").remove(at);
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
    let rows = rows_mut(&mut w.root, "treatment");
    let row = rows.remove(at);
    let to = before.and_then(|b| rows.iter().position(|t| t.text("id") == Some(b)));
    rows.insert(to.unwrap_or(rows.len()), row);
    Ok(())
}
