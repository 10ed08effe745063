//! `hardtack trial twobowl` and `ranking`.

use super::{data, kept, refuse, tell_all};
use crate::trial_args::{Data, Minimum, PanelData, Ranking, Twobowl};
use crate::{End, tell};
use app::{PanelQuestion, ask_panel, rows_of, trial_table};
use book::exchange::Decimal;
use measure::Finding;
use trials::analyse::Table;
use trials::palatability::{BowlRules, ranking_of, two_bowl_of};

/// The table of a panel: that of a file, or what a trial of the book has of it.
fn table_of(
    from: &PanelData,
    question: PanelQuestion,
) -> anyhow::Result<Result<Table, Vec<Finding>>> {
    let Some(id) = &from.trial else {
        return data::table(&Data {
            data: from.data.clone().unwrap_or_default(),
            decimal_comma: from.decimal_comma,
            sheet: from.sheet.clone(),
        });
    };
    let view = kept::trial(from.book.as_deref(), id)?;
    let Some(panel) = ask_panel(&view, question, 0.0) else {
        anyhow::bail!(
            "nothing was written of {id} that this could be asked of; docs/using/results.md tells what it takes"
        );
    };
    if let Some([a, b]) = &panel.foods {
        tell::note(&format!("A is {a}, B is {b}\n"));
    }
    Ok(trial_table(rows_of(&panel.table), Decimal::Point))
}

/// A two-bowl trial.
pub fn two_bowl(args: &Twobowl) -> anyhow::Result<End> {
    let table = match table_of(&args.from, PanelQuestion::TwoBowl)? {
        Ok(table) => table,
        Err(findings) => return refuse(&findings, args.out.json),
    };
    let rules = BowlRules {
        least_total_g: args.least_g,
    };
    let found = two_bowl_of(&table, rules)?;
    tell_all(&report::trial::two_bowl(&found), &found, &args.out)
}

/// A ranking.
pub fn ranking(args: &Ranking) -> anyhow::Result<End> {
    let table = match table_of(&args.from, PanelQuestion::Ranking)? {
        Ok(table) => table,
        Err(findings) => return refuse(&findings, args.out.json),
    };
    let found = ranking_of(&table, args.dog.as_deref())?;
    tell_all(&report::trial::ranking(&found), &found, &args.out)
}

/// The least number of first choices that means anything, by the exact binomial test.
pub fn minimum(args: &Minimum) -> anyhow::Result<End> {
    const MOST_DOGS: usize = 10_000;
    anyhow::ensure!(
        args.alpha > 0.0 && args.alpha <= 0.5,
        "--alpha {}: give a number above 0, at most 0.5; 0.05 is usual",
        args.alpha
    );
    if let Some(dogs) = args.dogs.iter().find(|n| !(1..=MOST_DOGS).contains(*n)) {
        anyhow::bail!("{dogs} dogs: give 1 to {MOST_DOGS}");
    }
    let rows = trials::palatability::minimum_numbers(&args.dogs, args.alpha);
    if args.json {
        tell::json(&rows)?;
        return Ok(End::Fine);
    }
    let cells: Vec<crate::table::Row> = rows
        .iter()
        .map(|r| {
            crate::table::Row::Cells(vec![
                r.dogs.to_string(),
                r.least
                    .map_or_else(|| "never".to_owned(), |k| k.to_string()),
                r.p.map_or_else(String::new, |p| format!("{p:.4}")),
            ])
        })
        .collect();
    let sides = [crate::table::Side::Right; 3];
    tell::out(&crate::table::table(
        &["dogs", "at least", "p"],
        &sides,
        &cells,
    ))?;
    tell::out(
        "Two-sided, exact binomial; dogs count that chose the same food first on both days.\n",
    )?;
    Ok(End::Fine)
}
