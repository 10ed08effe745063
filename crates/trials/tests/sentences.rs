//! Every claim of a sentence is held against the table it was read off.
#![allow(
    clippy::unwrap_used,
    reason = "a test may stop where its data are not as written"
)]

use measure::rounding::significant;
use trials::analyse::{Analysis, AnalysisRequest, Cell, Table, analyse};
use trials::random::SplitMix64;
use trials::response::Better;
use trials::stats::distribution::normal_quantile;

fn trial(seed: u64) -> (Table, AnalysisRequest) {
    let mut g = SplitMix64::stream(seed, 5);
    let mut unit = || g.unit().clamp(1e-12, 1.0 - 1e-12);
    let groups = 2 + (unit() * 4.0) as usize;
    let effect = [0.0, 1.0, 3.0, 20.0][(unit() * 4.0) as usize % 4];
    let spread = [0.5, 1.0, 4.0][(unit() * 3.0) as usize % 3];
    let mut rows = Vec::new();
    for i in 0..groups {
        let n = 2 + (unit() * 4.0) as usize;
        for _ in 0..n {
            let y = 50.0 + effect * i as f64 + spread * normal_quantile(unit());
            let name = if i == 0 {
                "control".to_string()
            } else {
                format!("t{i}")
            };
            rows.push((rows.len() + 2, vec![Cell::of(&name, None), Cell::Number(y)]));
        }
    }
    let table = Table::from_rows(vec!["treatment".into(), "y".into()], rows).unwrap();
    let way = (unit() * 4.0) as usize;
    let request = AnalysisRequest {
        control: (unit() < 0.6).then(|| "control".to_string()),
        measure: Some("N".into()),
        better: [
            None,
            Some(Better::Higher),
            Some(Better::Lower),
            Some(Better::Target),
        ][way % 4],
        ..AnalysisRequest::of("y")
    };
    let margin = (request.control.is_some() && unit() < 0.7).then(|| 0.5 + 6.0 * unit());
    (table, AnalysisRequest { margin, ..request })
}

fn hold(found: &Analysis) -> Result<(), String> {
    let said = &found.sentence;
    let fail = |why: &str| {
        Err(format!(
            "{why}\n{said}\n{:#?}\n{:#?}",
            found.comparisons, found.equivalence
        ))
    };
    if found.comparisons.len() > 6 {
        let told = found
            .comparisons
            .iter()
            .filter(|c| c.p_adjusted < 0.05 && (c.low95.unwrap() > 0.0 || c.high95.unwrap() < 0.0))
            .count();
        let all = found.comparisons.len();
        let words = match told {
            0 => format!("none of {all} differences is shown"),
            t if t == all => format!("all {all} differences are shown"),
            t => format!("{t} of {all} differences are shown"),
        };
        return if said.contains(&words) {
            Ok(())
        } else {
            fail(&words)
        };
    }
    for c in &found.comparisons {
        let (low, high) = (c.low95.unwrap(), c.high95.unwrap());
        let (one, other) = (
            format!("y of {} is ", c.a),
            format!("y of {} came out ", c.a),
        );
        let than = format!("than that of {}", c.b);
        let own = said
            .split("y of ")
            .map(|s| format!("y of {s}"))
            .find(|s| (s.starts_with(&one) || s.starts_with(&other)) && s.contains(&than));
        let Some(own) = own else {
            return fail(&format!("{} and {} aren't told", c.a, c.b));
        };
        let shown = own.starts_with(&one);
        if shown != (c.p_adjusted < 0.05 && (low > 0.0 || high < 0.0)) {
            return fail("shown beside a table that doesn't show it");
        }
        if !own.contains(&format!(
            "{} N {}",
            significant(c.difference.abs(), 3),
            if c.difference < 0.0 {
                "lower"
            } else {
                "higher"
            }
        )) {
            return fail("the difference is another");
        }
        if shown {
            let (near, far) = if c.difference < 0.0 {
                (-high, -low)
            } else {
                (low, high)
            };
            if !own.contains(&format!(
                "{} to {} N",
                significant(near, 3),
                significant(far, 3)
            )) {
                return fail("the interval is another");
            }
            let rare = own.contains("fewer than one in a thousand");
            if rare != (c.p_adjusted < 0.001)
                || (!rare
                    && !own.contains(&format!("one in {} such", (1.0 / c.p_adjusted).round())))
            {
                return fail("the chance is another");
            }
        } else if low > 0.0 || high < 0.0 {
            // Only a rounding apart from the test.
            if (c.p_adjusted - 0.05).abs() > 1e-4 {
                return fail("open, though the interval leaves no difference out");
            }
        }
        if let Some(e) = found.equivalence.iter().find(|e| e.a == c.a && e.b == c.b) {
            let answer = match e.not_worse {
                Some(true) => own.contains("It is no worse than") && !own.contains("is not shown"),
                Some(false) => {
                    own.contains("That it is no worse than") && own.contains("is not shown")
                }
                None if e.equivalent => own.contains("It is as good as"),
                None => own.contains("That it is as good as"),
            };
            let bound = e.bound95.map(|b| {
                if e.better == Some(Better::Higher) {
                    b
                } else {
                    -b
                }
            });
            let consistent = e
                .not_worse
                .is_none_or(|n| n == (bound.unwrap() > -e.margin));
            if !answer || !consistent {
                return fail("the answer on the margin is another");
            }
        }
    }
    Ok(())
}

