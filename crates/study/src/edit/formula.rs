//! The lines of a formula, written in full or as changes of another's.

use super::{EditError, NameFault, Water, Why, bad, named};
use crate::model::Basis;
use crate::model::WaterChoice;
use crate::written::field::Table;
use crate::written::problem::{Allowed, Found};
use crate::written::tables::{
    ADD, AddRow, ChangeRow, FORMULA_LINE, FormulaLineRow, MOST_CHANGES, MOST_LINES, REMOVE,
    RemoveRow, SET, SWAP, SetRow, SwapRow, TreatmentRow,
};
use crate::written::word::words;
use crate::written::{Row, StudyWritten, Word, resolve};
use formula::{At, Change, Formula, Stage};
use measure::Range;

/// The material that is added water.
const WATER: &str = "water";

/// What the lines of a treatment are, as far as names go.
struct Lines {
    ids: Vec<String>,
    balance: Option<String>,
}

impl Lines {
    fn has(&self, id: &str) -> bool {
        self.ids.iter().any(|i| i == id)
    }

    fn known(&self, treatment: &str, material: &str) -> Result<(), EditError> {
        if self.has(material) {
            return Ok(());
        }
        Err(EditError::NoLine {
            material: material.chars().take(80).collect(),
            treatment: treatment.to_owned(),
            lines: self.ids.clone(),
        })
    }

    fn not_balance(&self, treatment: &str, material: &str) -> Result<(), EditError> {
        if self.balance.as_deref() == Some(material) {
            return Err(EditError::IsBalance {
                material: material.to_owned(),
                treatment: treatment.to_owned(),
            });
        }
        Ok(())
    }

    fn change(&mut self, change: &ChangeRow<'_>) {
        match change {
            ChangeRow::Swap(change) => {
                let word = |word: Option<&str>| word.unwrap_or_default().to_owned();
                let (out, with) = (word(change.swap.value), word(change.with.value));
                let whole = change.share_pct.value >= 100.0;
                let at = self.ids.iter().position(|i| *i == out);
                match at {
                    Some(at) if whole && !self.has(&with) => self.ids[at].clone_from(&with),
                    Some(at) if whole => {
                        self.ids.remove(at);
                    }
                    Some(_) if !self.has(&with) => self.ids.push(with.clone()),
                    _ => {}
                }
                if whole && self.balance.as_ref() == Some(&out) {
                    self.balance = Some(with);
                }
            }
            ChangeRow::Add(change) => {
                if let Some(id) = change.add.value.filter(|id| !self.has(id)) {
                    self.ids.push(id.to_owned());
                }
            }
            ChangeRow::Remove(change) => {
                self.ids.retain(|i| Some(i.as_str()) != change.remove.value);
            }
            ChangeRow::Set(_) | ChangeRow::ScaleWater(_) => {}
        }
    }
}

/// The lines of a treatment, its forebears' changes made.
fn lines_of(w: &StudyWritten, id: &str) -> Result<Lines, EditError> {
    let mut chain = vec![named::get(w, id)?];
    let most = w.treatments().len();
    while let Some(from) = chain.last().and_then(|row| row.get(TreatmentRow::from)) {
        if chain.len() > most {
            break;
        }
        chain.push(named::get(w, from)?);
    }
    let mut lines = Lines {
        ids: Vec::new(),
        balance: None,
    };
    for row in chain.into_iter().rev() {
        for line in row.rows(TreatmentRow::lines) {
            let material = of(line).unwrap_or_default().to_owned();
            if line.get(FormulaLineRow::balance) == Some(true) {
                lines.balance = Some(material.clone());
            }
            if !lines.has(&material) {
                lines.ids.push(material);
            }
        }
        let changes = row.rows(TreatmentRow::changes).iter();
        for change in changes.filter_map(ChangeRow::read) {
            lines.change(&change);
        }
    }
    Ok(lines)
}

