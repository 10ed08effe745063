//! A trial of the book: its batches drawn, and what of its plan was done told beside what it says.

use super::Told;
use super::named::called;
use bench::{Asked, Made, Trial, done, readings};
use maud::Markup;
use paper::chart::{Axis, BatchDots, BatchPlot, BatchRow, batch_plot};
use trials::analyse::{Analysis, Scale};
use trials::plan::Unit;
use trials::response::Kind;

/// Adds to an analysis what the trial knows beside it: every batch as a dot, how much of the plan was done.
pub fn of_trial(
    told: &mut Told,
    trial: &Trial,
    made: &[Made],
    response: &str,
    found: Option<&Analysis>,
) {
    let done = done(trial, made);
    told.facts.push(("batches", done.sentence()));
    if trial.invented {
        told.facts.push(("data", "invented".to_owned()));
    }
    told.findings.extend(done.findings());
    if let Some(asked) = trial.response(response)
        && let Some(picture) = batches(trial, made, asked, found, &[])
    {
        told.pictures.insert(0, picture);
    }
}

/// Every batch of a trial as a dot, its pieces small dots beside it; with an analysis the means and their intervals.
/// `names` tell what treatments are called. None where nothing was measured, or where dogs are the units.
pub fn batches(
    trial: &Trial,
    made: &[Made],
    asked: &Asked,
    found: Option<&Analysis>,
    names: &[(String, String)],
) -> Option<Markup> {
    if trial.unit == Unit::Dog {
        return None;
    }
    let share = asked.kind == Kind::CountOf;
    let times = if share { 100.0 } else { 1.0 };
    let mut rows: Vec<BatchRow> = Vec::new();
    for run in &trial.runs {
        let one = made.iter().find(|m| m.id == run.batch);
        let Some(one) = one.filter(|m| m.state.abandoned.is_none()) else {
            continue;
        };
        let (mut pieces, mut set_aside) = (Vec::new(), Vec::new());
        for reading in readings(&one.state, asked) {
            let value = match reading.out_of {
                Some(n) if share && n > 0.0 => 100.0 * reading.value / n,
                _ if share => continue,
                _ => reading.value,
            };
            match reading.set_aside {
                Some(_) => set_aside.push(value),
                None => pieces.push(value),
            }
        }
        if pieces.is_empty() && set_aside.is_empty() {
            continue;
        }
        let dots = BatchDots {
            name: one.batch.code.clone(),
            mean: pieces.iter().sum::<f64>() / pieces.len() as f64,
            pieces,
            set_aside,
        };
        let row = match rows.iter().position(|r| r.name == run.treatment) {
            Some(at) => at,
            None => {
                rows.push(BatchRow {
                    name: run.treatment.clone(),
                    mean: found.and_then(|f| mean_of(f, &run.treatment, times)),
                    batches: Vec::new(),
                });
                rows.len() - 1
            }
        };
        rows[row].batches.push(dots);
    }
    if rows.is_empty() {
        return None;
    }
    let is_control = |name: &str| trial.control.as_deref() == Some(name);
    rows.sort_by_key(|r| (!is_control(&r.name), r.name.clone()));
    let level = rows.iter().find(|r| is_control(&r.name)).and_then(|r| {
        let plain = r.batches.iter().map(|b| b.mean).filter(|m| m.is_finite());
        let all: Vec<f64> = plain.collect();
        let mean = r
            .mean
            .map_or_else(|| all.iter().sum::<f64>() / all.len() as f64, |m| m.0);
        mean.is_finite().then(|| (r.name.clone(), mean))
    });
    let level = level.map(|(name, mean)| (called(&name, names).to_owned(), mean));
    for row in &mut rows {
        row.name = called(&row.name, names).to_owned();
    }
    let intervals = if rows.iter().any(|r| r.mean.is_some()) {
        ", the mean below them with its 95 % interval"
    } else {
        ""
    };
    let small = if rows
        .iter()
        .flat_map(|r| &r.batches)
        .any(|b| b.pieces.len() > 1)
    {
        ", each small dot a reading of it"
    } else {
        ""
    };
    Some(batch_plot(&BatchPlot {
        title: "Every batch".into(),
        note: format!("Each dot is one {}{small}{intervals}.", trial.unit.word()),
        axis: Axis::new(&asked.name, if share { "%" } else { &asked.unit }),
        rows,
        level,
    }))
}

/// The mean of a treatment as the analysis has it, where it stands on the response's own scale.
fn mean_of(found: &Analysis, level: &str, times: f64) -> Option<(f64, Option<(f64, f64)>)> {
    let line = found.means.iter().find(|m| m.level == level)?;
    // Means of scores stand on a scale of their own.
    let other = found
        .comparisons
        .iter()
        .any(|c| c.scale == Scale::LogOddsOfHigher);
    let mean = line.mean.filter(|_| !other)?;
    let limits = line.low95.zip(line.high95);
    Some((times * mean, limits.map(|(a, b)| (times * a, times * b))))
}
