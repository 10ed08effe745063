//! Changing a study: edits go into a draft that is kept at once; saving makes the revision.

use crate::cells::{cells, touched};
use crate::drafts::{Asked, Becomes, Seen, Standing, Stands};
use crate::sheet::{StudyView, readable, shown};
use crate::steps::Step;
use crate::{App, AppError, FORM_VERSION, now};
use book::{Action, BookError, Entry, Kind, Restore, Revision, Save, SaveError};
use study::edit::{self, Edit};
use study::written::{StudyWritten, write};

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
    },
}

impl App {
    /// Makes edits, all or none, in the person's draft. `seen` is what they looked at: where another window of theirs
    /// has changed other cells since, the edits are made on that; where it has changed the same ones, they are refused
    /// with both values.
    ///
    /// # Errors
    /// What an edit can't do, and then nothing is changed; [`AppError::Overtaken`]; what the book tells.
    pub async fn edit(
        &self,
        who: &str,
        thing: &str,
        seen: impl Into<Seen>,
        edits: &[Edit],
    ) -> Result<StudyView, AppError> {
        let asked = Asked::Edits(edits);
        let (view, before) = self.change(who, thing, &seen.into(), asked).await?;
        Ok(self.stepped(who, thing, view, before))
    }

    /// Puts a whole text in the draft, as after an import into a study.
    ///
    /// # Errors
    /// A text that can't be read; [`AppError::Overtaken`]; what the book tells.
    pub async fn put_text(
        &self,
        who: &str,
        thing: &str,
        seen: impl Into<Seen>,
        text: &str,
    ) -> Result<StudyView, AppError> {
        let written = readable(text)?;
        let asked = Asked::Whole(&written);
        let (view, before) = self.change(who, thing, &seen.into(), asked).await?;
        Ok(self.stepped(who, thing, view, before))
    }

    /// What a change makes of what stands.
    pub(crate) async fn becomes(
        &self,
        who: &str,
        thing: &str,
        seen: &Seen,
        asked: Asked<'_>,
        stood: &Standing,
    ) -> Result<Becomes, AppError> {
        let (stands, written) = match asked {
            Asked::Step { forth } => return self.stepping(who, thing, seen, forth, stood).await,
            Asked::Whole(written) => {
                let stands = self.made_on(who, thing, seen, stood).await?;
                (stands, written.clone())
            }
            Asked::Edits(edits) => {
                let stands = self.made_on(who, thing, seen, stood).await?;
                let mut written = stands.written.clone();
                for edit in edits {
                    written = edit::apply(&written, edit)?;
                }
                (stands, written)
            }
        };
        self.overtaken(who, thing, seen, &stands, &written).await?;
        Ok(Becomes {
            base: stands.base,
            written,
        })
    }

    async fn stepping(
        &self,
        who: &str,
        thing: &str,
        seen: &Seen,
        forth: bool,
        stood: &Standing,
    ) -> Result<Becomes, AppError> {
        self.all_seen(who, thing, seen, stood)?;
        let step = match self.steps.next(who, thing, forth) {
            Some(step) => step,
            None if forth => return Err(AppError::NothingTo("redo")),
            // Steps from before the program was started are gone; the revision stays.
            None if stood.draft.is_some() => Step {
                base: stood.base,
                form: self.form_at(thing, stood.base).await?,
            },
            None => self
                .before(thing, stood.base)
                .await?
                .ok_or(AppError::NothingTo("undo"))?,
        };
        Ok(Becomes {
            base: step.base,
            written: readable(&step.form)?,
        })
    }

    /// A change that can be undone.
    fn stepped(&self, who: &str, thing: &str, mut view: StudyView, before: Step) -> StudyView {
        if view.text != before.form {
            self.steps.made(who, thing, before);
            (view.can_undo, view.can_redo) = (true, false);
        }
        view
    }

    /// The state that an edit is made on: the draft, or the revision that was looked at.
    async fn made_on(
        &self,
        who: &str,
        thing: &str,
        seen: &Seen,
        stood: &Standing,
    ) -> Result<Stands, AppError> {
        let stood = stood.clone();
        if stood.base == seen.base {
            return stood.read();
        }
        match &stood.draft {
            // It was this person who saved, in another window.
            _ if stood.base == stood.newest.number
                && stood.newest.who == who
                && seen.counter.is_some() =>
            {
                stood.read()
            }
            Some(_) => Err(AppError::Moved {
                seen: seen.base,
                draft: stood.base,
            }),
            // Somebody saved since; the edit belongs to what was looked at, and saving will tell.
            None => {
                let text = self.form_at(thing, seen.base).await?;
                Standing {
                    base: seen.base,
                    text,
                    ..stood
                }
                .read()
            }
        }
    }