/// The material of a line.
fn of(line: &Row) -> Option<&str> {
    line.get(FormulaLineRow::material)
}

/// An amount that a line can have.
fn checked(path: impl Into<String>, amount: f64) -> Result<f64, EditError> {
    let field = FORMULA_LINE.field(FormulaLineRow::amount.name);
    match field {
        Some(field) if !field.takes(amount) => {
            let (value, unit) = (amount, field.kind.unit());
            let found = Found::Number { value, unit };
            Err(bad(path, found, Allowed::Field(field)))
        }
        // −0 would be written as "-0".
        _ => Ok(amount + 0.0),
    }
}

fn path_of(treatment: &str, material: &str) -> String {
    format!("treatment[{treatment}].{material}")
}

fn in_full(row: &Row) -> bool {
    !row.has(TreatmentRow::from.name)
}

/// A change of a form, to be filled in.
fn push_change(
    w: &mut StudyWritten,
    id: &str,
    form: &'static Table,
    fill: impl FnOnce(&mut Row),
) -> Result<(), EditError> {
    let rows = named::get_mut(w, id)?.rows_mut(TreatmentRow::changes);
    if rows.len() >= MOST_CHANGES {
        let path = path_of(id, TreatmentRow::changes.name);
        let found = Found::Count(MOST_CHANGES + 1);
        return Err(bad(path, found, Allowed::AtMost(MOST_CHANGES)));
    }
    let mut row = Row::new(form);
    fill(&mut row);
    rows.push(row);
    Ok(())
}

pub(super) fn set_amount(
    w: &mut StudyWritten,
    id: &str,
    material: &str,
    amount: f64,
) -> Result<(), EditError> {
    let amount = checked(path_of(id, material), amount)?;
    let lines = lines_of(w, id)?;
    if !lines.has(material) {
        return add_line(w, id, material, amount, None);
    }
    lines.not_balance(id, material)?;
    let row = named::get_mut(w, id)?;
    if in_full(row) {
        // Several lines of one material: the first takes what is left over the others.
        let rows = row.rows_mut(TreatmentRow::lines);
        let others: f64 = rows
            .iter()
            .filter(|l| of(l) == Some(material))
            .skip(1)
            .filter_map(|l| l.get(FormulaLineRow::amount))
            .sum();
        if others > amount {
            let found = Found::Number {
                value: amount,
                unit: "",
            };
            let allowed = Allowed::AtLeast {
                value: others,
                why: "which its later lines have",
            };
            return Err(bad(path_of(id, material), found, allowed));
        }
        if let Some(line) = rows.iter_mut().find(|l| of(l) == Some(material)) {
            line.put(FormulaLineRow::amount, amount - others);
        }
        return Ok(());
    }
    let has_balance = lines.balance.is_some();
    let changes = row.rows_mut(TreatmentRow::changes);
    let touches = |c: &Row| ChangeRow::read(c).is_some_and(|c| c.materials().contains(&material));
    if let Some(at) = changes.iter().rposition(touches) {
        let form = changes[at].table;
        let is_set = std::ptr::eq(form, &SET);
        let last = at + 1 == changes.len();
        // With a balance every other line keeps its amount, so the order of amounts doesn't matter.
        if (is_set || std::ptr::eq(form, &ADD)) && (last || has_balance) {
            let change = &mut changes[at];
            if is_set {
                change.put(SetRow::amount, amount);
                change.take(SetRow::of);
            } else {
                change.put(AddRow::amount, amount);
                change.take(AddRow::of);
            }
            return Ok(());
        }
        if is_set {
            changes.remove(at);
        }
    }
    push_change(w, id, &SET, |row| {
        row.put(SetRow::set, material);
        row.put(SetRow::amount, amount);
    })
}

