//! The hash that chains each row to the one before.

use sha2::{Digest, Sha256};

use crate::{BenchEntry, Draft, Entry, NewBenchEntry};

/// What stands as the hash before the first revision.
pub(crate) const BEFORE_THE_FIRST: &str =
    "0000000000000000000000000000000000000000000000000000000000000000";

/// The hash of a revision: SHA-256 (FIPS 180-4), in lower-case hexadecimal, over a fixed beginning
/// and then every field in a fixed order. A field is written as `1`, its length in bytes as eight
/// bytes with the lowest first, and its bytes; a field that is missing as `0`. Numbers are written
/// in decimal. How the form is packed is no part of it.
pub(crate) fn hash_of(entry: &Entry, form: &str) -> String {
    // Taken apart by name so that a new field cannot be forgotten here.
    let Entry {
        id,
        kind,
        thing,
        number,
        parent,
        action,
        restored,
        who,
        when,
        why,
        title,
        form_version,
        previous,
        hash: _,
    } = entry;

    hash_of_fields(
        "hardtack revision 1\n",
        &[
            Some(&id.to_string()),
            Some(kind.word()),
            Some(thing),
            Some(&number.to_string()),
            parent.map(|parent| parent.to_string()).as_deref(),
            Some(action.word()),
            restored.map(|restored| restored.to_string()).as_deref(),
            Some(who),
            Some(when),
            why.as_deref(),
            Some(title),
            Some(&form_version.to_string()),
            Some(form),
            Some(previous),
        ],
    )
}

/// The hash of a row written at the bench, by the same rule.
pub(crate) fn hash_of_bench(entry: &BenchEntry) -> String {
    let BenchEntry {
        id,
        number,
        row,
        previous,
        hash: _,
    } = entry;
    let NewBenchEntry {
        key,
        kind,
        thing,
        at,
        arrived,
        who,
        device,
        what,
        of,
        on,
        value,
        unit,
        strikes,
        why,
    } = row;
    hash_of_fields(
        "hardtack bench entry 1\n",
        &[
            Some(&id.to_string()),
            Some(&number.to_string()),
            Some(key),
            Some(kind.word()),
            Some(thing),
            Some(at),
            Some(arrived),
            Some(who),
            device.as_deref(),
            Some(what),
            of.as_deref(),
            on.as_deref(),
            Some(value),
            unit.as_deref(),
            strikes.as_deref(),
            why.as_deref(),
            Some(previous),
        ],
    )
}

/// The hash that a picture is kept under.
pub(crate) fn hash_of_picture(bytes: &[u8]) -> String {
    hexadecimal(&Sha256::digest(bytes))
}

/// The hash of unsaved work, by the same rule; it chains to nothing, but tells what a disk did to it.
pub(crate) fn hash_of_draft(draft: &Draft) -> String {
    let Draft {
        kind,
        thing,
        who,
        counter,
        base,
        when,
        title,
        form_version,
        form,
    } = draft;
    hash_of_fields(
        "hardtack unsaved 1\n",
        &[
            Some(kind.word()),
            Some(thing),
            Some(who),
            Some(&counter.to_string()),
            base.map(|base| base.to_string()).as_deref(),
            Some(when),
            Some(title),
            Some(&form_version.to_string()),
            Some(form),
        ],
    )
}

fn hash_of_fields(beginning: &str, fields: &[Option<&str>]) -> String {
    let mut hasher = Sha256::new();
    hasher.update(beginning.as_bytes());
    for field in fields {
        match field {
            Some(text) => {
                hasher.update([1]);
                hasher.update((text.len() as u64).to_le_bytes());
                hasher.update(text.as_bytes());
            }
            None => hasher.update([0]),
        }
    }
    hexadecimal(&hasher.finalize())
}

