//! The formulas: materials by stage, their sum, the water with its need.

use super::column::Column;
use super::{Frame, Per, neutral, row};
use formula::Stage;
use paper::number;
use paper::parts::{Cell, Group, Known, Row, Sense};
use study::Figure;

pub(super) fn amount_groups(columns: &[&Column], per: Per, frame: &Frame) -> Vec<Group> {
    let mut groups = Vec::new();
    for stage in Stage::ALL {
        let mut rows = Vec::new();
        for (_, id, name, water) in frame.rows.iter().filter(|r| r.0 == stage) {
            let used = |c: &&Column| c.amounts.is_none() || c.amount(stage, id).is_some();
            if !*water && !columns.iter().any(used) {
                continue;
            }
            let cells = columns
                .iter()
                .map(|c| amount_cell(c, columns[0], stage, id, *water, frame.decimals));
            rows.push(row(name, "", cells.collect()));
            if *water && columns.iter().any(|c| c.need.is_some()) {
                rows.push(row(
                    "needs",
                    "",
                    columns.iter().map(|c| need_cell(c)).collect(),
                ));
            }
        }
        if !rows.is_empty() {
            groups.push(Group {
                name: stage.word().to_owned(),
                rows,
            });
        }
    }
    let sums = columns.iter().map(|c| match &c.amounts {
        Some(a) => Cell::number(a.values().sum(), frame.decimals),
        None => Cell::unknown(format!(
            "no line counts as flour, so nothing can be told {}",
            per.words()
        )),
    });
    groups.push(Group {
        name: String::new(),
        rows: vec![Row {
            sum: true,
            ..row("sum", "", sums.collect())
        }],
    });
    groups
}

fn amount_cell(
    column: &Column,
    control: &Column,
    stage: Stage,
    id: &str,
    water: bool,
    decimals: usize,
) -> Cell {
    if column.amounts.is_none() {
        return Cell::unknown("no line counts as flour");
    }
    match (column.amount(stage, id), control.amount(stage, id)) {
        (None, None) => Cell::empty(),
        (None, Some(there)) => Cell::empty().change(-there, decimals, Sense::Neutral),
        (Some(here), there) => {
            let from_need = water && column.water_from_need;
            let cell = Cell::number(here, decimals).known(if from_need {
                Known::Assumed
            } else {
                Known::Calculated
            });
            match there {
                Some(there) => cell.change(here - there, decimals, Sense::Neutral),
                None if control.amounts.is_some() => Cell {
                    change: Some(neutral("new")),
                    ..cell
                },
                None => cell,
            }
        }
    }
}

fn need_cell(column: &Column) -> Cell {
    match column.need {
        Some((mean, low, high)) => {
            let mark = Figure::WaterNeed.sure(column.answer()).mark();
            let need = number::interval(mean, low, high);
            Cell::text(format!("{mark}{need}")).known(Known::Assumed)
        }
        None => Cell::unknown("the need can’t be told per cent of flour: no line counts as flour"),
    }
}
