//! The lines of a formula, written in full or as changes of another's.

use super::{EditError, Water, bad, rows_mut, treatment};
use crate::model::Basis;
use crate::written::tables::{CHANGES, FORMULA_LINE, MOST_CHANGES, MOST_LINES};
use crate::written::{Row, StudyWritten, Value, resolve};
use formula::{At, Change, Formula};
use measure::Range;

/// Amounts that a line can have.
const AMOUNT: Range = Range::new(0.0, 1e6);
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

    fn change(&mut self, change: &Row) {
        let word = |key: &str| change.text(key).unwrap_or_default().to_owned();
        match change.table.name {
            "swap" => {
                let (out, with) = (word("swap"), word("with"));
                let whole = change.number("share_pct").is_none_or(|s| s >= 100.0);
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
            "add" if !self.has(&word("add")) => self.ids.push(word("add")),
            "remove" => self.ids.retain(|i| *i != word("remove")),
            _ => {}
        }
    }
}

/// The lines of a treatment, its forebears' changes made.
fn lines_of(w: &StudyWritten, id: &str) -> Result<Lines, EditError> {
    let mut chain = vec![treatment::get(w, id)?];
    let most = w.root.rows("treatment").len();
    while let Some(from) = chain.last().and_then(|row| row.text("from")) {
        if chain.len() > most {
            break;
        }
        chain.push(treatment::get(w, from)?);
    }
    let mut lines = Lines {
        ids: Vec::new(),
        balance: None,
    };
    for row in chain.into_iter().rev() {
        for line in row.rows("lines") {
            let material = line.text("material").unwrap_or_default().to_owned();
            if line.flag("balance") {
                lines.balance = Some(material.clone());
            }
            if !lines.has(&material) {
                lines.ids.push(material);
            }
        }
        for change in row.rows("changes") {
            lines.change(change);
        }
    }
    Ok(lines)
}

fn checked(path: &str, amount: f64) -> Result<Value, EditError> {
    if AMOUNT.contains(amount) {
        Ok(Value::Number(amount))
    } else {
        Err(bad(path, amount, format!("a number, {AMOUNT}")))
    }
}

fn path_of(treatment: &str, material: &str) -> String {
    format!("treatment[{treatment}].{material}")
}

fn in_full(row: &Row) -> bool {
    !row.has("from")
}

/// A change of the named form.
fn change(form: &str, entries: &[(&str, Value)]) -> Option<Row> {
    let table = CHANGES.iter().find(|t| t.name == form)?;
    let mut row = Row::new(table);
    for (key, value) in entries {
        row.set(key, value.clone());
    }
    Some(row)
}

fn push_change(w: &mut StudyWritten, id: &str, row: Option<Row>) -> Result<(), EditError> {
    let treatment = treatment::get_mut(w, id)?;
    let rows = rows_mut(treatment, "changes");
    if rows.len() >= MOST_CHANGES {
        return Err(bad(
            format!("treatment[{id}].changes"),
            MOST_CHANGES + 1,
            format!("at most {MOST_CHANGES}"),
        ));
    }
    rows.extend(row);
    Ok(())
}

fn text(t: &str) -> Value {
    Value::Text(t.to_owned())
}

pub(super) fn set_amount(
    w: &mut StudyWritten,
    id: &str,
    material: &str,
    amount: f64,
) -> Result<(), EditError> {
    let value = checked(&path_of(id, material), amount)?;
    let lines = lines_of(w, id)?;
    if !lines.has(material) {
        return add_line(w, id, material, amount, None);
    }
    lines.not_balance(id, material)?;
    let row = treatment::get_mut(w, id)?;
    if in_full(row) {
        // Several lines of one material: the first takes what is left over the others.
        let rows = rows_mut(row, "lines");
        let others: f64 = rows
            .iter()
            .filter(|l| l.text("material") == Some(material))
            .skip(1)
            .filter_map(|l| l.number("amount"))
            .sum();
        if others > amount {
            return Err(bad(
                path_of(id, material),
                amount,
                format!("at least {others}, which its later lines have"),
            ));
        }
        if let Some(line) = rows
            .iter_mut()
            .find(|l| l.text("material") == Some(material))
        {
            line.set("amount", Value::Number(amount - others));
        }
        return Ok(());
    }
    let has_balance = lines.balance.is_some();
    let changes = rows_mut(row, "changes");
    let touches = |c: &Row| {
        ["set", "add", "swap", "with", "remove"]
            .iter()
            .any(|key| c.table.field(key).is_some() && c.text(key) == Some(material))
    };
    if let Some(at) = changes.iter().rposition(touches) {
        let form = changes[at].table.name;
        let last = at + 1 == changes.len();
        // With a balance every other line keeps its amount, so the order of amounts doesn't matter.
        if matches!(form, "set" | "add") && (last || has_balance) {
            changes[at].set("amount", value);
            changes[at].remove("of");
            return Ok(());
        }
        if form == "set" {
            changes.remove(at);
        }
    }
    push_change(
        w,
        id,
        change("set", &[("set", text(material)), ("amount", value)]),
    )
}

