//! The list of studies: search, make, duplicate, remove.

use crate::reading::{readable, reading};
use crate::starts::Start;
use crate::texts::title_of;
use crate::{App, AppError, DEMONSTRATION, FORM_VERSION, Settings, now};
use book::{Entry, Kind, Order, Page, Pageful, Remove, Save, SaveError};
use serde::Serialize;
use study::edit::{self, Edit, Put};
use study::written::tables::{RootRow, StudyRow};
use study::written::typed::{Key, Text};
use study::written::{StudyWritten, write};

/// Text of another book's studies that is looked at together.
const MOST_OTHER_BYTES: usize = 16_000_000;

/// A line of the list of studies.
#[derive(Clone, Debug, Serialize)]
pub struct StudyLine {
    /// The newest revision.
    pub entry: Entry,
    /// What it wants to know; empty when nothing was written.
    pub question: String,
    /// Whether this person has unsaved changes, and since when.
    pub draft_since: Option<String>,
}

/// A page of the list of studies.
#[derive(Clone, Debug, Serialize)]
pub struct Studies {
    /// The studies in use.
    pub studies: Pageful<StudyLine>,
    /// How many have been removed and can be restored.
    pub removed: u64,
    /// How many are put away; they aren’t among the studies unless these were asked for.
    pub put_away: u64,
}

/// Which studies are listed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Shelf {
    /// Those that aren’t put away.
    #[default]
    Out,
    /// Those that are.
    Away,
}

impl App {
    /// The studies whose title or name has every word of `search`.
    ///
    /// # Errors
    /// What the book tells.
    pub async fn studies(
        &self,
        who: &str,
        search: Option<&str>,
        order: Order,
        shelf: Shelf,
        page: Page,
    ) -> Result<Studies, AppError> {
        let (list, put_away) = self.listed(search, order, shelf, page).await?;
        let drafts = self.book.drafts(who).await?;
        let removed = self
            .book
            .list_removed(Kind::Study, search, order, Page::first(1))
            .await?;
        let mut lines = Vec::with_capacity(list.items.len());
        for entry in list.items {
            let draft = drafts
                .iter()
                .find(|d| d.kind == Kind::Study && d.thing == entry.thing);
            lines.push(StudyLine {
                question: self.question(&entry.thing).await?,
                draft_since: draft.map(|d| d.when.clone()),
                entry,
            });
        }
        Ok(Studies {
            studies: Pageful {
                items: lines,
                start: list.start,
                total: list.total,
            },
            removed: removed.total,
            put_away,
        })
    }

    /// A page of the studies on a shelf, and how many of all are put away.
    async fn listed(
        &self,
        search: Option<&str>,
        order: Order,
        shelf: Shelf,
        page: Page,
    ) -> Result<(Pageful<Entry>, u64), AppError> {
        let away = self.settings().await?.put_away;
        if away.is_empty() && shelf == Shelf::Out {
            return Ok((self.book.list(Kind::Study, search, order, page).await?, 0));
        }
        let mut all = Page::first(Page::LONGEST);
        let (mut items, mut put_away) = (Vec::new(), 0);
        loop {
            let list = self.book.list(Kind::Study, search, order, all).await?;
            for entry in list.items {
                let is_away = away.contains(&entry.thing);
                put_away += u64::from(is_away);
                if is_away == (shelf == Shelf::Away) {
                    items.push(entry);
                }
            }
            all.start += all.count;
            if all.start >= list.total {
                break;
            }
        }
        let total = items.len() as u64;
        let start = usize::try_from(page.start).unwrap_or(usize::MAX);
        let count = usize::try_from(page.count).unwrap_or(usize::MAX);
        let items = items.into_iter().skip(start).take(count).collect();
        let list = Pageful {
            items,
            start: page.start,
            total,
        };
        Ok((list, put_away))
    }

