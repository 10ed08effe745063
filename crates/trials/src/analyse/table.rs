//! Tidy data: named columns, typed cells, and the row of the file each came from.

use crate::Code;
use measure::{Finding, Severity};

/// A cell.
#[derive(Clone, Debug, PartialEq)]
pub enum Cell {
    /// A number, written the shortest way.
    Number(f64),
    /// A number written another way (`1.10`, `007`, `1E1`): as a label it is what was written.
    Written(f64, Box<str>),
    /// Anything else that was written.
    Text(Box<str>),
    /// Nothing, or a mark for missing.
    Empty,
}

/// A cell's label, told from others without writing it out: a number that is written the shortest way
/// is one with no other writing.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Key<'a> {
    /// The bits of a number.
    Number(u64),
    /// What was written.
    Text(&'a str),
}

/// Marks that mean "not measured".
const MISSING: [&str; 7] = ["", "na", "n/a", "nan", "null", "-", "."];

impl Cell {
    /// The cell of a text that was read as the number `value`, or as none. Which texts are numbers
    /// is for the reader of the file to say; a level's name stays as it was written.
    ///
    /// ```
    /// use trials::analyse::Cell;
    /// assert_eq!(Cell::of("12.5", Some(12.5)), Cell::Number(12.5));
    /// assert_eq!(Cell::of("1.10", Some(1.1)).label().unwrap(), "1.10");
    /// assert_eq!(Cell::of(" NA ", None), Cell::Empty);
    /// ```
    pub fn of(text: &str, value: Option<f64>) -> Self {
        let text = text.trim();
        if text.len() <= 4 && MISSING.iter().any(|m| m.eq_ignore_ascii_case(text)) {
            return Self::Empty;
        }
        match value {
            Some(value) if shortest(text) => Self::Number(value),
            Some(value) => Self::Written(value, text.into()),
            None => Self::Text(text.into()),
        }
    }

    /// The number in it.
    ///
    /// - Rule: the number read, whatever is written beside it
    /// - Units: \[as the column\]
    /// - Valid: any cell; none for words and empty cells
    /// - Source: a look-up, nothing is reckoned
    ///
    /// ```
    /// use trials::analyse::Cell;
    /// assert_eq!((Cell::Number(4.5).number(), Cell::Empty.number()), (Some(4.5), None));
    /// ```
    pub fn number(&self) -> Option<f64> {
        match self {
            Self::Number(value) | Self::Written(value, _) => Some(*value),
            Self::Text(_) | Self::Empty => None,
        }
    }

    /// What tells its label from others without writing it out; none when empty.
    pub fn key(&self) -> Option<Key<'_>> {
        match self {
            Self::Number(value) => Some(Key::Number(value.to_bits())),
            Self::Written(_, text) | Self::Text(text) => Some(Key::Text(text)),
            Self::Empty => None,
        }
    }

    /// What it says as a label; none when empty.
    pub fn label(&self) -> Option<String> {
        match self {
            Self::Number(value) => Some(format!("{value}")),
            Self::Written(_, text) | Self::Text(text) => Some(text.to_string()),
            Self::Empty => None,
        }
    }
}

/// Whether a number is written just as it would be shown: then only the number needs keeping.
fn shortest(text: &str) -> bool {
    let digits = text.strip_prefix('-').unwrap_or(text);
    let (whole, part) = digits.split_once('.').unwrap_or((digits, "0"));
    let plain = |s: &str| !s.is_empty() && s.bytes().all(|b| b.is_ascii_digit());
    digits.len() <= 16
        && whole.len() + part.len() <= 15
        && plain(whole)
        && plain(part)
        && (whole == "0" || !whole.starts_with('0'))
        && (!digits.contains('.') || !part.ends_with('0'))
        && text != "-0"
}

/// A column.
#[derive(Clone, Debug, PartialEq)]
pub struct Column {
    /// Name from the header.
    pub name: String,
    /// One cell per row.
    pub cells: Vec<Cell>,
}

/// A table.
#[derive(Clone, Debug, PartialEq)]
pub struct Table {
    /// Columns in the order of the file.
    pub columns: Vec<Column>,
    /// Row of the file for each row of data; the header is row 1.
    pub row_numbers: Vec<usize>,
}

/// A problem in a table: which row and column, and what to do.
pub(super) fn problem(row: usize, column: &str, message: String, help: &str) -> Finding {
    let about = if column.is_empty() {
        format!("row {row}")
    } else {
        format!("row {row}, column {column}")
    };
    Finding::new(
        Severity::Stop,
        Code::TableCannotBeRead,
        about.clone(),
        format!("{about}: {message}"),
    )
    .help(help)
}

