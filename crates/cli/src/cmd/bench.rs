//! `hardtack bench`: batches of the book, what was written of them, and rows written by hand.

use crate::args::{Bench, BenchEnter, BenchExport, BenchReadings};
use crate::cmd::instrument;
use crate::table::{Row, Side, table};
use crate::{End, files, tell};
use anyhow::Context;
use app::{App, BatchAsked, TableFormat};
use bench::{Made, Mark, What};
use book::{Book, Kind, NewBenchEntry};
use serde_json::json;
use std::future::Future;
use std::path::Path;

/// Runs what waits for the book.
pub fn waiting<T>(work: impl Future<Output = anyhow::Result<T>>) -> anyhow::Result<T> {
    tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build()
        .context("cannot start the runtime that the book waits in")?
        .block_on(work)
}

/// Opens the book that is named, or the one in the person's data folder.
pub async fn app_over(book: Option<&Path>) -> anyhow::Result<App> {
    let path = match book {
        Some(path) => path.to_owned(),
        None => app::default_book()?,
    };
    Ok(App::over(Book::open(&path, false).await?))
}

/// Does what was asked.
pub fn run(args: Bench) -> anyhow::Result<End> {
    waiting(async {
        match args {
            Bench::List { trial, place } => {
                let app = app_over(place.book.as_deref()).await?;
                let made = app.batches(trial.as_deref()).await?;
                app.close().await;
                list(&made, place.json)
            }
            Bench::Show { batch, place } => {
                let app = app_over(place.book.as_deref()).await?;
                let view = app.batch(&batch).await?;
                app.close().await;
                show(&view.made, place.json)
            }
            Bench::Went {
                material,
                lot,
                place,
            } => {
                let app = app_over(place.book.as_deref()).await?;
                let went = app.lot_went(&material, &lot).await?;
                app.close().await;
                if place.json {
                    tell::json(&went)?;
                    return Ok(End::Fine);
                }
                let made: Vec<Made> = went.batches.into_iter().map(|b| b.made).collect();
                list(&made, false)
            }
            Bench::New {
                study,
                treatment,
                pieces,
                lost_pct,
                place,
            } => {
                let app = app_over(place.book.as_deref()).await?;
                let asked = BatchAsked {
                    study,
                    treatment,
                    pieces: Some(pieces),
                    loss_pct: lost_pct,
                };
                let who = app.settings().await?.who;
                let id = app.keep_batch(&who, &asked).await?;
                let made = app.batch(&id).await?.made;
                app.close().await;
                if place.json {
                    tell::json(&made)?;
                } else {
                    let (code, label) = (&made.batch.code, &made.batch.label);
                    tell::out(&format!("Begun: {id}, {code}, {label}\n"))?;
                }
                Ok(End::Fine)
            }
            Bench::Enter(args) => enter(args).await,
            Bench::Export(args) => export(&args).await,
            Bench::Readings(args) => readings(&args).await,
            Bench::Probes(args) => instrument::probes(&args).await,
            Bench::Bend(args) => instrument::bend(&args).await,
        }
    })
}

fn standing(made: &Made) -> &'static str {
    let state = &made.state;
    match (&state.abandoned, &state.signed, state.is_begun()) {
        (Some(_), ..) => "given up",
        (_, Some(_), _) => "signed",
        (_, _, true) => "begun",
        (_, _, false) => "to do",
    }
}

fn list(made: &[Made], as_json: bool) -> anyhow::Result<End> {
    if as_json {
        tell::json(&made)?;
        return Ok(End::Fine);
    }
    if made.is_empty() {
        tell::out("There are no batches yet; `hardtack trial plan … --save ID` makes some.\n")?;
        return Ok(End::Fine);
    }
    let rows: Vec<Row> = made
        .iter()
        .map(|m| {
            let of = |n: f64| paper::number::fixed(n, 1);
            Row::Cells(vec![
                m.id.clone(),
                m.batch.code.clone(),
                m.batch.day().unwrap_or_default().to_owned(),
                m.batch.label.clone(),
                standing(m).to_owned(),
                m.state.rows.to_string(),
                m.state.water.per_100kg.map_or_else(String::new, of),
            ])
        })
        .collect();
    use Side::{Left, Right};
    let sides = [Left, Left, Left, Left, Left, Right, Right];
    let head = [
        "batch",
        "code",
        "day",
        "treatment",
        "",
        "rows",
        "water per 100 dry",
    ];
    tell::out(&table(&head, &sides, &rows))?;
    Ok(End::Fine)
}

