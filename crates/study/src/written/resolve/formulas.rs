//! Formulas of treatments: written in full, or changed from another's.

use super::super::problem::{Code, Problem};
use super::super::reader::Reader;
use super::super::row::Row;
use super::super::tables::keep_word;
use super::materials::unknown;
use super::treatments::Work;
use super::{chosen, from_error};
use crate::model::{Basis, Treatment, WaterChoice};
use formula::treatment::Amount;
use formula::{At, Change, ChangeError, Formula, FormulaError, Line, Material, Stage};
use std::sync::Arc;

/// How far percentages may miss 100, points.
const TOLERANCE_PCT: f64 = 0.05;

impl Work<'_> {
    fn material(
        &self,
        row: &Row,
        key: &str,
        path: &str,
        reader: &mut Reader<'_>,
    ) -> Option<Arc<Material>> {
        let id = row.text(key)?;
        let found = self
            .own
            .get(id)
            .cloned()
            .or_else(|| formula::shelf::find(id));
        // A material of the file that couldn't be built has been told already.
        let told = || {
            self.root
                .rows("material")
                .iter()
                .any(|m| m.text("id") == Some(id))
        };
        if found.is_none() && !told() {
            reader.tell(unknown(
                id,
                self.own.keys().map(String::as_str),
                &format!("{path}.{key}"),
                row.place(key),
            ));
        }
        found
    }

    pub(super) fn formula(
        &self,
        row: &Row,
        basis: Basis,
        water: WaterChoice,
        path: &str,
        reader: &mut Reader<'_>,
    ) -> Option<Formula> {
        let written = row.rows("lines");
        let mut lines = Vec::with_capacity(written.len());
        let mut balance: Option<(usize, &Row)> = None;
        let mut complete = true;
        for (i, line) in written.iter().enumerate() {
            let path = format!("{path}.lines[{}]", i + 1);
            let is_balance = line.flag("balance");
            match (is_balance, line.number("amount")) {
                (true, Some(_)) => {
                    complete = false;
                    reader.tell(
                        Problem::new(
                            Code::Contradiction,
                            line.place("amount"),
                            format!("{path}.amount"),
                            "a balance line takes the rest and has no amount of its own",
                        )
                        .suggest("take amount out, or balance"),
                    );
                }
                (false, None) if line.failed("amount") => complete = false,
                (false, None) => {
                    complete = false;
                    reader.tell(
                        Problem::new(Code::Missing, line.place.0.clone(), format!("{path}.amount"), "this line has no amount")
                            .suggest("write amount = …, or balance = true for the one line that takes the rest"),
                    );
                }
                _ => {}
            }
            if is_balance {
                if balance.is_some() {
                    complete = false;
                    reader.tell(
                        Problem::new(
                            Code::Contradiction,
                            line.place("balance"),
                            format!("{path}.balance"),
                            "there are two balance lines",
                        )
                        .allowed("one")
                        .suggest("give one of them an amount"),
                    );
                } else {
                    balance = Some((i, line));
                }
            }
            match self.material(line, "material", &path, reader) {
                Some(material) => {
                    let mut l = Line::new(material, line.number("amount").unwrap_or(0.0));
                    if let Some(stage) = line.text("stage").and_then(Stage::from_word) {
                        l = l.at(stage);
                    }
                    if line.has("flour") {
                        l.is_flour = line.flag("flour");
                    }
                    lines.push(l);
                }
                None => complete = false,
            }
        }
        let unread = row.failed("lines") || row.failed("percent_of") || row.failed("water");
        if !complete || unread {
            return None;
        }
        let place = row.place("lines");
        let tell = |error: FormulaError, reader: &mut Reader<'_>| {
            let code = match error {
                FormulaError::NotHundred { .. } | FormulaError::NoRoomForBalance { .. } => {
                    Code::Sum
                }
                FormulaError::Twice { .. } => Code::Duplicate,
                _ => Code::CannotApply,
            };
            reader.tell(from_error(
                code,
                place.clone(),
                &format!("{path}.lines"),
                &error.to_string(),
            ));
        };
        let result = match basis {
            Basis::Parts => match balance {
                None => Formula::new(lines),
                Some((_, line)) => {
                    reader.tell(
                        Problem::new(
                            Code::Contradiction,
                            line.place("balance"),
                            format!("{path}.lines"),
                            "parts have no whole that a balance line could fill up",
                        )
                        .suggest("give the line an amount, or write percent_of = \"mix\""),
                    );
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
        match result {
            Ok(formula) => Some(formula),
            Err(error) => {
                tell(error, reader);
                None
            }
        }
    }

    pub(super) fn changed(
        &self,
        row: &Row,
        base: &Treatment,
        basis: Basis,
        path: &str,
        reader: &mut Reader<'_>,
    ) -> Option<(Formula, Vec<Change>)> {
        let written = row.rows("changes");
        let mut changes = Vec::with_capacity(written.len());
        for (i, change) in written.iter().enumerate() {
            let path = format!("{path}.changes[{}]", i + 1);
            if let Some(change) = self.change(change, basis, &path, reader) {
                changes.push(change);
            }
        }
        if changes.len() != written.len() || row.failed("changes") || row.failed("percent_of") {
            return None;
        }
        match formula::treatment::apply(&base.formula, &changes) {
            Ok(formula) => Some((formula, changes)),
            Err(error) => {
                // The first change after which it goes wrong in the same way is the one to show.
                let first = (1..=changes.len()).find(|&n| {
                    formula::treatment::apply(&base.formula, &changes[..n]).as_ref() == Err(&error)
                });
                let (place, path) = match first {
                    Some(n) => (
                        written[n - 1].place.0.clone(),
                        format!("{path}.changes[{n}]"),
                    ),
                    None => (row.place("changes"), format!("{path}.changes")),
                };
                let code = match error {
                    ChangeError::UnknownLine { .. } => Code::UnknownMaterial,
                    ChangeError::OutOfRange { .. } => Code::OutOfRange,
                    ChangeError::Formula(FormulaError::NoRoomForBalance { .. }) => Code::Sum,
                    _ => Code::CannotApply,
                };
                reader.tell(from_error(code, place, &path, &error.to_string()));
                None
            }
        }
    }

    fn change(
        &self,
        row: &Row,
        basis: Basis,
        path: &str,
        reader: &mut Reader<'_>,
    ) -> Option<Change> {
        let amount = |row: &Row| {
            let n = row.number("amount")?;
            Some(match (row.text("of"), basis) {
                (Some("mix"), _) | (None, Basis::Mix) => Amount::PercentOfMix(n),
                (Some("flour"), _) | (None, Basis::Flour) => Amount::PercentOfFlour(n),
                _ => Amount::Parts(n),
            })
        };
        match row.table.name {
            "swap" => {
                let with = self.material(row, "with", path, reader)?;
                Some(Change::Swap {
                    out: row.text("swap")?.to_owned(),
                    with,
                    at: chosen(At::ALL, keep_word, row.text("keep")?)?,
                    share: row.number("share_pct")? / 100.0,
                })
            }
            "set" => Some(Change::Set {
                material: row.text("set")?.to_owned(),
                amount: amount(row)?,
            }),
            "add" => Some(Change::Add {
                material: self.material(row, "add", path, reader)?,
                amount: amount(row)?,
                stage: row.text("stage").and_then(Stage::from_word),
                is_flour: row.has("flour").then(|| row.flag("flour")),
            }),
            "remove" => Some(Change::Remove {
                material: row.text("remove")?.to_owned(),
            }),
            _ => Some(Change::ScaleWater {
                factor: row.number("scale_water")?,
            }),
        }
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
