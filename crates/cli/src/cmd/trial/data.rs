//! Tables of observations: CSV and spreadsheets, by the book's readers.

use crate::progress;
use crate::trial_args::Data;
use anyhow::Context;
use app::{TRIAL_LIMITS as LIMITS, trial_rows, trial_table};
use book::exchange::csv::Separator;
use book::exchange::{Decimal, bytes_of};
use measure::{Finding, Severity};
use std::io::Read;
use std::path::Path;
use trials::Code;
use trials::analyse::Table;

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
    let workbook = bytes.starts_with(b"PK\x03\x04");
    anyhow::ensure!(
        workbook || data.sheet.is_none(),
        "--sheet names a sheet of a spreadsheet, but {} isn't one",
        path.display()
    );
    let decimal = if data.decimal_comma {
        Decimal::Comma
    } else {
        Decimal::Point
    };
    if !workbook && let Some(refused) = odd(&bytes, decimal, path)? {
        return Ok(Err(vec![refused]));
    }
    let rows = trial_rows(&bytes, data.sheet.as_deref(), decimal)
        .with_context(|| format!("{} can't be read", path.display()))?;
    Ok(trial_table(rows, decimal))
}

/// What this command says of a text in its own words.
fn odd(bytes: &[u8], decimal: Decimal, path: &Path) -> anyhow::Result<Option<Finding>> {
    if let Err(odd) = std::str::from_utf8(bytes) {
        let line = bytes[..odd.valid_up_to()]
            .iter()
            .filter(|b| **b == b'\n')
            .count()
            + 1;
        anyhow::bail!(
            "{} isn't a text file in UTF-8: the first odd byte is in row {line}; save it as CSV in UTF-8",
            path.display()
        );
    }
    let commas = Separator::of(bytes) == Separator::Comma && bytes.contains(&b',');
    Ok((decimal == Decimal::Comma && commas).then(|| {
        Finding::new(
            Severity::Stop,
            Code::TableCannotBeRead,
            "row 1",
            "row 1: commas can't both part the cells and mark decimals",
        )
        .help("part the cells by semicolons or tabs, or write numbers with a point")
    }))
}
