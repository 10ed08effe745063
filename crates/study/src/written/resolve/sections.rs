//! The sections that the study has and a treatment may have values of its own in.

use super::super::StudyWritten;
use super::super::row::Row;
use super::super::tables::{
    CoolingRow, DoughRow, LearnedRow, LineRow, OvenRow, PackRow, PieceRow, ProcessRow, RootRow,
    TREATMENT, TreatmentRow,
};
use super::super::typed::Told;
use super::over::{table_over, with_preset};

/// The keys of the sections.
pub(super) const SECTIONS: [&str; 8] = [
    TreatmentRow::piece.name,
    TreatmentRow::process.name,
    TreatmentRow::dough.name,
    TreatmentRow::oven.name,
    TreatmentRow::cooling.name,
    TreatmentRow::pack.name,
    TreatmentRow::line.name,
    TreatmentRow::learned.name,
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
    pub learned: &'r Told<Option<LearnedRow<'a>>>,
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
                    learned: &of.learned,
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
            Some(below) => table_over(&below, own),
            None => own.clone(),
        });
    }
    held
}

/// The oven as it holds for a treatment or for the study, what its preset says included.
pub(crate) fn oven_holding(written: &StudyWritten, treatment: Option<&str>) -> Option<Row> {
    let held = holding(written, treatment, TreatmentRow::oven.name)?;
    Some(with_preset(&held).into_owned())
}
