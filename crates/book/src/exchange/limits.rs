//! How large a table may be: checked before memory is given to it.

use std::io::Read;
use std::path::Path;

use super::TableError;
use super::error::wrong_cell;

/// How large a table may be.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Limits {
    /// Bytes of the file.
    pub bytes: usize,
    /// Bytes that a packed file unpacks to, and of all text in a table.
    pub unpacked_bytes: usize,
    /// Rows.
    pub rows: usize,
    /// Columns.
    pub columns: usize,
    /// Cells, counting every row up to its last filled one.
    pub cells: usize,
    /// Bytes of one cell.
    pub cell_bytes: usize,
}

impl Limits {
    /// What a table of materials or measurements never comes near (common practice, no source; the
    /// cell's limit is about three times what a spreadsheet cell holds).
    pub const USUAL: Limits = Limits {
        bytes: 10_000_000,
        unpacked_bytes: 32_000_000,
        rows: 100_000,
        columns: 500,
        cells: 1_000_000,
        cell_bytes: 100_000,
    };

    pub(crate) fn check_bytes(&self, bytes: usize) -> Result<(), TableError> {
        if bytes <= self.bytes {
            return Ok(());
        }
        Err(TableError::TooLarge {
            what: format!("a file of more than {}", megabytes(self.bytes)),
            most: megabytes(self.bytes),
        })
    }

    pub(crate) fn check_row(&self, row: usize) -> Result<(), TableError> {
        if row < self.rows {
            return Ok(());
        }
        Err(TableError::TooLarge {
            what: format!("row {} is in use", row + 1),
            most: format!("{} rows", self.rows),
        })
    }

    pub(crate) fn check_column(&self, row: usize, column: usize) -> Result<(), TableError> {
        if column < self.columns {
            return Ok(());
        }
        Err(TableError::TooLarge {
            what: format!("row {} has a cell in column {}", row + 1, column + 1),
            most: format!("{} columns", self.columns),
        })
    }

    pub(crate) fn check_cells(&self, row: usize, cells: usize) -> Result<(), TableError> {
        if cells <= self.cells {
            return Ok(());
        }
        Err(TableError::TooLarge {
            what: format!("up to row {} there are {cells} cells", row + 1),
            most: format!("{} cells", self.cells),
        })
    }

    pub(crate) fn check_text(
        &self,
        row: usize,
        column: usize,
        text: usize,
        all_text: usize,
    ) -> Result<(), TableError> {
        if text > self.cell_bytes {
            let what = format!(
                "the cell has {text} bytes, at most {} are read; perhaps a quotation mark is not closed",
                self.cell_bytes
            );
            return Err(wrong_cell(row, column, what));
        }
        if all_text > self.unpacked_bytes {
            return Err(TableError::TooLarge {
                what: format!("up to row {} the text has {}", row + 1, megabytes(all_text)),
                most: megabytes(self.unpacked_bytes),
            });
        }
        Ok(())
    }
}

pub(crate) fn megabytes(bytes: usize) -> String {
    format!("{:.1} MB", bytes as f64 / 1e6)
}

/// Reads a file, if it is within the limits.
///
/// # Errors
/// [`TableError::File`] and [`TableError::TooLarge`].
pub fn bytes_of(path: &Path, limits: &Limits) -> Result<Vec<u8>, TableError> {
    let told = |error: std::io::Error| TableError::File {
        path: path.to_owned(),
        what: error.to_string(),
    };
    let file = std::fs::File::open(path).map_err(told)?;
    let mut bytes = Vec::new();
    file.take(limits.bytes as u64 + 1)
        .read_to_end(&mut bytes)
        .map_err(told)?;
    limits.check_bytes(bytes.len())?;
    Ok(bytes)
}
