//! A run sheet of our own says who is who in a column of its own; what the person asks for goes
//! before what the sheet says.

use super::{AnalysisRequest, Cell, Exclusion, Table};
use crate::response::{Better, Kind};

/// The roles that a sheet's own column names; none when there is no such column.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct SheetRoles {
    /// The design's code.
    pub design: String,
    /// Columns of the treatments.
    pub treatments: Vec<String>,
    /// Columns of the blocks.
    pub blocks: Vec<String>,
    /// Treatments laid on whole plots.
    pub whole_plot: Vec<String>,
    /// Settings that were varied as numbers.
    pub variables: Vec<String>,
    /// Parts of a mixture.
    pub parts: Vec<String>,
    /// The unit's column.
    pub unit: Option<String>,
    /// The column that numbers the whole plots.
    pub plots: Option<String>,
    /// The sequence of a crossover.
    pub sequence: Option<String>,
    /// The period of a crossover.
    pub period: Option<String>,
    /// The number counted, of a count.
    pub out_of: Option<String>,
    /// Why a row is set aside; empty cells are of rows that aren't.
    pub set_aside: Option<String>,
    /// The control's level.
    pub control: Option<String>,
    /// A difference too small to matter, told before the trial.
    pub margin: Option<f64>,
    /// What kind of number the response is.
    pub kind: Option<Kind>,
    /// Which way is better.
    pub better: Option<Better>,
    /// Unit of measure.
    pub measure: Option<String>,
}

impl SheetRoles {
    /// Takes a role that names no column.
    fn told(&mut self, role: &str, value: &str) -> bool {
        match role {
            "design" => value.clone_into(&mut self.design),
            "control" => self.control = Some(value.to_owned()),
            "margin" => self.margin = value.parse().ok(),
            "kind" => self.kind = Kind::from_word(value),
            "better" => self.better = Better::from_word(value),
            "measure" => self.measure = Some(value.to_owned()),
            _ => return false,
        }
        true
    }
}

/// Reads the roles off a table; columns that are no longer there are passed by.
pub fn roles(table: &Table) -> Option<SheetRoles> {
    let column = table.column("roles")?;
    let text = column.cells.iter().find_map(Cell::label)?;
    if !text.contains("design=") {
        return None;
    }
    let mut out = SheetRoles::default();
    for part in text.split("; ") {
        let Some((role, name)) = part.split_once('=') else {
            continue;
        };
        if out.told(role, name) || table.column(name).is_none() {
            continue;
        }
        let name = name.to_owned();
        match role {
            "treatment" => out.treatments.push(name),
            "block" => out.blocks.push(name),
            "whole-plot" => out.whole_plot.push(name),
            "variable" => out.variables.push(name),
            "part" => out.parts.push(name),
            "unit" => out.unit = Some(name),
            "plots" => out.plots = Some(name),
            "sequence" => out.sequence = Some(name),
            "period" => out.period = Some(name),
            "out-of" => out.out_of = Some(name),
            "set-aside" => out.set_aside = Some(name),
            _ => {}
        }
    }
    Some(out)
}

/// The request with what the sheet says filled in where nothing was asked.
pub fn filled(table: &Table, request: &AnalysisRequest) -> AnalysisRequest {
    let Some(found) = roles(table) else {
        return request.clone();
    };
    let mut out = request.clone();
    if out.exclude.is_empty() {
        out.exclude = found.set_aside.map_or_else(Vec::new, |c| aside(table, &c));
    }
    if out.control.is_none() && out.treatments.is_empty() {
        out.control = found.control;
        out.margin = out.margin.or(found.margin);
    }
    out.out_of = out.out_of.or(found.out_of);
    out.kind = out.kind.or(found.kind);
    out.better = out.better.or(found.better);
    out.measure = out.measure.or(found.measure);
    let not_told = request.treatments.is_empty();
    if not_told {
        out.treatments = found.treatments;
        if out.whole_plot.is_empty() && out.plots.is_none() {
            out.whole_plot = found.whole_plot;
            out.plots = found.plots;
        }
    }
    if out.blocks.is_empty() {
        out.blocks = found.blocks;
    }
    out.unit = out.unit.or(found.unit);
    out.sequence = out.sequence.or(found.sequence);
    out.period = out.period.or(found.period);
    out
}

/// The table without the rows that a column of its own sets aside: what a model over numbers is fitted to.
pub fn standing(table: &Table) -> Table {
    let column = roles(table).and_then(|r| r.set_aside);
    let out: Vec<usize> = column
        .map_or_else(Vec::new, |c| aside(table, &c))
        .into_iter()
        .map(|e| e.row)
        .collect();
    let mut kept = table.clone();
    if out.is_empty() {
        return kept;
    }
    let stays: Vec<bool> = table.row_numbers.iter().map(|r| !out.contains(r)).collect();
    let mut rows = stays.iter();
    kept.row_numbers.retain(|_| *rows.next().unwrap_or(&true));
    for column in &mut kept.columns {
        let mut rows = stays.iter();
        column.cells.retain(|_| *rows.next().unwrap_or(&true));
    }
    kept
}

/// The rows with a reason in a column.
fn aside(table: &Table, column: &str) -> Vec<Exclusion> {
    let Some(column) = table.column(column) else {
        return Vec::new();
    };
    let reasons = column.cells.iter().map(Cell::label);
    reasons
        .zip(&table.row_numbers)
        .filter_map(|(reason, row)| {
            Some(Exclusion {
                row: *row,
                reason: reason?,
            })
        })
        .collect()
}
