//! The statements, each in the words that any SQL database takes where there are such.

use std::path::Path;

use sqlx::Connection as _;

use super::rows::{
    as_stored, entry_columns, entry_of, kind_of, natural, noted_once, revision_columns, stored_of,
    unsaved_of, wrong,
};
use super::told::{doing, told};
use super::{Line, Talk, layout};
use crate::chain::{BEFORE_THE_FIRST, hash_of_draft};
use crate::store::{Doing, Link, Session, Stored};
use crate::{BookError, Draft, Entry, Kind, Page, Tip, Unsaved};

/// The number of the newest revision of every thing, each found by a few steps in the index: a thing may have any number
/// of revisions, of which a grouping would read every one.
macro_rules! newest {
    () => {
        "WITH RECURSIVE kinds(word) AS (
             SELECT MIN(kind) FROM revision
             UNION ALL
             SELECT (SELECT MIN(r.kind) FROM revision AS r WHERE r.kind > k.word) FROM kinds AS k
             -- In a broken index as well words only grow, so that this ends.
             WHERE (SELECT MIN(r.kind) FROM revision AS r WHERE r.kind > k.word) > k.word
         ), named(of_kind, name) AS (
             SELECT k.word, (SELECT MIN(r.thing) FROM revision AS r WHERE r.kind = k.word)
             FROM kinds AS k WHERE k.word IS NOT NULL
             UNION ALL
             SELECT n.of_kind, (SELECT MIN(r.thing) FROM revision AS r WHERE r.kind = n.of_kind AND r.thing > n.name)
             FROM named AS n
             WHERE (SELECT MIN(r.thing) FROM revision AS r WHERE r.kind = n.of_kind AND r.thing > n.name) > n.name
         ), latest(of_kind, name, newest) AS (
             SELECT n.of_kind, n.name,
                 (SELECT MAX(r.number) FROM revision AS r WHERE r.kind = n.of_kind AND r.thing = n.name)
             FROM named AS n
         ) "
    };
}

/// Their rows; the order of the two is kept, for the other way round every revision would be read.
macro_rules! of_the_newest {
    () => {
        " FROM latest CROSS JOIN revision
          ON kind = latest.of_kind AND thing = latest.name AND number = latest.newest "
    };
}

impl Talk {
    /// Refuses to tell of less than there is: a thing's numbers have no gap, so the newest ones sum to all revisions.
    async fn has_all(&mut self) -> Result<(), sqlx::Error> {
        let sql = concat!(
            newest!(),
            "SELECT (SELECT COALESCE(SUM(newest), 0) FROM latest), (SELECT id - bench_entries FROM head)"
        );
        let (found, all): (i64, i64) = sqlx::query_as(sql).fetch_one(&mut *self.line).await?;
        if found == all {
            return Ok(());
        }
        Err(wrong(format!(
            "{found} of {all} revisions are found by their things"
        )))
    }
}

impl Session for Talk {
    fn path(&self) -> &Path {
        &self.path
    }

