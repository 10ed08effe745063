//! Every row is run once; rows that have to be met are, and the document says what was found.

use std::path::Path;
use validation::{Check, Kind, Outcome, all, markdown};

#[test]
fn every_row_is_met_or_explained_and_the_document_is_up_to_date() {
    let measured: Vec<(Check, f64)> = all()
        .into_iter()
        .map(|check| {
            let value = (check.run)();
            (check, value)
        })
        .collect();
    let mut ids: Vec<&str> = measured.iter().map(|(c, _)| c.id).collect();
    ids.sort_unstable();
    assert!(ids.windows(2).all(|w| w[0] != w[1]), "{ids:?}");
    let mut wrong = Vec::new();
    for (check, value) in &measured {
        println!("{}: {value:e}", check.id);
        let outcome = check.outcome(*value);
        let known =
            outcome == Outcome::Outside && matches!(check.kind, Kind::Fit | Kind::Validation);
        if outcome != Outcome::Met && !known {
            wrong.push(format!(
                "{}: {value} against {:?} ({outcome:?})",
                check.id, check.limit
            ));
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");

    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../docs/validation.md");
    let text = markdown(&measured);
    if std::env::var_os("UPDATE_VALIDATION").is_some() {
        std::fs::write(&path, &text).expect("the document can be written");
    }
    let written = std::fs::read_to_string(&path).unwrap_or_default();
    let differs = text.lines().zip(written.lines()).find(|(a, b)| a != b);
    assert!(
        text == written,
        "docs/validation.md is out of date (UPDATE_VALIDATION=1 cargo test -p validation writes it): {differs:?}"
    );
}