    /// Refuses a change of a cell that was changed in a way this window couldn't see.
    async fn overtaken(
        &self,
        who: &str,
        thing: &str,
        seen: &Seen,
        stands: &Stands,
        after: &StudyWritten,
    ) -> Result<(), AppError> {
        let unseen = self.unseen(who, thing, seen, stands).await?;
        if unseen.is_empty() {
            return Ok(());
        }
        let (theirs, yours) = (cells(&stands.written), cells(after));
        let both = touched(&theirs, &yours)
            .into_iter()
            .find(|cell| unseen.contains(cell));
        both.map_or(Ok(()), |cell| {
            let value = |cells: &crate::cells::Cells| {
                let none = || "nothing".to_owned();
                cells
                    .get(&cell)
                    .map_or_else(none, |v| v.chars().take(200).collect())
            };
            Err(AppError::Overtaken {
                theirs: value(&theirs),
                yours: value(&yours),
                cell,
            })
        })
    }

    /// One step back: in the draft, else to the revision before.
    ///
    /// # Errors
    /// Nothing to undo; [`AppError::Unseen`]; what the book tells.
    pub async fn undo(
        &self,
        who: &str,
        thing: &str,
        seen: impl Into<Seen>,
    ) -> Result<StudyView, AppError> {
        self.step(who, thing, &seen.into(), false).await
    }

    /// One step forth again.
    ///
    /// # Errors
    /// Nothing to redo; [`AppError::Unseen`]; what the book tells.
    pub async fn redo(
        &self,
        who: &str,
        thing: &str,
        seen: impl Into<Seen>,
    ) -> Result<StudyView, AppError> {
        self.step(who, thing, &seen.into(), true).await
    }

    async fn step(
        &self,
        who: &str,
        thing: &str,
        seen: &Seen,
        forth: bool,
    ) -> Result<StudyView, AppError> {
        let asked = Asked::Step { forth };
        let (mut view, before) = self.change(who, thing, seen, asked).await?;
        let before = Some(before).filter(|step| readable(&step.form).is_ok());
        self.steps.taken(who, thing, forth, before);
        let (back, forth) = self.steps.count(who, thing);
        view.can_undo = back > 0 || view.draft.is_some() || view.newest.number > 1;
        view.can_redo = forth > 0;
        Ok(view)
    }

    /// The form of the revision before one, as a change of that one.
    async fn before(&self, thing: &str, number: u64) -> Result<Option<Step>, AppError> {
        for earlier in (1..number).rev() {
            let form = self.form_at(thing, earlier).await?;
            if !form.is_empty() {
                return Ok(Some(Step { base: number, form }));
            }
        }
        Ok(None)
    }

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
            let stands = stood.read()?;
            let save = Save {
                kind: Kind::Study,
                thing: thing.to_owned(),
                base: Some(over.unwrap_or(stands.base)),
                who: who.to_owned(),
                when: now(),
                why: why.clone(),
                title: crate::studies::title_of(&stands.written),
                form_version: FORM_VERSION,
                form: write(&stands.written),
            };
            match self.book.save_draft(save, stands.counter).await {
                Ok(saved) => {
                    self.steps.forget(who, thing);
                    let (window, none) =
                        (seen.window.as_deref(), std::collections::BTreeSet::new());
                    self.steps
                        .noted(who, thing, stands.counter + 1, window, none);
                    self.text_if_due(&saved).await;
                    return Ok(SaveOutcome::Saved(saved.entry));
                }
                Err(SaveError::DraftMoved) => {}
                Err(SaveError::Stale { current, base, .. }) => {
                    return Ok(SaveOutcome::Conflict {
                        theirs: current,
                        base,
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
            yours: stands.text,
        }))
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
        Ok(restored.entry)
    }
}

/// A reason as it is kept.
pub(crate) fn said(why: Option<String>) -> Result<Option<String>, AppError> {
    let Some(mut why) = why else { return Ok(None) };
    crate::cells::tidy(&mut why, "reason")?;
    Ok(Some(why.trim().to_owned()).filter(|w| !w.is_empty()))
}
