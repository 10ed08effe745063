//! Reading: what is, what was, what changed.

use sqlx::SqliteConnection;
use sqlx::sqlite::SqliteRow;

use crate::ledger::{newest, numbered, tip};
use crate::revision::{as_stored, entry_columns, entry_of, revision_columns, stored_of, unpacked};
use crate::{Action, Book, BookError, Entry, Kind, Order, Page, Pageful, Revision, Tip};

impl Book {
    /// What a thing is now; none if there is no such thing or it has been removed.
    ///
    /// # Errors
    /// What [`BookError`] tells of the storage.
    pub async fn current(&self, kind: Kind, thing: &str) -> Result<Option<Revision>, BookError> {
        let newest = self.newest(kind, thing).await?;
        Ok(newest.filter(|revision| revision.entry.action != Action::Remove))
    }

    /// The newest revision of a thing, be it a removal.
    ///
    /// # Errors
    /// What [`BookError`] tells of the storage.
    pub async fn newest(&self, kind: Kind, thing: &str) -> Result<Option<Revision>, BookError> {
        let mut reader = self.reader().await?;
        let told = |error| self.told(error);
        match newest(&mut reader, kind, thing).await.map_err(told)? {
            Some(stored) => unpacked(&mut reader, stored).await.map(Some).map_err(told),
            None => Ok(None),
        }
    }

    /// A revision of a thing by its number there.
    ///
    /// # Errors
    /// What [`BookError`] tells of the storage.
    pub async fn numbered(
        &self,
        kind: Kind,
        thing: &str,
        number: u64,
    ) -> Result<Option<Revision>, BookError> {
        let mut reader = self.reader().await?;
        let told = |error| self.told(error);
        match numbered(&mut reader, kind, thing, number)
            .await
            .map_err(told)?
        {
            Some(stored) => unpacked(&mut reader, stored).await.map(Some).map_err(told),
            None => Ok(None),
        }
    }

    /// A revision by its place in the whole book.
    ///
    /// # Errors
    /// What [`BookError`] tells of the storage.
    pub async fn revision(&self, id: u64) -> Result<Option<Revision>, BookError> {
        let mut reader = self.reader().await?;
        let told = |error| self.told(error);
        let sql = concat!(
            "SELECT ",
            revision_columns!(),
            " FROM revision WHERE id = $1"
        );
        let row = sqlx::query(sql)
            .bind(as_stored(id))
            .fetch_optional(&mut *reader)
            .await;
        match row.map_err(told)? {
            Some(row) => {
                let stored = stored_of(&row).map_err(told)?;
                unpacked(&mut reader, stored).await.map(Some).map_err(told)
            }
            None => Ok(None),
        }
    }

    /// The things of a kind that are in use. With `search`, those whose title or name contains every
    /// word of it, without regard to capitals.
    ///
    /// # Errors
    /// [`BookError::Refused`] for a page too long; what [`BookError`] tells of the storage.
    pub async fn list(
        &self,
        kind: Kind,
        search: Option<&str>,
        order: Order,
        page: Page,
    ) -> Result<Pageful<Entry>, BookError> {
        self.listed(kind, search, order, page, |action| action != Action::Remove)
            .await
    }

    /// The things of a kind that have been removed, to be restored from.
    ///
    /// # Errors
    /// As [`Book::list`].
    pub async fn list_removed(
        &self,
        kind: Kind,
        search: Option<&str>,
        order: Order,
        page: Page,
    ) -> Result<Pageful<Entry>, BookError> {
        self.listed(kind, search, order, page, |action| action == Action::Remove)
            .await
    }

