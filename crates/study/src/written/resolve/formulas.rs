//! Formulas of treatments: written in full, or changed from another's.

use super::super::path::At;
use super::super::problem::{Problems, What};
use super::super::tables::{
    AddRow, AmountOf, ChangeRow, FormulaLineRow, MaterialRow, SwapRow, TreatmentRow,
};
use super::super::typed::Told;
use super::materials::unknown;
use super::treatments::Work;
use crate::model::{Basis, Treatment, WaterChoice};
use formula::treatment::Amount;
use formula::{Change, Formula, FormulaError, Line, Material};
use std::sync::Arc;

/// How far percentages may miss 100, points.
const TOLERANCE_PCT: f64 = 0.05;

impl Work<'_, '_> {
    fn material(
        &self,
        told: &Told<Option<&str>>,
        at: &At<'_>,
        problems: &mut Problems,
    ) -> Option<Arc<Material>> {
        let id = told.value?;
        let found = self
            .own
            .get(id)
            .cloned()
            .or_else(|| formula::shelf::find(id));
        // A material of the file that couldn't be built has been told already.
        let of_the_file = |m: &MaterialRow<'_>| m.id.value == Some(id);
        if found.is_none() && !self.root.material.value.iter().any(of_the_file) {
            let what = unknown(id, self.own.keys().map(String::as_str));
            problems.tell(at, &told.place, what);
        }
        found
    }

