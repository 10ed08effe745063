//! `hardtack trial twobowl` and `ranking`.

use super::{data, refuse, tell_all};
use crate::End;
use crate::trial_args::{Minimum, Ranking, Twobowl};
use trials::palatability::{BowlRules, ranking_of, two_bowl_of};

/// A two-bowl trial.
pub fn two_bowl(args: &Twobowl) -> anyhow::Result<End> {
    let table = match data::table(&args.data)? {
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
    let table = match data::table(&args.data)? {
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
        crate::tell::json(&rows)?;
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
    crate::tell::out(&crate::table::table(
        &["dogs", "at least", "p"],
        &sides,
        &cells,
    ))?;
    crate::tell::out(
        "Two-sided, exact binomial; dogs count that chose the same food first on both days.\n",
    )?;
    Ok(End::Fine)
}
