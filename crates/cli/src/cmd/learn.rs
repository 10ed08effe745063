//! `hardtack learn` and `hardtack next`: what a study's batches taught, and what to try next.

use crate::args::BookPlace;
use crate::cmd::bench::{app_over, waiting};
use crate::table::{Row, Side, WIDTH, table, wrap};
use crate::{End, tell};
use app::{App, StudyView};
use clap::{Args, Subcommand};
use measure::rounding::significant;
use serde_json::json;

/// What batches taught.
#[derive(Debug, Subcommand)]
pub enum Learn {
    /// The water that materials take, from the doses of titrated batches.
    Water(OfStudy),
    /// Whether pieces leave the cutter whole, from counts.
    Release(OfStudy),
    /// A measured response as a figure of every treatment.
    Response(LearnResponse),
}

/// A study of the book.
#[derive(Debug, Args)]
pub struct OfStudy {
    /// The study: its lasting name in the book, such as spent-grain-bars.
    study: String,
    #[command(flatten)]
    place: BookPlace,
}

/// A response of its trials.
#[derive(Debug, Args)]
pub struct LearnResponse {
    #[command(flatten)]
    of: OfStudy,
    /// What was measured, such as breaking_force_n.
    #[arg(long, value_name = "ID")]
    response: String,
}

/// What to try next.
#[derive(Debug, Args)]
pub struct NextArgs {
    #[command(flatten)]
    of: OfStudy,
    /// Also the formula to make, for something that was measured, such as breaking_force_n.
    #[arg(long, value_name = "ID")]
    response: Option<String>,
    /// Batches of one day.
    #[arg(long, value_name = "N", default_value_t = 3)]
    batches: usize,
}

async fn opened(of: &OfStudy) -> anyhow::Result<(App, StudyView)> {
    let app = app_over(of.place.book.as_deref()).await?;
    let who = app.settings().await?.who;
    let view = app.study(&who, &of.study).await?;
    Ok((app, view))
}

/// Does what was asked.
pub fn run(args: Learn) -> anyhow::Result<End> {
    waiting(async {
        match args {
            Learn::Water(of) => water(&of).await,
            Learn::Release(of) => release(&of).await,
            Learn::Response(args) => response(&args).await,
        }
    })
}

const NOTHING: &str = "No batch of this study's trials taught it yet: titrate a dough, or count what is cut, at the bench.\n";

fn with_limits([mean, low, high]: [f64; 3]) -> String {
    format!("{mean:.1} ({low:.1} to {high:.1})")
}

async fn water(of: &OfStudy) -> anyhow::Result<End> {
    let (app, view) = opened(of).await?;
    let told = app.doughs_taught(&view).await?;
    app.close().await;
    if of.place.json {
        tell::json(&json!({ "water": told.water, "needs": told.needs }))?;
        return Ok(End::Fine);
    }
    let Some(water) = &told.water else {
        tell::out(NOTHING)?;
        return Ok(End::Fine);
    };
    let mut text = wrap(
        &format!(
            "Learned from {}: {}. The page Own oven takes it up in the study.",
            water.stands_on(),
            water.taken.join(", ")
        ),
        WIDTH,
        "",
    );
    if !water.asked.is_empty() {
        let asked = format!(
            "Far off, and not learned from before the batch is signed: {}.",
            water.asked.join(", ")
        );
        text.push_str(&wrap(&asked, WIDTH, ""));
    }
    let (before, after) = (water.before.sd(), water.after.sd());
    let uptakes: Vec<Row> = (0..water.after.names.len())
        .map(|i| {
            let both = |mean: f64, sd: f64| format!("{mean:.3} ± {:.3}", 1.96 * sd);
            Row::Cells(vec![
                water.after.names[i].clone(),
                both(water.before.mean[i], before[i]),
                both(water.after.mean[i], after[i]),
            ])
        })
        .collect();
    use Side::{Left as L, Right as R};
    text.push('\n');
    text.push_str(&table(
        &["water taken, kg per kg", "believed", "learned ○"],
        &[L, R, R],
        &uptakes,
    ));
    let needs: Vec<Row> = told
        .needs
        .iter()
        .map(|(name, now, then)| {
            Row::Cells(vec![name.clone(), with_limits(*now), with_limits(*then)])
        })
        .collect();
    text.push('\n');
    text.push_str(&table(
        &[
            "need, kg per 100 kg dry mix",
            "as it stands",
            "with these ○",
        ],
        &[L, R, R],
        &needs,
    ));
    tell::out(&text)?;
    Ok(End::Fine)
}

