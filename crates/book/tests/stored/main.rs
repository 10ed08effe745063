//! The book as a whole: what it keeps, and what it survives.

#![allow(
    clippy::unwrap_used,
    clippy::print_stdout,
    reason = "these are tests throughout"
)]

mod bench;
mod crash;
mod disk_full;
mod files;
mod harmed;
mod hostile;
mod ledger;
mod people;
mod property;
mod size_and_speed;
mod together;

use book::{Book, Kind, NewBenchEntry, Save};

pub(crate) const NOON: &str = "2026-03-02T12:00:00Z";

/// A save of an invented study.
pub(crate) fn study(thing: &str, base: Option<u64>, form: &str) -> Save {
    Save {
        kind: Kind::Study,
        thing: thing.to_owned(),
        base,
        who: "Ada".to_owned(),
        when: NOON.to_owned(),
        why: Some("a try".to_owned()),
        title: format!("Study {thing}"),
        form_version: 1,
        form: form.to_owned(),
    }
}

/// A save of an invented batch.
pub(crate) fn batch(thing: &str) -> Save {
    Save {
        kind: Kind::Batch,
        ..study(thing, None, "treatment = \"control\"")
    }
}

/// A row of the bench of a batch.
pub(crate) fn bench_entry(key: &str, batch: &str, what: &str, value: &str) -> NewBenchEntry {
    NewBenchEntry {
        key: key.to_owned(),
        kind: Kind::Batch,
        thing: batch.to_owned(),
        at: NOON.to_owned(),
        arrived: NOON.to_owned(),
        who: "Ada".to_owned(),
        device: Some("tablet".to_owned()),
        what: what.to_owned(),
        of: Some("water".to_owned()),
        on: None,
        value: value.to_owned(),
        unit: Some("g".to_owned()),
        strikes: None,
        why: None,
    }
}

pub(crate) struct Shelf {
    pub(crate) folder: tempfile::TempDir,
    pub(crate) book: Book,
}

/// A new book in a folder of its own.
pub(crate) async fn shelf() -> Shelf {
    let folder = tempfile::tempdir().unwrap();
    let book = Book::open(&folder.path().join("lab.book"), true)
        .await
        .unwrap();
    Shelf { folder, book }
}

/// A written form of about six kilobytes, as a study with six treatments has.
pub(crate) fn long_form(treatments: usize, change: f64) -> String {
    let materials = [
        "soft wheat flour",
        "barley flour",
        "rice flour",
        "chickpea flour",
        "spent grain, dried",
        "sunflower oil",
        "poultry fat",
        "dried egg white",
        "water",
        "salt",
        "calcium carbonate",
        "rosemary extract",
        "rye flour",
        "oat bran",
        "beet fibre",
    ];
    let mut form =
        String::from("form = 1\nquestion = \"Which flour carries the most spent grain?\"\n");
    for treatment in 0..treatments {
        form.push_str(&format!(
            "\n[[treatment]]\nname = \"Treatment {treatment}\"\nprocess = \"sheeted\"\n"
        ));
        for (row, material) in materials.iter().enumerate() {
            let share = (treatment * 31 + row * 17) as f64 * 0.37 % 40.0
                + if treatment == 1 && row == 3 {
                    change
                } else {
                    0.0
                };
            form.push_str(&format!(
                "\"{material}\" = {{ stage = \"dry\", percent = {share:.2} }}\n"
            ));
        }
        form.push_str(&format!(
            "oven = \"band, four zones\"\nthickness_mm = {}\n",
            7 + treatment
        ));
    }
    form
}