fn show(made: &Made, as_json: bool) -> anyhow::Result<End> {
    if as_json {
        tell::json(made)?;
        return Ok(End::Fine);
    }
    let (batch, state) = (&made.batch, &made.state);
    let title = format!("{}: {} ({})", batch.code, batch.label, standing(made));
    let mut text = format!("{}\n", tell::styled(tell::BOLD, &title));
    text.push_str(&format!(
        "study {}, revision {}\n",
        batch.study, batch.revision
    ));
    for place in &batch.places {
        text.push_str(&format!("{} {}\n", place.name, place.value));
    }
    tell::out(&text)?;
    let mut rows = Vec::new();
    for dose in &state.water.doses {
        let per = dose.per_100kg.map_or_else(String::new, |w| {
            format!("{} per 100 dry in all", paper::number::fixed(w, 1))
        });
        rows.push(Row::Cells(vec![
            "water".into(),
            String::new(),
            dose.kg.to_string(),
            "kg".into(),
            per,
            dose.told.key.clone(),
        ]));
    }
    for value in state.values.iter().filter(|v| v.what != What::Dose) {
        let marks: Vec<String> = value
            .marks
            .iter()
            .map(|m| match m {
                Mark::Beyond { confirmed: true } => {
                    "beyond what is plausible, confirmed".to_owned()
                }
                Mark::Beyond { confirmed: false } => "beyond what is plausible".to_owned(),
                Mark::SetAside(why) => format!("set aside: {why}"),
            })
            .collect();
        let name = match &value.of {
            Some(of) => format!("{} {of}", value.what.about().label),
            None => value.what.about().label.to_owned(),
        };
        rows.push(Row::Cells(vec![
            name,
            value.on.told(),
            value.value.to_string(),
            value.unit.clone(),
            marks.join("; "),
            value.told.key.clone(),
        ]));
    }
    for curve in &state.curves {
        let minutes = curve.readings.last().map_or(0.0, |r| r.0 / 60.0);
        let height = state.probe_height_mm(&curve.probe);
        let height = height.map_or_else(String::new, |mm| format!("{mm} mm over the band"));
        let aside = curve.set_aside.as_ref();
        rows.push(Row::Cells(vec![
            format!("{} {}", What::Probe.about().label, curve.probe),
            height,
            curve.readings.len().to_string(),
            format!("readings over {} min", paper::number::fixed(minutes, 1)),
            aside.map_or_else(String::new, |why| format!("set aside: {why}")),
            curve.told.key.clone(),
        ]));
    }
    for kept in &state.words {
        rows.push(Row::Cells(vec![
            kept.what.about().label.to_owned(),
            kept.of.clone().unwrap_or_default(),
            crate::table::cut(&kept.words, 40),
            String::new(),
            String::new(),
            kept.told.key.clone(),
        ]));
    }
    for struck in &state.struck {
        rows.push(Row::Cells(vec![
            format!("struck through: {}", struck.what),
            struck.on.clone().unwrap_or_default(),
            crate::table::cut(&struck.value, 40),
            struck.unit.clone().unwrap_or_default(),
            struck.why.clone(),
            struck.told.key.clone(),
        ]));
    }
    use Side::{Left, Right};
    let sides = [Left, Left, Right, Left, Left, Left];
    if !rows.is_empty() {
        tell::out(&table(&["", "on", "", "", "", "row"], &sides, &rows))?;
    }
    tell::out(&tell::findings(
        &[(batch.code.as_str(), &state.findings)],
        true,
    ))?;
    Ok(End::Fine)
}

