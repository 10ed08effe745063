//! The side-by-side table: the control and its rivals from left to right, cause to effect from
//! top to bottom.

use super::known::{Known, known};
use crate::number;
use maud::{Markup, html};

/// What a cell holds.
#[derive(Clone, Debug, PartialEq)]
pub enum Value {
    /// Nothing belongs here: a thin dash.
    Empty,
    /// A text, ready to show; the same decimals down a row keep the points in line.
    Text(String),
    /// Something belongs here that is not known, and why: a hollow ring.
    Unknown(String),
}

/// The difference of a cell from the control's.
#[derive(Clone, Debug, PartialEq)]
pub struct Change {
    /// With its sign, e.g. from [`measure::rounding::signed`].
    pub text: String,
    /// What such a difference is called, as `slower`; none where the number says it all, or its sign isn't sure.
    pub word: Option<&'static str>,
}

/// One cell.
#[derive(Clone, Debug)]
pub struct Cell {
    /// What it holds.
    pub value: Value,
    /// Its difference from the control.
    pub change: Option<Change>,
    /// How it is known.
    pub known: Known,
    /// A small drawing beside the number.
    pub picture: Option<Markup>,
}

impl Cell {
    /// A cell that nothing belongs into.
    pub const fn empty() -> Self {
        Self::of(Value::Empty)
    }

    /// A cell with a text.
    pub fn text(text: impl Into<String>) -> Self {
        Self::of(Value::Text(text.into()))
    }

    /// A cell with a number of so many decimals.
    pub fn number(value: f64, places: usize) -> Self {
        Self::text(number::fixed(value, places))
    }

    /// A cell whose number is not known.
    pub fn unknown(why: impl Into<String>) -> Self {
        Self::of(Value::Unknown(why.into()))
    }

    /// The same cell with its difference from the control; none is shown where nothing changed.
    #[must_use]
    pub fn change(mut self, difference: f64, places: usize, word: Option<&'static str>) -> Self {
        let text = measure::rounding::signed(difference, places);
        let changed = text.starts_with(['+', '\u{2212}']);
        self.change = changed.then_some(Change { text, word });
        self
    }

    /// The same cell with something before its difference, as `≥ `.
    #[must_use]
    pub fn change_marked(mut self, mark: &str) -> Self {
        if let Some(change) = &mut self.change {
            change.text.insert_str(0, mark);
        }
        self
    }

    /// The same cell, told how it is known.
    #[must_use]
    pub const fn known(mut self, how: Known) -> Self {
        self.known = how;
        self
    }

    /// The same cell with a small drawing.
    #[must_use]
    pub fn picture(mut self, picture: Markup) -> Self {
        self.picture = Some(picture);
        self
    }

    const fn of(value: Value) -> Self {
        Self {
            value,
            change: None,
            known: Known::Calculated,
            picture: None,
        }
    }
}

/// One row: what it is, in which unit, and a cell per column.
#[derive(Clone, Debug)]
pub struct Row {
    /// What it is.
    pub name: String,
    /// Its unit; empty for none.
    pub unit: String,
    /// One cell per column.
    pub cells: Vec<Cell>,
    /// Whether it is a sum, set off by a hairline.
    pub sum: bool,
}

/// Rows that belong together, under a small head.
#[derive(Clone, Debug)]
pub struct Group {
    /// Its name; empty for none.
    pub name: String,
    /// Its rows.
    pub rows: Vec<Row>,
}

/// The side-by-side table; the first column is the control.
#[derive(Clone, Debug)]
pub struct SideBySide {
    /// What it shows.
    pub caption: String,
    /// Head of the row names.
    pub row_head: String,
    /// Column names, the control first.
    pub columns: Vec<String>,
    /// Groups of rows.
    pub groups: Vec<Group>,
}

/// Draws a side-by-side table.
pub fn side_by_side(table: &SideBySide) -> Markup {
    let rivals = (2 * table.columns.len().saturating_sub(1)).max(1);
    html! {
        div .scroll role="region" aria-label=(table.caption) tabindex="0" {
            table .side-by-side {
                caption { (table.caption) }
                thead {
                    tr {
                        th .row-head scope="col" { (table.row_head) }
                        th .unit scope="col" { span .unseen { "unit" } }
                        @for (i, name) in table.columns.iter().enumerate() {
                            @if i == 0 { th .figure .control scope="col" { (name) } }
                            @else { th .figure scope="col" { (name) } td {} }
                        }
                    }
                }
                @for group in &table.groups {
                    tbody {
                        @if !group.name.is_empty() {
                            tr .group { th scope="rowgroup" colspan="2" { (group.name) } td .control {} td colspan=(rivals) {} }
                        }
                        @for row in &group.rows { (table_row(row)) }
                    }
                }
            }
        }
        (unknowns(table))
    }
}

/// On paper nothing can be pointed at, so the reasons of what is not known stand below.
fn unknowns(table: &SideBySide) -> Markup {
    let reasons: Vec<_> = (table.groups.iter().flat_map(|g| &g.rows))
        .flat_map(|row| {
            row.cells
                .iter()
                .zip(&table.columns)
                .map(move |(c, name)| (row, name, c))
        })
        .filter_map(|(row, name, cell)| match &cell.value {
            Value::Unknown(why) => Some(format!("{}, {}: {why}", name, row.name)),
            Value::Empty | Value::Text(_) => None,
        })
        .collect();
    html! {
        @if !reasons.is_empty() {
            ul .unknowns aria-hidden="true" { @for reason in reasons { li { (reason) } } }
        }
    }
}

fn table_row(row: &Row) -> Markup {
    html! {
        tr .sum[row.sum] {
            th .row-head scope="row" { (row.name) }
            td .unit { (row.unit) }
            @for (i, cell) in row.cells.iter().enumerate() {
                td .figure .control[i == 0] {
                    @if let Some(picture) = &cell.picture { (picture) " " }
                    (value(cell))
                }
                @if i > 0 { td .change { @if let Some(change) = &cell.change { (difference(change)) } } }
            }
        }
    }
}

fn value(cell: &Cell) -> Markup {
    match &cell.value {
        Value::Empty => html! { span .empty { "–" } },
        Value::Text(text) => known(text, cell.known),
        Value::Unknown(why) => html! {
            span .unknown tabindex="0" { span .unseen { "not known: " } span .why { (why) } }
        },
    }
}

fn difference(change: &Change) -> Markup {
    html! { (change.text) @if let Some(word) = change.word { " " span .than { (word) } } }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_difference_is_shown_where_nothing_changed() {
        let same = Cell::number(12.0, 1).change(0.01, 1, None);
        assert_eq!(same.change, None);
        let less = Cell::number(12.0, 1).change(-0.4, 1, Some("faster"));
        assert_eq!(less.change.map(|c| c.text), Some("\u{2212}0.4".to_owned()));
    }

    #[test]
    fn empty_zero_and_unknown_look_different() {
        let [empty, zero, unknown] = [Cell::empty(), Cell::number(0.0, 0), Cell::unknown("why")]
            .map(|cell| value(&cell).into_string());
        assert!(empty.contains('–') && !zero.contains('–') && !unknown.contains('–'));
        assert!(zero.contains(">0<") && !unknown.contains(">0<"));
        assert!(unknown.contains("why"));
    }
}
