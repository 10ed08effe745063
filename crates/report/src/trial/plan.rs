//! A plan: the run sheet to print and write on.

use super::Told;
use super::sheet::{Cell, Sheet};
use trials::plan::{Level, RunSheet};

/// Tells a plan.
pub fn plan(plan: &RunSheet) -> Told {
    let mut facts = vec![(
        "order",
        format!("drawn from seed {} ({})", plan.seed, plan.algorithm),
    )];
    if let Some(df) = plan.error_df {
        facts.push(("degrees of freedom left for error", df.to_string()));
    }
    let mut about = Sheet::new("About this plan", "", &["what", "value"]);
    for f in &plan.facts {
        about.rows.push(vec![
            Cell::from(f.name.as_str()),
            Cell::from(f.value.as_str()),
        ]);
    }
    let heads = plan.headings();
    let heads: Vec<&str> = heads.iter().map(String::as_str).collect();
    let mut sheet = Sheet::new("Run sheet", "", &heads);
    sheet.to_fill = true;
    for run in &plan.runs {
        let mut cells = vec![
            Cell::from(run.order.to_string()),
            Cell::from(run.unit_id.as_str()),
        ];
        cells.extend(run.places.iter().map(|p| Cell::from(p.as_str())));
        cells.push(Cell::from(run.treatment.as_str()));
        cells.extend(run.levels.iter().map(level));
        sheet.rows.push(cells);
    }
    let mut sheets = vec![sheet, about];
    sheets.retain(|s| !s.rows.is_empty());
    Told {
        kind: "Trial plan",
        title: format!("Plan: {}", plan.design.word()),
        sentence: plan.unit_statement.clone(),
        facts,
        pictures: Vec::new(),
        sheets,
        findings: plan.findings.clone(),
    }
}

/// A setting, six significant digits without a tail of noughts.
fn level(level: &Level) -> Cell {
    match level {
        Level::Number(x) => {
            let text = measure::rounding::significant(*x, 6);
            let text = match text.contains('.') {
                true => text.trim_end_matches('0').trim_end_matches('.').to_owned(),
                false => text,
            };
            Cell {
                text,
                value: Some(*x),
            }
        }
        Level::Name(name) => Cell::from(name.as_str()),
    }
}