    fn layout(&mut self) -> Doing<'_, Option<u64>> {
        Box::pin(async { layout::layout_of(&mut self.line, &self.path).await })
    }

    fn tip(&mut self) -> Doing<'_, Tip> {
        Box::pin(async move {
            let sql = if self.knows_the_bench().await? {
                "SELECT id, hash FROM (SELECT id, hash FROM revision ORDER BY id DESC LIMIT 1)
                 UNION ALL
                 SELECT id, hash FROM (SELECT id, hash FROM bench_entry ORDER BY id DESC LIMIT 1)
                 ORDER BY id DESC LIMIT 1"
            } else {
                "SELECT id, hash FROM revision ORDER BY id DESC LIMIT 1"
            };
            let last: Result<Option<(i64, String)>, _> =
                sqlx::query_as(sql).fetch_optional(&mut *self.line).await;
            last.and_then(|last| tip_of(last.unwrap_or((0, BEFORE_THE_FIRST.to_owned()))))
                .map_err(|error| told(&self.path, error))
        })
    }

    fn head(&mut self) -> Doing<'_, Option<Tip>> {
        Box::pin(async move {
            // The first layout had no second place.
            if self.layout().await? == Some(1) {
                return Ok(None);
            }
            let noted = sqlx::query_as("SELECT id, hash FROM head")
                .fetch_one(&mut *self.line)
                .await;
            noted
                .and_then(tip_of)
                .map(Some)
                .map_err(|error| told(&self.path, error))
        })
    }

    fn link(&mut self, id: u64) -> Doing<'_, Option<Link>> {
        Box::pin(async move {
            let sql = if self.knows_the_bench().await? {
                "SELECT hash, at_utc FROM revision WHERE id = $1
                 UNION ALL SELECT hash, arrived_utc FROM bench_entry WHERE id = $1"
            } else {
                "SELECT hash, at_utc FROM revision WHERE id = $1"
            };
            let found: Option<(String, String)> = sqlx::query_as(sql)
                .bind(as_stored(id))
                .fetch_optional(&mut *self.line)
                .await
                .map_err(|error| told(&self.path, error))?;
            Ok(found.map(|(hash, when)| Link { hash, when }))
        })
    }

    fn at(&mut self, id: u64) -> Doing<'_, Option<Stored>> {
        doing!(self, {
            let sql = concat!(
                "SELECT ",
                revision_columns!(),
                " FROM revision WHERE id = $1"
            );
            let row = sqlx::query(sql)
                .bind(as_stored(id))
                .fetch_optional(&mut *self.line)
                .await?;
            row.as_ref().map(stored_of).transpose()
        })
    }

    fn of<'a>(
        &'a mut self,
        kind: Kind,
        thing: &'a str,
        number: Option<u64>,
    ) -> Doing<'a, Option<Stored>> {
        doing!(self, {
            let newest = concat!(
                "SELECT ",
                revision_columns!(),
                " FROM revision WHERE kind = $1 AND thing = $2 ORDER BY number DESC LIMIT 1"
            );
            let numbered = concat!(
                "SELECT ",
                revision_columns!(),
                " FROM revision WHERE kind = $1 AND thing = $2 AND number = $3"
            );
            let asked = sqlx::query(if number.is_some() { numbered } else { newest })
                .bind(kind.word())
                .bind(thing);
            let asked = match number {
                Some(number) => asked.bind(as_stored(number)),
                None => asked,
            };
            let row = asked.fetch_optional(&mut *self.line).await?;
            row.as_ref().map(stored_of).transpose()
        })
    }

    fn after(&mut self, id: u64, up_to: u64) -> Doing<'_, Vec<(u64, Result<Stored, String>)>> {
        doing!(self, {
            let sql = concat!(
                "SELECT ",
                revision_columns!(),
                " FROM revision WHERE id > $1 AND id <= $2 ORDER BY id"
            );
            let rows = sqlx::query(sql)
                .bind(as_stored(id))
                .bind(as_stored(up_to))
                .fetch_all(&mut *self.line)
                .await?;
            let read = |row| {
                let id = natural(row, "id").unwrap_or(id + 1);
                (id, stored_of(row).map_err(|error| error.to_string()))
            };
            Ok(rows.iter().map(read).collect())
        })
    }

    fn recent(&mut self, page: Page) -> Doing<'_, Vec<Entry>> {
        doing!(self, {
            // Passed over in the index alone.
            let sql = concat!(
                "SELECT ",
                entry_columns!(),
                " FROM revision WHERE id IN (SELECT id FROM revision ORDER BY id DESC LIMIT $1 OFFSET $2)
                 ORDER BY id DESC"
            );
            let rows = sqlx::query(sql)
                .bind(as_stored(page.count))
                .bind(as_stored(page.start))
                .fetch_all(&mut *self.line)
                .await?;
            rows.iter().map(entry_of).collect()
        })
    }

    fn history<'a>(&'a mut self, kind: Kind, thing: &'a str, page: Page) -> Doing<'a, Vec<Entry>> {
        doing!(self, {
            let sql = concat!(
                "SELECT ",
                entry_columns!(),
                " FROM revision WHERE kind = $1 AND thing = $2 ORDER BY number DESC LIMIT $3 OFFSET $4"
            );
            let rows = sqlx::query(sql)
                .bind(kind.word())
                .bind(thing)
                .bind(as_stored(page.count))
                .bind(as_stored(page.start))
                .fetch_all(&mut *self.line)
                .await?;
            rows.iter().map(entry_of).collect()
        })
    }

    fn newest_of(&mut self, kind: Kind) -> Doing<'_, Vec<Entry>> {
        doing!(self, {
            self.has_all().await?;
            let sql = concat!(
                newest!(),
                "SELECT ",
                entry_columns!(),
                of_the_newest!(),
                "WHERE kind = $1"
            );
            let rows = sqlx::query(sql)
                .bind(kind.word())
                .fetch_all(&mut *self.line)
                .await?;
            rows.iter().map(entry_of).collect()
        })
    }

    fn counts(&mut self) -> Doing<'_, Vec<(Kind, u64, u64)>> {
        doing!(self, {
            self.has_all().await?;
            let sql = concat!(
                newest!(),
                "SELECT kind, COUNT(*), SUM(CASE WHEN action = 'remove' THEN 1 ELSE 0 END)",
                of_the_newest!(),
                "GROUP BY kind"
            );
            let grouped: Vec<(String, i64, i64)> =
                sqlx::query_as(sql).fetch_all(&mut *self.line).await?;
            let read = |(kind, all, removed): (String, i64, i64)| {
                Ok((kind_of(&kind)?, all.unsigned_abs(), removed.unsigned_abs()))
            };
            grouped.into_iter().map(read).collect()
        })
    }

    fn names<'a>(&'a mut self, kind: Kind, stem: &'a str) -> Doing<'a, Vec<String>> {
        doing!(self, {
            // Between the two stand the names that begin with the stem and a hyphen: '.' follows '-'.
            sqlx::query_scalar(
                "SELECT DISTINCT thing FROM revision
                 WHERE kind = $1 AND (thing = $2 OR (thing >= $3 AND thing < $4))",
            )
            .bind(kind.word())
            .bind(stem)
            .bind(format!("{stem}-"))
            .bind(format!("{stem}."))
            .fetch_all(&mut *self.line)
            .await
        })
    }

    fn add<'a>(&'a mut self, stored: &'a Stored) -> Doing<'a, ()> {
        doing!(self, {
            let Stored {
                entry,
                packed,
                form_base,
                form_length,
            } = stored;
            let sql = concat!(
                "INSERT INTO revision (",
                revision_columns!(),
                ") ",
                "VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17)"
            );
            sqlx::query(sql)
                .bind(as_stored(entry.id))
                .bind(entry.kind.word())
                .bind(&entry.thing)
                .bind(as_stored(entry.number))
                .bind(entry.parent.map(as_stored))
                .bind(entry.action.word())
                .bind(entry.restored.map(as_stored))
                .bind(&entry.who)
                .bind(&entry.when)
                .bind(&entry.why)
                .bind(&entry.title)
                .bind(i64::from(entry.form_version))
                .bind(&entry.previous)
                .bind(&entry.hash)
                .bind(packed)
                .bind(form_base.map(as_stored))
                .bind(as_stored(*form_length))
                .execute(&mut *self.line)
                .await?;
            let noted = sqlx::query("UPDATE head SET id = $1, hash = $2")
                .bind(as_stored(entry.id))
                .bind(&entry.hash)
                .execute(&mut *self.line)
                .await?;
            noted_once(noted.rows_affected())
        })
    }

    fn unsaved<'a>(&'a mut self, kind: Kind, thing: &'a str, who: &'a str) -> Doing<'a, Unsaved> {
        doing!(self, {
            let row =
                sqlx::query("SELECT * FROM unsaved WHERE kind = $1 AND thing = $2 AND who = $3")
                    .bind(kind.word())
                    .bind(thing)
                    .bind(who)
                    .fetch_optional(&mut *self.line)
                    .await?;
            let none = Unsaved {
                counter: 0,
                draft: None,
            };
            row.as_ref().map_or(Ok(none), unsaved_of)
        })
    }

    fn unsaved_of<'a>(&'a mut self, who: &'a str) -> Doing<'a, Vec<Draft>> {
        doing!(self, {
            let rows = sqlx::query(
                "SELECT * FROM unsaved WHERE who = $1 AND form IS NOT NULL
                 ORDER BY at_utc DESC, kind, thing",
            )
            .bind(who)
            .fetch_all(&mut *self.line)
            .await?;
            let drafts = rows.iter().map(|row| unsaved_of(row).map(|it| it.draft));
            drafts.filter_map(Result::transpose).collect()
        })
    }

    fn unsaved_count(&mut self) -> Doing<'_, u64> {
        doing!(self, {
            let count: i64 =
                sqlx::query_scalar("SELECT COUNT(*) FROM unsaved WHERE form IS NOT NULL")
                    .fetch_one(&mut *self.line)
                    .await?;
            Ok(count.unsigned_abs())
        })
    }

    fn put_unsaved<'a>(&'a mut self, draft: &'a Draft, over: u64) -> Doing<'a, bool> {
        doing!(self, {
            let new = "INSERT INTO unsaved (kind, thing, who, counter, base, at_utc, title, form_version, form, hash)
                 VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10) ON CONFLICT (kind, thing, who) DO NOTHING";
            let again = "UPDATE unsaved SET counter = $4, base = $5, at_utc = $6, title = $7, form_version = $8, form = $9, hash = $10
                 WHERE kind = $1 AND thing = $2 AND who = $3 AND counter = $11";
            let put = sqlx::query(if over == 0 { new } else { again })
                .bind(draft.kind.word())
                .bind(&draft.thing)
                .bind(&draft.who)
                .bind(as_stored(draft.counter))
                .bind(draft.base.map(as_stored))
                .bind(&draft.when)
                .bind(&draft.title)
                .bind(i64::from(draft.form_version))
                .bind(draft.form.as_bytes())
                .bind(hash_of_draft(draft));
            let put = if over == 0 {
                put
            } else {
                put.bind(as_stored(over))
            };
            Ok(put.execute(&mut *self.line).await?.rows_affected() == 1)
        })
    }

    fn drop_unsaved<'a>(
        &'a mut self,
        kind: Kind,
        thing: &'a str,
        who: &'a str,
        over: Option<u64>,
    ) -> Doing<'a, bool> {
        doing!(self, {
            let whatever = "UPDATE unsaved SET counter = counter + 1, form = NULL
                 WHERE kind = $1 AND thing = $2 AND who = $3 AND form IS NOT NULL";
            let only = "UPDATE unsaved SET counter = counter + 1, form = NULL
                 WHERE kind = $1 AND thing = $2 AND who = $3 AND form IS NOT NULL AND counter = $4";
            let dropped = sqlx::query(if over.is_some() { only } else { whatever })
                .bind(kind.word())
                .bind(thing)
                .bind(who);
            let dropped = match over {
                Some(over) => dropped.bind(as_stored(over)),
                None => dropped,
            };
            Ok(dropped.execute(&mut *self.line).await?.rows_affected() > 0)
        })
    }

    fn examine(&mut self, whole: bool) -> Doing<'_, Option<String>> {
        Box::pin(async move {
            // Somebody may be saving: the chain and the note of its end are read as of one moment.
            let own = !self.open;
            if own {
                self.begin("BEGIN").await?;
            }
            let found = self.examined(whole).await;
            if own {
                self.end("ROLLBACK").await?;
            }
            found
        })
    }

    fn copy_to<'a>(&'a mut self, file: &'a Path) -> Doing<'a, ()> {
        Box::pin(async move {
            let name = file.to_str().ok_or_else(|| BookError::Refused {
                field: "the file name",
                why: "it is not Unicode text; give another one".to_owned(),
            })?;
            // It copies what is there now, and can't do so within a transaction.
            self.end("ROLLBACK").await?;
            sqlx::query("VACUUM INTO $1")
                .bind(name)
                .execute(&mut *self.line)
                .await
                .map(|_| ())
                .map_err(|error| told(&self.path, error))
        })
    }

    fn commit(mut self: Box<Self>) -> Doing<'static, ()> {
        Box::pin(async move {
            self.end("COMMIT").await?;
            // Acknowledged only if it went into the file that stands there.
            match &self.stands {
                Some(stands) => stands.still_there(&self.path),
                None => Ok(()),
            }
        })
    }

    fn leave(mut self: Box<Self>) -> Doing<'static, ()> {
        Box::pin(async move {
            self.end("ROLLBACK").await?;
            match self.line {
                Line::Pooled(_) => Ok(()),
                Line::Own(connection) => {
                    let closed = connection.close().await;
                    closed.map_err(|error| told(&self.path, error))
                }
            }
        })
    }
}

