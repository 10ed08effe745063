//! Which column is treatment, block, unit and piece: as told, else by name and content.

use super::words::{ASIDE, BLOCK, COLUMN, PIECE, REPEATED, ROW, TREATMENT, UNIT, is, plain};
use super::{factor, stop, varies_within, wanted};
use crate::analyse::AnalysisRequest;
use crate::analyse::table::{Cell, Column, Table};
use crate::stats::design::{Factor, cross};
use measure::{Finding, Severity};
use std::collections::HashMap;

/// Whether a column may be a treatment factor when nobody says so: few levels, each met often; of
/// numbers only few levels met about equally often, as a plan sets them and a measurement does not.
fn categorical(column: &Column, rows: &[usize]) -> bool {
    let mut labels: HashMap<String, usize> = HashMap::new();
    let mut texts = false;
    for &row in rows {
        match &column.cells[row] {
            Cell::Empty => return false,
            Cell::Text(_) => texts = true,
            Cell::Number(_) => {}
        }
        if let Some(label) = column.cells[row].label() {
            *labels.entry(label).or_insert(0) += 1;
        }
        if labels.len() > 60 {
            return false;
        }
    }
    let known = crate::response::Response::find(&column.name).is_some();
    let most = if texts {
        rows.len() / 2
    } else {
        (rows.len() / 2).min(8)
    };
    let (fewest, commonest) = (labels.values().min(), labels.values().max());
    let even = fewest.zip(commonest).is_some_and(|(f, c)| *c <= 2 * f);
    labels.len() >= 2 && labels.len() <= most.max(2) && !known && (texts || even)
}

/// Which columns played no part.
pub fn columns_aside(names: &[&str]) -> Finding {
    Finding::new(
        Severity::Note,
        "columns-not-used",
        names.join(", "),
        format!("not used here: {}", names.join(", ")),
    )
    .help("name a column as treatment, block or unit if it was one; for an amount that was varied fit a trend, a surface or a mixture")
}

/// Who is who.
pub struct Roles {
    pub treatments: Vec<Factor>,
    pub blocks: Vec<Factor>,
    pub repeated: bool,
    pub unit: Option<(Factor, bool)>,
    pub piece: Option<Factor>,
}

