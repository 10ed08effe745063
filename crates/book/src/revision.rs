//! One change, as the ledger holds it.

use serde::{Deserialize, Serialize};
use sqlx::sqlite::SqliteRow;
use sqlx::{Row, SqliteConnection};

use crate::form;
use crate::{Action, Kind};

/// One line of the ledger, without the form.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Entry {
    /// Place in the whole book: 1, 2, 3 … without a gap.
    pub id: u64,
    /// What kind of thing it is about.
    pub kind: Kind,
    /// The name that the thing keeps for ever, such as `spent-grain-biscuits`.
    pub thing: String,
    /// Place among the revisions of this thing: 1, 2, 3 …
    pub number: u64,
    /// The number it was made from; none for the first.
    pub parent: Option<u64>,
    /// What was done.
    pub action: Action,
    /// For a restoring, the number whose form was taken up again.
    pub restored: Option<u64>,
    /// Who did it.
    pub who: String,
    /// When, in UTC, such as `2026-11-25T09:00:44Z`.
    pub when: String,
    /// Why, if they said.
    pub why: Option<String>,
    /// What people call the thing; found by search.
    pub title: String,
    /// Version of the language the form is written in.
    pub form_version: u32,
    /// Hash of the revision before this one in the book.
    pub previous: String,
    /// Hash of this revision, over all of the above, the form and `previous`.
    pub hash: String,
}

/// One change with the form it wrote.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Revision {
    /// The line of the ledger.
    pub entry: Entry,
    /// The written form; empty for a removal.
    pub form: String,
}

/// The end of the chain at some moment. Noted elsewhere (on a signed sheet, say), it proves later
/// that nothing up to there was altered or cut off.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Tip {
    /// The last revision's place in the book; 0 in an empty book.
    pub id: u64,
    /// Its hash.
    pub hash: String,
}

macro_rules! entry_columns {
    () => {
        "id, kind, thing, number, parent, action, restored, who, at_utc, why, title, form_version, previous, hash"
    };
}
macro_rules! revision_columns {
    () => {
        concat!(
            $crate::revision::entry_columns!(),
            ", form, form_base, form_length"
        )
    };
}
pub(crate) use {entry_columns, revision_columns};

/// A stored row with the form still packed.
pub(crate) struct Stored {
    pub entry: Entry,
    pub packed: Vec<u8>,
    pub form_base: Option<u64>,
    pub form_length: u64,
}

pub(crate) fn wrong(what: impl Into<String>) -> sqlx::Error {
    sqlx::Error::Decode(what.into().into())
}

fn natural(row: &SqliteRow, column: &str) -> Result<u64, sqlx::Error> {
    let value: i64 = row.try_get(column)?;
    u64::try_from(value).map_err(|_| wrong(format!("{column} is {value}")))
}

fn natural_if_any(row: &SqliteRow, column: &str) -> Result<Option<u64>, sqlx::Error> {
    let value: Option<i64> = row.try_get(column)?;
    value
        .map(|value| u64::try_from(value).map_err(|_| wrong(format!("{column} is {value}"))))
        .transpose()
}

pub(crate) fn kind_of(word: &str) -> Result<Kind, sqlx::Error> {
    Kind::from_word(word).ok_or_else(|| wrong(format!("no kind is called ‘{word}’")))
}

/// Reads a row that has the entry columns.
pub(crate) fn entry_of(row: &SqliteRow) -> Result<Entry, sqlx::Error> {
    let action: String = row.try_get("action")?;
    let form_version = natural(row, "form_version")?;
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
        form_version: u32::try_from(form_version)
            .map_err(|_| wrong(format!("form_version is {form_version}")))?,
        previous: row.try_get("previous")?,
        hash: row.try_get("hash")?,
    })
}

/// Reads a row that has the revision columns.
pub(crate) fn stored_of(row: &SqliteRow) -> Result<Stored, sqlx::Error> {
    Ok(Stored {
        entry: entry_of(row)?,
        packed: row.try_get("form")?,
        form_base: natural_if_any(row, "form_base")?,
        form_length: natural(row, "form_length")?,
    })
}

/// The form of the revision with this id, which has to be packed alone.
pub(crate) async fn form_packed_alone(
    connection: &mut SqliteConnection,
    id: u64,
) -> Result<String, sqlx::Error> {
    let row = sqlx::query("SELECT form, form_base, form_length FROM revision WHERE id = $1")
        .bind(as_stored(id))
        .fetch_optional(connection)
        .await?
        .ok_or_else(|| wrong(format!("the form of revision {id} is missing")))?;
    if natural_if_any(&row, "form_base")?.is_some() {
        return Err(wrong(format!(
            "the form of revision {id} does not stand alone"
        )));
    }
    let packed: Vec<u8> = row.try_get("form")?;
    form::unpack(&packed, natural(&row, "form_length")?, None).map_err(wrong)
}

/// Unpacks a stored row.
pub(crate) async fn unpacked(
    connection: &mut SqliteConnection,
    stored: Stored,
) -> Result<Revision, sqlx::Error> {
    let base = match stored.form_base {
        Some(id) => Some(form_packed_alone(connection, id).await?),
        None => None,
    };
    let form =
        form::unpack(&stored.packed, stored.form_length, base.as_deref()).map_err(|what| {
            wrong(format!(
                "the form of revision {} cannot be read: {what}",
                stored.entry.id
            ))
        })?;
    Ok(Revision {
        entry: stored.entry,
        form,
    })
}

/// A count as the database keeps it. Ids and lengths never come near 2^63.
pub(crate) fn as_stored(value: u64) -> i64 {
    i64::try_from(value).unwrap_or(i64::MAX)
}
