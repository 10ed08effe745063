//! What is done for the book without being asked: a check of all of it after the start, a copy every day, texts of
//! studies; and what of that people have to be told.

use crate::{App, AppError, now};
use book::{Kind, Order, Page, Revision};
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
    copy_failed: Option<String>,
    text_failed: Option<String>,
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
        if !self.keeping.with(|found| found.checked) {
            let told = match self.book.verify(|_, _| ()).await {
                Ok(report) if report.is_sound() => None,
                Ok(report) => Some(report.to_string()),
                Err(error) => Some(error.to_string()),
            };
            self.keeping.with(|found| {
                found.checked = true;
                found.damage = told;
            });
        }
        // A broken book is neither copied over sound copies nor written out.
        if self.keeping.with(|found| found.damage.is_some()) {
            return;
        }
        let settings = match self.settings().await {
            Ok(settings) => settings,
            Err(_) => return,
        };
        if settings.copies {
            let day: String = now().chars().take(10).collect();
            let failed = self.book.keep_copy(&day).await.err();
            self.keeping
                .with(|found| found.copy_failed = failed.map(|e| e.to_string()));
        }
        if let Err(error) = self.missing_texts().await {
            self.keeping
                .with(|found| found.text_failed = Some(error.to_string()));
        }
    }

    /// What people have to be told about the book, if anything.
    ///
    /// # Errors
    /// What the storage tells.
    pub async fn notices(&self) -> Result<Vec<String>, AppError> {
        let found = self.keeping.with(|found| found.clone());
        let mut notices: Vec<String> = found.damage.into_iter().collect();
        if let Some(why) = found.copy_failed {
            notices.push(format!("The copy of the day could not be made: {why}"));
        }
        if let Some(why) = found.text_failed {
            notices.push(format!("A study could not be written as a text: {why}"));
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
        // It is in the book; that it isn't beside it as well is told, and tried again.
        let failed = self.book.write_text(saved).await.err();
        self.keeping
            .with(|found| found.text_failed = failed.map(|e| e.to_string()));
    }

    /// Writes the hundredth texts that a stopped program or a full disk left out.
    async fn missing_texts(&self) -> Result<(), AppError> {
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
                        self.book.write_text(&revision).await?;
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