async fn release(of: &OfStudy) -> anyhow::Result<End> {
    let (app, view) = opened(of).await?;
    let told = app.doughs_taught(&view).await?;
    app.close().await;
    let Some(whole) = &told.whole else {
        if of.place.json {
            tell::json(&json!({ "whole": null }))?;
        } else {
            tell::out(NOTHING)?;
        }
        return Ok(End::Fine);
    };
    let rows: Vec<(f64, _, _)> = [0.0, 1.0, 2.0]
        .into_iter()
        .filter_map(|tenths| {
            let at = |model: &trials::learn::Release| model.whole(&[1.0, tenths]).ok();
            Some((tenths, at(&whole.before)?, at(&whole.after)?))
        })
        .collect();
    if of.place.json {
        let at: Vec<_> = rows
            .iter()
            .map(|(tenths, before, after)| {
                json!({ "tenths_off_the_need": tenths, "before": before, "after": after })
            })
            .collect();
        tell::json(
            &json!({ "taken": whole.taken, "pieces": whole.pieces, "at": at, "model": whole.after }),
        )?;
        return Ok(End::Fine);
    }
    let words = |w: &trials::learn::Whole| {
        let percent = |v: f64| 100.0 * v;
        format!(
            "{:.0} % ({:.0} to {:.0})",
            percent(w.probability),
            percent(w.low95),
            percent(w.high95)
        )
    };
    let cells: Vec<Row> = rows
        .iter()
        .map(|(tenths, before, after)| {
            Row::Cells(vec![
                format!("{:.0} %", 10.0 * tenths),
                words(before),
                words(after),
            ])
        })
        .collect();
    use Side::{Left as L, Right as R};
    let text = format!(
        "Learned from {}, {} pieces.\n\n{}",
        whole.stands_on(),
        whole.pieces,
        table(
            &["water off the need", "pieces whole, believed", "learned ○"],
            &[L, R, R],
            &cells
        )
    );
    tell::out(&text)?;
    Ok(End::Fine)
}

async fn response(args: &LearnResponse) -> anyhow::Result<End> {
    let (app, view) = opened(&args.of).await?;
    let learned = app.response_learned(&view, &args.response).await;
    app.close().await;
    let learned = learned?;
    let (name, unit) = &learned.response;
    if args.of.place.json {
        tell::json(
            &json!({ "response": name, "unit": unit, "batches": learned.batches, "shape": learned.model.shape,
            "missed": learned.model.missed, "batch_sd": learned.model.batch_sd, "of_treatments": learned.of_treatments }),
        )?;
        return Ok(End::Fine);
    }
    let three = |v: f64| significant(v, 3);
    let rows: Vec<Row> = learned
        .of_treatments
        .iter()
        .map(|(name, told)| {
            let [low, high] = told.next_interval();
            Row::Cells(vec![
                name.clone(),
                three(told.mean),
                format!("{} to {}", three(low), three(high)),
            ])
        })
        .collect();
    use Side::{Left as L, Right as R};
    let mut text = wrap(
        &format!(
            "{name}, learned from {} batches, {}.",
            learned.batches,
            learned.how()
        ),
        WIDTH,
        "",
    );
    text.push('\n');
    text.push_str(&table(
        &[
            &format!("{name}, {unit}"),
            "learned ○",
            "the next batch, 95 %",
        ],
        &[L, R, R],
        &rows,
    ));
    tell::out(&text)?;
    Ok(End::Fine)
}