    /// Searched and sorted here and not in SQL, where capitals of other alphabets, and order, differ
    /// from database to database.
    async fn listed(
        &self,
        kind: Kind,
        search: Option<&str>,
        order: Order,
        page: Page,
        wanted: fn(Action) -> bool,
    ) -> Result<Pageful<Entry>, BookError> {
        let page = page.checked()?;
        let mut reader = self.reader().await?;
        let sql = concat!("SELECT ", entry_columns!(), " FROM newest WHERE kind = $1");
        let rows = sqlx::query(sql)
            .bind(kind.word())
            .fetch_all(&mut *reader)
            .await;
        let mut entries = self.entries(rows)?;
        drop(reader);

        let words: Vec<String> = search
            .unwrap_or("")
            .split_whitespace()
            .map(str::to_lowercase)
            .collect();
        entries.retain(|entry| {
            wanted(entry.action)
                && (words.is_empty() || {
                    let text = format!("{}\n{}", entry.title, entry.thing).to_lowercase();
                    words.iter().all(|word| text.contains(word))
                })
        });
        match order {
            Order::Recent => entries.sort_by_key(|entry| std::cmp::Reverse(entry.id)),
            Order::Title => {
                entries.sort_by_cached_key(|entry| (entry.title.to_lowercase(), entry.id))
            }
        }
        let total = entries.len() as u64;
        let pass = usize::try_from(page.start).unwrap_or(usize::MAX);
        let count = usize::try_from(page.count).unwrap_or(usize::MAX);
        let items = entries.into_iter().skip(pass).take(count).collect();
        Ok(Pageful {
            items,
            start: page.start,
            total,
        })
    }

    /// The revisions of a thing, the newest first.
    ///
    /// # Errors
    /// As [`Book::list`].
    pub async fn history(
        &self,
        kind: Kind,
        thing: &str,
        page: Page,
    ) -> Result<Pageful<Entry>, BookError> {
        let page = page.checked()?;
        let mut reader = self.reader().await?;
        let total: Result<i64, _> =
            sqlx::query_scalar("SELECT COUNT(*) FROM revision WHERE kind = $1 AND thing = $2")
                .bind(kind.word())
                .bind(thing)
                .fetch_one(&mut *reader)
                .await;
        let total = total.map_err(|error| self.told(error))?.unsigned_abs();
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
            .fetch_all(&mut *reader)
            .await;
        Ok(Pageful {
            items: self.entries(rows)?,
            start: page.start,
            total,
        })
    }

    /// The revisions of the whole book, the newest first.
    ///
    /// # Errors
    /// As [`Book::list`].
    pub async fn recent(&self, page: Page) -> Result<Pageful<Entry>, BookError> {
        let page = page.checked()?;
        let mut reader = self.reader().await?;
        let total = tip(&mut reader).await.map_err(|error| self.told(error))?.id;
        // Ids have no gaps, so the page is found by its ids.
        let sql = concat!(
            "SELECT ",
            entry_columns!(),
            " FROM revision WHERE id <= $1 ORDER BY id DESC LIMIT $2"
        );
        let rows = sqlx::query(sql)
            .bind(as_stored(total.saturating_sub(page.start)))
            .bind(as_stored(page.count))
            .fetch_all(&mut *reader)
            .await;
        Ok(Pageful {
            items: self.entries(rows)?,
            start: page.start,
            total,
        })
    }

    /// The end of the chain now.
    ///
    /// # Errors
    /// What [`BookError`] tells of the storage.
    pub async fn tip(&self) -> Result<Tip, BookError> {
        let mut reader = self.reader().await?;
        tip(&mut reader).await.map_err(|error| self.told(error))
    }

    /// Whether an end of the chain that was noted earlier still lies on it. With a book that
    /// verifies, that proves that nothing up to there was altered or cut off.
    ///
    /// # Errors
    /// What [`BookError`] tells of the storage.
    pub async fn holds(&self, noted: &Tip) -> Result<bool, BookError> {
        let mut reader = self.reader().await?;
        let hash = hash_at(&mut reader, noted.id)
            .await
            .map_err(|error| self.told(error))?;
        Ok(hash.is_some_and(|hash| hash == noted.hash))
    }

    fn entries(&self, rows: Result<Vec<SqliteRow>, sqlx::Error>) -> Result<Vec<Entry>, BookError> {
        rows.and_then(|rows| rows.iter().map(entry_of).collect())
            .map_err(|error| self.told(error))
    }
}

async fn hash_at(
    connection: &mut SqliteConnection,
    id: u64,
) -> Result<Option<String>, sqlx::Error> {
    if id == 0 {
        return Ok(Some(crate::chain::BEFORE_THE_FIRST.to_owned()));
    }
    sqlx::query_scalar("SELECT hash FROM revision WHERE id = $1")
        .bind(as_stored(id))
        .fetch_optional(connection)
        .await
}
