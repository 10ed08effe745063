//! Treatments as written, by their short names.

use super::{EditError, NameFault};
use crate::written::tables::{RootRow, TreatmentRow};
use crate::written::{Row, StudyWritten, reader::is_id};

/// Where a treatment stands.
pub(super) fn index(w: &StudyWritten, id: &str) -> Result<usize, EditError> {
    let rows = w.treatments();
    rows.iter()
        .position(|t| t.get(TreatmentRow::id) == Some(id))
        .ok_or_else(|| EditError::NoTreatment {
            treatment: id.chars().take(80).collect(),
            there: rows
                .iter()
                .filter_map(|t| t.get(TreatmentRow::id))
                .map(str::to_owned)
                .collect(),
        })
}

pub(super) fn get<'a>(w: &'a StudyWritten, id: &str) -> Result<&'a Row, EditError> {
    index(w, id).map(|i| &w.treatments()[i])
}

pub(super) fn get_mut<'a>(w: &'a mut StudyWritten, id: &str) -> Result<&'a mut Row, EditError> {
    let i = index(w, id)?;
    Ok(&mut w.root.rows_mut(RootRow::treatment)[i])
}

/// Whether a short name can be one.
pub(super) fn short_name(what: &'static str, id: &str) -> Result<(), EditError> {
    if is_id(id) {
        return Ok(());
    }
    Err(EditError::BadName {
        what,
        id: id.chars().take(60).collect(),
        why: NameFault::NotShort,
    })
}
