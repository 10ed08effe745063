//! `hardtack trial twobowl` and `ranking`.

use super::{data, refuse, tell_all};
use crate::End;
use crate::trial_args::{Minimum, Ranking, Twobowl};
use trials::analyse::{Cell, Table};
use trials::palatability::{
    BowlRules, PalatabilityError, ranking as rank, read_rows, two_bowl as bowls,
};

/// Rows are numbered as in the file.
fn in_file(error: PalatabilityError, table: &Table) -> PalatabilityError {
    let of_file = |i: usize| table.row_numbers.get(i.saturating_sub(1)).copied();
    match error {
        PalatabilityError::Cell {
            row,
            column,
            text,
            wanted,
        } => PalatabilityError::Cell {
            row: of_file(row).unwrap_or(row),
            column,
            text,
            wanted,
        },
        PalatabilityError::Ranking { line, reason } if line > 0 => PalatabilityError::Ranking {
            line: of_file(line).unwrap_or(line),
            reason,
        },
        other => other,
    }
}

/// A two-bowl trial.
pub fn two_bowl(args: &Twobowl) -> anyhow::Result<End> {
    let table = match data::table(&args.data)? {
        Ok(table) => table,
        Err(findings) => return refuse(&findings, args.out.json),
    };
    let headings: Vec<String> = table.columns.iter().map(|c| c.name.clone()).collect();
    let lines: Vec<Vec<String>> = (0..table.row_numbers.len())
        .map(|i| {
            // Numbers are read by the one rule; names stay as they are written.
            let text = |c: &trials::analyse::Column| {
                let names = ["dog", "day"].contains(&c.name.trim().to_lowercase().as_str());
                match &c.cells[i] {
                    Cell::Written(value, _) if !names => value.to_string(),
                    cell => cell.label().unwrap_or_default(),
                }
            };
            table.columns.iter().map(text).collect()
        })
        .collect();
    let rules = BowlRules {
        least_total_g: args.least_g,
    };
    let found = read_rows(&headings, &lines)
        .and_then(|rows| bowls(&rows, rules))
        .map_err(|e| in_file(e, &table))?;
    tell_all(&report::trial::two_bowl(&found), &found, &args.out)
}

/// A ranking.
pub fn ranking(args: &Ranking) -> anyhow::Result<End> {
    let table = match data::table(&args.data)? {
        Ok(table) => table,
        Err(findings) => return refuse(&findings, args.out.json),
    };
    let dog = match &args.dog {
        Some(name) => {
            &table
                .column(name)
                .ok_or_else(|| anyhow::anyhow!("there is no column `{name}`"))?
                .name
        }
        None => &table.columns[0].name,
    };
    let foods: Vec<_> = table.columns.iter().filter(|c| c.name != *dog).collect();
    let mut ranks = Vec::with_capacity(table.row_numbers.len());
    for (i, row) in table.row_numbers.iter().enumerate() {
        let mut line = Vec::with_capacity(foods.len());
        for food in &foods {
            line.push(food.cells[i].number().ok_or_else(|| {
                let stands = match &food.cells[i] {
                    Cell::Text(text) => format!("`{text}` is not a rank"),
                    _ => "there is no rank; every dog has to rank every food".to_owned(),
                };
                anyhow::anyhow!("row {row}, column {}: {stands}", food.name)
            })?);
        }
        ranks.push(line);
    }
    let names: Vec<String> = foods.iter().map(|c| c.name.clone()).collect();
    let found = rank(&names, &ranks).map_err(|e| in_file(e, &table))?;
    tell_all(&report::trial::ranking(&found), &found, &args.out)
}

/// The least number of first choices that means anything, by the exact binomial test.
pub fn minimum(args: &Minimum) -> anyhow::Result<End> {
    const MOST_DOGS: usize = 10_000;
    anyhow::ensure!(
        args.alpha > 0.0 && args.alpha <= 0.5,
        "--alpha {}: give a number above 0, at most 0.5; 0.05 is usual",
        args.alpha
    );
    if let Some(dogs) = args.dogs.iter().find(|n| !(1..=MOST_DOGS).contains(*n)) {
        anyhow::bail!("{dogs} dogs: give 1 to {MOST_DOGS}");
    }
    let rows = trials::palatability::minimum_numbers(&args.dogs, args.alpha);
    if args.json {
        crate::tell::json(&rows)?;
        return Ok(End::Fine);
    }
    let cells: Vec<crate::table::Row> = rows
        .iter()
        .map(|r| {
            crate::table::Row::Cells(vec![
                r.dogs.to_string(),
                r.least
                    .map_or_else(|| "never".to_owned(), |k| k.to_string()),
                r.p.map_or_else(String::new, |p| format!("{p:.4}")),
            ])
        })
        .collect();
    let sides = [crate::table::Side::Right; 3];
    crate::tell::out(&crate::table::table(
        &["dogs", "at least", "p"],
        &sides,
        &cells,
    ))?;
    crate::tell::out(
        "Two-sided, exact binomial; dogs count that chose the same food first on both days.\n",
    )?;
    Ok(End::Fine)
}
