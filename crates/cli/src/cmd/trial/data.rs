//! Tables of observations: CSV and spreadsheets, by the book's readers.

use crate::progress;
use crate::trial_args::Data;
use anyhow::Context;
use book::exchange::csv::{self, Separator};
use book::exchange::{Cell as Given, Decimal, Limits, bytes_of, read_number, xlsx};
use measure::{Finding, Severity};
use std::io::Read;
use std::path::Path;
use trials::Code;
use trials::analyse::{Cell, Table};

/// A trial's table may be larger than a list of materials.
const LIMITS: Limits = Limits {
    bytes: 64_000_000,
    unpacked_bytes: 256_000_000,
    // A million observations below their head.
    rows: 1_000_001,
    columns: 500,
    cells: 10_000_000,
    cell_bytes: 100_000,
};

/// The table, or what is wrong with it.
pub fn table(data: &Data) -> anyhow::Result<Result<Table, Vec<Finding>>> {
    // What is typed in is waited for anyway.
    if data.data == Path::new("-") {
        return read(data);
    }
    progress::during("reading the table", || read(data))
}

fn read(data: &Data) -> anyhow::Result<Result<Table, Vec<Finding>>> {
    let path = &data.data;
    let bytes = if path == Path::new("-") {
        let mut all = Vec::new();
        std::io::stdin()
            .take(LIMITS.bytes as u64 + 1)
            .read_to_end(&mut all)?;
        anyhow::ensure!(
            all.len() <= LIMITS.bytes,
            "standard input is longer than {} bytes",
            LIMITS.bytes
        );
        all
    } else {
        anyhow::ensure!(
            !path.is_dir(),
            "{} is a folder; name a file in it",
            path.display()
        );
        bytes_of(path, &LIMITS)?
    };
    if bytes.starts_with(b"PK\x03\x04") {
        return spreadsheet(&bytes, data);
    }
    anyhow::ensure!(
        data.sheet.is_none(),
        "--sheet names a sheet of a spreadsheet, but {} isn't one",
        path.display()
    );
    if std::str::from_utf8(&bytes).is_err() {
        let at = std::str::from_utf8(&bytes).map_or_else(|e| e.valid_up_to(), str::len);
        let line = bytes[..at].iter().filter(|b| **b == b'\n').count() + 1;
        anyhow::bail!(
            "{} isn't a text file in UTF-8: the first odd byte is in row {line}; save it as CSV in UTF-8",
            path.display()
        );
    }
    let separator = Separator::of(&bytes);
    if data.decimal_comma && separator == Separator::Comma && bytes.contains(&b',') {
        return Ok(Err(vec![
            Finding::new(
                Severity::Stop,
                Code::TableCannotBeRead,
                "row 1",
                "row 1: commas can't both part the cells and mark decimals",
            )
            .help("part the cells by semicolons or tabs, or write numbers with a point"),
        ]));
    }
    let given = csv::read(&bytes, separator, &LIMITS)
        .with_context(|| format!("{} can't be read", path.display()))?;
    Ok(told(given, data))
}

fn spreadsheet(bytes: &[u8], data: &Data) -> anyhow::Result<Result<Table, Vec<Finding>>> {
    let given = xlsx::read(bytes, data.sheet.as_deref(), &LIMITS)
        .with_context(|| format!("{} can't be read", data.data.display()))?;
    Ok(told(given, data))
}

/// The trial's table from the rows of a file: the first names the columns. What counts as a number
/// is the book's rule, the same for every table that is read; a cell that isn't one stays text.
fn told(given: book::exchange::Table, data: &Data) -> Result<Table, Vec<Finding>> {
    let decimal = if data.decimal_comma {
        Decimal::Comma
    } else {
        Decimal::Point
    };
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