impl Table {
    /// A table from a header and rows of cells, each with its row in the file (the header is row 1).
    ///
    /// ```
    /// use trials::analyse::{Cell, Table};
    /// let rows = vec![(2, vec![Cell::of("A", None), Cell::Number(12.5)])];
    /// let table = Table::from_rows(vec!["treatment".into(), "force".into()], rows).unwrap();
    /// assert_eq!(table.columns[1].cells[0].number(), Some(12.5));
    /// ```
    ///
    /// # Errors
    /// Findings that name the row and the column: no rows, unnamed or twice-named columns, rows of
    /// another length.
    pub fn from_rows(
        mut header: Vec<String>,
        rows: Vec<(usize, Vec<Cell>)>,
    ) -> Result<Self, Vec<Finding>> {
        let mut problems = Vec::new();
        // An unnamed first column holds row numbers, as statistics programs write them.
        if header.len() > 1 && header[0].is_empty() {
            header[0] = "row_number".into();
        }
        for (i, name) in header.iter().enumerate() {
            if name.is_empty() && i + 1 < header.len() {
                problems.push(problem(
                    1,
                    "",
                    format!("column {} has no name", i + 1),
                    "name every column in the first row",
                ));
            } else if header[..i].contains(name) && !name.is_empty() {
                problems.push(problem(
                    1,
                    name,
                    "two columns have this name".into(),
                    "give each column its own name",
                ));
            }
        }
        if rows.is_empty() {
            problems.push(problem(
                2,
                "",
                "there are no rows under the header".into(),
                "give one row per observation",
            ));
        }
        let width = header.len();
        let mut columns: Vec<Column> = header
            .into_iter()
            .map(|name| Column {
                name,
                cells: Vec::with_capacity(rows.len()),
            })
            .collect();
        let mut row_numbers = Vec::with_capacity(rows.len());
        for (number, mut cells) in rows {
            while cells.len() > width && cells.last() == Some(&Cell::Empty) {
                cells.pop();
            }
            if cells.len() != width {
                if problems.len() < 20 {
                    problems.push(problem(
                        number,
                        "",
                        format!("{} cells where the header has {width}", cells.len()),
                        "a decimal comma inside a number parts it in two: write a point, or say that decimals are commas",
                    ));
                }
                continue;
            }
            row_numbers.push(number);
            for (column, cell) in columns.iter_mut().zip(cells) {
                column.cells.push(cell);
            }
        }
        if problems.is_empty() {
            // A last column without name and content is a trailing separator.
            columns.retain(|c| !c.name.is_empty());
            Ok(Self {
                columns,
                row_numbers,
            })
        } else {
            Err(problems)
        }
    }

    /// A column by name, whatever the case.
    pub fn column(&self, name: &str) -> Option<&Column> {
        let wanted = name.trim().to_lowercase();
        self.columns.iter().find(|c| c.name == name).or_else(|| {
            self.columns
                .iter()
                .find(|c| c.name.to_lowercase() == wanted)
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn labels_stay_as_written() {
        for (text, value) in [
            ("1.1", 1.1),
            ("1.10", 1.1),
            ("007", 7.0),
            ("7", 7.0),
            ("1E1", 10.0),
            ("10", 10.0),
            ("-0", 0.0),
            ("0.5", 0.5),
            (".5", 0.5),
            ("12,50", 12.5),
            ("\u{2212}3", -3.0),
            ("12345678901234567890", 12_345_678_901_234_567_890.0),
        ] {
            let cell = Cell::of(text, Some(value));
            assert_eq!(cell.label().as_deref(), Some(text));
            assert_eq!(cell.number(), Some(value));
        }
        assert_eq!(Cell::of("n/a", None), Cell::Empty);
        assert_eq!(Cell::of("none", None).label().as_deref(), Some("none"));
    }

    #[test]
    fn what_cannot_be_a_table_is_said() {
        let names = |n: &[&str]| n.iter().map(|s| (*s).to_owned()).collect::<Vec<_>>();
        let one = || vec![(2, vec![Cell::Number(1.0), Cell::Number(2.0)])];
        assert!(Table::from_rows(names(&["a", "b"]), Vec::new()).is_err());
        let twice = Table::from_rows(names(&["a", "a"]), one()).unwrap_err();
        assert!(twice[0].message.contains("two columns"));
        // Row numbers written by a statistics program, and a trailing separator.
        let row = vec![Cell::Number(1.0), Cell::Number(2.0), Cell::Empty];
        let named = Table::from_rows(names(&["", "y", ""]), vec![(2, row)]).unwrap();
        assert_eq!(named.columns.len(), 2);
        assert_eq!(named.columns[0].name, "row_number");
    }
}
