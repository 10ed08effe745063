//! The page of coverage by simulation, written by the simulation itself.

use crate::{made, root};
use std::fmt::Write;
use trials::stats::coverage::{Layout, coverage};

const TRIALS: u32 = 5_000;
const SEED: u64 = 20_240_711;

/// The figures as they stand on the page.
fn page() -> String {
    let mut out = format!(
        "# Do the trial methods keep their promises?\n\nThis page is written by a slow test (`UPDATE_VALIDATION=1 cargo test -p hardtack --test trial --release -- --ignored`).\nEach layout was tried {TRIALS} times with random numbers of seed {SEED} and no true difference.\nA 95 % interval of a single difference should cover the truth in 94 to 96 of 100 trials, and all of Tukey's\ndifferences together should raise a false alarm in 4 to 6 of 100.\n\n| layout | trials | intervals that cover, % | trials with a false alarm, % |\n| --- | ---: | ---: | ---: |\n"
    );
    for layout in Layout::ALL {
        let found = coverage(layout, TRIALS, SEED);
        let _ = writeln!(
            out,
            "| {} | {} | {:.2} | {:.2} |",
            layout.word(),
            found.trials,
            100.0 * found.interval,
            100.0 * found.family_error
        );
        if layout.sound() {
            assert!((0.94..=0.96).contains(&found.interval), "{found:?}");
            assert!((0.04..=0.06).contains(&found.family_error), "{found:?}");
        }
    }
    out.push_str(
        "\nThe last line is the mistake that `trial analyse` refuses: ten pieces of a batch taken as ten replicates.\nThe pieces share their batch's mixing and baking, so intervals come out far too narrow, and most such trials\nwould announce a difference that is not there.\n\n## Accuracy\n\nThe methods are held against published and independent values in the tests of the crate `trials`:\n\n| what | held against | agrees to at least |\n| --- | --- | --- |\n| one-way analysis of variance | NIST StRD, SiRstv and AtmWtAg | 12.5 and 9.5 digits of F (AtmWtAg: the data in f64 hold no more) |\n| linear least squares | NIST StRD, Norris and Longley | 12 digits of Norris' intercept, 14 of its slope, 11 of Longley's residual spread |\n| nonlinear least squares | NIST StRD, 27 sets from both starts | parameters 8 digits, standard errors 6 (Lanczos1's are rounding in f64) |\n| studentised range | high-precision quadrature | 1e-12 of the probability; its quantile 1e-7, as good as R's own |\n| Dunnett | exact values by quadrature | 1e-8 (the table of 1955 prints 2.81 where 2.759 is exact) |\n| analysis of variance, split plot | R 4.2.2 | 1e-8 |\n| mixed models by REML | R 4.2.2 | 1e-4 of the variances, 1e-8 where a closed form exists |\n| Kenward–Roger | an independent implementation | 1e-5 of the degrees of freedom, 1e-6 of the standard errors |\n| D-optimal exchange | exhaustive search | reaches the optimum from at least 95 of 100 seeds |\n| colour difference | Sharma, Wu and Dalal 2005, 34 pairs | 1e-4 |\n| mixture model | the published yarn example | the printed digits |\n",
    );
    out
}

#[test]
#[ignore = "slow: 5,000 trials per layout"]
fn the_page_is_what_the_simulation_gives() {
    made(
        &root().join("docs/validation-trials.md"),
        &page(),
        "UPDATE_VALIDATION",
    );
}

#[test]
fn the_page_tells_every_layout() {
    let page = std::fs::read_to_string(root().join("docs/validation-trials.md")).unwrap();
    for layout in Layout::ALL {
        let row = page
            .lines()
            .find(|l| l.starts_with(&format!("| {} |", layout.word())));
        let cells: Vec<&str> = row.unwrap().split('|').map(str::trim).collect();
        let (cover, alarm): (f64, f64) = (cells[3].parse().unwrap(), cells[4].parse().unwrap());
        assert_eq!(
            (94.0..=96.0).contains(&cover) && (4.0..=6.0).contains(&alarm),
            layout.sound()
        );
    }
}