pub(super) fn add_line(
    w: &mut StudyWritten,
    id: &str,
    material: &str,
    amount: f64,
    stage: Option<&str>,
) -> Result<(), EditError> {
    named::short_name("material", material)?;
    let amount = checked(path_of(id, material), amount)?;
    let stage = match stage.map(|word| (word, Stage::of(word))) {
        Some((word, None)) => {
            let found = Found::Text(word.to_owned());
            return Err(bad("stage", found, Allowed::OneOf(words::<Stage>())));
        }
        stage => stage.and_then(|(_, stage)| stage),
    };
    if lines_of(w, id)?.has(material) {
        return Err(EditError::LineThere {
            material: material.to_owned(),
            treatment: id.to_owned(),
        });
    }
    let row = named::get_mut(w, id)?;
    if !in_full(row) {
        return push_change(w, id, &ADD, |row| {
            row.put(AddRow::add, material);
            row.put(AddRow::amount, amount);
            if let Some(stage) = stage {
                row.put(AddRow::stage, stage);
            }
        });
    }
    let rows = row.rows_mut(TreatmentRow::lines);
    if rows.len() >= MOST_LINES {
        let path = path_of(id, TreatmentRow::lines.name);
        let found = Found::Count(MOST_LINES + 1);
        return Err(bad(path, found, Allowed::AtMost(MOST_LINES)));
    }
    let mut line = Row::new(&FORMULA_LINE);
    line.put(FormulaLineRow::material, material);
    if let Some(stage) = stage {
        line.put(FormulaLineRow::stage, stage);
    }
    line.put(FormulaLineRow::amount, amount);
    rows.push(line);
    Ok(())
}

pub(super) fn remove_line(w: &mut StudyWritten, id: &str, material: &str) -> Result<(), EditError> {
    let lines = lines_of(w, id)?;
    lines.known(id, material)?;
    lines.not_balance(id, material)?;
    let row = named::get_mut(w, id)?;
    if in_full(row) {
        row.rows_mut(TreatmentRow::lines)
            .retain(|l| of(l) != Some(material));
        return Ok(());
    }
    let changes = row.rows_mut(TreatmentRow::changes);
    let touches = |c: &Row| ChangeRow::read(c).is_some_and(|c| c.materials().contains(&material));
    let adds = |c: &Row| c.get(AddRow::add) == Some(material) && std::ptr::eq(c.table, &ADD);
    let sets = |c: &Row| c.get(SetRow::set) == Some(material) && std::ptr::eq(c.table, &SET);
    let swapped = |c: &Row| SwapRow::read(c).is_some() && touches(c);
    let added = changes.iter().position(adds);
    let plain = added.is_some_and(|at| !changes[at..].iter().any(swapped));
    // A `set` before the removal would be idle.
    if !changes.iter().any(swapped) {
        changes.retain(|c| !sets(c));
    }
    if plain {
        changes.retain(|c| !adds(c));
        if changes.is_empty() {
            row.take(TreatmentRow::changes);
        }
        return Ok(());
    }
    push_change(w, id, &REMOVE, |row| row.put(RemoveRow::remove, material))
}

pub(super) fn move_line(
    w: &mut StudyWritten,
    id: &str,
    material: &str,
    before: Option<&str>,
) -> Result<(), EditError> {
    let lines = lines_of(w, id)?;
    lines.known(id, material)?;
    if let Some(before) = before {
        lines.known(id, before)?;
    }
    let row = named::get_mut(w, id)?;
    if let Some(from) = row.get(TreatmentRow::from) {
        return Err(EditError::FromAnother {
            treatment: id.to_owned(),
            from: from.to_owned(),
            way_out: "put them in order there",
        });
    }
    if before == Some(material) {
        return Ok(());
    }
    let rows = row.rows_mut(TreatmentRow::lines);
    let (moved, mut rest): (Vec<Row>, Vec<Row>) = std::mem::take(rows)
        .into_iter()
        .partition(|l| of(l) == Some(material));
    let at = before.and_then(|b| rest.iter().position(|l| of(l) == Some(b)));
    let at = at.unwrap_or(rest.len());
    rest.splice(at..at, moved);
    *rows = rest;
    Ok(())
}