    /// Puts a study away, or out again. It stays in the book as it is.
    ///
    /// # Errors
    /// No such study; what the book tells.
    pub async fn put_away(&self, thing: &str, to: Shelf) -> Result<(), AppError> {
        self.newest(thing).await?;
        let change = |mut settings: Settings| {
            settings.put_away.retain(|t| t != thing);
            if to == Shelf::Away {
                settings.put_away.push(thing.to_owned());
            }
            Ok(settings)
        };
        self.change_settings(change).await?;
        Ok(())
    }

    /// The studies of another book that lies at a place, each with its newest text; the other book is only read.
    ///
    /// # Errors
    /// What is no book, or can't be read.
    pub async fn of_another_book(
        &self,
        path: &std::path::Path,
    ) -> Result<Vec<(Entry, String)>, AppError> {
        let other = book::Book::open(path, false).await?;
        let mut page = Page::first(Page::LONGEST);
        let (mut all, mut bytes) = (Vec::new(), 0);
        loop {
            let list = other.list(Kind::Study, None, Order::Title, page).await?;
            for entry in list.items {
                if let Some(newest) = other.newest(Kind::Study, &entry.thing).await? {
                    bytes += newest.form.len();
                    if bytes > MOST_OTHER_BYTES {
                        return Err(AppError::Value {
                            field: "file".to_owned(),
                            why: format!(
                                "its studies are more than {} MB of text; write those that are wanted to files with that book's own program and take them from there",
                                MOST_OTHER_BYTES / 1_000_000
                            ),
                        });
                    }
                    all.push((entry, newest.form));
                }
            }
            page.start += page.count;
            if page.start >= list.total {
                break;
            }
        }
        other.close().await;
        Ok(all)
    }

    /// What a study wants to know, as it was last saved.
    async fn question(&self, thing: &str) -> Result<String, AppError> {
        let newest = self.book.newest(Kind::Study, thing).await?;
        let reading = newest.and_then(|r| reading(&r.form).ok());
        let question = reading.as_ref().and_then(|r| r.written.question());
        Ok(question.unwrap_or_default().to_owned())
    }

    /// The studies that were removed.
    ///
    /// # Errors
    /// What the book tells.
    pub async fn removed_studies(&self, page: Page) -> Result<Pageful<Entry>, AppError> {
        Ok(self
            .book
            .list_removed(Kind::Study, None, Order::Recent, page)
            .await?)
    }

    /// Makes a study from a text; its lasting name comes from its name. Gives the lasting name.
    ///
    /// # Errors
    /// A text that can't be read; what the book tells.
    pub async fn create_from_text(
        &self,
        who: &str,
        text: &str,
        why: Option<String>,
    ) -> Result<String, AppError> {
        let written = readable(text)?;
        self.create(who, &written, why).await
    }

    /// Makes a study from the plain start, under a name and with the person's currency.
    ///
    /// # Errors
    /// A name that is empty or too long; what the book tells.
    pub async fn create_named(&self, who: &str, name: &str) -> Result<String, AppError> {
        self.create_started(who, name, Start::Plain).await
    }

    /// Makes a study from a start, under a name and with the person's currency.
    ///
    /// # Errors
    /// A name that is empty or too long; what the book tells.
    pub async fn create_started(
        &self,
        who: &str,
        name: &str,
        start: Start,
    ) -> Result<String, AppError> {
        let name = checked_name(name)?;
        let currency = self.settings().await?.currency;
        let written = readable(start.text())?;
        let written = named(
            &named(&written, StudyRow::name, name)?,
            StudyRow::currency,
            currency,
        )?;
        self.create(who, &written, None).await
    }

    /// Makes a copy of a study as it stands, unsaved changes included.
    ///
    /// # Errors
    /// No such study; what the book tells.
    pub async fn duplicate(&self, who: &str, thing: &str) -> Result<String, AppError> {
        let stands = self.stands(who, thing).await?;
        let written = stands.written;
        let name = written.name().unwrap_or("study");
        let name: String = format!("{name} (copy)").chars().take(200).collect();
        let written = named(&written, StudyRow::name, name)?;
        self.create(who, &written, Some(format!("copied from {thing}")))
            .await
    }

