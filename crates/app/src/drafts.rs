//! Somebody's unsaved work: where it stands, how it is kept, and who else changes it.
//!
//! Every change compares the counter of what it was made on in the same statement that writes it. What takes its turn
//! within the program ([`Lanes`]) hardly ever meets that; another program or a killed one does.

use crate::cells::{cells, tidied, touched};
use crate::reading::{readable, reading};
use crate::settle::Choices;
use crate::steps::Step;
use crate::texts::shown;
use crate::{App, AppError, FORM_VERSION, now};
use book::{Action, Draft, Entry, Kind};
use std::collections::BTreeSet;
use std::hash::{DefaultHasher, Hash, Hasher};
use std::sync::Arc;
use study::edit::Edit;
use study::written::{StudyWritten, write};
use tokio::sync::{Mutex, MutexGuard};

/// How often a change is tried again when another program was faster.
const TRIES: usize = 20;
/// Revisions between the one seen and the one that stands that are looked at one by one.
const MOST_BETWEEN: u64 = 100;

/// What a window showed when it asked for a change.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Seen {
    /// The revision.
    pub base: u64,
    /// The counter of the unsaved work; none where it isn't known, and then the change is made on whatever stands.
    pub counter: Option<u64>,
    /// Which window of the person it was; none where it doesn't say.
    pub window: Option<String>,
}

impl Seen {
    /// Refuses what claims to have seen what isn't there yet, as after another copy of the book was put in its place.
    pub(crate) fn is_of_the_past(&self, stood: &Standing) -> Result<(), AppError> {
        if self.base > stood.newest.number || self.counter.is_some_and(|c| c > stood.counter) {
            return Err(AppError::NotYet);
        }
        Ok(())
    }
}

impl From<u64> for Seen {
    fn from(base: u64) -> Self {
        Self {
            base,
            ..Self::default()
        }
    }
}

/// A study as it stands for a person, as text.
#[derive(Clone, Debug)]
pub(crate) struct Standing {
    pub newest: Entry,
    pub base: u64,
    pub counter: u64,
    pub draft: Option<Draft>,
    pub text: String,
}

/// A study as it stands for a person, read.
#[derive(Clone, Debug)]
pub(crate) struct Stands {
    pub newest: Entry,
    pub base: u64,
    pub counter: u64,
    pub draft: Option<Draft>,
    pub text: String,
    pub written: Arc<StudyWritten>,
}

/// Changes of one person and study take turns.
#[derive(Debug, Default)]
pub(crate) struct Lanes([Mutex<()>; 32]);

impl Lanes {
    pub(crate) async fn turn(&self, who: &str, thing: &str) -> MutexGuard<'_, ()> {
        let mut hasher = DefaultHasher::new();
        (who, thing).hash(&mut hasher);
        let lane = hasher.finish() as usize % self.0.len();
        self.0[lane].lock().await
    }
}

