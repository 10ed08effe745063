//! From what was typed to edits: cells on the chosen basis, rows moved or taken out as a whole.

use super::column::Column;
use super::frame::{CellKind, Frame};
use app::AppError;
use formula::Material;
use std::collections::BTreeMap;
use std::sync::Arc;
use study::edit::{Edit, EditError, apply};
use study::written::StudyWritten;

/// Edits that can be made, and for each cell that can't be what it said, why.
#[derive(Default)]
pub struct Typed {
    pub edits: Vec<Edit>,
    pub errors: BTreeMap<String, String>,
}

/// One typed cell: the treatment, the material, the text.
struct Cell<'t> {
    name: &'t str,
    treatment: &'t str,
    material: Arc<Material>,
    text: &'t str,
}

/// The name of a cell in forms.
pub fn cell_name(treatment: &str, row: &super::frame::Row) -> String {
    format!("c:{treatment}:{}:{}", row.stage.word(), row.id())
}

/// Cells whose text isn't what the sheet shows already. An emptied cell takes its line out.
pub fn typed(f: &Frame, cells: &BTreeMap<String, String>) -> Typed {
    let mut out = Typed::default();
    let mut per_column: Vec<(&Column, Vec<Cell>)> = Vec::new();
    for (name, text) in cells {
        let mut parts = name.split(':').skip(1);
        let (Some(treatment), Some(stage), Some(id)) = (parts.next(), parts.next(), parts.next())
        else {
            continue;
        };
        let Some(column) = f.columns.iter().find(|c| c.id() == treatment) else {
            out.errors.insert(
                name.clone(),
                "this treatment isn’t in the study any more; load the page again".to_owned(),
            );
            continue;
        };
        let row = f
            .rows
            .iter()
            .find(|r| r.id() == id && r.stage.word() == stage);
        let Some(material) = row
            .map(|r| Arc::clone(&r.material))
            .or_else(|| f.study.material(id))
        else {
            out.errors
                .insert(name.clone(), "there is no such material".to_owned());
            continue;
        };
        if let Some(row) = row {
            if f.cell_text(column, row) == text.trim() {
                continue;
            }
            if f.cell_kind(column, row) != CellKind::Typed {
                out.errors.insert(
                    name.clone(),
                    "this cell follows from the others and can’t be typed in".to_owned(),
                );
                continue;
            }
        }
        let cell = Cell {
            name,
            treatment,
            material,
            text: text.trim(),
        };
        match per_column.iter_mut().find(|(c, _)| c.id() == treatment) {
            Some((_, cells)) => cells.push(cell),
            None => per_column.push((column, vec![cell])),
        }
    }
    let mut written = f.view.written.clone();
    for (column, cells) in per_column {
        column_edits(f, column, &cells, &mut written, &mut out);
    }
    out
}

fn column_edits(
    f: &Frame,
    column: &Column,
    cells: &[Cell],
    written: &mut Arc<StudyWritten>,
    out: &mut Typed,
) {
    let mut amounts = Vec::new();
    for cell in cells {
        if cell.text.is_empty() {
            let edit = Edit::RemoveLine {
                treatment: cell.treatment.to_owned(),
                material: cell.material.id.clone(),
            };
            if column
                .lines
                .iter()
                .any(|l| l.material.id == cell.material.id)
            {
                keep(edit, cell.name, written, out);
            }
            continue;
        }
        match f.settings.number("amount", cell.text) {
            Ok(value) if value >= 0.0 => amounts.push((cell, value)),
            Ok(_) => {
                out.errors.insert(
                    cell.name.to_owned(),
                    "an amount can’t be less than 0".to_owned(),
                );
            }
            Err(AppError::Value { why, .. }) => {
                out.errors.insert(cell.name.to_owned(), why);
            }
            Err(error) => {
                out.errors.insert(cell.name.to_owned(), error.to_string());
            }
        }
    }
    let typed: Vec<(Arc<Material>, f64)> = amounts
        .iter()
        .map(|(c, v)| (Arc::clone(&c.material), *v))
        .collect();
    match column.written(f.per, &typed) {
        Ok(values) => {
            let Some((first, _)) = amounts.first() else {
                return;
            };
            for (material, amount) in values {
                let own = amounts.iter().find(|(c, _)| c.material.id == material);
                let name = own.map_or(first.name, |(c, _)| c.name);
                let treatment = first.treatment.to_owned();
                keep(
                    Edit::SetAmount {
                        treatment,
                        material,
                        amount,
                    },
                    name,
                    written,
                    out,
                );
            }
        }
        Err(why) => {
            for (cell, _) in &amounts {
                out.errors.insert(cell.name.to_owned(), why.clone());
            }
        }
    }
}

fn keep(edit: Edit, name: &str, written: &mut Arc<StudyWritten>, out: &mut Typed) {
    match apply(written, &edit) {
        Ok(after) => {
            *written = Arc::new(after);
            out.edits.push(edit);
        }
        Err(why) => {
            out.errors.insert(name.to_owned(), why.to_string());
        }
    }
}

/// One row as a whole: `up`, `down` or `out` for the material of every treatment that has a say.
///
/// # Errors
/// Why no treatment could do it.
pub fn row(f: &Frame, deed: &str, material: &str) -> Result<Vec<Edit>, String> {
    let at = f
        .rows
        .iter()
        .position(|r| r.id() == material)
        .ok_or("this row isn’t in the sheet any more")?;
    let stage = f.rows[at].stage;
    let neighbours: Vec<&str> = f
        .rows
        .iter()
        .filter(|r| r.stage == stage)
        .map(super::frame::Row::id)
        .collect();
    let here = neighbours.iter().position(|m| *m == material).unwrap_or(0);
    let before = match deed {
        "up" if here > 0 => Some(neighbours[here - 1]),
        "down" if here + 2 < neighbours.len() => Some(neighbours[here + 2]),
        "down" if here + 1 < neighbours.len() => None,
        "out" => None,
        _ => return Err("it stands there already".to_owned()),
    };
    let mut written = f.view.written.clone();
    let mut edits = Vec::new();
    let mut why = None;
    for column in &f.columns {
        let has = |id: &str| {
            column
                .treatment
                .formula
                .lines()
                .iter()
                .any(|l| l.material.id == id)
        };
        if !has(material) {
            continue;
        }
        let (treatment, material) = (column.id().to_owned(), material.to_owned());
        let edit = match deed {
            "out" => Edit::RemoveLine {
                treatment,
                material,
            },
            _ if !column.full => continue,
            _ => Edit::MoveLine {
                treatment,
                material,
                before: before.filter(|b| has(b)).map(str::to_owned),
            },
        };
        match apply(&written, &edit) {
            Ok(after) => {
                written = Arc::new(after);
                edits.push(edit);
            }
            // Gone already with the treatment that it starts from.
            Err(EditError::NoLine { .. }) => {}
            Err(error) => why = Some(error.to_string()),
        }
    }
    match (edits.is_empty(), why) {
        (_, Some(why)) => Err(why),
        (true, None) => {
            Err("it can’t be moved there: the treatments that have it start from others".to_owned())
        }
        (false, None) => Ok(edits),
    }
}
