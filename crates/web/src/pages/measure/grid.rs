//! The grid of a batch: a row for each unit, a column for each response.

use super::Typed as Told;
use crate::fields::Fields;
use crate::pages::trial;
use app::{Settings, TrialView};
use bench::{Asked, GridCell, GridRow, Made, Reading, Trial, Typed, grid};
use book::exchange::write_number;
use maud::{Markup, html};
use paper::number;
use trials::response::Kind;

/// Values that a batch still wants.
pub(super) fn missing(trial: &Trial, made: &Made) -> usize {
    if made.state.abandoned.is_some() {
        return 0;
    }
    let rows = grid(trial, made);
    let cells = rows.iter().flat_map(|r| &r.cells).flatten();
    cells.filter(|c| c.reading.is_none()).count()
}

/// The names of the fields of a cell: its value, and of a count out of how many.
fn names(row: usize, column: usize, asked: &Asked) -> (String, String) {
    let out_of = match asked.kind {
        Kind::CountOf => format!("of.{row}.{column}"),
        _ => String::new(),
    };
    (format!("v.{row}.{column}"), out_of)
}

/// A number as this person writes it.
fn written(value: f64, settings: &Settings) -> String {
    write_number(value, settings.decimal).unwrap_or_default()
}

/// What follows from the bench, with three digits.
fn derived(reading: Option<&Reading>) -> String {
    match reading.map(|r| (r.value, r.out_of)) {
        Some((counted, Some(of))) => format!("{counted} of {of}"),
        Some((value, None)) => number::three(value),
        None => String::new(),
    }
}

/// Whether it can be typed over: what follows from several rows at the bench can't.
fn is_open(cell: &GridCell) -> bool {
    let reading = cell.reading.as_ref();
    reading.is_none_or(|r| r.key.is_some() && r.set_aside.is_none())
}

/// The names of the fields that were changed, and what was typed into them.
pub(super) fn changed(
    trial: &Trial,
    made: &Made,
    settings: &Settings,
    fields: &Fields,
) -> (Vec<(String, String)>, Vec<Typed>) {
    let mut found = (Vec::new(), Vec::new());
    for (at, row, column, asked, cell) in cells(trial, &grid(trial, made)) {
        let names = names(at, column, asked);
        let text = |name: &str| fields.0.get(name).map_or("", |t| t.trim());
        let (value, out_of) = (text(&names.0), text(&names.1));
        let reading = cell.reading.as_ref();
        let stood = reading.map_or_else(String::new, |r| written(r.value, settings));
        let stood_of = reading.and_then(|r| r.out_of).map(|n| written(n, settings));
        let as_it_stood =
            value == stood && (names.1.is_empty() || out_of == stood_of.unwrap_or_default());
        if value.is_empty() || as_it_stood || !is_open(&cell) {
            continue;
        }
        found.1.push(Typed {
            batch: made.id.clone(),
            on: row.on.clone(),
            response: asked.id.clone(),
            value: value.to_owned(),
            out_of: out_of.to_owned(),
        });
        found.0.push(names);
    }
    found
}

/// Fields that held a value and were emptied, which takes nothing away.
pub(super) fn emptied(trial: &Trial, made: &Made, fields: &Fields) -> Vec<(String, String)> {
    let why = "what is written stays written; set it aside with a reason, or strike it through on the page of the batch";
    let rows = grid(trial, made);
    let all = cells(trial, &rows).filter(|(.., cell)| cell.reading.is_some() && is_open(cell));
    let names = all.map(|(at, _, column, asked, _)| names(at, column, asked).0);
    let empty = names.filter(|n| fields.0.get(n).is_some_and(|t| t.trim().is_empty()));
    empty.map(|n| (n, why.to_owned())).collect()
}

/// Every cell with the place of its row, its row, the place of its column and its response.
fn cells<'a>(
    trial: &'a Trial,
    rows: &'a [GridRow],
) -> impl Iterator<Item = (usize, &'a GridRow, usize, &'a Asked, GridCell)> {
    rows.iter().enumerate().flat_map(move |(at, row)| {
        let columns = trial.responses.iter().enumerate();
        columns.filter_map(move |(column, asked)| {
            Some((at, row, column, asked, row.cells.get(column)?.clone()?))
        })
    })
}

/// A value that stands by a row of its own.
pub(super) struct Standing {
    /// Key of its row.
    pub key: String,
    /// What it is, for people.
    pub name: String,
    /// Why it is set aside.
    pub set_aside: Option<String>,
}

