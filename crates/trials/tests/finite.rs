//! What can't be told is absent, never a number that is none: over many odd tables no NaN and no
//! infinity anywhere in what an analysis hands out, and JSON keeps every field.
#![allow(
    clippy::unwrap_used,
    reason = "a test may stop where its data are not as written"
)]

use std::fmt::Debug;
use trials::analyse::keeping::{self, keeping};
use trials::analyse::{
    AnalysisRequest, Cell, PlannedLook, Prior, Table, Variances, Wanted, WantedContrast, analyse,
    model, several::several,
};
use trials::palatability::ranking;
use trials::random::SplitMix64;
use trials::response::{Better, Kind};
use trials::stats::keeping::Side;
use trials::stats::mixture::Degree;
use trials::stats::sequential::Spending;

/// No number of the value is a NaN or infinite, whatever it is printed as.
#[track_caller]
fn finite(what: &str, value: &impl Debug) {
    let text = format!("{value:?}");
    let odd = text
        .split(|c: char| !c.is_alphanumeric())
        .any(|word| word == "NaN" || word == "inf");
    assert!(!odd, "{what}\n{value:#?}");
}

/// A response under three treatments in three blocks, by a shape that leaves little to judge by.
fn table(shape: usize, seed: u64) -> Table {
    let mut g = SplitMix64::stream(seed, shape as u64);
    let mut rows: Vec<Vec<String>> = Vec::new();
    let mut number = |shape: usize, t: usize| -> f64 {
        let noise = g.unit();
        match shape {
            // Alike within treatments, alike but for one, nearly alike, huge, tiny, ties, counts.
            0 => t as f64,
            1 => f64::from(u8::from(noise > 0.9)),
            2 => 10.0 + 1e-12 * noise,
            3 => 1e99 * (1.0 + noise),
            4 => 1e-99 * (1.0 + noise),
            5 => (3.0 * noise).floor(),
            6 => {
                if t == 0 {
                    0.0
                } else {
                    (5.0 * noise).floor()
                }
            }
            7 => -1e6 * noise,
            _ => 5.0 + t as f64 + noise,
        }
    };
    let many = [1, 2, 3, 5][(seed % 4) as usize];
    for t in 0..3 {
        for b in 0..3 {
            for i in 0..many {
                // Empty cells, lost rows.
                if (seed + 3 * t as u64 + b as u64 + i as u64).is_multiple_of(7) {
                    continue;
                }
                let y = number(shape, t);
                rows.push(vec![
                    format!("t{t}"),
                    format!("d{b}"),
                    format!("B{}", rows.len()),
                    format!("{}", b * 3 + i),
                    y.to_string(),
                    "8".into(),
                ]);
            }
        }
    }
    let header = ["treatment", "day", "batch", "x", "y", "n"].map(String::from);
    let rows = rows.into_iter().enumerate().map(|(i, row)| {
        let cells = row.iter().map(|c| Cell::of(c, c.parse().ok()));
        (i + 2, cells.collect())
    });
    Table::from_rows(header.to_vec(), rows.collect()).unwrap()
}

fn requests() -> Vec<AnalysisRequest> {
    let plain = || AnalysisRequest::of("y");
    let control = || AnalysisRequest {
        control: Some("t0".into()),
        ..plain()
    };
    let day = || vec!["day".to_string()];
    let mut out = vec![
        plain(),
        AnalysisRequest {
            blocks: day(),
            ..plain()
        },
        AnalysisRequest {
            unit: Some("day".into()),
            ..plain()
        },
        AnalysisRequest {
            margin: Some(1.0),
            better: Some(Better::Higher),
            belief: Some(Prior::Flat),
            ..control()
        },
        AnalysisRequest {
            belief: Some(Prior::AboutZero(2.0)),
            variances: Variances::Unequal,
            wanted: Wanted::AllPairs,
            ..control()
        },
        AnalysisRequest {
            look: Some(PlannedLook {
                look: 1,
                times: vec![0.5, 1.0],
                spending: Spending::LateLikeOBrienFleming,
            }),
            blocks: day(),
            ..control()
        },
        AnalysisRequest {
            contrasts: vec![WantedContrast {
                name: "ends".into(),
                weights: vec![("t0".into(), -1.0), ("t2".into(), 1.0)],
            }],
            by_ranks: true,
            ..plain()
        },
        AnalysisRequest {
            covariates: vec!["x".into()],
            ..plain()
        },
        AnalysisRequest {
            unit: Some("day".into()),
            time: Some("x".into()),
            ..plain()
        },
        AnalysisRequest {
            treatments: vec!["treatment".into(), "day".into()],
            ..plain()
        },
    ];
    for (kind, out_of) in [
        (Kind::CountOf, Some("n")),
        (Kind::Count, None),
        (Kind::Ordinal, None),
        (Kind::Binary, None),
    ] {
        for blocks in [Vec::new(), day()] {
            out.push(AnalysisRequest {
                kind: Some(kind),
                out_of: out_of.map(str::to_string),
                blocks,
                belief: Some(Prior::Flat),
                margin: Some(10.0),
                ..control()
            });
        }
    }
    out
}