pub(super) fn set_water(w: &mut StudyWritten, id: &str, water: Water) -> Result<(), EditError> {
    let lines = lines_of(w, id)?;
    let (choice, amount) = match water {
        Water::Need => (WaterChoice::FromNeed, None),
        Water::Given => (WaterChoice::Given, None),
        Water::GivenAmount(amount) => (WaterChoice::Given, Some(amount)),
    };
    if let Some(amount) = amount {
        checked(path_of(id, WATER), amount)?;
    }
    if choice == WaterChoice::Given && amount.is_none() && !lines.has(WATER) {
        return Err(bad(
            path_of(id, WATER),
            Found::Empty,
            Allowed::Words("an amount of water, since the formula has no line of it"),
        ));
    }
    let row = named::get_mut(w, id)?;
    row.put(TreatmentRow::water, choice);
    let of_mix = row
        .get(TreatmentRow::percent_of)
        .is_none_or(|b| b == Basis::Mix);
    if let Some(amount) = amount {
        // Lines without water that make 100 are the dry mix, and water is told on it.
        if in_full(row) && !lines.has(WATER) && lines.balance.is_none() && of_mix {
            row.put(TreatmentRow::percent_of, Basis::DryMix);
        }
        set_amount(w, id, WATER, amount)?;
    }
    Ok(())
}

pub(super) fn swap(
    w: &mut StudyWritten,
    id: &str,
    out: &str,
    with: &str,
    keep: At,
    share_pct: f64,
) -> Result<(), EditError> {
    named::short_name("material", with)?;
    let lines = lines_of(w, id)?;
    lines.known(id, out)?;
    let range = Range::new(0.01, 100.0);
    if !range.contains(share_pct) {
        let (value, unit) = (share_pct, "%");
        return Err(bad(
            "share of the line that goes out",
            Found::Number { value, unit },
            Allowed::Range { range, unit },
        ));
    }
    if out == with {
        return Err(bad(
            "material that comes in",
            Found::Text(with.to_owned()),
            Allowed::Words("another than the one that goes out"),
        ));
    }
    if !in_full(named::get(w, id)?) {
        return push_change(w, id, &SWAP, |row| {
            row.put(SwapRow::swap, out);
            row.put(SwapRow::with, with);
            row.put(SwapRow::keep, keep);
            if share_pct < 100.0 {
                row.put(SwapRow::share_pct, share_pct);
            }
        });
    }
    swap_in_full(w, id, out, with, keep, share_pct / 100.0)
}