pub(super) fn add_line(
    w: &mut StudyWritten,
    id: &str,
    material: &str,
    amount: f64,
    stage: Option<&str>,
) -> Result<(), EditError> {
    treatment::short_name("material", material)?;
    let value = checked(&path_of(id, material), amount)?;
    if let Some(stage) = stage
        && formula::Stage::from_word(stage).is_none()
    {
        let words: Vec<_> = formula::Stage::ALL
            .into_iter()
            .map(formula::Stage::word)
            .collect();
        return Err(bad(
            "stage",
            stage.chars().take(40).collect::<String>(),
            words.join(", "),
        ));
    }
    if lines_of(w, id)?.has(material) {
        return Err(EditError::LineThere {
            material: material.to_owned(),
            treatment: id.to_owned(),
        });
    }
    let row = treatment::get_mut(w, id)?;
    if !in_full(row) {
        let mut entries = vec![("add", text(material)), ("amount", value)];
        entries.extend(stage.map(|s| ("stage", text(s))));
        return push_change(w, id, change("add", &entries));
    }
    let rows = rows_mut(row, "lines");
    if rows.len() >= MOST_LINES {
        return Err(bad(
            format!("treatment[{id}].lines"),
            MOST_LINES + 1,
            format!("at most {MOST_LINES}"),
        ));
    }
    let mut line = Row::new(&FORMULA_LINE);
    line.set("material", text(material));
    if let Some(stage) = stage {
        line.set("stage", text(stage));
    }
    line.set("amount", value);
    rows.push(line);
    Ok(())
}

pub(super) fn remove_line(w: &mut StudyWritten, id: &str, material: &str) -> Result<(), EditError> {
    let lines = lines_of(w, id)?;
    lines.known(id, material)?;
    lines.not_balance(id, material)?;
    let row = treatment::get_mut(w, id)?;
    if in_full(row) {
        rows_mut(row, "lines").retain(|l| l.text("material") != Some(material));
        return Ok(());
    }
    let changes = rows_mut(row, "changes");
    let added = changes
        .iter()
        .position(|c| c.table.name == "add" && c.text("add") == Some(material));
    let swapped = |c: &Row| {
        c.table.name == "swap" && [c.text("swap"), c.text("with")].contains(&Some(material))
    };
    let plain = added.is_some_and(|at| !changes[at..].iter().any(swapped));
    // A `set` before the removal would be idle.
    if !changes.iter().any(swapped) {
        changes.retain(|c| !(c.table.name == "set" && c.text("set") == Some(material)));
    }
    if plain {
        changes.retain(|c| !(c.table.name == "add" && c.text("add") == Some(material)));
        if changes.is_empty() {
            row.remove("changes");
        }
        return Ok(());
    }
    push_change(w, id, change("remove", &[("remove", text(material))]))
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
    let row = treatment::get_mut(w, id)?;
    if let Some(from) = row.text("from") {
        return Err(EditError::FromAnother {
            treatment: id.to_owned(),
            from: from.to_owned(),
            way_out: "put them in order there",
        });
    }
    if before == Some(material) {
        return Ok(());
    }
    let rows = rows_mut(row, "lines");
    let (moved, mut rest): (Vec<Row>, Vec<Row>) = std::mem::take(rows)
        .into_iter()
        .partition(|l| l.text("material") == Some(material));
    let at = before.and_then(|b| rest.iter().position(|l| l.text("material") == Some(b)));
    let at = at.unwrap_or(rest.len());
    rest.splice(at..at, moved);
    *rows = rest;
    Ok(())
}

