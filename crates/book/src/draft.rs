//! Drafts: what someone is typing and has not saved. No part of the record.

use serde::{Deserialize, Serialize};
use sqlx::Row;
use sqlx::sqlite::SqliteRow;

use crate::check::{check_form, check_name, check_text, check_when, check_who};
use crate::revision::{as_stored, kind_of, wrong};
use crate::{Book, BookError, Kind, TEXT_LIMIT_BYTES};

/// One person's unsaved work on one thing. Each new one takes the place of the one before.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Draft {
    /// What kind of thing it is.
    pub kind: Kind,
    /// The name that the thing keeps for ever.
    pub thing: String,
    /// Whose it is.
    pub who: String,
    /// The number of the revision it started from; none for a new thing.
    pub base: Option<u64>,
    /// When it was last put, in UTC.
    pub when: String,
    /// What people will call the thing.
    pub title: String,
    /// Version of the language the form is written in.
    pub form_version: u32,
    /// The form.
    pub form: String,
}

impl Book {
    /// Keeps a draft in place of the person's earlier one of the same thing.
    ///
    /// # Errors
    /// What [`BookError`] tells. The earlier draft stays then.
    pub async fn put_draft(&self, draft: &Draft) -> Result<(), BookError> {
        check_name(&draft.thing)?;
        check_who(&draft.who)?;
        check_when(&draft.when)?;
        check_text("the title", &draft.title, TEXT_LIMIT_BYTES)?;
        check_form(&draft.form)?;
        let mut writer = self.writer().await?;
        sqlx::query(
            "INSERT INTO draft (kind, thing, who, base, at_utc, title, form_version, form)
             VALUES ($1, $2, $3, $4, $5, $6, $7, $8)
             ON CONFLICT (kind, thing, who) DO UPDATE SET
                 base = excluded.base, at_utc = excluded.at_utc, title = excluded.title,
                 form_version = excluded.form_version, form = excluded.form",
        )
        .bind(draft.kind.word())
        .bind(&draft.thing)
        .bind(&draft.who)
        .bind(draft.base.map(as_stored))
        .bind(&draft.when)
        .bind(&draft.title)
        .bind(i64::from(draft.form_version))
        .bind(draft.form.as_bytes())
        .execute(&mut *writer)
        .await
        .map(|_| ())
        .map_err(|error| self.told(error))
    }

    /// A person's draft of a thing.
    ///
    /// # Errors
    /// What [`BookError`] tells of the storage.
    pub async fn get_draft(
        &self,
        kind: Kind,
        thing: &str,
        who: &str,
    ) -> Result<Option<Draft>, BookError> {
        let mut reader = self.reader().await?;
        let row = sqlx::query("SELECT * FROM draft WHERE kind = $1 AND thing = $2 AND who = $3")
            .bind(kind.word())
            .bind(thing)
            .bind(who)
            .fetch_optional(&mut *reader)
            .await;
        row.and_then(|row| row.as_ref().map(draft_of).transpose())
            .map_err(|error| self.told(error))
    }

    /// All drafts of a person, the latest first.
    ///
    /// # Errors
    /// What [`BookError`] tells of the storage.
    pub async fn drafts(&self, who: &str) -> Result<Vec<Draft>, BookError> {
        let mut reader = self.reader().await?;
        let rows =
            sqlx::query("SELECT * FROM draft WHERE who = $1 ORDER BY at_utc DESC, kind, thing")
                .bind(who)
                .fetch_all(&mut *reader)
                .await;
        rows.and_then(|rows| rows.iter().map(draft_of).collect())
            .map_err(|error| self.told(error))
    }

    /// Drops a person's draft of a thing, as after saving it. Says whether there was one.
    ///
    /// # Errors
    /// What [`BookError`] tells of the storage.
    pub async fn drop_draft(&self, kind: Kind, thing: &str, who: &str) -> Result<bool, BookError> {
        let mut writer = self.writer().await?;
        let done = sqlx::query("DELETE FROM draft WHERE kind = $1 AND thing = $2 AND who = $3")
            .bind(kind.word())
            .bind(thing)
            .bind(who)
            .execute(&mut *writer)
            .await;
        done.map(|done| done.rows_affected() > 0)
            .map_err(|error| self.told(error))
    }
}

fn draft_of(row: &SqliteRow) -> Result<Draft, sqlx::Error> {
    let base: Option<i64> = row.try_get("base")?;
    let form_version: i64 = row.try_get("form_version")?;
    Ok(Draft {
        kind: kind_of(row.try_get("kind")?)?,
        thing: row.try_get("thing")?,
        who: row.try_get("who")?,
        base: base.map(i64::unsigned_abs),
        when: row.try_get("at_utc")?,
        title: row.try_get("title")?,
        form_version: u32::try_from(form_version)
            .map_err(|_| wrong(format!("form_version is {form_version}")))?,
        form: String::from_utf8(row.try_get("form")?).map_err(|_| wrong("a draft is not text"))?,
    })
}
