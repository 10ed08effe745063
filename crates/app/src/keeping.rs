//! What is done for the book without being asked: a check of all of it after the start, a copy every day, texts of
//! studies; and what of that people have to be told.

use crate::{App, AppError, now};
use book::{BookError, Kind, Order, Page, Revision, VerifyReport};
use std::collections::BTreeMap;
use std::sync::{Mutex, PoisonError};

/// Every how many revisions of a study one is written as a text beside the book, whatever the settings say.
const TEXT_EVERY: u64 = 100;

/// What was found and done so far.
#[derive(Debug, Default)]
pub(crate) struct Keeping(Mutex<Found>);

#[derive(Clone, Debug, Default)]
struct Found {
    checked: bool,
    damage: Option<String>,
    /// Why the check could not be made yet.
    unchecked: Option<String>,
    settings_failed: Option<String>,
    copy_failed: Option<String>,
    /// Texts that could not be written, by study and revision, and why.
    texts_failed: BTreeMap<(String, u64), String>,
    texts_unseen: Option<String>,
}

impl Found {
    /// What the check came to. That somebody is just writing is no damage, and damage is no matter of waiting.
    fn judge(&mut self, checked: Result<VerifyReport, BookError>) {
        self.unchecked = None;
        match checked {
            Ok(report) => {
                self.checked = true;
                self.damage = (!report.is_sound()).then(|| report.to_string());
            }
            Err(error) if is_damage(&error) => {
                self.checked = true;
                self.damage = Some(error.to_string());
            }
            // It is tried again.
            Err(error) => self.unchecked = Some(error.to_string()),
        }
    }

    /// Notes damage that something else met.
    fn met(&mut self, error: &BookError) {
        if is_damage(error) {
            self.damage = Some(error.to_string());
        }
    }
}

fn is_damage(error: &BookError) -> bool {
    matches!(
        error,
        BookError::Damaged { .. } | BookError::NotABook { .. }
    )
}

impl Keeping {
    fn with<T>(&self, work: impl FnOnce(&mut Found) -> T) -> T {
        work(&mut self.0.lock().unwrap_or_else(PoisonError::into_inner))
    }
}

impl App {
    /// One round of looking after the book: its check if it wasn't made yet, the copy of the day, texts that are
    /// missing. It may take long for a large book, and others go on meanwhile. What fails is told by [`App::notices`].
    pub async fn look_after(&self) {
        // What can't be read here is told where somebody looks at it.
        let _told_elsewhere = self.read_batches().await;
        if !self.keeping.with(|found| found.checked) {
            let checked = self.book.verify(|_, _| ()).await;
            self.keeping.with(|found| found.judge(checked));
        }
        // A broken book, or one that may be, is neither copied over sound copies nor written out.
        if self
            .keeping
            .with(|found| found.damage.is_some() || !found.checked)
        {
            return;
        }
        let settings = self.settings().await;
        self.keeping.with(|found| {
            found.settings_failed = settings.as_ref().err().map(ToString::to_string);
        });
        if settings.is_ok_and(|settings| settings.copies) {
            let day: String = now().chars().take(10).collect();
            let failed = self.book.keep_copy(&day).await.err();
            self.keeping.with(|found| {
                failed.iter().for_each(|error| found.met(error));
                found.copy_failed = failed.map(|e| e.to_string());
            });
        }
        let failed = self.missing_texts().await.err();
        self.keeping.with(|found| {
            if let Some(AppError::Book(error)) = &failed {
                found.met(error);
            }
            found.texts_unseen = failed.map(|e| e.to_string());
        });
    }

