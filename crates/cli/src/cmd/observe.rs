//! `hardtack observe`: measurements of a file into the batches of a trial.

use crate::args::Observe;
use crate::cmd::bench::{app_over, waiting};
use crate::table::{Row, Side, table};
use crate::{End, progress, tell};
use app::{MeasurementsFile, TRIAL_LIMITS};
use bench::observe::{Column, Observed, Told};
use book::exchange::{Decimal, bytes_of};
use serde_json::json;

/// Rows of problems that are shown; all of them are in the JSON.
const SHOWN: usize = 30;

/// Reads a file, tells what it comes to, and enters it.
pub fn run(args: &Observe) -> anyhow::Result<End> {
    let bytes = bytes_of(&args.file, &TRIAL_LIMITS)?;
    let mut named = Vec::with_capacity(args.column.len());
    for pair in &args.column {
        let (head, what) = pair.split_once('=').ok_or_else(|| {
            anyhow::anyhow!("--column `{pair}`: write the head of the file and what it is, e.g. --column \"Kraft=breaking_force_n\"")
        })?;
        named.push((head.trim().to_owned(), what.trim().to_owned()));
    }
    waiting(async {
        let app = app_over(args.place.book.as_deref()).await?;
        let view = app.trial(&args.trial).await?;
        let file = MeasurementsFile {
            bytes: &bytes,
            sheet: args.sheet.as_deref(),
            decimal: if args.decimal_comma {
                Decimal::Comma
            } else {
                Decimal::Point
            },
            named: &named,
            correct: args.correct.as_deref(),
        };
        let observed = progress::during("reading the table", || app.measurements(&view, &file))?;
        let refused = !observed.problems.is_empty() && !args.rest;
        let entered = if refused || args.check {
            None
        } else {
            let who = app.settings().await?.who;
            let bar = progress::bar("writing into the book");
            let all = observed.new.len().max(1) as f64;
            let (new, correct) = (observed.new.clone(), args.correct.as_deref());
            let told = |done| progress::to_share(&bar, done as f64 / all);
            let entered = app.enter_measurements_telling(&who, new, correct, told);
            let entered = entered.await;
            bar.finish_and_clear();
            Some(entered?)
        };
        app.close().await;
        if args.place.json {
            tell::json(&json!({ "observed": observed, "entered": entered }))?;
        } else {
            told(&observed)?;
            match &entered {
                Some(done) => {
                    tell::out(&format!(
                        "{} rows written, {} were there already\n",
                        done.entered,
                        done.already + observed.kept_already
                    ))?;
                    for why in &done.refused {
                        tell::note(&format!("refused: {why}\n"));
                    }
                }
                None if refused => tell::note(
                    "Nothing was written. Correct the file, or enter the rows that are fine with --rest.\n",
                ),
                None => tell::out("Nothing was written: --check only looks.\n")?,
            }
        }
        Ok(if refused { End::Bad } else { End::Fine })
    })
}

fn told(observed: &Observed) -> anyhow::Result<()> {
    let columns: Vec<Row> = observed
        .columns
        .iter()
        .map(|m| {
            let what = match &m.column {
                Column::Batch => "the batch".to_owned(),
                Column::Treatment => "the treatment, checked".to_owned(),
                Column::Part(part) => part.word().to_owned(),
                Column::Response { id, unit: None } => id.clone(),
                Column::Response {
                    id,
                    unit: Some(unit),
                } => format!("{id}, typed in {unit}"),
                Column::OutOf(id) => format!("out of how many, of {id}"),
                Column::Which => "which response".to_owned(),
                Column::Value => "its value".to_owned(),
                Column::SetAside => "why it is set aside".to_owned(),
                Column::Known => "known from the plan".to_owned(),
                Column::Unknown => "not asked for; left out".to_owned(),
            };
            Row::Cells(vec![m.head.clone(), what])
        })
        .collect();
    tell::out(&table(&["column", "taken for"], &[Side::Left; 2], &columns))?;
    tell::out(&format!(
        "{} rows of measurements, {} to write\n",
        observed.rows,
        observed.new.len()
    ))?;
    lines("to look at", &observed.marked);
    lines("can’t be entered", &observed.problems);
    Ok(())
}

pub fn lines(title: &str, list: &[Told]) {
    for told in list.iter().take(SHOWN) {
        let column = match told.column.as_str() {
            "" => String::new(),
            head => format!(", column {head}"),
        };
        let found = match told.found.as_str() {
            "" => String::new(),
            found => format!(" ‘{found}’:"),
        };
        tell::note(&format!(
            "{title}: row {}{column}:{found} {}\n",
            told.row, told.why
        ));
    }
    if list.len() > SHOWN {
        tell::note(&format!(
            "{title}: and {} more; --json tells all\n",
            list.len() - SHOWN
        ));
    }
}
