//! Files of instruments into the batches of a trial: loggers of temperature, and force over distance.

use super::bench::app_over;
use super::observe::lines;
use crate::args::{BenchBend, BenchProbes, Instrument};
use crate::table::{Row, Side, table};
use crate::{End, tell};
use app::{App, LoggerFile, LoggerSays, MeasurementsFile, TRIAL_LIMITS};
use bench::observe::New;
use bench::{BendCurve, LogUnits, ProbeLog, bend_table};
use book::exchange::{Decimal, bytes_of};
use serde_json::{Value, json};
use trials::measurement::bend::flat_stress_pa;

const fn decimal(how: &Instrument) -> Decimal {
    if how.decimal_comma {
        Decimal::Comma
    } else {
        Decimal::Point
    }
}

/// Enters what a file came to, unless somebody only looks or something is wrong with it.
async fn entered(
    app: &App,
    how: &Instrument,
    whole: bool,
    new: Vec<New>,
) -> anyhow::Result<Option<app::EnteredFile>> {
    if how.check || new.is_empty() || !(whole || how.rest) {
        return Ok(None);
    }
    let who = app.settings().await?.who;
    let correct = how.correct.as_deref();
    Ok(Some(app.enter_measurements(&who, new, correct).await?))
}

/// Tells what became of it; wrong where something kept it from being written.
fn told_end(
    how: &Instrument,
    whole: bool,
    entered: Option<&app::EnteredFile>,
) -> anyhow::Result<()> {
    match entered {
        Some(done) => {
            tell::out(&format!(
                "{} rows written, {} were there already\n",
                done.entered, done.already
            ))?;
            for why in &done.refused {
                tell::note(&format!("refused: {why}\n"));
            }
        }
        None if how.check => tell::out("Nothing was written: --check only looks.\n")?,
        None if !whole => tell::note(
            "Nothing was written. Correct the file, or enter what is fine with --rest.\n",
        ),
        None => tell::out("Nothing was written: there is nothing new in it.\n")?,
    }
    Ok(())
}

const fn end(how: &Instrument, whole: bool) -> End {
    if whole || how.rest {
        End::Fine
    } else {
        End::Bad
    }
}

/// `core=B03:4`: the probe, its batch, its height.
fn probe_of(text: &str) -> anyhow::Result<(String, String, Option<f64>)> {
    let wrong = || {
        anyhow::anyhow!(
            "--probe {text}: write the head of the column, the batch and the height over the band in mm, e.g. core=B03:4"
        )
    };
    let (probe, rest) = text.rsplit_once('=').ok_or_else(wrong)?;
    let (batch, height) = match rest.rsplit_once(':') {
        Some((batch, mm)) => (batch, Some(mm.trim().parse().map_err(|_| wrong())?)),
        None => (rest, None),
    };
    if probe.trim().is_empty() || batch.trim().is_empty() {
        return Err(wrong());
    }
    Ok((probe.trim().to_owned(), batch.trim().to_owned(), height))
}

/// Reads a logger's file into the batches of a trial.
pub async fn probes(args: &BenchProbes) -> anyhow::Result<End> {
    let how = &args.how;
    let bytes = bytes_of(&args.file, &TRIAL_LIMITS)?;
    let probes = args.probe.iter().map(|p| probe_of(p));
    let says = LoggerSays {
        probes: probes.collect::<anyhow::Result<_>>()?,
        entered: args.entered.clone(),
        left: args.left.clone(),
        correct: how.correct.clone(),
    };
    let app = app_over(how.place.book.as_deref()).await?;
    let view = app.trial(&args.trial).await?;
    let (log, wrong) = app.probe_log(&LoggerFile {
        bytes: &bytes,
        sheet: how.sheet.as_deref(),
        decimal: decimal(how),
        units: LogUnits {
            time: args.time_in.as_deref(),
            degrees: args.degrees.as_deref(),
        },
    })?;
    let rows = app.probe_rows(&view, &log, &says, decimal(how))?;
    let whole = wrong.is_empty() && rows.iter().all(|r| r.problem.is_none());
    let new: Vec<New> = rows.iter().flat_map(|r| r.new.clone()).collect();
    let done = entered(&app, how, whole, new).await?;
    app.close().await;
    if how.place.json {
        tell::json(&json!({ "log": log, "problems": wrong, "probes": rows, "entered": done }))?;
        return Ok(end(how, whole));
    }
    of_log(&log)?;
    lines("can’t be read", &wrong);
    let shown: Vec<Row> = rows
        .iter()
        .map(|r| {
            let height = r.height_mm.map_or_else(
                || "height not told".to_owned(),
                |mm| format!("{mm} mm over the band"),
            );
            let kept = format!(
                "{} of {} readings, one of each {} s",
                r.kept,
                r.readings.len(),
                r.each_s
            );
            let comes_to = r.problem.clone().unwrap_or(if r.new.is_empty() {
                "kept already".to_owned()
            } else {
                kept
            });
            Row::Cells(vec![r.probe.clone(), r.batch.clone(), height, comes_to])
        })
        .collect();
    if shown.is_empty() {
        tell::out("Say what each probe was in: --probe HEAD=BATCH:MM\n")?;
    } else {
        tell::out(&table(
            &["probe", "batch", "", ""],
            &[Side::Left; 4],
            &shown,
        ))?;
    }
    told_end(how, whole, done.as_ref())?;
    Ok(end(how, whole))
}

