//! Reading: what is, what was, what changed.

use crate::chain::BEFORE_THE_FIRST;
use crate::revision::unpacked_if_any;
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
        let mut session = self.read().await?;
        let stored = session.of(kind, thing, None).await?;
        unpacked_if_any(&mut *session, stored).await
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
        let mut session = self.read().await?;
        let stored = session.of(kind, thing, Some(number)).await?;
        unpacked_if_any(&mut *session, stored).await
    }

    /// A revision by its place in the whole book.
    ///
    /// # Errors
    /// What [`BookError`] tells of the storage.
    pub async fn revision(&self, id: u64) -> Result<Option<Revision>, BookError> {
        let mut session = self.read().await?;
        let stored = session.at(id).await?;
        unpacked_if_any(&mut *session, stored).await
    }

    /// A lasting name that no thing of the kind has or had: `stem`, or `stem-2`, `stem-3` …
    ///
    /// # Errors
    /// What [`BookError`] tells of the storage.
    pub async fn free_name(&self, kind: Kind, stem: &str) -> Result<String, BookError> {
        let taken = self.read().await?.names(kind, stem).await?;
        if !taken.iter().any(|name| name == stem) {
            return Ok(stem.to_owned());
        }
        let number = |name: &String| {
            let rest = name.strip_prefix(stem)?.strip_prefix('-')?;
            rest.parse::<u64>().ok()
        };
        let last = taken.iter().filter_map(number).max().unwrap_or(1);
        Ok(format!("{stem}-{}", last.saturating_add(1)))
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
        let mut entries = self.read().await?.newest_of(kind).await?;

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
        let mut session = self.read().await?;
        // Numbers have no gaps.
        let newest = session.of(kind, thing, None).await?;
        let total = newest.map_or(0, |newest| newest.entry.number);
        let items = session.history(kind, thing, page).await?;
        self.none_missing(&items, page, total)?;
        Ok(Pageful {
            items,
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
        let mut session = self.read().await?;
        let total = session.lengths().await?.revisions;
        let items = session.recent(page).await?;
        self.none_missing(&items, page, total)?;
        Ok(Pageful {
            items,
            start: page.start,
            total,
        })
    }

    /// Refuses a page with fewer entries than there have to be: a broken index must not make a book look smaller.
    /// Somebody may have added one meanwhile, so that there may be more.
    fn none_missing(&self, items: &[Entry], page: Page, total: u64) -> Result<(), BookError> {
        let wanted = page.count.min(total.saturating_sub(page.start));
        if items.len() as u64 >= wanted {
            return Ok(());
        }
        Err(BookError::Damaged {
            path: self.path().to_owned(),
            what: format!("{} of {wanted} entries are found", items.len()),
        })
    }

    /// The end of the chain now.
    ///
    /// # Errors
    /// What [`BookError`] tells of the storage.
    pub async fn tip(&self) -> Result<Tip, BookError> {
        self.read().await?.tip().await
    }

    /// Whether an end of the chain that was noted earlier still lies on it. With a book that
    /// verifies, that proves that nothing up to there was altered or cut off.
    ///
    /// # Errors
    /// What [`BookError`] tells of the storage.
    pub async fn holds(&self, noted: &Tip) -> Result<bool, BookError> {
        if noted.id == 0 {
            return Ok(noted.hash == BEFORE_THE_FIRST);
        }
        let there = self.read().await?.link(noted.id).await?;
        Ok(there.is_some_and(|link| link.hash == noted.hash))
    }
}