#[test]
fn no_answer_holds_a_number_that_is_none() {
    let (mut answers, mut refusals) = (0, 0);
    for shape in 0..9 {
        for seed in 0..4 {
            let table = table(shape, seed);
            for (at, request) in requests().iter().enumerate() {
                let what = format!("shape {shape}, seed {seed}, request {at}");
                match analyse(&table, request) {
                    Ok(found) => {
                        answers += 1;
                        finite(&what, &found);
                        let json = serde_json::to_value(&found).unwrap();
                        for line in json["comparisons"].as_array().unwrap() {
                            let kept = ["low95", "high95", "df"];
                            assert!(kept.iter().all(|k| line.get(k).is_some()), "{what}: {line}");
                        }
                    }
                    Err(findings) => {
                        refusals += 1;
                        for f in &findings {
                            assert!(
                                !f.message.contains("NaN") && !f.help.is_empty(),
                                "{what}: {f:?}"
                            );
                        }
                    }
                }
            }
        }
    }
    assert!(answers > 150 && refusals > 50, "{answers} {refusals}");
}

#[test]
fn nor_does_a_model_or_a_list() {
    for shape in 0..9 {
        for seed in 0..8 {
            let table = table(shape, seed);
            let what = format!("shape {shape}, seed {seed}");
            for (unit, slopes) in [(None, false), (Some("day"), false), (Some("day"), true)] {
                if let Ok(found) = model::fit_trend(&table, "y", "x", unit, slopes) {
                    finite(&what, &found);
                }
            }
            if let Ok(found) = model::fit_surface(&table, "y", &["x".into()]) {
                finite(&what, &found.report);
                finite(&what, &found.canonical);
            }
            if let Ok(found) = model::fit_mixture(&table, "y", &["x".into()], Degree::Linear) {
                finite(&what, &found.report);
            }
            let wanted = keeping::Wanted {
                response: "y".into(),
                along: "x".into(),
                unit: Some("treatment".into()),
                limit: 5.0,
                side: Side::Upper,
                two_sided: false,
            };
            if let Ok(found) = keeping(&table, &wanted) {
                finite(&what, &found);
            }
            let base = AnalysisRequest::of("y");
            if let Ok(found) = several(&table, &base, &["y".into(), "x".into()]) {
                finite(&what, &found);
            }
        }
    }
    let foods: Vec<String> = ["a", "b", "c"].map(String::from).to_vec();
    for ranks in [vec![vec![2.0; 3]; 4], vec![vec![1.0, 2.0, 3.0]; 4]] {
        let found = ranking(&foods, &ranks).unwrap();
        finite("ranking", &found);
        assert_eq!(found.friedman.is_none(), ranks[0][0] == 2.0);
    }
}

#[test]
fn a_value_that_no_instrument_gives_is_refused_by_row() {
    let mut table = table(8, 1);
    table.columns[4].cells[3] = Cell::Number(1e200);
    let findings = analyse(&table, &AnalysisRequest::of("y")).unwrap_err();
    assert!(findings[0].message.contains("row 5") && findings[0].message.contains("1e200"));
}
