//! A table: rows of cells.

use serde::{Deserialize, Serialize};

use super::error::wrong_cell;
use super::{Decimal, TableError, read_number, write_number};

/// One cell.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub enum Cell {
    /// Nothing.
    #[default]
    Empty,
    /// Text; from CSV, numbers too.
    Text(String),
    /// A number that the file itself holds as one.
    Number(f64),
}

impl From<&str> for Cell {
    fn from(text: &str) -> Cell {
        if text.is_empty() {
            Cell::Empty
        } else {
            Cell::Text(text.to_owned())
        }
    }
}

impl From<f64> for Cell {
    fn from(value: f64) -> Cell {
        Cell::Number(value)
    }
}

/// Rows of cells. Rows may differ in length; what is beyond a row's end is empty.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Table {
    /// The rows, the first of which is often the heading.
    pub rows: Vec<Vec<Cell>>,
}

impl Table {
    /// The cell in a row and column counted from 0; empty beyond the table.
    pub fn cell(&self, row: usize, column: usize) -> &Cell {
        const EMPTY: &Cell = &Cell::Empty;
        self.rows
            .get(row)
            .and_then(|row| row.get(column))
            .unwrap_or(EMPTY)
    }

    /// The text of a cell without space around it; none if there is none. A number is written with a
    /// decimal point: a lot that a spreadsheet took for the number 4711 is the text `4711`.
    pub fn text(&self, row: usize, column: usize) -> Option<String> {
        match self.cell(row, column) {
            Cell::Empty => None,
            Cell::Text(text) => Some(text.trim().to_owned()).filter(|text| !text.is_empty()),
            Cell::Number(value) => write_number(*value, Decimal::Point),
        }
    }

    /// The number in a cell; none if it is empty.
    ///
    /// # Errors
    /// [`TableError::Cell`] with row and column, if there is something else than a number.
    pub fn number(
        &self,
        row: usize,
        column: usize,
        decimal: Decimal,
    ) -> Result<Option<f64>, TableError> {
        match self.cell(row, column) {
            Cell::Number(value) if value.is_finite() => Ok(Some(*value)),
            Cell::Number(value) => Err(wrong_cell(row, column, format!("{value} is not a number"))),
            _ => self
                .text(row, column)
                .map(|text| {
                    read_number(&text, decimal).map_err(|what| wrong_cell(row, column, what))
                })
                .transpose(),
        }
    }

    /// Takes off the empty cells at the ends of rows and the empty rows at the end.
    pub(crate) fn trimmed(mut self) -> Table {
        for row in &mut self.rows {
            let filled = row.iter().rposition(|cell| *cell != Cell::Empty);
            row.truncate(filled.map_or(0, |last| last + 1));
        }
        let filled = self.rows.iter().rposition(|row| !row.is_empty());
        self.rows.truncate(filled.map_or(0, |last| last + 1));
        self
    }
}

/// The letters that spreadsheets give to a column counted from 1.
///
/// ```
/// use book::exchange::column_letters;
/// assert_eq!([1, 26, 27, 702, 703].map(column_letters), ["A", "Z", "AA", "ZZ", "AAA"]);
/// ```
pub fn column_letters(column: usize) -> String {
    let mut letters = Vec::new();
    let mut rest = column;
    while rest > 0 {
        letters.push(char::from(b'A' + ((rest - 1) % 26) as u8));
        rest = (rest - 1) / 26;
    }
    letters.iter().rev().collect()
}