/// Tells what to try next.
pub fn next(args: &NextArgs) -> anyhow::Result<End> {
    anyhow::ensure!(
        (1..=app::MOST_BATCHES).contains(&args.batches),
        "--batches {}: give 1 to {}",
        args.batches,
        app::MOST_BATCHES
    );
    waiting(async {
        let (app, view) = opened(&args.of).await?;
        let next = app
            .next(&view, args.response.as_deref(), args.batches)
            .await;
        app.close().await;
        let next = next?;
        if args.of.place.json {
            tell::json(&next.document())?;
            return Ok(End::Fine);
        }
        tell::out(&in_words(&next))?;
        Ok(match next.formulas {
            Some(Err(_)) => End::Stop,
            _ => End::Fine,
        })
    })
}

fn in_words(next: &app::Next) -> String {
    use Side::{Left as L, Right as R};
    let mut text = String::new();
    let minutes = |s: f64| format!("± {:.1}", s / 60.0);
    let bake: Vec<Row> = next
        .bake
        .iter()
        .map(|(means, n)| {
            let [now, then] = n.half_widths_s();
            let at = match n.readings.first().and_then(|r| r.height_m) {
                Some(height) => format!("{:.1} mm over the band", 1000.0 * height),
                None => {
                    let at = n.times_s().into_iter();
                    let at: Vec<String> = at.map(|s| format!("{:.1}", s / 60.0)).collect();
                    format!("{} min", at.join(", "))
                }
            };
            Row::Cells(vec![
                means.name().to_owned(),
                at,
                minutes(now),
                minutes(then),
            ])
        })
        .collect();
    text.push_str(&format!("One more bake of {}\n", next.bake_of.0));
    text.push_str(&table(
        &["with", "at", "minutes now", "after it"],
        &[L, L, R, R],
        &bake,
    ));
    let doughs: Vec<Row> = next
        .doughs
        .iter()
        .map(|d| {
            let half = |[now, then]: [f64; 2]| format!("± {now:.1} to {then:.1}");
            let [own, all] = d.half_widths();
            Row::Cells(vec![d.name.clone(), half(own), half(all)])
        })
        .collect();
    text.push_str("\nOne more titration, kg per 100 kg dry mix\n");
    text.push_str(&table(
        &["of", "its own need", "all needs, mean"],
        &[L, R, R],
        &doughs,
    ));
    match &next.formulas {
        None => {
            let all: Vec<&str> = next.responses.iter().map(|(id, _)| id.as_str()).collect();
            if !all.is_empty() {
                let hint = format!("--response tells the formula to make: {}.", all.join(", "));
                text.push('\n');
                text.push_str(&wrap(&hint, WIDTH, ""));
            }
        }
        Some(Err(why)) => text.push_str(&wrap(&format!("\n{why}"), WIDTH, "")),
        Some(Ok(told)) => {
            let three = |v: f64| significant(v, 3);
            text.push('\n');
            text.push_str(&wrap(
                &format!(
                    "Best so far: {}, {} {}. {} formulas were looked at, {} keep every limit. Learned from {} batches, {}.",
                    told.best.0,
                    three(told.best.1),
                    told.response.1,
                    told.looked_at.0,
                    told.looked_at.1,
                    told.batches,
                    told.how
                ),
                WIDTH,
                "",
            ));
            let rows: Vec<Row> = told
                .pick
                .iter()
                .map(|f| {
                    let [low, high] = f.told.next_interval();
                    Row::Cells(vec![
                        f.name.clone(),
                        format!("{} ({} to {})", three(f.told.mean), three(low), three(high)),
                        three(f.improvement),
                        format!("{:.0} %", 100.0 * f.chance),
                    ])
                })
                .collect();
            text.push_str(&table(
                &["make", &told.response.0, "improvement", "chance"],
                &[L, R, R, R],
                &rows,
            ));
        }
    }
    text
}