/// The values of a batch that stand by rows of their own.
pub(super) fn standing(view: &TrialView, made: &Made, settings: &Settings) -> Vec<Standing> {
    let rows = grid(&view.trial, made);
    let each = cells(&view.trial, &rows).filter_map(|(_, row, _, asked, cell)| {
        let Reading {
            value,
            key,
            set_aside,
            ..
        } = cell.reading?;
        let unit = if row.on.is_batch() {
            String::new()
        } else {
            format!("{}, ", row.on.told())
        };
        let name = format!(
            "{unit}{} {} {}",
            asked.name,
            written(value, settings),
            asked.unit
        );
        Some(Standing {
            key: key?,
            name: name.trim_end().to_owned(),
            set_aside,
        })
    });
    each.collect()
}

/// The grid as a form.
pub(super) fn form(view: &TrialView, made: &Made, settings: &Settings, typed: &Told) -> Markup {
    let rows = grid(&view.trial, made);
    let called = app::called(&view.trial, &made.batch);
    let again = typed.beyond.len();
    html! {
        form #grid method="post" action=(format!("{}/measure", trial::address(&view.entry.thing))) {
            input type="hidden" name="batch" value=(made.id);
            h2 { (made.batch.code) ", " (called) }
            @if let Some(why) = &made.state.abandoned { p .wrong { "This batch was given up: " (why.words) ". What is measured on it has no place in the trial." } }
            @if let Some(said) = &typed.said { p .wrong role="alert" { (said) } }
            p .second .no-print { "Arrows and Enter move from cell to cell. A block copied in a spreadsheet goes in from the cell on that it is pasted in." }
            div .scroll role="region" aria-label="Measurements of this batch" tabindex="0" { table .list .grid data-grid {
                thead { tr { th scope="col" { (if made.batch.trial.is_some() { "unit" } else { "" }) } @for asked in &view.trial.responses { th scope="col" {
                    (asked.name) @if !asked.unit.is_empty() { span .unit { ", " (asked.unit) } }
                } } } }
                tbody { @for (at, row) in rows.iter().enumerate() { tr {
                    th scope="row" { @if row.on.is_batch() { "whole batch" } @else { (row.on.told()) } }
                    @for (column, (asked, cell)) in view.trial.responses.iter().zip(&row.cells).enumerate() {
                        td .n { @if let Some(cell) = cell { (field(asked, row, (at, column), cell, settings, typed)) } }
                    }
                } } }
            } }
            p .line .no-print {
                label { "where a value takes the place of another: why " input name="why" maxlength="500" autocomplete="off" value=(typed.fields.maybe("why").unwrap_or_default()); }
            }
            @if again > 0 { label .check { input type="checkbox" name="sure" value="yes"; (if again == 1 { "It is so" } else { "They are so" }) ": keep " (if again == 1 { "the value" } else { "the values" }) " beyond what is plausible, with a mark" } }
            p .no-print { button .main { "Keep what is typed" } }
        }
    }
}

/// A cell: a field, or what can’t be typed over.
fn field(
    asked: &Asked,
    row: &GridRow,
    (at, column): (usize, usize),
    cell: &GridCell,
    settings: &Settings,
    typed: &Told,
) -> Markup {
    let reading = cell.reading.as_ref();
    let shown = reading.map_or_else(String::new, |r| written(r.value, settings));
    let shown_of = reading
        .and_then(|r| r.out_of)
        .map_or_else(String::new, |n| written(n, settings));
    if !is_open(cell) {
        let aside = reading.and_then(|r| r.set_aside.as_deref());
        return html! {
            @if let Some(why) = aside { span .aside title=(format!("set aside: {why}")) { "○ " (shown) } }
            @else { span title="follows from what was written at the bench" { (derived(reading)) } }
        };
    }
    let (name, of) = names(at, column, asked);
    let text = |name: &str, stood: &str| {
        typed
            .fields
            .0
            .get(name)
            .cloned()
            .unwrap_or_else(|| stood.to_owned())
    };
    let wrong = typed.wrong.get(&name).or_else(|| typed.wrong.get(&of));
    let beyond = typed.beyond.get(&name);
    let told = wrong.or(beyond);
    let what = match row.on.is_batch() {
        true => format!("{}, whole batch", asked.name),
        false => format!("{}, {}", asked.name, row.on.told()),
    };
    let id = format!("why-{at}-{column}");
    html! {
        input name=(name) inputmode="decimal" autocomplete="off" size="7" aria-label=(what) value=(text(&name, &shown))
            aria-invalid=[wrong.map(|_| "true")] aria-describedby=[told.map(|_| id.as_str())];
        @if !of.is_empty() { " of " input name=(of) inputmode="numeric" autocomplete="off" size="4" aria-label=(format!("{what}, out of how many")) value=(text(&of, &shown_of)); }
        @if cell.beyond && told.is_none() { span .second title="beyond what is plausible; kept and marked" { " ▵" } }
        @if let Some(why) = told { span .why #(id) { (why) } }
    }
}