fn of_log(log: &ProbeLog) -> anyhow::Result<()> {
    let names: Vec<String> = log
        .probes
        .iter()
        .map(|p| format!("{} ({} readings)", p.name, p.readings.len()))
        .collect();
    tell::out(&format!(
        "{} rows from {} on; probes: {}\n",
        log.rows,
        log.begins,
        names.join(", ")
    ))?;
    if !log.left_out.is_empty() {
        tell::out(&format!(
            "left out, for it is no temperature: {}\n",
            log.left_out.join(", ")
        ))?;
    }
    Ok(())
}

/// Reads force over distance into a batch.
pub async fn bend(args: &BenchBend) -> anyhow::Result<End> {
    let how = &args.how;
    let bytes = bytes_of(&args.file, &TRIAL_LIMITS)?;
    let app = app_over(how.place.book.as_deref()).await?;
    let view = app.trial(&args.trial).await?;
    let (curves, wrong) = app.bend_curves(&bytes, how.sheet.as_deref(), decimal(how))?;
    let bar = args.span_mm.zip(args.width_mm).zip(args.thickness_mm);
    let stress = |force_n: f64| -> anyhow::Result<Option<f64>> {
        let Some(((span, width), thickness)) = bar else {
            return Ok(None);
        };
        let [span_m, width_m, thickness_m] = [span, width, thickness].map(|mm| mm / 1000.0);
        Ok(Some(
            flat_stress_pa(force_n, span_m, width_m, thickness_m)? / 1e6,
        ))
    };
    let mut rows: Vec<(&BendCurve, Option<f64>)> = Vec::with_capacity(curves.len());
    for curve in &curves {
        rows.push((curve, stress(curve.peak.1)?));
    }
    let text = bend_table(&view.trial, args.batch.trim(), &rows);
    let observed = app.measurements(
        &view,
        &MeasurementsFile {
            bytes: text.as_bytes(),
            sheet: None,
            decimal: Decimal::Point,
            named: &[],
            correct: how.correct.as_deref(),
        },
    )?;
    let whole = wrong.is_empty() && observed.problems.is_empty();
    let done = entered(&app, how, whole, observed.new.clone()).await?;
    app.close().await;
    if how.place.json {
        let each: Vec<Value> = rows
            .iter()
            .map(|(curve, stress)| {
                json!({
                    "piece": curve.piece, "force_n": curve.peak.1, "at_mm": curve.peak.0, "stress_mpa": stress,
                    "rises_to_the_end": curve.rises_to_the_end,
                })
            })
            .collect();
        tell::json(
            &json!({ "pieces": each, "problems": wrong, "observed": observed, "entered": done }),
        )?;
        return Ok(end(how, whole));
    }
    let number = paper::number::three;
    let shown: Vec<Row> = rows
        .iter()
        .map(|(curve, stress)| {
            Row::Cells(vec![
                curve.piece.clone(),
                number(curve.peak.1),
                number(curve.peak.0),
                stress.map_or_else(String::new, number),
                if curve.rises_to_the_end {
                    "still rises at the end: it may not have broken".to_owned()
                } else {
                    String::new()
                },
            ])
        })
        .collect();
    use Side::{Left, Right};
    let head = ["piece", "force at break, N", "at, mm", "stress, MPa", ""];
    tell::out(&table(&head, &[Left, Right, Right, Right, Left], &shown))?;
    lines("can’t be read", &wrong);
    lines("to look at", &observed.marked);
    lines("can’t be entered", &observed.problems);
    told_end(how, whole, done.as_ref())?;
    Ok(end(how, whole))
}
