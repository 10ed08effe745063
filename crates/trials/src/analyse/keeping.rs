//! How long batches keep, from a table.

use super::rows::rows_in_words;
use super::structure::{numbers_of, unit_column};
use super::table::{Cell, Table};
use crate::Code;
use crate::stats::design::Factor;
use crate::stats::keeping::{Lines, Side, keeping as lines_of};
use measure::rounding::significant;
use measure::{Finding, Severity};
use serde::Serialize;

/// What is asked.
#[derive(Clone, Debug, PartialEq)]
pub struct Wanted {
    /// Column of the response.
    pub response: String,
    /// Column of the storage time.
    pub along: String,
    /// Column of the batch; found when none is named.
    pub unit: Option<String>,
    /// The limit.
    pub limit: f64,
    /// On which side it lies.
    pub side: Side,
    /// Whether the value can go wrong both ways.
    pub two_sided: bool,
}

/// A batch.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct KeepingLine {
    /// The batch.
    pub batch: String,
    /// Value at time 0 by the lines chosen.
    pub start: f64,
    /// Change per unit of time by the lines chosen.
    pub slope: f64,
    /// Time at which the bound meets the limit, by the lines chosen; null when it never does.
    pub keeps: Option<f64>,
    /// The same by the batch's own line and error alone.
    pub keeps_alone: Option<f64>,
}

/// The answer.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct KeepingReport {
    /// The response.
    pub response: String,
    /// The storage time.
    pub along: String,
    /// The unit.
    pub unit: String,
    /// Which lines were chosen, and how.
    pub method: String,
    /// The batches.
    pub batches: Vec<KeepingLine>,
    /// Question, ratio and p-value of the pooling.
    pub pooling: Vec<(String, f64, f64)>,
    /// The time that holds for every batch; null when none meets the limit.
    pub keeps: Option<f64>,
    /// The longest time that was measured.
    pub longest: f64,
    /// What it says.
    pub sentence: String,
    /// What to know beside it.
    pub findings: Vec<Finding>,
}

fn stop(code: Code, about: &str, message: String, help: &str) -> Vec<Finding> {
    vec![Finding::new(Severity::Stop, code, about, message).help(help)]
}

/// Works out how long batches keep: the batch is the unit, lines are pooled by the rule of the open
/// guideline on stability data.
///
/// # Errors
/// Findings that name the column and the way out.
pub fn keeping(table: &Table, wanted: &Wanted) -> Result<KeepingReport, Vec<Finding>> {
    let y = numbers_of(table, &wanted.response, "response")?;
    let time = numbers_of(table, &wanted.along, "storage time")?;
    let found = match &wanted.unit {
        Some(name) => Some((name.as_str(), false)),
        None => unit_column(table, &[&wanted.response, &wanted.along]),
    };
    let Some((unit, false)) = found else {
        return Err(stop(
            Code::NoUnit,
            "unit",
            "no column tells the batches apart".into(),
            "name the batch column: how long the next batch keeps can only be told from several",
        ));
    };
    let Some(column) = table.column(unit) else {
        return Err(stop(
            Code::NoSuchColumn,
            unit,
            format!("there is no column {unit} for the unit"),
            "name one of the columns",
        ));
    };
    let mut findings = Vec::new();
    let (mut labels, mut x, mut values, mut missing) = (vec![], vec![], vec![], vec![]);
    for (at, (value, time)) in y.iter().zip(&time).enumerate() {
        match (Cell::label(&column.cells[at]), time, value) {
            (Some(label), Some(time), Some(value)) => {
                labels.push(label);
                x.push(*time);
                values.push(*value);
            }
            _ => missing.push(table.row_numbers[at]),
        }
    }
    if !missing.is_empty() {
        findings.push(Finding::new(
            Severity::Warn,
            Code::MissingValues,
            wanted.response.clone(),
            format!(
                "a value is missing in {}; left out",
                rows_in_words(&missing)
            ),
        ));
    }
    if let Some(negative) = x.iter().find(|t| **t < 0.0) {
        return Err(stop(
            Code::TimeBelowZero,
            &wanted.along,
            format!(
                "{} is {negative}: storage can't begin before it began",
                wanted.along
            ),
            "count the time from the day of baking or packing",
        ));
    }
    let batch = Factor::new(unit, &labels);
    let level = if wanted.two_sided { 0.975 } else { 0.95 };
    let fitted = lines_of(&batch.codes, &x, &values, wanted.limit, wanted.side, level).ok_or_else(|| {
        stop(
            Code::TooFewRows,
            unit,
            "every batch needs at least two times, and together they must leave an error to judge by".into(),
            "measure each batch at three times or more",
        )
    })?;
    if batch.levels.len() < 3 {
        findings.push(
            Finding::new(
                Severity::Warn,
                Code::FewUnits,
                unit,
                format!(
                    "{} batches say little of how the next one keeps",
                    batch.levels.len()
                ),
            )
            .help("store three batches or more, made on different days"),
        );
    }
    let longest = x.iter().fold(0.0_f64, |m, t| m.max(*t));
    let s = |v: f64| significant(v, 3);
    let batches = batch
        .levels
        .iter()
        .enumerate()
        .map(|(i, name)| {
            let own = match fitted.lines {
                Lines::Common => fitted.common,
                Lines::Parallel => fitted.parallel[i],
                Lines::Separate => fitted.alone[i].unwrap_or(fitted.separate[i]),
            };
            KeepingLine {
                batch: name.clone(),
                start: own.start,
                slope: own.slope,
                keeps: own.keeps,
                keeps_alone: fitted.alone[i].and_then(|l| l.keeps),
            }
        })
        .collect();
    let mut sentence = match fitted.keeps {
        Some(0.0) => format!(
            "At the start already the bound of {} lies beyond {}.",
            wanted.response,
            s(wanted.limit)
        ),
        Some(t) => format!(
            "{} of a batch like these may meet {} after {} {}: that long its mean stays within with {:.0} % confidence.",
            wanted.response,
            s(wanted.limit),
            s(t),
            wanted.along,
            100.0 * (if wanted.two_sided { 0.95 } else { level })
        ),
        None => format!(
            "No batch's bound of {} meets {} within fifty times the longest storage.",
            wanted.response,
            s(wanted.limit)
        ),
    };
    if fitted.keeps.is_none_or(|t| t > longest) {
        sentence += &format!(
            " Nothing was measured beyond {} {}: what is told of later times is drawn on from the line.",
            s(longest),
            wanted.along
        );
    }
    findings.push(
        Finding::new(
            Severity::Note,
            Code::KeepingOfThisValueOnly,
            wanted.response.clone(),
            "this speaks of the value measured and of the storage it was measured in; safety, mould and rancidity are questions of their own",
        )
        .help("ask a process authority before a date is printed"),
    );
    Ok(KeepingReport {
        response: wanted.response.clone(),
        along: wanted.along.clone(),
        unit: format!("{unit} ({} batches)", batch.levels.len()),
        method: format!(
            "regression on {} by batch, pooled at p ≥ 0.25: {}",
            wanted.along,
            match fitted.lines {
                Lines::Common => "one line for all batches",
                Lines::Parallel => "one slope, each batch its own start",
                Lines::Separate => "each batch its own line and error",
            }
        ),
        batches,
        pooling: vec![
            ("do slopes differ?".into(), fitted.slopes.f, fitted.slopes.p),
            ("do starts differ?".into(), fitted.starts.f, fitted.starts.p),
        ],
        keeps: fitted.keeps,
        longest,
        sentence,
        findings,
    })
}
