//! What is saved and drafted when a part writes to the book itself.

use book::{Draft, Kind, NewBenchEntry, Save};

/// The moment of all that is written.
pub const NOON: &str = "2026-03-02T12:00:00Z";
const WHO: &str = "Ada";

/// A study to be saved.
pub fn study(thing: &str, base: Option<u64>, form: &str) -> Save {
    Save {
        kind: Kind::Study,
        thing: thing.to_owned(),
        base,
        who: WHO.to_owned(),
        when: NOON.to_owned(),
        why: None,
        title: thing.to_owned(),
        form_version: 1,
        form: form.to_owned(),
    }
}

/// The same as unsaved work, over what has the counter.
pub fn draft(save: &Save, counter: u64) -> Draft {
    Draft {
        kind: save.kind,
        thing: save.thing.clone(),
        who: save.who.clone(),
        counter,
        base: save.base,
        when: save.when.clone(),
        title: save.title.clone(),
        form_version: save.form_version,
        form: save.form.clone(),
    }
}

/// A batch that rows of the bench belong to.
pub fn batch(thing: &str) -> Save {
    Save {
        kind: Kind::Batch,
        ..study(thing, None, "treatment = \"control\"")
    }
}

/// A row of the bench of a batch.
pub fn row(key: &str, thing: &str, value: &str) -> NewBenchEntry {
    NewBenchEntry {
        key: key.to_owned(),
        kind: Kind::Batch,
        thing: thing.to_owned(),
        at: NOON.to_owned(),
        arrived: NOON.to_owned(),
        who: WHO.to_owned(),
        device: None,
        what: "dose".to_owned(),
        of: Some("water".to_owned()),
        on: None,
        value: value.to_owned(),
        unit: Some("g".to_owned()),
        strikes: None,
        why: None,
    }
}