async fn enter(args: BenchEnter) -> anyhow::Result<End> {
    let Some(what) = What::from_word(&args.what) else {
        let words: Vec<&str> = What::ALL.iter().map(|w| w.about().word).collect();
        anyhow::bail!(
            "`{}` isn't a word of the bench; there are {}",
            args.what,
            words.join(", ")
        );
    };
    let app = app_over(args.place.book.as_deref()).await?;
    let before = app.batch(&args.batch).await?;
    let who = match args.who {
        Some(who) => who,
        None => app.settings().await?.who,
    };
    let when = app::now();
    let row = NewBenchEntry {
        key: args.key.unwrap_or_else(app::new_key),
        kind: Kind::Batch,
        thing: args.batch.clone(),
        at: args.at.unwrap_or_else(|| when.clone()),
        arrived: when,
        who,
        device: None,
        what: what.about().word.to_owned(),
        of: args.of,
        on: args.on,
        value: args.value.unwrap_or_default(),
        unit: args.unit,
        strikes: args.strike,
        why: args.why,
    };
    // What can't be understood isn't written: here somebody can still type it anew.
    let mut rows: Vec<bench::Entry> = app
        .book()
        .entries_of(Kind::Batch, &args.batch, 0)
        .await?
        .into_iter()
        .map(app::row_of)
        .collect();
    rows.push(app::as_row(row.clone(), before.made.state.last_id + 1));
    let after = bench::fold(&before.made.batch, &rows);
    let new: Vec<_> = after
        .findings
        .iter()
        .filter(|f| !before.made.state.findings.contains(f))
        .cloned()
        .collect();
    let unread = [
        bench::Code::NotANumber,
        bench::Code::UnitUnknown,
        bench::Code::PlaceUnread,
        bench::Code::WhichMissing,
        bench::Code::SetAsideUnread,
        bench::Code::CurveUnread,
    ];
    let beyond = new.iter().any(|f| f.code == bench::Code::BeyondPlausible);
    if beyond
        || new
            .iter()
            .any(|f| unread.iter().any(|code| f.code == *code))
    {
        tell::note(&tell::findings(
            &[(before.made.batch.code.as_str(), &new)],
            true,
        ));
        anyhow::bail!(if beyond {
            "nothing was written; if it is so, say why with --why, and it is kept and marked"
        } else {
            "nothing was written"
        });
    }
    let kept = app.enter_one(row).await?;
    app.close().await;
    if args.place.json {
        tell::json(
            &json!({ "row": kept.row.key, "id": kept.id, "hash": kept.hash, "findings": new }),
        )?;
    } else {
        tell::out(&format!(
            "Written: row {} as number {} of the book\n",
            kept.row.key, kept.id
        ))?;
        tell::out(&tell::findings(
            &[(before.made.batch.code.as_str(), &new)],
            true,
        ))?;
    }
    Ok(End::Fine)
}

async fn export(args: &BenchExport) -> anyhow::Result<End> {
    let app = app_over(args.book.as_deref()).await?;
    let view = app.trial(&args.trial).await?;
    let response = args.response.as_deref();
    if args.json {
        tell::json(&app.measurements_out(&view, response)?)?;
        return Ok(End::Fine);
    }
    for (path, format) in [
        (&args.csv, TableFormat::Csv),
        (&args.xlsx, TableFormat::Xlsx),
    ] {
        if let Some(path) = path {
            let bytes = app.measurements_file(&view, response, format)?;
            files::write_bytes(path, &bytes, args.force)?;
            tell::out(&format!("Written: {}\n", path.display()))?;
        }
    }
    if args.csv.is_none() && args.xlsx.is_none() {
        let bytes = app.measurements_file(&view, response, TableFormat::Csv)?;
        tell::out(&String::from_utf8_lossy(&bytes))?;
    }
    app.close().await;
    Ok(End::Fine)
}

/// What the batches of a treatment tell of their oven.
async fn readings(args: &BenchReadings) -> anyhow::Result<End> {
    let app = app_over(args.book.as_deref()).await?;
    let view = app.trial(&args.trial).await?;
    app.close().await;
    let trial = &view.trial;
    let labels: Vec<&str> = trial.treatments.iter().map(|t| t.label.as_str()).collect();
    let wanted = match &args.treatment {
        Some(wanted) => labels
            .iter()
            .find(|l| l.eq_ignore_ascii_case(wanted.trim())),
        None => labels
            .iter()
            .find(|l| trial.control.as_deref() == Some(l))
            .or(labels.first()),
    };
    let Some(wanted) = wanted else {
        anyhow::bail!(
            "--treatment {}: the trial has no such treatment; it has {}",
            args.treatment.as_deref().unwrap_or_default(),
            labels.join(", ")
        );
    };
    let found = bench::oven_rows(view.made.iter().filter(|m| m.batch.label == **wanted));
    if args.json {
        tell::json(&json!({ "trial": args.trial, "treatment": wanted, "readings": found }))?;
        return Ok(End::Fine);
    }
    for left in &found.left_out {
        tell::note(&format!(
            "left out: {}, {}: {}\n",
            left.bake,
            left.what,
            left.because.told()
        ));
    }
    if found.rows.is_empty() {
        anyhow::bail!(
            "the batches of {wanted} tell nothing of their oven yet; write pulled pieces with their minutes and their mass before and after, or the moisture at the end"
        );
    }
    let table = format!(
        "# Readings of the trial {}, treatment {wanted}. Minutes count from the moment the piece enters the oven.\n{}",
        args.trial,
        bench::oven_table(&found.rows)
    );
    match &args.csv {
        Some(path) => {
            files::write(path, &table, args.force)?;
            tell::out(&format!("Written: {}\n", path.display()))?;
        }
        None => tell::out(&table)?,
    }
    Ok(End::Fine)
}
