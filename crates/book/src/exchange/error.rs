//! What can be wrong with a table, with the row and column.

use std::path::PathBuf;

use super::column_letters;

/// Why a table could not be read or written.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum TableError {
    /// The file, or what it unpacks to, is too large.
    #[error(
        "the table is too large: {what} of at most {most}. Split it, or leave out what is not needed."
    )]
    TooLarge {
        /// What there is too much of, such as `more than 500 columns`.
        what: String,
        /// How much is allowed.
        most: String,
    },
    /// One cell is wrong.
    #[error("row {row}, column {} ({column}): {what}.", column_letters(*column))]
    Cell {
        /// The row, counted from 1.
        row: usize,
        /// The column, counted from 1.
        column: usize,
        /// What is wrong and what is allowed.
        what: String,
    },
    /// The file is not what it should be.
    #[error("this is not a table that can be read: {what}.")]
    NotATable {
        /// What is wrong.
        what: String,
    },
    /// There is no such sheet.
    #[error("there is no sheet called ‘{asked}’. The file has: {}.", found.join(", "))]
    NoSuchSheet {
        /// The name asked for.
        asked: String,
        /// The sheets that there are.
        found: Vec<String>,
    },
    /// The file could not be read.
    #[error("{} could not be read: {what}. Check the path and its permissions.", path.display())]
    File {
        /// The file.
        path: PathBuf,
        /// The words of the system.
        what: String,
    },
}

/// A cell counted from 0 is wrong.
pub(crate) fn wrong_cell(row: usize, column: usize, what: impl Into<String>) -> TableError {
    TableError::Cell {
        row: row + 1,
        column: column + 1,
        what: what.into(),
    }
}
