//! `hardtack trial looks`.

use super::tell_all;
use crate::End;
use crate::trial_args::Looks;
use serde_json::json;
use trials::stats::sequential::{Spending, spend};

/// Looks evenly spaced, the last at the end.
pub fn evenly(looks: usize) -> Vec<f64> {
    (1..=looks).map(|k| k as f64 / looks as f64).collect()
}

/// How the risk is spent, by its word on the command line.
pub fn spending(word: &str) -> Spending {
    if word == "even" {
        Spending::EvenLikePocock
    } else {
        Spending::LateLikeOBrienFleming
    }
}

/// What each look must show.
pub fn run(args: &Looks) -> anyhow::Result<End> {
    let times: Vec<f64> = if args.at.is_empty() {
        anyhow::ensure!(
            (1..=10).contains(&args.looks),
            "--looks {}: plan from 1 to 10 looks",
            args.looks
        );
        evenly(args.looks)
    } else {
        args.at.clone()
    };
    let rising = times.windows(2).all(|w| w[0] < w[1]);
    let ends = times.first().is_some_and(|t| *t > 0.0) && times.last() == Some(&1.0);
    anyhow::ensure!(
        rising && ends && times.len() <= 10,
        "--at: give rising shares above 0, the last 1, e.g. --at 0.5,1"
    );
    anyhow::ensure!(
        args.alpha > 0.0 && args.alpha < 0.5,
        "--alpha {}: give a risk above 0 and below 0.5",
        args.alpha
    );
    let found = spend(spending(&args.spend), &times, args.alpha, !args.one_sided);
    let lines: Vec<_> = found
        .iter()
        .map(|l| json!({ "time": l.time, "z": l.z, "nominal_p": l.nominal_p, "spent": l.spent }))
        .collect();
    let told = report::trial::looks(&found, args.alpha, args.one_sided);
    tell_all(&told, &json!({ "looks": lines }), &args.out)
}