/// A change of somebody's unsaved work.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Asked<'a> {
    /// Edits, all or none.
    Edits(&'a [Edit]),
    /// A whole study in its place.
    Whole(&'a StudyWritten),
    /// One step back, or forth.
    Step { forth: bool },
    /// What was typed, on top of what somebody else saved.
    Settled { seen: u64, choices: &'a Choices },
}

/// What is to become of somebody's unsaved work.
pub(crate) struct Becomes {
    pub base: u64,
    pub written: StudyWritten,
}

impl App {
    /// How a study stands for a person, without reading it: what can't be read can still be discarded, undone and taken
    /// out.
    pub(crate) async fn standing(&self, who: &str, thing: &str) -> Result<Standing, AppError> {
        // In this order: what is saved in between is then in both. The other way round it would be in neither, and what
        // was made of that would overwrite it under a counter that has seen it.
        let unsaved = self.book.unsaved(Kind::Study, thing, who).await?;
        let current = self.book.newest(Kind::Study, thing).await?;
        let current = current.filter(|revision| revision.entry.action != Action::Remove);
        let current = current.ok_or_else(|| AppError::NoStudy(shown(thing)))?;
        let number = current.entry.number;
        let (base, text) = match &unsaved.draft {
            Some(draft) => (draft.base.unwrap_or(number), draft.form.clone()),
            None => (number, current.form),
        };
        Ok(Standing {
            newest: current.entry,
            base,
            counter: unsaved.counter,
            draft: unsaved.draft,
            text,
        })
    }

    pub(crate) async fn stands(&self, who: &str, thing: &str) -> Result<Stands, AppError> {
        self.standing(who, thing).await?.read()
    }

    /// Makes a change of somebody's unsaved work. What comes of it is worked out before it is kept, so that nothing is
    /// kept that can't be shown.
    pub(crate) async fn change(
        &self,
        who: &str,
        thing: &str,
        seen: &Seen,
        asked: Asked<'_>,
    ) -> Result<crate::StudyView, AppError> {
        self.stop_sure(thing);
        let _turn = self.lanes.turn(who, thing).await;
        for _ in 0..TRIES {
            let stood = self.standing(who, thing).await?;
            let Becomes { base, written } = self.becomes(who, thing, seen, asked, &stood).await?;
            let written = tidied(written)?;
            let text = write(&written);
            // What is written is read back before it is kept.
            let again = reading(&text)
                .ok()
                .filter(|again| *again.written == written);
            let written = again.map(|again| Arc::clone(&again.written));
            let written = written.ok_or_else(|| AppError::Value {
                field: "study".to_owned(),
                why: "written down it couldn't be read again, so nothing was changed".to_owned(),
            })?;
            let saved = self.form_at(thing, base).await?;
            let draft = (text != saved || base != stood.newest.number).then(|| Draft {
                kind: Kind::Study,
                thing: thing.to_owned(),
                who: who.to_owned(),
                counter: stood.counter,
                base: Some(base),
                when: now(),
                title: crate::texts::title_of(&written),
                form_version: FORM_VERSION,
                form: text.clone(),
            });
            let stands = Stands {
                newest: stood.newest.clone(),
                base,
                counter: stood.counter,
                draft: draft.clone(),
                text,
                written,
            };
            let noted = stood.clone().read().map_or_else(
                |_| BTreeSet::new(),
                |before| touched(&cells(&before.written), &cells(&stands.written)),
            );
            let mut view = self.view(who, thing, stands).await?;
            let counter = match (&draft, &stood.draft) {
                (Some(draft), _) => self.book.put_draft(draft).await?,
                (None, Some(_)) => {
                    let over = Some(stood.counter);
                    let dropped = self.book.drop_draft(Kind::Study, thing, who, over).await?;
                    dropped.then_some(stood.counter + 1)
                }
                (None, None) => Some(stood.counter),
            };
            let Some(counter) = counter else { continue };
            if counter != stood.counter {
                let window = seen.window.as_deref();
                self.steps.noted(who, thing, counter, window, noted);
            }
            view.counter = counter;
            let before = Step {
                base: stood.base,
                form: stood.text,
            };
            self.stepped(who, thing, asked, &mut view, before);
            return Ok(view);
        }
        Err(AppError::Busy)
    }

    /// Whether a window may decide over all of the unsaved work, as by discarding it: it has to have seen all of it.
    pub(crate) fn all_seen(
        &self,
        who: &str,
        thing: &str,
        seen: &Seen,
        stood: &Standing,
    ) -> Result<(), AppError> {
        seen.is_of_the_past(stood)?;
        let Some(counter) = seen.counter else {
            return Ok(());
        };
        // Somebody saved or took up an earlier revision since.
        if seen.base != stood.base {
            return Err(AppError::Unseen);
        }
        let window = seen.window.as_deref();
        let own = self
            .steps
            .all_own(who, thing, counter, stood.counter, window);
        if own { Ok(()) } else { Err(AppError::Unseen) }
    }

    /// Cells that were changed where this window couldn't see it: by another window of the person, or by a revision
    /// between the one it showed and the one that stands.
    pub(crate) async fn unseen(
        &self,
        who: &str,
        thing: &str,
        seen: &Seen,
        stood: &Stands,
    ) -> Result<BTreeSet<String>, AppError> {
        let mut unseen = self.unseen_unsaved(who, thing, seen, stood).await?;
        unseen.extend(self.unseen_saved(who, thing, seen, stood).await?);
        Ok(unseen)
    }

    /// Cells that revisions between the one seen and the one that stands changed: those of others, and those that took
    /// up an earlier one. What the person saved otherwise was unsaved work before, and is counted as that.
    async fn unseen_saved(
        &self,
        who: &str,
        thing: &str,
        seen: &Seen,
        stood: &Stands,
    ) -> Result<BTreeSet<String>, AppError> {
        let mut changed = BTreeSet::new();
        if seen.base >= stood.base {
            return Ok(changed);
        }
        let read = |text: &str| readable(text).map(|written| cells(&written));
        let mut before = read(&self.form_at(thing, seen.base).await?)?;
        if stood.base - seen.base > MOST_BETWEEN {
            return Ok(touched(&before, &cells(&stood.written)));
        }
        for number in seen.base + 1..=stood.base {
            let revision = self.book.numbered(Kind::Study, thing, number).await?;
            // A removal has no form.
            let Some(revision) = revision.filter(|revision| !revision.form.is_empty()) else {
                continue;
            };
            let after = read(&revision.form)?;
            if revision.entry.who != who || revision.entry.action != Action::Save {
                changed.extend(touched(&before, &after));
            }
            before = after;
        }
        Ok(changed)
    }

    /// Cells of the unsaved work that other windows changed.
    async fn unseen_unsaved(
        &self,
        who: &str,
        thing: &str,
        seen: &Seen,
        stood: &Stands,
    ) -> Result<BTreeSet<String>, AppError> {
        let Some(counter) = seen.counter.filter(|counter| *counter != stood.counter) else {
            return Ok(BTreeSet::new());
        };
        let window = seen.window.as_deref();
        let known = self
            .steps
            .unseen(who, thing, counter, stood.counter, window);
        if let Some(known) = known {
            return Ok(known);
        }
        // From before the program was started: everything that differs from the revision may be it.
        let saved = readable(&self.form_at(thing, seen.base).await?)?;
        Ok(touched(&cells(&saved), &cells(&stood.written)))
    }
}

impl Standing {
    /// What a page says that shows this.
    pub(crate) fn seen(&self) -> Seen {
        Seen {
            base: self.base,
            counter: Some(self.counter),
            window: None,
        }
    }

    /// The same, read.
    pub(crate) fn read(self) -> Result<Stands, AppError> {
        let written = readable(&self.text)?;
        Ok(Stands {
            newest: self.newest,
            base: self.base,
            counter: self.counter,
            draft: self.draft,
            text: self.text,
            written,
        })
    }
}