/// Finds the roles.
pub fn roles(
    table: &Table,
    request: &AnalysisRequest,
    rows: &[usize],
    findings: &mut Vec<Finding>,
) -> Result<Roles, Vec<Finding>> {
    let out_of = request.out_of.as_deref().unwrap_or("");
    let told: Vec<&str> = request
        .treatments
        .iter()
        .chain(&request.blocks)
        .chain(&request.unit)
        .map(String::as_str)
        .collect();
    let free: Vec<&Column> = table
        .columns
        .iter()
        .filter(|c| {
            !c.name.eq_ignore_ascii_case(&request.response)
                && !c.name.eq_ignore_ascii_case(out_of)
                && !told.iter().any(|t| c.name.eq_ignore_ascii_case(t))
        })
        .collect();
    let filled = |c: &&&Column| rows.iter().all(|&r| c.cells[r] != Cell::Empty);
    let named = |list: &[&str]| {
        free.iter()
            .filter(|c| is(&c.name, list))
            .find(filled)
            .copied()
    };
    // A treatment or batch column with a gap is a problem to be told, not a column to be passed by.
    let meant = |list: &[&str]| free.iter().find(|c| is(&c.name, list)).copied();

    let mut blocks = Vec::new();
    for name in &request.blocks {
        blocks.push(factor(
            table,
            wanted(table, name, "block")?,
            rows,
            findings,
        )?);
    }
    if request.blocks.is_empty() {
        for column in free.iter().filter(|c| is(&c.name, &BLOCK)).filter(filled) {
            let found = factor(table, column, rows, findings)?;
            if found.levels.len() > 1 && found.levels.len() < rows.len() {
                blocks.push(found);
            }
        }
        if let (Some(row), Some(column)) = (named(&ROW), named(&COLUMN)) {
            blocks.push(factor(table, row, rows, findings)?);
            blocks.push(factor(table, column, rows, findings)?);
        }
    }
    // A block that is the same split as another adds nothing.
    let mut kept: Vec<Factor> = Vec::new();
    for block in blocks {
        let same = kept
            .iter()
            .any(|k| !varies_within(k, &block) && !varies_within(&block, k));
        if !same {
            kept.push(block);
        }
    }
    // A block made up of whole finer blocks (the week of a day) says nothing the finer ones don't.
    let coarse = |block: &Factor| {
        kept.iter()
            .any(|other| other.name != block.name && !varies_within(block, other))
    };
    let mut blocks: Vec<Factor> = kept.iter().filter(|b| !coarse(b)).cloned().collect();

    let piece = match named(&PIECE) {
        Some(column) => Some(factor(table, column, rows, findings)?),
        None => None,
    };
    let mut unit = match &request.unit {
        Some(name) => {
            if is(name, &PIECE) {
                return Err(stop(
                    "pieces-are-not-replicates",
                    name,
                    format!(
                        "{name} can't be the experimental unit: pieces of one batch share its mixing, its baking and its mistakes"
                    ),
                    "name what was mixed and baked on its own (the batch, or the dough); ten pieces of one batch say how even it is, not whether another batch would come out the same",
                ));
            }
            // Several columns joined by colons number the unit together.
            let parts: Vec<&str> = if table.column(name).is_some() {
                vec![name]
            } else {
                name.split(':').collect()
            };
            let mut factors = Vec::with_capacity(parts.len());
            for part in parts {
                factors.push(factor(
                    table,
                    wanted(table, part, "experimental unit")?,
                    rows,
                    findings,
                )?);
            }
            let joined = cross(&factors.iter().collect::<Vec<_>>());
            Some((
                if factors.len() == 1 {
                    factors.remove(0)
                } else {
                    joined
                },
                true,
            ))
        }
        None => match meant(&UNIT) {
            Some(column) => Some((factor(table, column, rows, findings)?, false)),
            None => None,
        },
    };
    let mut repeated = false;
    if unit.is_none()
        && let Some(column) = named(&REPEATED)
    {
        unit = Some((factor(table, column, rows, findings)?, false));
    }

    let mut treatments = Vec::new();
    if request.treatments.is_empty() {
        let spare = |c: &&&Column| {
            let lists: [&[&str]; 7] = [&BLOCK, &UNIT, &PIECE, &REPEATED, &ASIDE, &ROW, &COLUMN];
            !lists.iter().any(|list| is(&c.name, list)) && !plain(&c.name).contains("method")
        };
        if let Some(column) = meant(&TREATMENT) {
            treatments.push(factor(table, column, rows, findings)?);
        } else {
            for column in free.iter().filter(spare).filter(|c| categorical(c, rows)) {
                let found = factor(table, column, rows, findings)?;
                let same = treatments
                    .iter()
                    .any(|t: &Factor| !varies_within(t, &found) && !varies_within(&found, t));
                if same {
                    findings.push(Finding::new(
                        Severity::Note,
                        "same-split-twice",
                        column.name.clone(),
                        format!("column {} splits the rows as another treatment column does and was left aside", column.name),
                    ));
                } else {
                    treatments.push(found);
                }
            }
        }
    } else {
        for name in &request.treatments {
            treatments.push(factor(
                table,
                wanted(table, name, "treatment")?,
                rows,
                findings,
            )?);
        }
    }
    let names = |f: &[Factor]| {
        f.iter()
            .map(|f| f.name.clone())
            .collect::<Vec<_>>()
            .join(", ")
    };
    if treatments.is_empty() {
        return Err(stop(
            "no-treatment",
            "treatment",
            "no column looks like the treatment".into(),
            "say which column holds the treatment",
        ));
    }
    if treatments.len() > 4 {
        return Err(stop(
            "which-treatments",
            "treatment",
            format!(
                "{} columns could be treatments: {}",
                treatments.len(),
                names(&treatments)
            ),
            "say which columns are the treatments",
        ));
    }
    if let Some(single) = treatments.iter().find(|t| t.levels.len() < 2) {
        return Err(stop(
            "one-treatment",
            &single.name,
            format!(
                "{} has only one level, {}: there is nothing to compare",
                single.name,
                single.levels.join("")
            ),
            "give rows of at least two treatments",
        ));
    }
    let taken = |name: &str| {
        treatments.iter().chain(&blocks).any(|f| f.name == name)
            || piece.as_ref().is_some_and(|p| p.name == name)
            || unit.as_ref().is_some_and(|(u, _)| {
                u.name
                    .split(':')
                    .any(|part| part.eq_ignore_ascii_case(name))
            })
    };
    let unused: Vec<&str> = free
        .iter()
        .filter(|c| !taken(&c.name) && c.name != "row_number")
        .map(|c| c.name.as_str())
        .collect();
    if !unused.is_empty() {
        findings.push(columns_aside(&unused));
    }
    // A unit that gets every treatment is a block (a dog, a day), or only a running number.
    if let Some((found, told)) = &unit {
        let all_vary = treatments.iter().all(|t| varies_within(t, found));
        if all_vary && (is(&found.name, &REPEATED) || (*told && !is(&found.name, &UNIT))) {
            repeated = true;
            blocks.push(found.clone());
        } else if all_vary && found.levels.len() < rows.len() {
            findings.push(
                Finding::new(
                    Severity::Warn,
                    "unit-labels-repeat",
                    found.name.clone(),
                    format!(
                        "the same {} numbers occur in several treatments; they were taken as numbered afresh within each treatment",
                        found.name
                    ),
                )
                .help(format!("if one {0} really got every treatment, name {0} as the block", found.name)),
            );
        }
    }
    Ok(Roles {
        treatments,
        blocks,
        repeated,
        unit,
        piece,
    })
}

/// The columns of blocks and unit when they are all there is besides the response: then the spread
/// is what is asked.
pub fn only_groups(table: &Table, request: &AnalysisRequest) -> Option<Vec<String>> {
    if !request.treatments.is_empty() || request.out_of.is_some() {
        return None;
    }
    let rows: Vec<usize> = (0..table.row_numbers.len()).collect();
    let mut groups: Vec<String> = request.blocks.clone();
    groups.extend(request.unit.clone());
    let mut guessed: Vec<(usize, String)> = Vec::new();
    for column in &table.columns {
        let name = &column.name;
        let told = groups.iter().any(|g| g.eq_ignore_ascii_case(name));
        let aside = is(name, &PIECE) || is(name, &ASIDE) || name == "row_number";
        if told || aside || name.eq_ignore_ascii_case(&request.response) {
            continue;
        }
        let rank = if is(name, &BLOCK) {
            0
        } else if is(name, &UNIT) || is(name, &REPEATED) {
            1
        } else if is(name, &TREATMENT) || categorical(column, &rows) {
            return None;
        } else {
            continue;
        };
        guessed.push((rank, name.clone()));
    }
    guessed.sort();
    if groups.is_empty() {
        groups = guessed.into_iter().map(|(_, name)| name).collect();
    }
    (!groups.is_empty() && groups.iter().all(|g| table.column(g).is_some())).then_some(groups)
}