/// A formula in full has no changes, so the swap is worked out and the new amounts are written.
fn swap_in_full(
    w: &mut StudyWritten,
    id: &str,
    out: &str,
    with: &str,
    at: At,
    share: f64,
) -> Result<(), EditError> {
    let not_now = |why: Why| EditError::NotNow {
        what: format!("{out} can't be swapped in {id} yet"),
        why,
    };
    let study = resolve(w).map_err(|problems| not_now(Why::first(problems)))?;
    let now = study.treatment(id).ok_or_else(|| not_now(Why::NotBuilt))?;
    let material = study.material(with).ok_or_else(|| EditError::BadName {
        what: "material",
        id: with.to_owned(),
        why: NameFault::NoMaterial,
    })?;
    let swap = Change::Swap {
        out: out.to_owned(),
        with: material,
        at,
        share,
    };
    let after = formula::treatment::apply(&now.formula, &[swap])
        .map_err(|e| not_now(Why::Change(Box::new(e))))?;
    let amounts = on_basis(&after, now.basis);
    let old = std::mem::take(named::get_mut(w, id)?.rows_mut(TreatmentRow::lines));
    let new = after.lines().iter().zip(amounts).map(|(line, amount)| {
        let name = line.material.id.as_str();
        let fits = |l: &&Row| {
            of(l) == Some(name) && l.get(FormulaLineRow::stage).is_none_or(|s| s == line.stage)
        };
        let mut row = old.iter().find(fits).cloned().unwrap_or_else(|| {
            let mut new = Row::new(&FORMULA_LINE);
            new.put(FormulaLineRow::material, name);
            new.put(FormulaLineRow::stage, line.stage);
            if line.is_flour != line.material.category.usually_flour() {
                new.put(FormulaLineRow::flour, line.is_flour);
            }
            // The words beside the line that goes out wholly stay beside what comes in.
            if share >= 1.0
                && name == with
                && let Some(gone) = old.iter().find(|l| of(l) == Some(out))
            {
                new.comment = gone.comment.clone();
            }
            new
        });
        if after.balance() == Some(name) {
            row.take(FormulaLineRow::amount);
            row.put(FormulaLineRow::balance, true);
        } else {
            let amount = checked(path_of(id, name), tidy(amount))?;
            row.put(FormulaLineRow::amount, amount);
        }
        Ok(row)
    });
    let new = new.collect::<Result<Vec<Row>, EditError>>()?;
    *named::get_mut(w, id)?.rows_mut(TreatmentRow::lines) = new;
    Ok(())
}

/// The amounts of a formula's lines on a basis.
fn on_basis(formula: &Formula, basis: Basis) -> Vec<f64> {
    let parts = || formula.lines().iter().map(|l| l.parts);
    let per = |whole: f64| parts().map(|p| 100.0 * p / whole).collect();
    match basis {
        Basis::Mix => formula.percent_of_mix(),
        Basis::Flour => formula
            .percent_of_flour()
            .unwrap_or_else(|| parts().collect()),
        Basis::DryMix => per(formula.dry_mix()),
        Basis::Parts => parts().collect(),
    }
}

/// Six decimals: far below what any scale shows, and sums stay 100.
fn tidy(n: f64) -> f64 {
    (n * 1e6).round() / 1e6
}

pub(super) fn set_balance(
    w: &mut StudyWritten,
    id: &str,
    material: Option<&str>,
) -> Result<(), EditError> {
    let lines = lines_of(w, id)?;
    if let Some(material) = material {
        lines.known(id, material)?;
    }
    if let Some(from) = named::get(w, id)?.get(TreatmentRow::from) {
        return Err(EditError::FromAnother {
            treatment: id.to_owned(),
            from: from.to_owned(),
            way_out: "set the balance there",
        });
    }
    if lines.balance.as_deref() == material {
        return Ok(());
    }
    // What the balance holds now becomes its amount.
    let held = match &lines.balance {
        None => None,
        Some(old) => {
            let study = resolve(w).map_err(|problems| EditError::NotNow {
                what: format!("the amount that {old} holds in {id} can't be worked out yet"),
                why: Why::first(problems),
            })?;
            study.treatment(id).and_then(|t| {
                let at = t
                    .formula
                    .lines()
                    .iter()
                    .position(|l| l.material.id == *old)?;
                on_basis(&t.formula, t.basis).get(at).copied()
            })
        }
    };
    let amount = checked(path_of(id, "balance"), tidy(held.unwrap_or(0.0)))?;
    let row = named::get_mut(w, id)?;
    for line in row.rows_mut(TreatmentRow::lines) {
        if line.get(FormulaLineRow::balance) == Some(true) {
            line.take(FormulaLineRow::balance);
            line.put(FormulaLineRow::amount, amount);
        }
    }
    if let Some(material) = material {
        let line = row
            .rows_mut(TreatmentRow::lines)
            .iter_mut()
            .find(|l| of(l) == Some(material));
        if let Some(line) = line {
            line.take(FormulaLineRow::amount);
            line.put(FormulaLineRow::balance, true);
        }
    }
    Ok(())
}
