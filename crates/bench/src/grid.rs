//! The measurements of a batch as a grid: a row for each unit of it, a column for each response; and what was typed into
//! one, read by the reader of tables.

use crate::measured::{Reading, out_of_column, readings};
use crate::observe::{Cell, How, Observed, observe};
use crate::{Asked, Made, On, Part, Trial};
use serde::Serialize;
use trials::plan::Unit;

/// Most units that a grid has a row for before anything is measured on them.
const MOST_UNITS: u32 = 200;

/// A row of a grid.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct GridRow {
    /// The unit.
    pub on: On,
    /// One for each response of the trial; none where it isn't measured on such a unit.
    pub cells: Vec<Option<GridCell>>,
}

/// A cell of a grid.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct GridCell {
    /// What stands.
    pub reading: Option<Reading>,
    /// Whether that lies beyond what is plausible.
    pub beyond: bool,
}

/// A value as it was typed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Typed {
    /// Lasting name of the batch.
    pub batch: String,
    /// The unit.
    pub on: On,
    /// Id of the response.
    pub response: String,
    /// The text.
    pub value: String,
    /// Of a count, out of how many.
    pub out_of: String,
}

/// The units that a response is measured on: those that have a value, and as many more as the trial asks for.
fn units(trial: &Trial, made: &Made, asked: &Asked) -> Vec<(On, GridCell)> {
    let cell = |r: Reading| {
        let beyond = asked.is_beyond(r.value);
        let reading = Some(r);
        GridCell { reading, beyond }
    };
    let found = readings(&made.state, asked).into_iter();
    let mut units: Vec<(On, GridCell)> = found.map(|r| (r.on.clone(), cell(r))).collect();
    let wanted: Vec<On> = if trial.unit == Unit::Dog {
        let own = trial.runs.iter().filter(|r| r.batch == made.id);
        own.map(|r| On::one(Part::Dog, r.unit.clone())).collect()
    } else if asked.repeats <= 1 {
        vec![On::batch()]
    } else if let Some((on, _)) = units.iter().find(|(on, _)| on.get(Part::Piece).is_none()) {
        // Told apart by something else than pieces: readings go on being numbered, all else is as it was told.
        let numbered = on.get(Part::Reading).is_some();
        let all = (1..=asked.repeats.min(MOST_UNITS)).filter(|_| numbered);
        all.map(|n| On::one(Part::Reading, n.to_string())).collect()
    } else {
        let all = 1..=asked.repeats.min(MOST_UNITS);
        all.map(|n| On::one(Part::Piece, n.to_string())).collect()
    };
    // A value that stands for the whole batch, or follows from what was written at the bench, leaves nothing to ask for.
    let derived = |cell: &GridCell| cell.reading.as_ref().is_some_and(|r| r.key.is_none());
    let whole = units
        .iter()
        .any(|(on, cell)| on.is_batch() || derived(cell));
    for on in wanted.into_iter().filter(|_| !whole) {
        if units.iter().all(|(other, _)| *other != on) {
            units.push((on, GridCell::default()));
        }
    }
    units
}

/// In the order in which people count: the whole batch, then by parts, numbers by their size.
fn rank(on: &On) -> Vec<(Part, u64, String)> {
    let parts = on.parts();
    let number = |name: &str| name.parse().unwrap_or(u64::MAX);
    parts
        .map(|(p, name)| (p, number(name), name.to_owned()))
        .collect()
}

/// The grid of a batch.
pub fn grid(trial: &Trial, made: &Made) -> Vec<GridRow> {
    let mut rows: Vec<GridRow> = Vec::new();
    let width = trial.responses.len();
    for (column, asked) in trial.responses.iter().enumerate() {
        for (on, cell) in units(trial, made, asked) {
            let at = rows.iter().position(|r| r.on == on).unwrap_or_else(|| {
                let cells = vec![None; width];
                rows.push(GridRow { on, cells });
                rows.len() - 1
            });
            rows[at].cells[column] = Some(cell);
        }
    }
    rows.sort_by_cached_key(|r| rank(&r.on));
    rows
}

/// Reads what was typed into a grid, each value as a row of a table of its own: the row of a problem, less one, is the
/// place in `typed` from 1. Numbers are read by `how`, and a value that is kept already is not entered again.
pub fn observe_typed(trial: &Trial, made: &[Made], typed: &[Typed], how: &How<'_>) -> Observed {
    let parts: Vec<Part> = Part::ALL
        .into_iter()
        .filter(|p| typed.iter().any(|t| t.on.get(*p).is_some()))
        .collect();
    let text = |text: &str| Cell::Text(text.to_owned());
    let mut head = vec![text("batch")];
    head.extend(parts.iter().map(|p| text(p.word())));
    for asked in &trial.responses {
        head.push(text(&asked.id));
        head.extend(out_of_column(asked).map(Cell::Text));
    }
    let row = |one: &Typed| {
        let mut row = vec![text(&one.batch)];
        let part = |p: &Part| one.on.get(*p).map_or(Cell::Empty, text);
        row.extend(parts.iter().map(part));
        for asked in &trial.responses {
            let own = asked.id == one.response;
            row.push(if own { text(&one.value) } else { Cell::Empty });
            if out_of_column(asked).is_some() {
                row.push(if own { text(&one.out_of) } else { Cell::Empty });
            }
        }
        row
    };
    let rows: Vec<Vec<Cell>> = std::iter::once(head).chain(typed.iter().map(row)).collect();
    match typed {
        [] => Observed::default(),
        _ => observe(trial, made, &rows, how),
    }
}
