//! No table keeps a person waiting: what would is refused with another way, or taken a quicker way that
//! is told. (Whether it is quick is for the bench; here it is that it ends.)
#![allow(
    clippy::unwrap_used,
    reason = "a test may stop where its data are not as written"
)]

use trials::Code;
use trials::analyse::{AnalysisRequest, Cell, Table, analyse};
use trials::random::SplitMix64;
use trials::response::Kind;

/// Rows of treatment, block (or unit), time and response.
fn table(rows: usize, of: impl Fn(usize) -> (usize, usize, usize)) -> Table {
    let mut g = SplitMix64::new(9);
    let rows = (0..rows).map(|i| {
        let (t, b, time) = of(i);
        let y = (10.0 * g.unit()).floor();
        let cells = vec![
            Cell::of(&format!("t{t}"), None),
            Cell::of(&format!("b{b}"), None),
            Cell::Number(time as f64),
            Cell::Number(y),
        ];
        (i + 2, cells)
    });
    let header = ["treatment", "group", "time", "y"].map(String::from);
    Table::from_rows(header.to_vec(), rows.collect()).unwrap()
}

fn asked(block: Option<&str>, unit: Option<&str>, time: Option<&str>) -> AnalysisRequest {
    AnalysisRequest {
        treatments: vec!["treatment".into()],
        blocks: block.map(str::to_string).into_iter().collect(),
        unit: unit.map(str::to_string),
        time: time.map(str::to_string),
        ..AnalysisRequest::of("y")
    }
}

#[test]
fn what_would_take_too_long_is_refused_with_another_way() {
    let by_block = asked(Some("group"), None, None);
    for (what, table, request) in [
        ("levels", table(8_000, |i| (i % 400, i / 400, 0)), &by_block),
        (
            "times",
            table(4_000, |i| (i % 4 / 2, i % 4, i / 4)),
            &asked(None, Some("group"), Some("time")),
        ),
    ] {
        let findings = analyse(&table, request).unwrap_err();
        assert_eq!(findings[0].code, Code::TooManyTerms, "{what}: {findings:?}");
        assert!(!findings[0].help.is_empty());
    }
}

#[test]
fn what_is_large_and_usual_is_answered() {
    let plain = asked(None, None, None);
    let found = analyse(&table(50_000, |i| (i % 100, i, 0)), &plain).unwrap();
    assert_eq!(found.means.len(), 100);
    // Very many whole blocks are random: the difference is that of the pairs all the same.
    let pairs = table(1_000, |i| (i % 2, i / 2, 0));
    let found = analyse(&pairs, &asked(Some("group"), None, None)).unwrap();
    let y: Vec<f64> = pairs.columns[3]
        .cells
        .iter()
        .filter_map(Cell::number)
        .collect();
    let mean = y.chunks(2).map(|p| p[1] - p[0]).sum::<f64>() / 500.0;
    assert!((found.comparisons[0].difference - mean).abs() < 1e-9);
    // With a control among many every difference has its interval.
    let with_control = AnalysisRequest {
        control: Some("t0".into()),
        ..plain.clone()
    };
    let found = analyse(&table(3_000, |i| (i % 120, i, 0)), &with_control).unwrap();
    assert_eq!(found.comparisons.len(), 119);
    assert!(
        found
            .comparisons
            .iter()
            .all(|c| c.low95 < Some(c.difference))
    );
    let scores = AnalysisRequest {
        kind: Some(Kind::Ordinal),
        ..asked(Some("group"), None, None)
    };
    let found = analyse(&table(6_000, |i| (i % 3, i / 60, 0)), &scores).unwrap();
    assert!(
        found
            .findings
            .iter()
            .any(|f| f.code == Code::ScoresAsAmounts)
    );
}
