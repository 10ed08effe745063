//! A study that is worked out while somebody is still typing.

use super::Put;
use crate::model::{Basis, Study};
use crate::written::tables::TreatmentRow;
use crate::written::{Code, Problem, StudyWritten, Word, read, resolve};

/// The study resolved. Formulas that don't sum to 100 yet are taken in proportion, and named, so
/// that the answers follow while somebody is still typing; every problem is told either way.
pub fn in_proportion(
    written: &StudyWritten,
    text: &str,
) -> (Option<Study>, Vec<Problem>, Vec<String>) {
    let problems = match resolve(written) {
        Ok(study) => return (Some(study), Vec::new(), Vec::new()),
        // Lines are shown beside problems: those of the text as it stands now.
        Err(problems) if problems.iter().any(|p| p.span.is_none()) => {
            read(text).err().unwrap_or(problems)
        }
        Err(problems) => problems,
    };
    match by_parts(written, &problems) {
        Some((study, sums)) => (Some(study), problems, sums),
        None => (None, problems, Vec::new()),
    }
}

/// The study resolved, in proportion if need be; none where something else is wrong than a sum.
pub fn worked_out(written: &StudyWritten) -> Option<Study> {
    match resolve(written) {
        Ok(study) => Some(study),
        Err(problems) => by_parts(written, &problems).map(|(study, _)| study),
    }
}

/// The study whose formulas that don't sum to 100 are taken in proportion, and their ids.
fn by_parts(written: &StudyWritten, problems: &[Problem]) -> Option<(Study, Vec<String>)> {
    let sums: Vec<String> = problems
        .iter()
        .filter(|p| p.code() == Code::Sum)
        .filter_map(|p| p.path.treatment())
        .filter(|id| with_lines(written, id))
        .map(str::to_owned)
        .collect();
    if sums.is_empty() || problems.iter().any(|p| p.code() != Code::Sum) {
        return None;
    }
    let study = in_parts(written, &sums).and_then(|w| resolve(&w).ok())?;
    Some((study, sums))
}

fn with_lines(written: &StudyWritten, id: &str) -> bool {
    let row = written.treatment(id);
    row.is_some_and(|t| t.has(TreatmentRow::lines.name))
}

/// The same study with some treatments told in parts; those that start from them keep the basis
/// they had.
fn in_parts(written: &StudyWritten, ids: &[String]) -> Option<StudyWritten> {
    let mut w = written.clone();
    let set = |w: &mut StudyWritten, id: &str, basis: Basis| {
        let value = Put::Text(Word::written(basis).to_owned());
        let path = TreatmentRow::percent_of.name;
        super::field::set(w, Some(id), path, Some(&value)).ok()
    };
    for row in written.treatments() {
        let (Some(id), Some(from)) = (row.get(TreatmentRow::id), row.get(TreatmentRow::from))
        else {
            continue;
        };
        if ids.iter().any(|i| i == from) && !row.has(TreatmentRow::percent_of.name) {
            let basis = written.treatment(from)?.get(TreatmentRow::percent_of);
            set(&mut w, id, basis.unwrap_or(Basis::Mix))?;
        }
    }
    for id in ids {
        set(&mut w, id, Basis::Parts)?;
    }
    w.edited();
    Some(w)
}