    pub(super) fn formula(
        &self,
        row: &TreatmentRow<'_>,
        basis: Basis,
        water: WaterChoice,
        at: &At<'_>,
        problems: &mut Problems,
    ) -> Option<Formula> {
        let written = &row.lines.value;
        let lines_at = at.key(TreatmentRow::lines.name);
        let mut lines = Vec::with_capacity(written.len());
        let mut balance: Option<(usize, &FormulaLineRow<'_>)> = None;
        let mut complete = true;
        for (i, line) in written.iter().enumerate() {
            let at = lines_at.nth(i);
            let amount_at = at.key(FormulaLineRow::amount.name);
            let is_balance = line.balance.value == Some(true);
            match (is_balance, line.amount.value) {
                (true, Some(_)) => {
                    complete = false;
                    problems.tell(&amount_at, &line.amount.place, What::BalanceHasAmount);
                }
                (false, None) => {
                    complete = false;
                    if !line.amount.failed {
                        problems.tell(&amount_at, &line.row.place, What::NoAmount);
                    }
                }
                _ => {}
            }
            if is_balance {
                if balance.is_some() {
                    complete = false;
                    let at = at.key(FormulaLineRow::balance.name);
                    problems.tell(&at, &line.balance.place, What::TwoBalances);
                } else {
                    balance = Some((i, line));
                }
            }
            let material_at = at.key(FormulaLineRow::material.name);
            match self.material(&line.material, &material_at, problems) {
                Some(material) => {
                    let mut l = Line::new(material, line.amount.value.unwrap_or(0.0));
                    if let Some(stage) = line.stage.value {
                        l = l.at(stage);
                    }
                    if let Some(flour) = line.flour.value {
                        l.is_flour = flour;
                    }
                    lines.push(l);
                }
                None => complete = false,
            }
        }
        if !complete || row.lines.failed || row.percent_of.failed || row.water.failed {
            return None;
        }
        let result = match basis {
            Basis::Parts => match balance {
                None => Formula::new(lines),
                Some((_, line)) => {
                    problems.tell(&lines_at, &line.balance.place, What::BalanceOfParts);
                    return None;
                }
            },
            Basis::Mix => match balance {
                Some((i, _)) => {
                    let id = lines[i].material.id.clone();
                    Formula::with_balance(lines, &id, 100.0)
                }
                None => {
                    let dry = water == WaterChoice::FromNeed
                        && !lines.iter().any(|l| l.material.is_water());
                    Formula::from_percent_of_mix(lines, TOLERANCE_PCT)
                        .map_err(|e| told_of(e, if dry { "the dry mix" } else { "the mix" }))
                }
            },
            Basis::Flour => hundred(
                lines,
                balance.map(|b| b.0),
                |l| l.is_flour,
                "the flour lines",
            ),
            Basis::DryMix => hundred(
                lines,
                balance.map(|b| b.0),
                |l| !l.material.is_water(),
                "the dry mix",
            ),
        };
        result
            .map_err(|error| problems.tell(&lines_at, &row.lines.place, What::Formula(error)))
            .ok()
    }

    pub(super) fn changed(
        &self,
        row: &TreatmentRow<'_>,
        base: &Treatment,
        basis: Basis,
        at: &At<'_>,
        problems: &mut Problems,
    ) -> Option<(Formula, Vec<Change>)> {
        let written = &row.changes.value;
        let changes_at = at.key(TreatmentRow::changes.name);
        let mut changes = Vec::with_capacity(written.len());
        for (i, change) in written.iter().enumerate() {
            changes.extend(self.change(change, basis, &changes_at.nth(i), problems));
        }
        if changes.len() != written.len() || row.changes.failed || row.percent_of.failed {
            return None;
        }
        match formula::treatment::apply(&base.formula, &changes) {
            Ok(formula) => Some((formula, changes)),
            Err(error) => {
                // The first change after which it goes wrong in the same way is the one to show.
                let first = (0..changes.len()).find(|&n| {
                    formula::treatment::apply(&base.formula, &changes[..=n]).as_ref() == Err(&error)
                });
                let what = What::Change(error);
                match first {
                    Some(n) => problems.tell(&changes_at.nth(n), &written[n].row().place, what),
                    None => problems.tell(&changes_at, &row.changes.place, what),
                }
                None
            }
        }
    }

    fn change(
        &self,
        row: &ChangeRow<'_>,
        basis: Basis,
        at: &At<'_>,
        problems: &mut Problems,
    ) -> Option<Change> {
        let amount = |n: f64, of: Option<AmountOf>| match (of, basis) {
            (Some(AmountOf::Mix), _) | (None, Basis::Mix) => Amount::PercentOfMix(n),
            (Some(AmountOf::Flour), _) | (None, Basis::Flour) => Amount::PercentOfFlour(n),
            _ => Amount::Parts(n),
        };
        Some(match row {
            ChangeRow::Swap(row) => {
                let at = at.key(SwapRow::with.name);
                let with = self.material(&row.with, &at, problems)?;
                Change::Swap {
                    out: row.swap.value?.to_owned(),
                    with,
                    at: row.keep.value?,
                    share: row.share_pct.value / 100.0,
                }
            }
            ChangeRow::Set(row) => Change::Set {
                material: row.set.value?.to_owned(),
                amount: amount(row.amount.value?, row.of.value),
            },
            ChangeRow::Add(row) => {
                let at = at.key(AddRow::add.name);
                Change::Add {
                    material: self.material(&row.add, &at, problems)?,
                    amount: amount(row.amount.value?, row.of.value),
                    stage: row.stage.value,
                    is_flour: row.flour.value,
                }
            }
            ChangeRow::Remove(row) => Change::Remove {
                material: row.remove.value?.to_owned(),
            },
            ChangeRow::ScaleWater(row) => Change::ScaleWater {
                factor: row.scale_water.value?,
            },
        })
    }
}

/// A formula of which some lines make 100 and the others are told on them.
fn hundred(
    mut lines: Vec<Line>,
    balance: Option<usize>,
    within: impl Fn(&Line) -> bool,
    whole: &str,
) -> Result<Formula, FormulaError> {
    let (mut inside, mut outside) = (0.0, 0.0);
    for line in &lines {
        if within(line) {
            inside += line.parts;
        } else {
            outside += line.parts;
        }
    }
    match balance {
        Some(i) if within(&lines[i]) => {
            let id = lines[i].material.id.clone();
            Formula::with_balance(lines, &id, 100.0 + outside)
        }
        Some(i) => Err(FormulaError::NotHundred {
            sum: inside,
            fix: format!(
                "{} is outside {whole}, so it can't be the balance; give it an amount",
                lines[i].material.id
            ),
        }),
        None if (inside - 100.0).abs() <= TOLERANCE_PCT => {
            for line in lines.iter_mut().filter(|l| within(l)) {
                line.parts *= 100.0 / inside;
            }
            Formula::new(lines)
        }
        None => {
            let largest = lines
                .iter()
                .filter(|l| within(l))
                .max_by(|a, b| a.parts.total_cmp(&b.parts));
            let fix = match largest {
                Some(l) if l.parts + 100.0 - inside > 0.0 => format!(
                    "write {:.4} instead of {:.4} for {}, or make one line the balance",
                    l.parts + 100.0 - inside,
                    l.parts,
                    l.material.id
                ),
                Some(_) => "write percent_of = \"parts\" if these are parts".to_owned(),
                None => format!(
                    "no line belongs to {whole}; mark one with flour = true, or write percent_of = \"mix\""
                ),
            };
            Err(FormulaError::NotHundred {
                sum: inside,
                fix: format!("{whole} must make 100: {fix}"),
            })
        }
    }
}

/// Says which lines had to make 100.
fn told_of(error: FormulaError, whole: &str) -> FormulaError {
    match error {
        FormulaError::NotHundred { sum, fix } => FormulaError::NotHundred {
            sum,
            fix: format!("the lines of {whole} must make 100: {fix}"),
        },
        other => other,
    }
}
