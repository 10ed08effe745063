//! Changing a study: edits go into a draft that is kept at once; saving makes the revision.

use crate::sheet::{Stands, StudyView, readable, shown};
use crate::steps::Step;
use crate::{App, AppError, FORM_VERSION, now};
use book::{Entry, Kind, Restore, Revision, Save, SaveError};
use study::edit::{self, Edit};
use study::written::write;

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
    /// Makes edits, all or none, in the person's draft. `seen` is the revision that they looked at.
    ///
    /// # Errors
    /// What an edit can't do, and then nothing is changed; what the book tells.
    pub async fn edit(
        &self,
        who: &str,
        thing: &str,
        seen: u64,
        edits: &[Edit],
    ) -> Result<StudyView, AppError> {
        let stands = self.seen(who, thing, seen).await?;
        let mut written = stands.written.clone();
        for edit in edits {
            written = edit::apply(&written, edit)?;
        }
        let before = Step {
            base: stands.base,
            form: stands.text.clone(),
        };
        let kept = self.keep(who, thing, stands.base, &written).await?;
        if kept.text != before.form {
            self.steps.made(who, thing, before);
        }
        self.view(who, thing, kept).await
    }

    /// Puts a whole text in the draft, as after an import into a study.
    ///
    /// # Errors
    /// A text that can't be read; what the book tells.
    pub async fn put_text(
        &self,
        who: &str,
        thing: &str,
        seen: u64,
        text: &str,
    ) -> Result<StudyView, AppError> {
        let written = readable(text)?;
        let stands = self.seen(who, thing, seen).await?;
        let before = Step {
            base: stands.base,
            form: stands.text,
        };
        let kept = self.keep(who, thing, stands.base, &written).await?;
        self.steps.made(who, thing, before);
        self.view(who, thing, kept).await
    }

    /// The state that an edit is made on: the draft, or the revision that was looked at.
    async fn seen(&self, who: &str, thing: &str, seen: u64) -> Result<Stands, AppError> {
        let stands = self.stands(who, thing).await?;
        match &stands.draft {
            Some(_) if stands.base == seen => Ok(stands),
            Some(_) => Err(AppError::Moved {
                seen,
                draft: stands.base,
            }),
            None if stands.newest.number == seen => Ok(stands),
            // Somebody saved since; the edit belongs to what was looked at, and saving will tell.
            None => {
                let text = self.form_at(thing, seen).await?;
                let written = readable(&text)?;
                Ok(Stands {
                    base: seen,
                    text,
                    written,
                    ..stands
                })
            }
        }
    }

    /// One step back: in the draft, else to the revision before.
    ///
    /// # Errors
    /// Nothing to undo; what the book tells.
    pub async fn undo(&self, who: &str, thing: &str) -> Result<StudyView, AppError> {
        let stands = self.stands(who, thing).await?;
        let here = Step {
            base: stands.base,
            form: stands.text.clone(),
        };
        let step = match self.steps.back(who, thing, here.clone()) {
            Some(step) => step,
            None => {
                let step = match stands.draft {
                    // Steps from before the program was started are gone; the revision stays.
                    Some(_) => Step {
                        base: stands.base,
                        form: self.form_at(thing, stands.base).await?,
                    },
                    None => self
                        .before(thing, stands.base)
                        .await?
                        .ok_or(AppError::NothingTo("undo"))?,
                };
                self.steps.left(who, thing, here);
                step
            }
        };
        self.go_to(who, thing, &step).await
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

    /// One step forth again.
    ///
    /// # Errors
    /// Nothing to redo; what the book tells.
    pub async fn redo(&self, who: &str, thing: &str) -> Result<StudyView, AppError> {
        let stands = self.stands(who, thing).await?;
        let here = Step {
            base: stands.base,
            form: stands.text,
        };
        let step = self
            .steps
            .forth(who, thing, here)
            .ok_or(AppError::NothingTo("redo"))?;
        self.go_to(who, thing, &step).await
    }

    async fn go_to(&self, who: &str, thing: &str, step: &Step) -> Result<StudyView, AppError> {
        let written = readable(&step.form)?;
        let kept = self.keep(who, thing, step.base, &written).await?;
        self.view(who, thing, kept).await
    }

    /// Drops the person's unsaved changes; undo brings them back while the program runs.
    ///
    /// # Errors
    /// What the book tells.
    pub async fn discard(&self, who: &str, thing: &str) -> Result<(), AppError> {
        let stands = self.stands(who, thing).await?;
        if stands.draft.is_some() {
            self.steps.made(
                who,
                thing,
                Step {
                    base: stands.base,
                    form: stands.text,
                },
            );
            self.book.drop_draft(Kind::Study, thing, who).await?;
        }
        Ok(())
    }

    /// Saves the person's draft as a revision. `seen` is the revision that they looked at.
    ///
    /// # Errors
    /// Nothing to save; what the book tells. A conflict is no error but an outcome.
    pub async fn save(
        &self,
        who: &str,
        thing: &str,
        seen: u64,
        why: Option<String>,
    ) -> Result<SaveOutcome, AppError> {
        let stands = self.stands(who, thing).await?;
        if stands.draft.is_none() {
            if seen == stands.newest.number {
                return Err(AppError::NothingToSave(seen));
            }
            return Err(AppError::Moved {
                seen,
                draft: stands.newest.number,
            });
        }
        self.save_on(who, thing, stands.base, stands.text, &stands.written, why)
            .await
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
        let stands = self.stands(who, thing).await?;
        if stands.draft.is_none() {
            return Err(AppError::NothingToSave(stands.newest.number));
        }
        self.save_on(who, thing, theirs, stands.text, &stands.written, why)
            .await
    }

    async fn save_on(
        &self,
        who: &str,
        thing: &str,
        base: u64,
        text: String,
        written: &study::written::StudyWritten,
        why: Option<String>,
    ) -> Result<SaveOutcome, AppError> {
        let save = Save {
            kind: Kind::Study,
            thing: thing.to_owned(),
            base: Some(base),
            who: who.to_owned(),
            when: now(),
            why: why.map(|w| w.trim().to_owned()).filter(|w| !w.is_empty()),
            title: crate::studies::title_of(written),
            form_version: FORM_VERSION,
            form: write(written),
        };
        match self.book.save(save).await {
            Ok(saved) => {
                self.book.drop_draft(Kind::Study, thing, who).await?;
                self.steps.forget(who, thing);
                Ok(SaveOutcome::Saved(saved.entry))
            }
            Err(SaveError::Stale { current, base, .. }) => Ok(SaveOutcome::Conflict {
                theirs: current,
                base,
                yours: text,
            }),
            Err(SaveError::Book(error)) => Err(error.into()),
        }
    }

    /// The conflict that saving the person's draft would meet; none when it would be saved.
    ///
    /// # Errors
    /// No such study; what the book tells.
    pub async fn conflict(&self, who: &str, thing: &str) -> Result<Option<SaveOutcome>, AppError> {
        let stands = self.stands(who, thing).await?;
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
    /// Somebody saved since `base`; no such revision; what the book tells.
    pub async fn restore(
        &self,
        who: &str,
        thing: &str,
        number: u64,
        base: u64,
        why: Option<String>,
    ) -> Result<Entry, AppError> {
        let restored = self
            .book
            .restore(Restore {
                kind: Kind::Study,
                thing: thing.to_owned(),
                number,
                base,
                who: who.to_owned(),
                when: now(),
                why: why.map(|w| w.trim().to_owned()).filter(|w| !w.is_empty()),
            })
            .await?;
        self.book.drop_draft(Kind::Study, thing, who).await?;
        self.steps.forget(who, thing);
        Ok(restored.entry)
    }
}
