//! A run sheet of our own says who is who in a column of its own; what the person asks for goes
//! before what the sheet says.

use super::{AnalysisRequest, Table};

/// The roles that a sheet's own column names; none when there is no such column.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
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
}

/// Reads the roles off a table; columns that are no longer there are passed by.
pub fn roles(table: &Table) -> Option<SheetRoles> {
    let column = table.column("roles")?;
    let text = column.cells.iter().find_map(super::Cell::label)?;
    if !text.contains("design=") {
        return None;
    }
    let mut out = SheetRoles::default();
    for part in text.split("; ") {
        let Some((role, name)) = part.split_once('=') else {
            continue;
        };
        if role == "design" {
            out.design = name.to_owned();
            continue;
        }
        if table.column(name).is_none() {
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
