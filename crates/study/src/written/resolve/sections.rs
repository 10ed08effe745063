//! The sections that the study has and a treatment may have values of its own in: own values over
//! those they start from, whatever the tables.

use super::super::StudyWritten;
use super::super::row::{Row, Value};
use super::super::tables::{
    CoolingRow, DOCKER, DockerRow, DoughRow, FORMER, FormerRow, LineRow, OVEN, OvenRow, PIECE,
    PackRow, PieceRow, ProcessRow, RootRow, TREATMENT, TreatmentRow, either, shapes,
};
use super::super::typed::Told;
use super::oven;

/// The keys of the sections.
pub(super) const SECTIONS: [&str; 7] = [
    TreatmentRow::piece.name,
    TreatmentRow::process.name,
    TreatmentRow::dough.name,
    TreatmentRow::oven.name,
    TreatmentRow::cooling.name,
    TreatmentRow::pack.name,
    TreatmentRow::line.name,
];

/// The sections of the study, or of a treatment.
pub(super) struct Sections<'r, 'a> {
    pub row: &'a Row,
    pub piece: &'r Told<Option<PieceRow<'a>>>,
    pub process: &'r Told<Option<ProcessRow<'a>>>,
    pub dough: &'r Told<Option<DoughRow<'a>>>,
    pub oven: &'r Told<Option<OvenRow<'a>>>,
    pub cooling: &'r Told<Option<CoolingRow<'a>>>,
    pub pack: &'r Told<Option<PackRow<'a>>>,
    pub line: &'r Told<Option<LineRow<'a>>>,
}

macro_rules! sections_of {
    ($row:ident) => {
        impl<'r, 'a> From<&'r $row<'a>> for Sections<'r, 'a> {
            fn from(of: &'r $row<'a>) -> Self {
                Self {
                    row: of.row,
                    piece: &of.piece,
                    process: &of.process,
                    dough: &of.dough,
                    oven: &of.oven,
                    cooling: &of.cooling,
                    pack: &of.pack,
                    line: &of.line,
                }
            }
        }
    };
}
sections_of!(RootRow);
sections_of!(TreatmentRow);

/// The sections that are written in a row, as the row of a treatment.
pub(super) fn only(row: &Row) -> Row {
    let mut sections = Row::new(&TREATMENT);
    sections.place = row.place.clone();
    sections.failed.extend(&row.failed);
    sections.entries = row
        .entries
        .iter()
        .filter(|e| SECTIONS.contains(&e.key))
        .cloned()
        .collect();
    sections
}

/// `own` over `base`, key by key; tables in tables alike, arrays as a whole.
pub(super) fn over(base: &Row, own: &Row) -> Row {
    let mut merged = base.clone();
    merged.place = own.place.clone();
    merged.failed.extend(&own.failed);
    // A fitted edge is that of one piece.
    if std::ptr::eq(own.table, &PIECE) && own.entries.iter().any(|e| shapes(e.key)) {
        merged.take(PieceRow::edge_path_share);
    }
    // One of two ways of telling the film gives way to the other.
    for [film, other] in either::PACK {
        for (key, gone) in [(film, other), (other, film)] {
            if own.has(key) {
                merged.remove(gone);
            }
        }
    }
    for entry in &own.entries {
        let Some(there) = merged.entries.iter_mut().find(|e| e.key == entry.key) else {
            merged.push(entry.clone());
            continue;
        };
        there.place = entry.place.clone();
        there.value = match (&there.value, &entry.value) {
            (Value::Row(below), Value::Row(own)) => Value::Row(table_over(below, own)),
            (_, value) => value.clone(),
        };
    }
    merged
}

fn table_over(below: &Row, own: &Row) -> Row {
    let table = own.table;
    if std::ptr::eq(table, &OVEN) {
        return oven::over(below, own);
    }
    if std::ptr::eq(table, &FORMER) {
        // Another kind of former has other measures.
        let kind = own.get(FormerRow::kind);
        if kind.is_some() && kind != below.get(FormerRow::kind) {
            return own.clone();
        }
    }
    if std::ptr::eq(table, &DOCKER) {
        // Another pattern has other places.
        let pattern = own.get(DockerRow::pattern);
        if pattern.is_some() && pattern != below.get(DockerRow::pattern) {
            let mut rest = below.clone();
            rest.take(DockerRow::ring_mm);
            rest.take(DockerRow::points_mm);
            return over(&rest, own);
        }
    }
    over(below, own)
}

/// A section as it holds for a treatment, or for the study when none is named: what is written there over what it
/// starts from.
pub(crate) fn holding(
    written: &StudyWritten,
    treatment: Option<&str>,
    section: &str,
) -> Option<Row> {
    let mut chain = Vec::new();
    let mut at = treatment.and_then(|id| written.treatment(id));
    while let Some(row) = at.filter(|_| chain.len() <= written.treatments().len()) {
        chain.push(row);
        at = row
            .get(TreatmentRow::from)
            .and_then(|id| written.treatment(id));
    }
    let mut held = written.root.below(section).cloned();
    for own in chain.iter().rev().filter_map(|t| t.below(section)) {
        held = Some(match held {
            Some(below) => over(&below, own),
            None => own.clone(),
        });
    }
    held
}
