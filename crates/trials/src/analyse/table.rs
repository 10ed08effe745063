//! Tidy data: named columns, typed cells, and the row of the file each came from.

use measure::{Finding, Severity};

/// A cell.
#[derive(Clone, Debug, PartialEq)]
pub enum Cell {
    /// A number.
    Number(f64),
    /// Anything else that was written.
    Text(String),
    /// Nothing, or a mark for missing.
    Empty,
}

/// Marks that mean "not measured".
const MISSING: [&str; 7] = ["", "na", "n/a", "nan", "null", "-", "."];

impl Cell {
    /// The cell of a written value.
    ///
    /// ```
    /// use trials::analyse::Cell;
    /// assert_eq!(Cell::read("12,5", true), Cell::Number(12.5));
    /// assert_eq!(Cell::read(" NA ", false), Cell::Empty);
    /// ```
    pub fn read(text: &str, decimal_comma: bool) -> Self {
        let text = text.trim();
        if text.len() <= 4 && MISSING.contains(&text.to_lowercase().as_str()) {
            return Self::Empty;
        }
        let number = if decimal_comma && text.contains(',') {
            if text.contains('.') {
                None
            } else {
                text.replace(',', ".").parse().ok()
            }
        } else {
            text.parse().ok()
        };
        match number {
            Some(value) if f64::is_finite(value) => Self::Number(value),
            _ => Self::Text(text.to_string()),
        }
    }

    /// The number in it.
    pub fn number(&self) -> Option<f64> {
        match self {
            Self::Number(value) => Some(*value),
            Self::Text(_) | Self::Empty => None,
        }
    }

    /// What it says as a label; none when empty.
    pub fn label(&self) -> Option<String> {
        match self {
            Self::Number(value) => Some(format!("{value}")),
            Self::Text(text) => Some(text.clone()),
            Self::Empty => None,
        }
    }
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
        "table-cannot-be-read",
        about.clone(),
        format!("{about}: {message}"),
    )
    .help(help)
}

impl Table {
    /// A table from a header and rows of cells (as a spreadsheet reader gives them); the first data
    /// row is row 2.
    pub fn from_cells(header: Vec<String>, rows: Vec<Vec<Cell>>) -> Result<Self, Vec<Finding>> {
        let numbered = rows
            .into_iter()
            .enumerate()
            .map(|(i, row)| (i + 2, row))
            .collect();
        Self::assemble(header, numbered)
    }

    /// Reads CSV text: the first line names the columns; comma, semicolon or tab between cells;
    /// quotes as usual. With `decimal_comma` numbers are written 12,5 and cells parted by
    /// semicolons or tabs.
    ///
    /// ```
    /// use trials::analyse::Table;
    /// let table = Table::from_csv("treatment;force\nA;12,5\nB;13\n", true).unwrap();
    /// assert_eq!(table.columns[1].cells[0].number(), Some(12.5));
    /// ```
    pub fn from_csv(text: &str, decimal_comma: bool) -> Result<Self, Vec<Finding>> {
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        let first = text.lines().next().unwrap_or("");
        let separator = [';', '\t', ',']
            .into_iter()
            .find(|c| first.contains(*c))
            .unwrap_or(',');
        if separator == ',' && decimal_comma && first.contains(',') {
            return Err(vec![problem(
                1,
                "",
                "commas can't both part the cells and mark decimals".into(),
                "part the cells by semicolons or tabs, or write numbers with a point",
            )]);
        }
        let mut records = Records {
            text,
            separator,
            line: 1,
        };
        let Some((_, header)) = records.next() else {
            return Err(vec![problem(
                1,
                "",
                "there is nothing in the table".into(),
                "give a first line with column names and one line per observation",
            )]);
        };
        let header: Vec<String> = header.into_iter().map(|h| h.trim().to_string()).collect();
        let rows = records
            .filter(|(_, cells)| cells.iter().any(|c| !c.trim().is_empty()))
            .map(|(line, cells)| {
                let cells = cells.iter().map(|c| Cell::read(c, decimal_comma)).collect();
                (line, cells)
            })
            .collect();
        Self::assemble(header, rows)
    }

    fn assemble(
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

/// Records of CSV text with the line each starts on.
struct Records<'a> {
    text: &'a str,
    separator: char,
    line: usize,
}

impl Iterator for Records<'_> {
    type Item = (usize, Vec<String>);

    fn next(&mut self) -> Option<Self::Item> {
        if self.text.is_empty() {
            return None;
        }
        let start = self.line;
        let end = self.text.find('\n').map_or(self.text.len(), |i| i + 1);
        let line = &self.text[..end];
        if !line.contains('"') {
            self.text = &self.text[end..];
            self.line += 1;
            let line = line.trim_end_matches(['\n', '\r']);
            return Some((
                start,
                line.split(self.separator).map(String::from).collect(),
            ));
        }
        let mut cells = vec![String::new()];
        let mut quoted = false;
        let mut characters = self.text.char_indices().peekable();
        let mut used = self.text.len();
        while let Some((at, c)) = characters.next() {
            let cell = cells.last_mut().expect("there is always a cell");
            if quoted {
                if c == '"' {
                    if characters.peek().is_some_and(|(_, next)| *next == '"') {
                        characters.next();
                        cell.push('"');
                    } else {
                        quoted = false;
                    }
                } else {
                    self.line += usize::from(c == '\n');
                    cell.push(c);
                }
            } else if c == '"' && cell.trim().is_empty() {
                cell.clear();
                quoted = true;
            } else if c == self.separator {
                cells.push(String::new());
            } else if c == '\n' {
                used = at + 1;
                break;
            } else if c != '\r' {
                cell.push(c);
            }
        }
        self.text = &self.text[used..];
        self.line += 1;
        Some((start, cells))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quotes_line_ends_and_marks_are_read() {
        let text = "\u{feff}\"treatment\",note,y\r\n\"A, \"\"old\"\"\",\"two\nlines\",1.5\r\n\r\nB,,NA\r\n";
        let table = Table::from_csv(text, false).unwrap();
        assert_eq!(table.columns[0].name, "treatment");
        assert_eq!(
            table.columns[0].cells[0],
            Cell::Text("A, \"old\"".to_string())
        );
        assert_eq!(table.columns[1].cells[0], Cell::Text("two\nlines".into()));
        assert_eq!(table.columns[2].cells, [Cell::Number(1.5), Cell::Empty]);
        // The second record starts on line 5: a quoted line end and an empty line lie before it.
        assert_eq!(table.row_numbers, [2, 5]);
    }

    #[test]
    fn what_cannot_be_a_table_is_said() {
        assert!(Table::from_csv("", false).is_err());
        assert!(Table::from_csv("a,b\n", false).is_err());
        let twice = Table::from_csv("a,a\n1,2\n", false).unwrap_err();
        assert!(twice[0].message.contains("two columns"));
        let both = Table::from_csv("a,b\n1,2\n", true).unwrap_err();
        assert!(both[0].message.contains("can't both"));
        let tabs = Table::from_csv("a\tb\n1,5\t2\n", true).unwrap();
        assert_eq!(tabs.columns[0].cells[0], Cell::Number(1.5));
        // Row numbers written by a statistics program, and a trailing separator.
        let named = Table::from_csv("\"\",y,\n1,2,\n", false).unwrap();
        assert_eq!(named.columns.len(), 2);
        assert_eq!(named.columns[0].name, "row_number");
    }
}
