//! The formulas in the sheet: materials by stage, their sum, the water with its need.

use super::{Cell, Change, Group, Known, Per, Row, RowKind, Shown};
use crate::compare::{Bound, Compared, Figure};
use crate::model::{Study, WaterChoice};
use formula::Stage;
use measure::rounding;
use std::collections::HashMap;

/// A line as it stands in the sheet.
#[derive(Clone, Debug)]
struct Line {
    stage: Stage,
    id: String,
    name: String,
    is_water: bool,
}

/// The amounts of a treatment.
pub(super) struct Amounts {
    /// Amount by stage and material; none when the basis has no meaning for the formula.
    amounts: Option<HashMap<(Stage, String), f64>>,
    lines: Vec<Line>,
    need: Option<(f64, f64, f64)>,
    water_from_need: bool,
}

impl Amounts {
    pub fn of(study: &Study, compared: &Compared, per: Per) -> Self {
        let answer = &compared.answer;
        let Some(treatment) = study.treatment(&answer.id) else {
            return Self {
                amounts: None,
                lines: Vec::new(),
                need: None,
                water_from_need: false,
            };
        };
        // The formula as it is made: with the water that the answer was worked out for.
        let with = |water: f64| treatment.formula.with_water(water).ok();
        let made = with(answer.dough.water_added_kg_per_100kg_dry_mix)
            .unwrap_or_else(|| treatment.formula.clone());
        let water = |kg: f64| {
            let formula = with(kg)?;
            let amounts = per.amounts(&formula)?;
            let lines = formula.lines().iter().zip(amounts);
            Some(
                lines
                    .filter(|(l, _)| l.material.is_water())
                    .map(|(_, a)| a)
                    .sum(),
            )
        };
        let need = answer.dough.water_need;
        let need = match per {
            Per::DryMatter => None,
            Per::Mix | Per::Flour => water(need.mean)
                .zip(water(need.low95))
                .zip(water(need.high95))
                .map(|((m, l), h)| (m, l, h)),
        };
        let lines: Vec<Line> = made
            .lines()
            .iter()
            .map(|l| Line {
                stage: l.stage,
                id: l.material.id.clone(),
                name: l.material.name.clone(),
                is_water: l.material.is_water(),
            })
            .collect();
        let amounts = per.amounts(&made).map(|a| {
            let lines = lines.iter().zip(a);
            lines.map(|(l, a)| ((l.stage, l.id.clone()), a)).collect()
        });
        Self {
            amounts,
            lines,
            need,
            water_from_need: treatment.water == WaterChoice::FromNeed,
        }
    }

    fn amount(&self, line: &Line) -> Option<f64> {
        let amounts = self.amounts.as_ref()?;
        let amount = amounts.get(&(line.stage, line.id.clone())).copied();
        amount.filter(|a| *a > 0.0)
    }
}

/// The groups of the formulas, and their sum.
pub(super) fn amount_groups(all: &[Amounts], compared: &[Compared], per: Per) -> Vec<Group> {
    let Some(control) = all.first() else {
        return Vec::new();
    };
    let mut lines: Vec<&Line> = Vec::new();
    for line in all.iter().flat_map(|a| &a.lines) {
        if !lines
            .iter()
            .any(|l| l.stage == line.stage && l.id == line.id)
        {
            lines.push(line);
        }
    }
    lines.sort_by_key(|l| l.is_water);
    let amounts = all.iter().filter_map(|a| a.amounts.as_ref());
    let small = amounts
        .flat_map(HashMap::values)
        .copied()
        .filter(|a| *a > 0.0)
        .fold(f64::INFINITY, f64::min);
    let decimals = if small < 1.0 { 2 } else { 1 };
    let row = |kind, name: &str, cells| Row {
        kind,
        name: name.to_owned(),
        unit: String::new(),
        decimals,
        cells,
    };
    let mut groups = Vec::new();
    for stage in Stage::ALL {
        let mut rows = Vec::new();
        for line in lines.iter().filter(|l| l.stage == stage) {
            let used = |a: &Amounts| a.amounts.is_none() || a.amount(line).is_some();
            if !line.is_water && !all.iter().any(used) {
                continue;
            }
            let kind = RowKind::Amount {
                stage,
                material: line.id.clone(),
            };
            let cells = all
                .iter()
                .map(|a| amount_cell(a, control, line, decimals))
                .collect();
            rows.push(row(kind, &line.name, cells));
            if line.is_water && all.iter().any(|a| a.need.is_some()) {
                let cells = all.iter().zip(compared).map(|(a, c)| need_cell(a, c));
                rows.push(row(RowKind::Need, "needs", cells.collect()));
            }
        }
        if !rows.is_empty() {
            groups.push(Group {
                name: stage.word(),
                rows,
            });
        }
    }
    let sum = |a: &Amounts| {
        Cell::of(match &a.amounts {
            Some(a) => Shown::Number(a.values().sum(), Bound::Exactly),
            None => Shown::Unknown(format!(
                "no line counts as flour, so nothing can be told {}",
                per.words()
            )),
        })
    };
    groups.push(Group {
        name: "",
        rows: vec![row(RowKind::Sum, "sum", all.iter().map(sum).collect())],
    });
    groups
}

fn amount_cell(here: &Amounts, control: &Amounts, line: &Line, decimals: usize) -> Cell {
    if here.amounts.is_none() {
        return Cell::of(Shown::Unknown("no line counts as flour".to_owned()));
    }
    let by = |value: f64| Change::By {
        value,
        bound: Bound::Exactly,
        word: None,
    };
    match (here.amount(line), control.amount(line)) {
        (None, None) => Cell::of(Shown::Empty),
        (None, Some(there)) => Cell {
            change: Some(by(-there)),
            ..Cell::of(Shown::Empty)
        },
        (Some(amount), there) => Cell {
            shown: Shown::Number(amount, Bound::Exactly),
            known: if line.is_water && here.water_from_need {
                Known::Assumed
            } else {
                Known::Calculated
            },
            change: match there {
                Some(there) => Some(by(rounding::shown_gap(amount, there, decimals))),
                None if control.amounts.is_some() => Some(Change::New),
                None => None,
            },
        },
    }
}

fn need_cell(here: &Amounts, compared: &Compared) -> Cell {
    match here.need {
        Some((mean, low, high)) => Cell::of(Shown::Interval {
            mean,
            low,
            high,
            bound: Figure::WaterNeed.sure(&compared.answer),
        })
        .known(Known::Assumed),
        None => Cell::of(Shown::Unknown(
            "the need can’t be told per cent of flour: no line counts as flour".to_owned(),
        )),
    }
}