impl Talk {
    /// What is wrong, as of the moment that the book is seen at.
    async fn examined(&mut self, whole: bool) -> Result<Option<String>, BookError> {
        if whole {
            let pages: Result<String, _> = sqlx::query_scalar("PRAGMA integrity_check(1)")
                .fetch_one(&mut *self.line)
                .await;
            match pages {
                Ok(pages) if pages == "ok" => {}
                Ok(pages) => return Ok(Some(pages)),
                Err(error) => match told(&self.path, error) {
                    BookError::Damaged { what, .. } => return Ok(Some(what)),
                    other => return Err(other),
                },
            }
        }
        if let Some(what) = layout::differs(&mut self.line, &self.path).await? {
            return Ok(Some(what));
        }
        if let Some(what) = self.cut_short().await? {
            return Ok(Some(what));
        }
        let (tip, head) = (self.tip().await?, self.head().await?);
        if whole && let Some(what) = self.unsaved_damage().await? {
            return Ok(Some(what));
        }
        Ok(head.filter(|head| *head != tip).map(|head| {
            format!(
                "it ends with row {}, and its own note says {}: rows were lost or cut off",
                tip.id, head.id
            )
        }))
    }

    /// The first unsaved work that isn't what was put.
    async fn unsaved_damage(&mut self) -> Result<Option<String>, BookError> {
        // The first layout had no hashes of it.
        if self.layout().await? == Some(1) {
            return Ok(None);
        }
        let rows = sqlx::query("SELECT * FROM unsaved WHERE form IS NOT NULL")
            .fetch_all(&mut *self.line)
            .await
            .map_err(|error| told(&self.path, error))?;
        let wrong = rows.iter().find_map(|row| unsaved_of(row).err());
        Ok(wrong.map(|error| error.to_string()))
    }

    /// Whether the file is shorter than it says, where nothing waits beside it to be put in.
    async fn cut_short(&mut self) -> Result<Option<String>, BookError> {
        let log = std::fs::metadata(crate::files::beside(&self.path, "-wal"));
        if log.is_ok_and(|log| log.len() > 0) {
            return Ok(None);
        }
        let line: &mut Line = &mut self.line;
        let told = |error| told(&self.path, error);
        let mut number = async |pragma: &'static str| -> Result<u64, BookError> {
            let number: i64 = sqlx::query_scalar(pragma)
                .fetch_one(&mut **line)
                .await
                .map_err(told)?;
            Ok(number.unsigned_abs())
        };
        let says = number("PRAGMA page_count").await? * number("PRAGMA page_size").await?;
        let has = std::fs::metadata(&self.path).map_or(says, |file| file.len());
        Ok((has < says).then(|| format!("it has {has} of its {says} bytes")))
    }
}

fn tip_of((id, hash): (i64, String)) -> Result<Tip, sqlx::Error> {
    let id = u64::try_from(id).map_err(|_| wrong(format!("a row has the id {id}")))?;
    Ok(Tip { id, hash })
}
