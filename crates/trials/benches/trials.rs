//! Times of what the bench screens and the command line wait for; prints a table.
#![expect(clippy::print_stdout, reason = "a bench prints its table")]

use std::time::Instant;
use trials::analyse::{AnalysisRequest, Cell, Table, analyse};
use trials::random::SplitMix64;
use trials::stats::compare::{pairs, tukey_of};
use trials::stats::design::{Coding, Design, Factor};
use trials::stats::mixed::{Mixed, RandomTerm};
use trials::stats::one_way::one_way;

fn time(name: &str, limit_ms: f64, rounds: u32, mut work: impl FnMut()) {
    work();
    let mut best = f64::INFINITY;
    for _ in 0..rounds {
        let start = Instant::now();
        work();
        best = best.min(start.elapsed().as_secs_f64() * 1e3);
    }
    let verdict = if best <= limit_ms { "within" } else { "above" };
    println!("{name:<62} {best:>9.3} ms   {verdict} {limit_ms} ms");
}

fn factor(name: &str, levels: usize, codes: Vec<usize>) -> Factor {
    Factor {
        name: name.into(),
        levels: (0..levels).map(|i| format!("l{i}")).collect(),
        codes,
    }
}

/// The table of plain comma-separated text.
fn table(text: &str) -> Table {
    let mut lines = text.lines().map(|l| l.split(','));
    let head = lines.next().into_iter().flatten().map(String::from);
    let head: Vec<String> = head.collect();
    let rows = lines.enumerate().map(|(i, line)| {
        let cells = line.map(|c| Cell::of(c, c.parse().ok()));
        (i + 2, cells.collect())
    });
    Table::from_rows(head, rows.collect()).expect("the text is a table")
}

fn main() {
    let mut generator = SplitMix64::stream(11, 0);
    // The sum of four even numbers is near enough to normal for timing.
    let mut noise = || (0..4).map(|_| generator.unit()).sum::<f64>() - 2.0;

    let codes: Vec<usize> = (0..18_009).map(|i| i / 2001).collect();
    let y: Vec<f64> = codes
        .iter()
        .map(|&c| 1e6 + 0.1 * (c % 3) as f64 + noise())
        .collect();
    time("one-way and Tukey, 18,009 rows, 9 groups", 20.0, 20, || {
        let table = one_way(&codes, &y, 9);
        let (g, df) = (&table.groups, table.test.denominator_df);
        let s2 = table.within / df;
        let rows: Vec<_> = pairs(g.len())
            .into_iter()
            .map(|(a, b)| {
                let se = (s2 * (1.0 / g[a].n as f64 + 1.0 / g[b].n as f64)).sqrt();
                (a, b, g[a].mean - g[b].mean, se, df)
            })
            .collect();
        assert_eq!(tukey_of(&rows, g.len(), 1.0).len(), 36);
    });

    let design = Design::factorial(
        vec![
            factor("variety", 3, (0..72).map(|i| (i / 4) % 3).collect()),
            factor("nitrogen", 4, (0..72).map(|i| i % 4).collect()),
        ],
        2,
        Coding::SumToZero,
    );
    let (days, plots): (Vec<f64>, Vec<f64>) = (
        (0..6).map(|_| 10.0 * noise()).collect(),
        (0..18).map(|_| 7.0 * noise()).collect(),
    );
    let y: Vec<f64> = (0..72)
        .map(|i| 100.0 + days[i / 12] + plots[i / 4] + 10.0 * noise())
        .collect();
    let columns = design.columns();
    let random = [
        RandomTerm::intercept("block", (0..72).map(|i| i / 12).collect()),
        RandomTerm::intercept("plot", (0..72).map(|i| i / 4).collect()),
    ];
    let owners = design.owners();
    let terms: Vec<Vec<Vec<f64>>> = (0..3)
        .map(|t| {
            (0..owners.len())
                .filter(|&c| owners[c] == Some(t))
                .map(|c| {
                    (0..owners.len())
                        .map(|k| f64::from(u8::from(k == c)))
                        .collect()
                })
                .collect()
        })
        .collect();
    time(
        "split plot by REML with Kenward–Roger, 72 rows",
        10.0,
        50,
        || {
            let model = Mixed::fit(&columns, &y, &random).expect("the layout is sound");
            for rows in &terms {
                assert!(model.test(rows).is_some());
            }
        },
    );

    let n = 2_000;
    let design = Design::factorial(
        vec![factor("treatment", 5, (0..n).map(|i| i % 5).collect())],
        1,
        Coding::SumToZero,
    );
    let columns = design.columns();
    let days: Vec<f64> = (0..50).map(|_| 3.0 * noise()).collect();
    let batches: Vec<f64> = (0..400).map(|_| 2.0 * noise()).collect();
    let y: Vec<f64> = (0..n)
        .map(|i| days[i / 40] + batches[i / 5] + noise())
        .collect();
    let nested = [
        RandomTerm::intercept("day", (0..n).map(|i| i / 40).collect()),
        RandomTerm::intercept("batch", (0..n).map(|i| i / 5).collect()),
    ];
    time(
        "mixed model, 2,000 rows, 400 batches in 50 days",
        1000.0,
        5,
        || {
            Mixed::fit(&columns, &y, &nested).expect("the layout is sound");
        },
    );
    let judges: Vec<f64> = (0..40).map(|_| 2.0 * noise()).collect();
    let y: Vec<f64> = (0..n)
        .map(|i| judges[i % 40] + days[(i * 7 / 40) % 50] + noise())
        .collect();
    let crossed = [
        RandomTerm::intercept("judge", (0..n).map(|i| i % 40).collect()),
        RandomTerm::intercept("day", (0..n).map(|i| (i * 7 / 40) % 50).collect()),
    ];
    time(
        "mixed model, 2,000 rows, 40 judges crossed with 50 days",
        1000.0,
        5,
        || {
            Mixed::fit(&columns, &y, &crossed).expect("the layout is sound");
        },
    );

    let mut text = String::from("treatment,batch,piece,breaking_force_n\n");
    for i in 0..100_000 {
        let batch = i / 10;
        text += &format!(
            "t{},b{batch},{},{:.3}\n",
            batch % 8,
            i % 10,
            40.0 + (batch % 8) as f64 * 0.2 + (batch % 97) as f64 * 0.05 + noise()
        );
    }
    time(
        "CSV of 100,000 pieces in 10,000 batches, read and analysed",
        1000.0,
        3,
        || {
            let table = table(&text);
            let found = analyse(&table, &AnalysisRequest::of("breaking_force_n"))
                .expect("the layout is sound");
            assert_eq!(found.units, 10_000);
        },
    );
    let mut text = String::from("treatment,y\n");
    for i in 0..100_000 {
        text += &format!("t{},{:.3}\n", i % 8, 40.0 + noise());
    }
    time(
        "CSV of 100,000 batches, read and analysed",
        1000.0,
        3,
        || {
            let table = table(&text);
            analyse(&table, &AnalysisRequest::of("y")).expect("the layout is sound");
        },
    );
}