pub(crate) fn hexadecimal(bytes: &[u8]) -> String {
    use std::fmt::Write;
    bytes
        .iter()
        .fold(String::with_capacity(bytes.len() * 2), |mut text, byte| {
            write!(text, "{byte:02x}").expect("writing to a string cannot fail");
            text
        })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Action, Kind};

    fn entry() -> Entry {
        Entry {
            id: 7,
            kind: Kind::Study,
            thing: "spent-grain".into(),
            number: 3,
            parent: Some(2),
            action: Action::Save,
            restored: None,
            who: "Ada".into(),
            when: "2026-11-25T09:00:44Z".into(),
            why: Some("less water".into()),
            title: "Spent grain".into(),
            form_version: 1,
            previous: BEFORE_THE_FIRST.into(),
            hash: String::new(),
        }
    }

    /// SHA-256 of "abc" from FIPS 180-4's worked examples (from memory, to be confirmed).
    #[test]
    fn the_hash_is_the_standard_one() {
        assert_eq!(
            hexadecimal(&Sha256::digest(b"abc")),
            "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
        );
    }

    #[test]
    fn every_field_moves_the_hash_and_no_two_fields_can_be_mixed_up() {
        let whole = entry();
        let mut seen = vec![hash_of(&whole, "form"), hash_of(&whole, "form ")];
        let mut with = |change: fn(&mut Entry)| {
            let mut changed = whole.clone();
            change(&mut changed);
            seen.push(hash_of(&changed, "form"));
        };
        with(|e| e.id = 8);
        with(|e| e.kind = Kind::Oven);
        with(|e| e.thing = "spent-grains".into());
        with(|e| e.number = 4);
        with(|e| e.parent = None);
        with(|e| e.action = Action::Restore);
        with(|e| e.restored = Some(1));
        with(|e| e.who = "Adam".into());
        with(|e| e.when = "2026-11-25T09:00:45Z".into());
        with(|e| e.why = None);
        with(|e| e.why = Some(String::new()));
        with(|e| e.title = "Spent Grain".into());
        with(|e| e.form_version = 2);
        with(|e| e.previous = BEFORE_THE_FIRST.replace('0', "1"));
        // The same letters, divided otherwise between two fields.
        with(|e| {
            e.who = "Ad".into();
            e.when = "a2026-11-25T09:00:44Z".into();
        });
        let all = seen.len();
        seen.sort();
        seen.dedup();
        assert_eq!(seen.len(), all);
    }

    #[test]
    fn every_field_of_a_bench_entry_moves_its_hash() {
        let whole = BenchEntry {
            id: 9,
            number: 2,
            row: NewBenchEntry {
                key: "k9".into(),
                kind: Kind::Batch,
                thing: "b1".into(),
                at: "2026-11-25T09:00:44Z".into(),
                arrived: "2026-11-25T09:00:45Z".into(),
                who: "Ada".into(),
                device: Some("tablet".into()),
                what: "dose".into(),
                of: Some("water".into()),
                on: Some("bowl=1".into()),
                value: "120".into(),
                unit: Some("g".into()),
                strikes: Some("k8".into()),
                why: Some("misread".into()),
            },
            previous: BEFORE_THE_FIRST.into(),
            hash: String::new(),
        };
        let mut seen = vec![hash_of_bench(&whole), hash_of(&entry(), "form")];
        let mut with = |change: fn(&mut BenchEntry)| {
            let mut changed = whole.clone();
            change(&mut changed);
            seen.push(hash_of_bench(&changed));
        };
        with(|e| e.id = 10);
        with(|e| e.number = 3);
        with(|e| e.row.key = "k10".into());
        with(|e| e.row.kind = Kind::Trial);
        with(|e| e.row.thing = "b2".into());
        with(|e| e.row.at = "2026-11-25T09:00:46Z".into());
        with(|e| e.row.arrived = "2026-11-25T09:00:46Z".into());
        with(|e| e.row.who = "Adam".into());
        with(|e| e.row.device = None);
        with(|e| e.row.what = "weighed".into());
        with(|e| e.row.of = None);
        with(|e| e.row.on = None);
        with(|e| e.row.value = "121".into());
        with(|e| e.row.unit = None);
        with(|e| e.row.strikes = None);
        with(|e| e.row.why = None);
        with(|e| e.previous = BEFORE_THE_FIRST.replace('0', "1"));
        let all = seen.len();
        seen.sort();
        seen.dedup();
        assert_eq!(seen.len(), all);
    }
}
