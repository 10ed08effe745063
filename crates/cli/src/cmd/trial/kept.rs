//! Trials of the book: planned into it, and read from it.

use crate::cmd::bench::{app_over, waiting};
use crate::trial_args::Plan;
use app::{TrialAsked, TrialView, rows_of, trial_table};
use bench::Asked;
use book::exchange::Decimal;
use measure::Finding;
use std::path::Path;
use trials::analyse::Table;
use trials::plan::{Request, Unit};

/// Pieces of a batch unless it is said otherwise: enough to bend, count and keep.
const PIECES: u32 = 60;
/// Lost on the way unless it is said otherwise, %.
const LOSS_PCT: f64 = 5.0;

/// A trial with what its batches have come to.
pub fn trial(book: Option<&Path>, id: &str) -> anyhow::Result<TrialView> {
    waiting(async {
        let app = app_over(book).await?;
        let view = app.trial(id).await?;
        app.close().await;
        Ok(view)
    })
}

/// The table of a response, as a file of it would be read.
pub fn table(view: &TrialView, response: &str) -> anyhow::Result<Result<Table, Vec<Finding>>> {
    let asked = view.trial.response(response).ok_or_else(|| {
        let ids: Vec<&str> = view.trial.responses.iter().map(|r| r.id.as_str()).collect();
        anyhow::anyhow!(
            "the trial doesn't ask for `{response}`; it asks for {}",
            ids.join(", ")
        )
    })?;
    let sheet = bench::measured(&view.trial, &view.made, asked);
    anyhow::ensure!(
        !sheet.rows.is_empty(),
        "nothing is measured of {} yet; enter it on screen, with `hardtack bench enter` or `hardtack observe`",
        asked.name
    );
    Ok(trial_table(rows_of(&sheet), Decimal::Point))
}

/// Keeps a plan in the book.
pub fn keep(args: &Plan, id: &str, wish: &Request, unit: Unit) -> anyhow::Result<String> {
    let responses = if args.response.is_empty() {
        vec![Asked::read("breaking_force_n:8")]
    } else {
        args.response.iter().map(|r| Asked::read(r)).collect()
    };
    let responses = responses
        .into_iter()
        .collect::<Result<Vec<_>, _>>()
        .map_err(|why| anyhow::anyhow!("--response {why}"))?;
    waiting(async {
        let app = app_over(args.book.as_deref()).await?;
        let who = app.settings().await?.who;
        let study = args.study.clone().unwrap_or_default();
        let asked = TrialAsked {
            name: args.name.clone().unwrap_or_else(|| id.to_owned()),
            question: args.question.clone().unwrap_or_default(),
            control: app.control_of(&study).await?,
            study,
            wish: wish.clone(),
            unit,
            seed: args.seed,
            responses,
            pieces: Some(args.pieces.unwrap_or(PIECES)),
            loss_pct: LOSS_PCT,
            blind: args.blind,
        };
        let kept = app.keep_trial(&who, &asked, Some(id)).await?;
        app.close().await;
        Ok(kept)
    })
}