pub(super) fn set_water(w: &mut StudyWritten, id: &str, water: Water) -> Result<(), EditError> {
    let lines = lines_of(w, id)?;
    let (word, amount) = match water {
        Water::Need => ("need", None),
        Water::Given => ("given", None),
        Water::GivenAmount(amount) => ("given", Some(amount)),
    };
    if let Some(amount) = amount {
        checked(&path_of(id, WATER), amount)?;
    }
    if word == "given" && amount.is_none() && !lines.has(WATER) {
        return Err(bad(
            path_of(id, WATER),
            "empty",
            "an amount of water, since the formula has no line of it",
        ));
    }
    let row = treatment::get_mut(w, id)?;
    row.set("water", text(word));
    let of_mix = row
        .text("percent_of")
        .is_none_or(|b| b == Basis::Mix.written());
    if let Some(amount) = amount {
        // Lines without water that make 100 are the dry mix, and water is told on it.
        if in_full(row) && !lines.has(WATER) && lines.balance.is_none() && of_mix {
            row.set("percent_of", text(Basis::DryMix.written()));
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
    treatment::short_name("material", with)?;
    let lines = lines_of(w, id)?;
    lines.known(id, out)?;
    let share = Range::new(0.01, 100.0);
    if !share.contains(share_pct) {
        return Err(bad(
            "share of the line that goes out",
            share_pct,
            format!("{share} %"),
        ));
    }
    if out == with {
        return Err(bad(
            "material that comes in",
            format!("‘{with}’"),
            "another than the one that goes out",
        ));
    }
    if !in_full(treatment::get(w, id)?) {
        let word = keep.word();
        let mut entries = vec![
            ("swap", text(out)),
            ("with", text(with)),
            ("keep", text(word.strip_prefix("equal ").unwrap_or(word))),
        ];
        if share_pct < 100.0 {
            entries.push(("share_pct", Value::Number(share_pct)));
        }
        return push_change(w, id, change("swap", &entries));
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
    let not_now = |why: String| EditError::NotNow {
        what: format!("{out} can't be swapped in {id} yet"),
        why,
    };
    let study =
        resolve(w).map_err(|p| not_now(p.first().map_or_else(String::new, ToString::to_string)))?;
    let now = study
        .treatment(id)
        .ok_or_else(|| not_now("it isn't built".to_owned()))?;
    let material = study.material(with).ok_or_else(|| EditError::BadName {
        what: "material",
        id: with.to_owned(),
        why: "is neither on the shelf nor among the study's own".to_owned(),
    })?;
    let swap = Change::Swap {
        out: out.to_owned(),
        with: material,
        at,
        share,
    };
    let after =
        formula::treatment::apply(&now.formula, &[swap]).map_err(|e| not_now(e.to_string()))?;
    let amounts = on_basis(&after, now.basis);
    let row = treatment::get_mut(w, id)?;
    let old = std::mem::take(rows_mut(row, "lines"));
    let new = after.lines().iter().zip(amounts).map(|(line, amount)| {
        let name = line.material.id.as_str();
        let fits = |l: &&Row| {
            l.text("material") == Some(name)
                && l.text("stage").is_none_or(|s| s == line.stage.word())
        };
        let mut row = old.iter().find(fits).cloned().unwrap_or_else(|| {
            let mut new = Row::new(&FORMULA_LINE);
            new.set("material", text(name));
            new.set("stage", text(line.stage.word()));
            if line.is_flour != line.material.category.usually_flour() {
                new.set("flour", Value::Flag(line.is_flour));
            }
            // The words beside the line that goes out wholly stay beside what comes in.
            if share >= 1.0
                && name == with
                && let Some(gone) = old.iter().find(|l| l.text("material") == Some(out))
            {
                new.comment = gone.comment.clone();
            }
            new
        });
        if after.balance() == Some(name) {
            row.remove("amount");
            row.set("balance", Value::Flag(true));
        } else {
            row.set("amount", Value::Number(tidy(amount)));
        }
        row
    });
    let new: Vec<Row> = new.collect();
    *rows_mut(row, "lines") = new;
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
    if let Some(from) = treatment::get(w, id)?.text("from") {
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
            let study = resolve(w).map_err(|p| EditError::NotNow {
                what: format!("the amount that {old} holds in {id} can't be worked out yet"),
                why: p.first().map_or_else(String::new, ToString::to_string),
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
    let row = treatment::get_mut(w, id)?;
    for line in rows_mut(row, "lines") {
        if line.flag("balance") {
            line.remove("balance");
            line.set("amount", Value::Number(tidy(held.unwrap_or(0.0))));
        }
    }
    if let Some(material) = material {
        let line = rows_mut(row, "lines")
            .iter_mut()
            .find(|l| l.text("material") == Some(material));
        if let Some(line) = line {
            line.remove("amount");
            line.set("balance", Value::Flag(true));
        }
    }
    Ok(())
}
