//! What becomes of somebody's unsaved work: saving makes a revision of it, discarding drops it; and taking up an earlier
//! revision again.

use crate::cells::{cells, touched};
use crate::drafts::{Seen, Standing};
use crate::reading::readable;
use crate::steps::Step;
use crate::texts::{said, shown, title_of};
use crate::{App, AppError, FORM_VERSION, now};
use book::{Action, BookError, Entry, Kind, Restore, Revision, Save, SaveError};
use std::collections::BTreeSet;
use study::written::write;

/// How often saving is tried again when another window is just changing the draft.
const TRIES: usize = 20;

/// What came of saving.
#[derive(Clone, Debug)]
pub enum SaveOutcome {
    /// It is on the disk.
    Saved(Entry),
    /// Somebody saved in between: nothing was written, and both versions are here.
    Conflict {
        /// What the book holds now.
        theirs: Box<Revision>,
        /// The revision both started from, if it is known.
        base: Option<Box<Revision>>,
        /// The text that was to be saved.
        yours: String,
        /// What of the person's unsaved work that is, to be said back where it is dropped.
        seen: Seen,
    },
}

impl App {
    /// Drops the person's unsaved changes, be they such that can't be read; undo brings them back while the program
    /// runs.
    ///
    /// # Errors
    /// [`AppError::Unseen`] where another window has changed them since; what the book tells.
    pub async fn discard(
        &self,
        who: &str,
        thing: &str,
        seen: impl Into<Seen>,
    ) -> Result<(), AppError> {
        let seen = seen.into();
        let _turn = self.lanes.turn(who, thing).await;
        for _ in 0..TRIES {
            let stood = match self.standing(who, thing).await {
                // What the disk did to unsaved changes can still be discarded.
                Err(AppError::Book(BookError::Damaged { .. })) => {
                    self.book.drop_draft(Kind::Study, thing, who, None).await?;
                    return Ok(());
                }
                stood => stood?,
            };
            if stood.draft.is_none() {
                return Ok(());
            }
            self.all_seen(who, thing, &seen, &stood)?;
            let over = Some(stood.counter);
            if self.book.drop_draft(Kind::Study, thing, who, over).await? {
                self.all_moved(who, thing, &seen, &stood).await;
                // What can't be read can't be gone back to.
                if readable(&stood.text).is_ok() {
                    let step = Step {
                        base: stood.base,
                        form: stood.text,
                    };
                    self.steps.made(who, thing, step);
                }
                return Ok(());
            }
        }
        Err(AppError::Busy)
    }

    /// Notes that all cells of some unsaved work went back to its revision.
    async fn all_moved(&self, who: &str, thing: &str, seen: &Seen, stood: &Standing) {
        let saved = self.form_at(thing, stood.base).await;
        let read = |text: &str| readable(text).map(|w| cells(&w)).unwrap_or_default();
        let moved = touched(&read(&stood.text), &read(&saved.unwrap_or_default()));
        let window = seen.window.as_deref();
        self.steps
            .noted(who, thing, stood.counter + 1, window, moved);
    }

    /// Saves the person's draft as a revision, as it is at that moment. `seen` is what they looked at.
    ///
    /// # Errors
    /// Nothing to save; what the book tells. A conflict is no error but an outcome.
    pub async fn save(
        &self,
        who: &str,
        thing: &str,
        seen: impl Into<Seen>,
        why: Option<String>,
    ) -> Result<SaveOutcome, AppError> {
        self.save_on(who, thing, &seen.into(), None, why).await
    }

    /// Saves the draft over what somebody else saved in between, after both were looked at.
    /// `theirs` is the revision that was looked at.
    ///
    /// # Errors
    /// As [`App::save`]; a conflict again if somebody saved once more.
    pub async fn save_over(
        &self,
        who: &str,
        thing: &str,
        theirs: u64,
        why: Option<String>,
    ) -> Result<SaveOutcome, AppError> {
        self.save_on(who, thing, &theirs.into(), Some(theirs), why)
            .await
    }

