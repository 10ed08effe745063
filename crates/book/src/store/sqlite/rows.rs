//! From rows of the database to entries, forms and drafts.

use sqlx::Row;
use sqlx::sqlite::SqliteRow;

use crate::chain::hash_of_draft;
use crate::store::Stored;
use crate::{Action, Draft, Entry, Kind, Unsaved};

macro_rules! entry_columns {
    () => {
        "id, kind, thing, number, parent, action, restored, who, at_utc, why, title, form_version, previous, hash"
    };
}
macro_rules! revision_columns {
    () => {
        concat!(
            $crate::store::sqlite::rows::entry_columns!(),
            ", form, form_base, form_length"
        )
    };
}
pub(super) use {entry_columns, revision_columns};

pub(super) fn wrong(what: impl Into<String>) -> sqlx::Error {
    sqlx::Error::Decode(what.into().into())
}

/// A count as the database keeps it. Ids and lengths never come near 2^63.
pub(super) fn as_stored(value: u64) -> i64 {
    i64::try_from(value).unwrap_or(i64::MAX)
}

pub(super) fn natural(row: &SqliteRow, column: &str) -> Result<u64, sqlx::Error> {
    let value: i64 = row.try_get(column)?;
    u64::try_from(value).map_err(|_| wrong(format!("{column} is {value}")))
}

fn natural_if_any(row: &SqliteRow, column: &str) -> Result<Option<u64>, sqlx::Error> {
    let value: Option<i64> = row.try_get(column)?;
    value
        .map(|value| u64::try_from(value).map_err(|_| wrong(format!("{column} is {value}"))))
        .transpose()
}

fn small(row: &SqliteRow, column: &str) -> Result<u32, sqlx::Error> {
    let value = natural(row, column)?;
    u32::try_from(value).map_err(|_| wrong(format!("{column} is {value}")))
}

pub(super) fn kind_of(word: &str) -> Result<Kind, sqlx::Error> {
    Kind::from_word(word).ok_or_else(|| wrong(format!("no kind is called ‘{word}’")))
}

/// The note of the end of the chain has to be there, once.
pub(super) fn noted_once(rows: u64) -> Result<(), sqlx::Error> {
    match rows {
        1 => Ok(()),
        _ => Err(wrong("the note of the end of the chain is missing")),
    }
}

/// Reads a row that has the entry columns.
pub(super) fn entry_of(row: &SqliteRow) -> Result<Entry, sqlx::Error> {
    let action: String = row.try_get("action")?;
    Ok(Entry {
        id: natural(row, "id")?,
        kind: kind_of(row.try_get("kind")?)?,
        thing: row.try_get("thing")?,
        number: natural(row, "number")?,
        parent: natural_if_any(row, "parent")?,
        action: Action::from_word(&action)
            .ok_or_else(|| wrong(format!("no action is called ‘{action}’")))?,
        restored: natural_if_any(row, "restored")?,
        who: row.try_get("who")?,
        when: row.try_get("at_utc")?,
        why: row.try_get("why")?,
        title: row.try_get("title")?,
        form_version: small(row, "form_version")?,
        previous: row.try_get("previous")?,
        hash: row.try_get("hash")?,
    })
}

/// Reads a row that has the revision columns.
pub(super) fn stored_of(row: &SqliteRow) -> Result<Stored, sqlx::Error> {
    Ok(Stored {
        entry: entry_of(row)?,
        packed: row.try_get("form")?,
        form_base: natural_if_any(row, "form_base")?,
        form_length: natural(row, "form_length")?,
    })
}

/// Reads a row of unsaved work.
pub(super) fn unsaved_of(row: &SqliteRow) -> Result<Unsaved, sqlx::Error> {
    let counter = natural(row, "counter")?;
    let form: Option<Vec<u8>> = row.try_get("form")?;
    let draft = match form {
        None => None,
        Some(form) => {
            let hash: Option<String> = row.try_get("hash")?;
            let draft = Draft {
                kind: kind_of(row.try_get("kind")?)?,
                thing: row.try_get("thing")?,
                who: row.try_get("who")?,
                counter,
                base: natural_if_any(row, "base")?,
                when: row.try_get("at_utc")?,
                title: row.try_get("title")?,
                form_version: small(row, "form_version")?,
                form: String::from_utf8(form).map_err(|_| wrong("a draft is not text"))?,
            };
            if hash.is_some_and(|hash| hash != hash_of_draft(&draft)) {
                let what =
                    "the unsaved changes of ‘{}’ are not what was put: their hash does not fit";
                return Err(wrong(what.replace("{}", &draft.thing)));
            }
            Some(draft)
        }
    };
    Ok(Unsaved { counter, draft })
}
