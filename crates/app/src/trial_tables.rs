//! Tables of observations: a file's rows as the statistics take them, by the book's one rule of what a number is.

use crate::AppError;
use bench::Sheet;
use book::exchange::csv::{self, CsvForm, Separator};
use book::exchange::{Cell as Given, Decimal, Limits, Table as Rows, read_number, xlsx};
use measure::{Finding, Severity};
use trials::Code;
use trials::analyse::{Cell, Table};

/// A trial's table may be larger than a list of materials.
pub const TRIAL_LIMITS: Limits = Limits {
    bytes: 64_000_000,
    unpacked_bytes: 256_000_000,
    // A million observations below their head.
    rows: 1_000_001,
    columns: 500,
    cells: 10_000_000,
    cell_bytes: 100_000,
};

/// The rows of a file of measurements, CSV or a workbook by its first bytes; `sheet` names one of a workbook's.
///
/// # Errors
/// A file that is too large, or no table; commas that both part the cells and mark decimals.
pub fn trial_rows(bytes: &[u8], sheet: Option<&str>, decimal: Decimal) -> Result<Rows, AppError> {
    let wrong = |why: String| AppError::Value {
        field: "file".to_owned(),
        why,
    };
    if bytes.starts_with(b"PK\x03\x04") {
        return Ok(xlsx::read(bytes, sheet, &TRIAL_LIMITS)?);
    }
    if sheet.is_some() {
        return Err(wrong(
            "a sheet was named, but this is no workbook".to_owned(),
        ));
    }
    if let Err(odd) = std::str::from_utf8(bytes) {
        let line = bytes[..odd.valid_up_to()]
            .iter()
            .filter(|b| **b == b'\n')
            .count()
            + 1;
        return Err(wrong(format!(
            "it isn’t text in UTF-8: the first odd byte is in row {line}; save it as CSV in UTF-8"
        )));
    }
    let separator = Separator::of(bytes);
    if decimal == Decimal::Comma && separator == Separator::Comma && bytes.contains(&b',') {
        let why = "commas can’t both part the cells and mark decimals; part the cells by semicolons or tabs, or write numbers with a point";
        return Err(wrong(why.to_owned()));
    }
    Ok(csv::read(bytes, separator, &TRIAL_LIMITS)?)
}

/// The trial's table from the rows of a file: the first that holds anything names the columns. A cell that isn't a
/// number stays text.
///
/// # Errors
/// Findings that name row and column.
pub fn trial_table(given: Rows, decimal: Decimal) -> Result<Table, Vec<Finding>> {
    let mut rows = given
        .rows
        .into_iter()
        .enumerate()
        .skip_while(|(_, r)| empty(r));
    let header: Vec<String> = rows
        .next()
        .map(|(_, row)| row)
        .unwrap_or_default()
        .into_iter()
        .map(|c| match c {
            Given::Empty => String::new(),
            Given::Text(text) => text.trim().to_owned(),
            Given::Number(x) => x.to_string(),
        })
        .collect();
    if header.is_empty() {
        return Err(vec![
            Finding::new(
                Severity::Stop,
                Code::TableCannotBeRead,
                "row 1",
                "row 1: there is nothing in the table",
            )
            .help("give a first line with column names and one line per observation"),
        ]);
    }
    let width = header.len();
    let rows = rows.filter(|(_, row)| !empty(row)).map(|(at, row)| {
        let mut cells: Vec<Cell> = row
            .into_iter()
            .map(|c| match c {
                Given::Empty => Cell::Empty,
                Given::Text(text) => Cell::of(&text, number(&text, decimal)),
                Given::Number(x) => Cell::Number(x),
            })
            .collect();
        // Readers take off the empty cells at a row's end.
        while cells.len() < width {
            cells.push(Cell::Empty);
        }
        (at + 1, cells)
    });
    Table::from_rows(header, rows.collect())
}

/// The number that a text is by the book's rule. Nearly all cells of a long table are plain digits or
/// labels, and are told in one look without that rule's careful words.
fn number(text: &str, decimal: Decimal) -> Option<f64> {
    let bytes = text.strip_prefix('-').unwrap_or(text).as_bytes();
    let (mut digits, mut points) = (0, 0);
    for byte in bytes {
        match byte {
            b'0'..=b'9' => digits += 1,
            b'.' => points += 1,
            // The one letter that a number may hold.
            b'e' | b'E' => {}
            letter if letter.is_ascii_alphabetic() => return None,
            _ => {}
        }
    }
    if digits == 0 {
        return None;
    }
    let ends = [bytes.first(), bytes.last()];
    let plain = digits + points == bytes.len()
        && ends.iter().all(|b| b.is_some_and(u8::is_ascii_digit))
        && points <= usize::from(decimal == Decimal::Point)
        && bytes.len() <= 300;
    if plain {
        text.parse().ok()
    } else {
        read_number(text, decimal).ok()
    }
}

fn empty(row: &[Given]) -> bool {
    row.iter().all(|c| match c {
        Given::Empty => true,
        Given::Text(text) => text.trim().is_empty(),
        Given::Number(_) => false,
    })
}

/// The rows of a sheet that was made here, as a file of them holds them.
pub fn rows_of(sheet: &Sheet) -> Rows {
    let cells = |row: &Vec<String>| row.iter().map(|c| Given::from(c.as_str())).collect();
    Rows {
        rows: std::iter::once(&sheet.head)
            .chain(&sheet.rows)
            .map(cells)
            .collect(),
    }
}

/// A sheet as a CSV file in the plainest form: commas, points, no mark before it.
///
/// # Errors
/// What the table tells.
pub fn csv_of(sheet: &Sheet) -> Result<Vec<u8>, AppError> {
    let form = CsvForm {
        separator: Separator::Comma,
        decimal: Decimal::Point,
        byte_order_mark: false,
    };
    Ok(csv::write(&rows_of(sheet), form)?)
}

/// A sheet as a workbook; cells that are plain numbers are numbers there.
///
/// # Errors
/// What the table tells.
pub fn xlsx_of(name: &str, sheet: &Sheet) -> Result<Vec<u8>, AppError> {
    let mut rows = rows_of(sheet);
    for cell in rows.rows.iter_mut().skip(1).flatten() {
        if let Given::Text(text) = cell
            && let Cell::Number(x) = Cell::of(text, number(text, Decimal::Point))
        {
            *cell = Given::Number(x);
        }
    }
    let name: String = name
        .chars()
        .filter(|c| !r"[]:*?/\".contains(*c))
        .take(31)
        .collect();
    let name = if name.is_empty() {
        "trial"
    } else {
        name.as_str()
    };
    Ok(xlsx::write(&[(name, &rows)])?)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_short_way_reads_what_the_book_reads() {
        let texts = [
            "12.5",
            "-3",
            "1.10",
            "007",
            "1E1",
            ".5",
            "5.",
            "1,234",
            "1.2.3",
            "12,5",
            "control",
            "t1",
            "B0001",
            "2e",
            "e2",
            "12 g",
            "1_000",
            "",
            "-",
            "--3",
            "\u{2212}4",
            " 7",
            "inf",
            "NaN",
            "+3",
            "1e400",
        ];
        for decimal in [Decimal::Point, Decimal::Comma] {
            for text in texts {
                let book = read_number(text, decimal).ok();
                assert_eq!(number(text, decimal), book, "{text:?} {decimal:?}");
            }
        }
    }
}
