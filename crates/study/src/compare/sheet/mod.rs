//! The side-by-side sheet: the formulas of all treatments, and under them what they do, beside the control.
//!
//! This is the one place that decides what stands in which row and cell, with which mark, decimals and sense. The
//! terminal, the report and the page only draw it.

mod amounts;
mod figures;
mod per;

pub use figures::{figure_cell, limits_row};
pub use per::Per;

use super::{Bound, Compared, Figure};
use crate::compare::figure::Part;
use crate::model::Study;
use amounts::{Amounts, amount_groups};
use formula::Stage;
use measure::Severity;

/// The sheet of a study; its first column is the control.
#[derive(Clone, Debug, PartialEq)]
pub struct Sheet {
    /// What amounts are told per.
    pub per: Per,
    /// The treatments, the control first.
    pub columns: Vec<Column>,
    /// Rows under their headings.
    pub groups: Vec<Group>,
}

/// A treatment in the sheet.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Column {
    /// Its short name.
    pub id: String,
    /// Its name.
    pub name: String,
}

/// Rows under one heading.
#[derive(Clone, Debug, PartialEq)]
pub struct Group {
    /// The heading, empty for none.
    pub name: &'static str,
    /// Its rows.
    pub rows: Vec<Row>,
}

/// What a row tells.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum RowKind {
    /// The amount of a material.
    Amount {
        /// When it goes in.
        stage: Stage,
        /// The material's id.
        material: String,
    },
    /// What the mix asks for, under the water.
    Need,
    /// The sum of all amounts.
    Sum,
    /// A figure of the knock-on.
    Figure(Figure),
    /// The 95 % limits of the figure above.
    Limits(Figure),
    /// How many findings of a severity there are.
    Findings(Severity),
}

/// A row: a cell for each column.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// What it tells.
    pub kind: RowKind,
    /// Its name.
    pub name: String,
    /// Unit of its numbers, the currency in it; empty for none.
    pub unit: String,
    /// Decimals its numbers are shown with, by the control.
    pub decimals: usize,
    /// The cells.
    pub cells: Vec<Cell>,
}

/// What stands in a cell.
#[derive(Clone, Debug, PartialEq)]
pub enum Shown {
    /// Nothing belongs there.
    Empty,
    /// It isn't known, and why.
    Unknown(String),
    /// A number, and how it stands to what it tells.
    Number(f64, Bound),
    /// More than a number, beyond which nothing is told.
    MoreThan(f64),
    /// A number with its 95 % limits.
    Interval {
        /// Mean.
        mean: f64,
        /// Lower limit.
        low: f64,
        /// Upper limit.
        high: f64,
        /// How it stands to what it tells.
        bound: Bound,
    },
    /// 95 % limits alone.
    Limits {
        /// Lower limit.
        low: f64,
        /// Upper limit.
        high: f64,
    },
    /// How many.
    Count(usize),
}

/// A cell's difference from the control.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Change {
    /// A material that the control doesn't have.
    New,
    /// So much more or less.
    By {
        /// How much, by the numbers as they are shown.
        value: f64,
        /// How it stands to what it tells.
        bound: Bound,
        /// What such a difference is called, as `slower`, where one way is better and it surely goes this way.
        word: Option<&'static str>,
    },
    /// 95 % limits of the difference above.
    Limits {
        /// Lower limit.
        low: f64,
        /// Upper limit.
        high: f64,
    },
}

/// How a cell's number is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Known {
    /// Worked out from what was given.
    Calculated,
    /// Worked out from what one's own bakes and doughs taught.
    Learned,
    /// Stands on numbers that are assumed or recalled above all.
    Assumed,
    /// Outside of what its model was held against.
    Beyond,
}

/// A cell.
#[derive(Clone, Debug, PartialEq)]
pub struct Cell {
    /// What it shows.
    pub shown: Shown,
    /// Its difference from the control.
    pub change: Option<Change>,
    /// How it is known.
    pub known: Known,
}

impl Cell {
    fn of(shown: Shown) -> Self {
        Self {
            shown,
            change: None,
            known: Known::Calculated,
        }
    }

    fn known(self, known: Known) -> Self {
        Self { known, ..self }
    }
}

/// The sheet of treatments that were compared, the control first among them.
///
/// ```
/// use study::compare::{Per, sheet};
/// use study::{BakeOptions, compare};
///
/// let study = study::written::read(include_str!("../../../../../examples/spent-grain.toml")).unwrap();
/// let compared = compare(&study, &[&study.treatments[1]], &BakeOptions::QUICK).unwrap();
/// let sheet = sheet(&study, &compared, Per::Mix);
/// assert_eq!(sheet.columns.len(), 2);
/// assert!(sheet.groups.iter().all(|g| g.rows.iter().all(|r| r.cells.len() == 2)));
/// ```
pub fn sheet(study: &Study, compared: &[Compared], per: Per) -> Sheet {
    let amounts: Vec<Amounts> = compared
        .iter()
        .map(|c| Amounts::of(study, c, per))
        .collect();
    let mut groups = amount_groups(&amounts, compared, per);
    groups.extend(Part::ALL.map(|part| Group {
        name: part.word(),
        rows: figures::rows(&study.currency, compared, part),
    }));
    groups.push(notice(compared));
    Sheet {
        per,
        columns: compared
            .iter()
            .map(|c| Column {
                id: c.answer.id.clone(),
                name: c.answer.name.clone(),
            })
            .collect(),
        groups,
    }
}

/// How many findings of each severity: notes always, the others where there are any.
fn notice(compared: &[Compared]) -> Group {
    let row = |severity: Severity| {
        let count = |c: &Compared| {
            let found = c.answer.findings.iter();
            found.filter(|f| f.severity == severity).count()
        };
        let counts: Vec<usize> = compared.iter().map(count).collect();
        let told = severity == Severity::Note || counts.iter().any(|n| *n > 0);
        told.then(|| Row {
            kind: RowKind::Findings(severity),
            name: severity.word().to_owned(),
            unit: "findings".to_owned(),
            decimals: 0,
            cells: counts
                .into_iter()
                .map(|n| match n {
                    0 => Cell::of(Shown::Empty),
                    n => Cell::of(Shown::Count(n)),
                })
                .collect(),
        })
    };
    Group {
        name: "notice",
        rows: [Severity::Stop, Severity::Warn, Severity::Note]
            .into_iter()
            .filter_map(row)
            .collect(),
    }
}