fn holds(seeds: std::ops::Range<u64>) {
    for seed in seeds {
        let (table, request) = trial(seed);
        if let Ok(found) = analyse(&table, &request) {
            hold(&found).unwrap_or_else(|e| panic!("seed {seed}: {e}"));
        }
    }
}

/// A feeding trial: dogs get two or three foods, in periods or without, some rows lost.
fn feeding(seed: u64) -> (Table, usize, Option<usize>, usize) {
    let mut g = SplitMix64::stream(seed, 6);
    let mut unit = || g.unit().clamp(1e-12, 1.0 - 1e-12);
    let dogs = 4 + (unit() * 12.0) as usize;
    let foods = 2 + (unit() * 2.0) as usize;
    let with_periods = unit() < 0.6;
    let lost = [0.0, 0.1][usize::from(unit() < 0.5)];
    let mut header = vec!["dog", "treatment", "intake_g"];
    if with_periods {
        header.push("period");
    }
    let mut rows = Vec::new();
    for dog in 0..dogs {
        for p in 0..foods {
            let y = 200.0 + 10.0 * normal_quantile(unit());
            let mut cells = vec![
                Cell::of(&format!("D{dog:02}"), None),
                Cell::of(&format!("f{}", (dog + p) % foods), None),
                Cell::Number(y),
            ];
            if with_periods {
                cells.push(Cell::Number(p as f64 + 1.0));
            }
            if unit() >= lost {
                rows.push((rows.len() + 2, cells));
            }
        }
    }
    // What is there, counted by itself.
    let distinct = |column: usize| {
        let own = rows.iter().map(|(_, r)| r[column].label());
        own.collect::<std::collections::HashSet<_>>().len()
    };
    let (dogs, periods, all) = (distinct(0), with_periods.then(|| distinct(3)), rows.len());
    let header = header.into_iter().map(String::from).collect();
    (Table::from_rows(header, rows).unwrap(), dogs, periods, all)
}

#[test]
fn dogs_and_periods_are_told_as_they_are() {
    let mut told = 0;
    for seed in 0..400 {
        let (table, dogs, periods, rows) = feeding(seed);
        let Ok(found) = analyse(&table, &AnalysisRequest::of("intake_g")) else {
            continue;
        };
        let words = match periods {
            Some(p) => format!("{dogs} dogs over {p} periods"),
            None => format!("{dogs} dogs"),
        };
        let unit = if periods.is_some() {
            "dog and period"
        } else {
            "dog and treatment"
        };
        assert!(
            found.sentence.contains(&format!("It rests on {words}.")),
            "seed {seed}: {words}: {}",
            found.sentence
        );
        assert_eq!(
            found.unit_told(),
            format!("{unit} ({rows} units of {words}, behind {rows} rows)"),
            "seed {seed}"
        );
        told += 1;
    }
    assert!(told > 300, "{told}");
}

#[test]
fn sentences_say_what_the_tables_say() {
    holds(0..1_500);
}

#[test]
#[ignore = "slow: 10,000 trials"]
fn ten_thousand_sentences_say_what_the_tables_say() {
    holds(0..10_000);
}
