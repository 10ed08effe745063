//! The questions of a panel asked of a table: whoever reads the table, the answer is the same.

use super::{BowlRules, PalatabilityError, Ranking, TwoBowl, ranking, read_rows, two_bowl};
use crate::analyse::{Cell, Column, Table};

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

/// A two-bowl trial from a table: columns dog, day, left, intake_a, intake_b, and offered_a, offered_b and first where
/// they were noted.
///
/// # Errors
/// A column that isn't there, a cell that can't be read by its row and column, too few dogs.
pub fn two_bowl_of(table: &Table, rules: BowlRules) -> Result<TwoBowl, PalatabilityError> {
    let headings: Vec<String> = table.columns.iter().map(|c| c.name.clone()).collect();
    let lines: Vec<Vec<String>> = (0..table.row_numbers.len())
        .map(|i| {
            // Numbers are read by the one rule; names stay as they are written.
            let text = |c: &Column| {
                let names = ["dog", "day"].contains(&c.name.trim().to_lowercase().as_str());
                match &c.cells[i] {
                    Cell::Written(value, _) if !names => value.to_string(),
                    cell => cell.label().unwrap_or_default(),
                }
            };
            table.columns.iter().map(text).collect()
        })
        .collect();
    let found = read_rows(&headings, &lines).and_then(|rows| two_bowl(&rows, rules));
    found.map_err(|e| in_file(e, table))
}

/// A ranking from a table: a row for each dog, a column of ranks for each food. `dog` names the column of the dogs, the
/// first one where none is named.
///
/// # Errors
/// A column that isn't there, a cell that is no rank by its row and column, ranks that don't add up.
pub fn ranking_of(table: &Table, dog: Option<&str>) -> Result<Ranking, PalatabilityError> {
    let none = || PalatabilityError::NoColumn {
        name: dog.unwrap_or("dog").to_owned(),
    };
    let dog = match dog {
        Some(name) => table.column(name),
        None => table.columns.first(),
    };
    let dog = &dog.ok_or_else(none)?.name;
    let foods: Vec<&Column> = table.columns.iter().filter(|c| c.name != *dog).collect();
    let mut ranks = Vec::with_capacity(table.row_numbers.len());
    for (i, row) in table.row_numbers.iter().enumerate() {
        let mut line = Vec::with_capacity(foods.len());
        for food in &foods {
            line.push(
                food.cells[i]
                    .number()
                    .ok_or_else(|| PalatabilityError::NoRank {
                        row: *row,
                        column: food.name.clone(),
                        found: match &food.cells[i] {
                            Cell::Text(text) => Some(text.to_string()),
                            _ => None,
                        },
                    })?,
            );
        }
        ranks.push(line);
    }
    let names: Vec<String> = foods.iter().map(|c| c.name.clone()).collect();
    ranking(&names, &ranks).map_err(|e| in_file(e, table))
}