    /// What people have to be told about the book, if anything.
    ///
    /// # Errors
    /// What the storage tells.
    pub async fn notices(&self) -> Result<Vec<String>, AppError> {
        let found = self.keeping.with(|found| found.clone());
        let mut notices: Vec<String> = found.damage.into_iter().collect();
        if let Some(why) = found.unchecked {
            notices.push(format!(
                "The book could not be checked yet, which is tried again: {why}"
            ));
        }
        if let Some(why) = found.settings_failed {
            notices.push(format!(
                "The settings could not be read, so no copy of the day was made: {why}"
            ));
        }
        if let Some(why) = self.settings_unread().await? {
            notices.push(format!(
                "The saved settings can’t be understood ({why}), and the usual ones are used. Look at them and save them anew."
            ));
        }
        if let Some(why) = found.copy_failed {
            notices.push(format!("The copy of the day could not be made: {why}"));
        }
        if let Some(((study, number), why)) = found.texts_failed.first_key_value() {
            let more = match found.texts_failed.len() - 1 {
                0 => String::new(),
                more => format!(" (and {more} more)"),
            };
            notices.push(format!(
                "Revision {number} of ‘{study}’ could not be written as a text{more}, which is tried again: {why}"
            ));
        }
        if let Some(why) = found.texts_unseen {
            notices.push(format!(
                "Which texts of studies are missing could not be looked up: {why}"
            ));
        }
        let last = self.book.recent(Page::first(1)).await?;
        if let Some(last) = last.items.first()
            && now() < last.when
        {
            notices.push(format!(
                "This computer’s clock says {}, but the last entry of the book was made at {}. Set the clock; the order of entries is sure either way.",
                now(),
                last.when
            ));
        }
        Ok(notices)
    }

    /// The day of the last copy beside the book; none when there is none.
    ///
    /// # Errors
    /// A folder of copies that can't be read.
    pub fn last_copy(&self) -> Result<Option<String>, AppError> {
        Ok(self.book.copies()?.into_iter().next().map(|copy| copy.day))
    }

    /// Writes a saved study as a text where its number or the settings ask for it.
    pub(crate) async fn text_if_due(&self, saved: &Revision) {
        let by_choice = self.settings().await.is_ok_and(|settings| settings.texts);
        if !by_choice && !saved.entry.number.is_multiple_of(TEXT_EVERY) || saved.form.is_empty() {
            return;
        }
        self.text(saved).await;
    }

    /// Writes one text. It is in the book; that it isn't beside it as well is told, and tried again.
    async fn text(&self, saved: &Revision) {
        let failed = self.book.write_text(saved).await.err();
        let of = (saved.entry.thing.clone(), saved.entry.number);
        self.keeping.with(|found| match failed {
            Some(error) => found.texts_failed.insert(of, error.to_string()),
            None => found.texts_failed.remove(&of),
        });
    }

    /// Writes the texts that failed, and the hundredth ones that a stopped program left out.
    async fn missing_texts(&self) -> Result<(), AppError> {
        let failed = self.keeping.with(|found| found.texts_failed.clone());
        for (study, number) in failed.into_keys() {
            if let Some(revision) = self.book.numbered(Kind::Study, &study, number).await? {
                self.text(&revision).await;
            }
        }
        let mut start = 0;
        loop {
            let page = Page {
                start,
                count: Page::LONGEST,
            };
            let studies = self
                .book
                .list(Kind::Study, None, Order::Recent, page)
                .await?;
            for study in &studies.items {
                for number in (TEXT_EVERY..=study.number).step_by(TEXT_EVERY as usize) {
                    if self.book.has_text(&study.thing, number) {
                        continue;
                    }
                    let revision = self
                        .book
                        .numbered(Kind::Study, &study.thing, number)
                        .await?;
                    if let Some(revision) = revision.filter(|r| !r.form.is_empty()) {
                        self.text(&revision).await;
                    }
                }
            }
            start += Page::LONGEST;
            if start >= studies.total {
                return Ok(());
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_locked_book_is_no_damaged_one_and_a_damaged_one_is_not_waited_for() {
        let path = || std::path::PathBuf::from("lab.book");
        let mut found = Found::default();
        found.judge(Err(BookError::Locked { path: path() }));
        assert!(!found.checked && found.damage.is_none() && found.unchecked.is_some());
        // Looked at again when nobody writes any more.
        let what = "a page is missing".to_owned();
        let path = path();
        found.judge(Err(BookError::Damaged { path, what }));
        assert!(found.checked && found.unchecked.is_none());
        assert!(found.damage.unwrap().contains("a page is missing"));
    }
}