    async fn save_on(
        &self,
        who: &str,
        thing: &str,
        seen: &Seen,
        over: Option<u64>,
        why: Option<String>,
    ) -> Result<SaveOutcome, AppError> {
        let why = said(why)?;
        let _turn = self.lanes.turn(who, thing).await;
        for _ in 0..TRIES {
            let stood = self.standing(who, thing).await?;
            seen.is_of_the_past(&stood)?;
            if stood.draft.is_none() {
                let newest = &stood.newest;
                if seen.base == newest.number || newest.who == who {
                    return Err(AppError::NothingToSave(newest.number));
                }
                return Err(AppError::Moved {
                    seen: seen.base,
                    draft: newest.number,
                });
            }
            let at = stood.seen();
            let stands = stood.read()?;
            let save = Save {
                kind: Kind::Study,
                thing: thing.to_owned(),
                base: Some(over.unwrap_or(stands.base)),
                who: who.to_owned(),
                when: now(),
                why: why.clone(),
                title: title_of(&stands.written),
                form_version: FORM_VERSION,
                form: write(&stands.written),
            };
            match self.book.save_draft(save, stands.counter).await {
                Ok(saved) => {
                    self.steps.forget(who, thing);
                    let (window, none) = (seen.window.as_deref(), BTreeSet::new());
                    self.steps
                        .noted(who, thing, stands.counter + 1, window, none);
                    self.text_if_due(&saved).await;
                    self.keep_figures(&saved).await;
                    return Ok(SaveOutcome::Saved(saved.entry));
                }
                Err(SaveError::DraftMoved) => {}
                Err(SaveError::Stale { current, base, .. }) => {
                    return Ok(SaveOutcome::Conflict {
                        theirs: current,
                        base,
                        seen: at,
                        yours: stands.text,
                    });
                }
                Err(SaveError::Book(error)) => return Err(error.into()),
            }
        }
        Err(AppError::Busy)
    }

    /// The conflict that saving the person's draft would meet; none when it would be saved.
    ///
    /// # Errors
    /// No such study; what the book tells.
    pub async fn conflict(&self, who: &str, thing: &str) -> Result<Option<SaveOutcome>, AppError> {
        let stands = self.standing(who, thing).await?;
        if stands.draft.is_none() || stands.base == stands.newest.number {
            return Ok(None);
        }
        let theirs = self
            .book
            .numbered(Kind::Study, thing, stands.newest.number)
            .await?;
        let theirs = theirs.ok_or_else(|| AppError::NoStudy(shown(thing)))?;
        let base = self.book.numbered(Kind::Study, thing, stands.base).await?;
        Ok(Some(SaveOutcome::Conflict {
            theirs: Box::new(theirs),
            base: base.map(Box::new),
            seen: stands.seen(),
            yours: stands.text,
        }))
    }

    /// What somebody's unsaved work is at, be it such that can't be read; none where there is none.
    ///
    /// # Errors
    /// No such study; what the book tells.
    pub async fn unsaved_at(&self, who: &str, thing: &str) -> Result<Option<Seen>, AppError> {
        let stood = self.standing(who, thing).await?;
        Ok(stood.draft.is_some().then(|| stood.seen()))
    }

    /// Takes up an earlier revision again, as a new revision.
    ///
    /// # Errors
    /// Unsaved changes of the person, which would be hidden or lost; somebody saved since `base`; no such revision; what
    /// the book tells.
    pub async fn restore(
        &self,
        who: &str,
        thing: &str,
        number: u64,
        base: u64,
        why: Option<String>,
    ) -> Result<Entry, AppError> {
        let why = said(why)?;
        let _turn = self.lanes.turn(who, thing).await;
        let newest = self.newest(thing).await?;
        let unsaved = self.book.unsaved(Kind::Study, thing, who).await?;
        if unsaved.draft.is_some() && newest.action != Action::Remove {
            return Err(AppError::WithDraft);
        }
        let restored = self
            .book
            .restore(Restore {
                kind: Kind::Study,
                thing: thing.to_owned(),
                number,
                base,
                who: who.to_owned(),
                when: now(),
                why,
            })
            .await?;
        self.steps.forget(who, thing);
        self.text_if_due(&restored).await;
        self.keep_figures(&restored).await;
        Ok(restored.entry)
    }
}