    /// Takes a study out of use. Its history stays and it can be restored.
    ///
    /// # Errors
    /// No such study; somebody saved since `base`; what the book tells.
    pub async fn remove_study(
        &self,
        who: &str,
        thing: &str,
        base: u64,
        why: Option<String>,
    ) -> Result<(), AppError> {
        self.book
            .remove(Remove {
                kind: Kind::Study,
                thing: thing.to_owned(),
                base,
                who: who.to_owned(),
                when: now(),
                why,
            })
            .await?;
        Ok(())
    }

    pub(crate) async fn add_demonstration(&self) -> Result<(), AppError> {
        let who = self.settings().await?.who;
        let study = self
            .create_from_text(
                &who,
                DEMONSTRATION,
                Some("the demonstration: an invented bakery".to_owned()),
            )
            .await?;
        self.add_demonstration_day(&who, &study).await
    }

    async fn create(
        &self,
        who: &str,
        written: &StudyWritten,
        why: Option<String>,
    ) -> Result<String, AppError> {
        let written = crate::cells::tidied(written.clone())?;
        let form = write(&written);
        // What enters the ledger is read back before.
        if !reading(&form).is_ok_and(|again| *again.written == written) {
            return Err(AppError::Value {
                field: "study".to_owned(),
                why: "written down it couldn't be read again".to_owned(),
            });
        }
        let title = title_of(&written);
        let stem = lasting_name(&title);
        let why = crate::texts::said(why)?;
        // Somebody may take the free name at the same moment.
        for _ in 0..20 {
            let thing = self.book.free_name(Kind::Study, &stem).await?;
            let save = Save {
                kind: Kind::Study,
                thing: thing.clone(),
                base: None,
                who: who.to_owned(),
                when: now(),
                why: why.clone(),
                title: title.clone(),
                form_version: FORM_VERSION,
                form: form.clone(),
            };
            match self.book.save(save).await {
                Ok(saved) => {
                    self.text_if_due(&saved).await;
                    self.keep_figures(&saved).await;
                    return Ok(thing);
                }
                Err(SaveError::Stale { .. }) => {}
                Err(other) => return Err(other.into()),
            }
        }
        Err(AppError::Busy)
    }
}

fn named(written: &StudyWritten, key: Key<Text>, text: String) -> Result<StudyWritten, AppError> {
    let edit = Edit::SetField {
        treatment: None,
        path: format!("{}.{}", RootRow::study.name, key.name),
        value: Some(Put::Text(text)),
    };
    Ok(edit::apply(written, &edit)?)
}

fn checked_name(name: &str) -> Result<String, AppError> {
    let name = name.trim();
    let why = match name.chars().count() {
        0 => "give the study a name".to_owned(),
        n if n > 200 => format!("the name has {n} letters; at most 200"),
        _ => return Ok(name.to_owned()),
    };
    Err(AppError::Value {
        field: "name".to_owned(),
        why,
    })
}

/// A title as a lasting name: lower-case letters and digits of any alphabet's base, hyphens between.
pub(crate) fn lasting_name(title: &str) -> String {
    let mut name = String::new();
    for c in title.to_lowercase().chars() {
        if c.is_ascii_alphanumeric() {
            name.push(c);
        } else if !name.ends_with('-') && !name.is_empty() {
            name.push('-');
        }
        if name.len() >= 60 {
            break;
        }
    }
    let name = name.trim_matches('-');
    if name.is_empty() {
        "study".to_owned()
    } else {
        name.to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn titles_become_plain_names() {
        assert_eq!(lasting_name("Spent-grain bars"), "spent-grain-bars");
        assert_eq!(lasting_name("  ../..//etc "), "etc");
        assert_eq!(lasting_name("ビスケット"), "study");
        assert!(lasting_name(&"x".repeat(10_000)).len() <= 60);
    }
}
