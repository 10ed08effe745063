//! Tables of observations: CSV by our own reader, spreadsheets by the book's.

use crate::trial_args::Data;
use anyhow::Context;
use book::exchange::{Cell as Given, Limits, bytes_of, xlsx};
use measure::Finding;
use std::io::Read;
use std::path::Path;
use trials::analyse::{Cell, Table};

/// A trial's table may be larger than a list of materials.
const LIMITS: Limits = Limits {
    bytes: 64_000_000,
    unpacked_bytes: 256_000_000,
    rows: 1_000_000,
    columns: 500,
    cells: 10_000_000,
    cell_bytes: 100_000,
};

/// The table, or what is wrong with it.
pub fn table(data: &Data) -> anyhow::Result<Result<Table, Vec<Finding>>> {
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
    let text = String::from_utf8(bytes).map_err(|e| {
        let at = e.utf8_error().valid_up_to();
        let line = e.as_bytes()[..at].iter().filter(|b| **b == b'\n').count() + 1;
        anyhow::anyhow!(
            "{} isn't a text file in UTF-8: the first odd byte is in row {line}; save it as CSV in UTF-8",
            path.display()
        )
    })?;
    Ok(Table::from_csv(&text, data.decimal_comma))
}

fn spreadsheet(bytes: &[u8], data: &Data) -> anyhow::Result<Result<Table, Vec<Finding>>> {
    let given = xlsx::read(bytes, data.sheet.as_deref(), &LIMITS)
        .with_context(|| format!("{} can't be read", data.data.display()))?;
    let mut rows = given.rows.into_iter();
    let header: Vec<String> = rows
        .next()
        .unwrap_or_default()
        .into_iter()
        .map(|c| match c {
            Given::Empty => String::new(),
            Given::Text(text) => text.trim().to_owned(),
            Given::Number(x) => x.to_string(),
        })
        .collect();
    let mut numbers = Vec::new();
    let mut cells = Vec::new();
    for (i, row) in rows.enumerate() {
        if row.iter().all(|c| *c == Given::Empty) {
            continue;
        }
        let mut row: Vec<Cell> = row
            .into_iter()
            .map(|c| match c {
                Given::Empty => Cell::Empty,
                Given::Text(text) => Cell::read(&text, data.decimal_comma),
                Given::Number(x) => Cell::Number(x),
            })
            .collect();
        // The reader takes off the empty cells at a row's end.
        while row.len() < header.len() {
            row.push(Cell::Empty);
        }
        numbers.push(i + 2);
        cells.push(row);
    }
    Ok(Table::from_cells(header, cells).map(|mut table| {
        table.row_numbers = numbers;
        table
    }))
}
