//! A study as a person sees it: their draft if there is one, else the newest revision, with what
//! every treatment does.

use crate::answers::{Answers, Worked};
use crate::drafts::{Seen, Stands};
use crate::reading::{Resolved, readable, reading};
use crate::texts::shown;
use crate::{App, AppError};
use book::{Entry, Kind};
use serde::Serialize;
use std::sync::Arc;
use study::Study;
use study::written::{Problem, StudyWritten};

/// The state of somebody's unsaved work.
#[derive(Clone, Debug, Serialize)]
pub struct DraftState {
    /// When it was last kept.
    pub when: String,
    /// The revision it stands on.
    pub base: u64,
    /// Whether somebody saved since, so that saving needs a look at both.
    pub stale: bool,
}

/// A study as a person sees it.
#[derive(Clone, Debug)]
pub struct StudyView {
    /// The lasting name.
    pub thing: String,
    /// The newest revision in the book.
    pub newest: Entry,
    /// The revision that is shown or that the draft stands on.
    pub base: u64,
    /// The counter of the person's unsaved work, which a change of it says back.
    pub counter: u64,
    /// Unsaved changes; none when the newest revision is shown.
    pub draft: Option<DraftState>,
    /// Whether something can be undone.
    pub can_undo: bool,
    /// Whether something can be redone.
    pub can_redo: bool,
    /// The study as text.
    pub text: String,
    /// The study as written.
    pub written: Arc<StudyWritten>,
    /// The study resolved; none when there are problems that keep it from being worked out.
    pub study: Option<Arc<Study>>,
    /// What is wrong, if anything.
    pub problems: Vec<Problem>,
    /// Treatments that don't sum to 100 and are worked out in proportion until they do.
    pub in_proportion: Vec<String>,
    /// What every treatment does.
    pub answers: Answers,
}

impl StudyView {
    /// What a page says that shows this, so that a change of it is made on what was seen.
    pub fn seen(&self) -> Seen {
        Seen {
            base: self.base,
            counter: Some(self.counter),
            window: None,
        }
    }

    /// A treatment that was worked out.
    ///
    /// # Errors
    /// No such treatment, or one without an answer, and why.
    pub fn worked(&self, treatment: &str) -> Result<&Arc<Worked>, AppError> {
        let answers = &self.answers;
        let found = answers.worked.iter().find(|w| w.answer.id == treatment);
        found.ok_or_else(|| match answers.failed.iter().find(|f| f.id == treatment) {
            Some(failed) => AppError::Value {
                field: format!("treatment {}", shown(treatment)),
                why: failed.why.clone(),
            },
            None => AppError::NoTreatment(shown(treatment)),
        })
    }
}

impl App {
    /// A study as a person sees it, with the answers of all treatments.
    ///
    /// # Errors
    /// No such study; a text that can't be read at all; what the book tells.
    pub async fn study(&self, who: &str, thing: &str) -> Result<StudyView, AppError> {
        let stands = self.stands(who, thing).await?;
        self.view(who, thing, stands).await
    }

    /// An earlier revision of a study with its answers, read-only.
    ///
    /// # Errors
    /// No such study or revision; a text that can't be read; what the book tells.
    pub async fn study_at(
        &self,
        who: &str,
        thing: &str,
        number: u64,
    ) -> Result<StudyView, AppError> {
        let newest = self.newest(thing).await?;
        let text = self.form_at(thing, number).await?;
        let written = readable(&text)?;
        self.view(
            who,
            thing,
            Stands {
                newest,
                base: number,
                counter: 0,
                draft: None,
                text,
                written,
            },
        )
        .await
    }

    /// The newest revision, be it a removal.
    pub(crate) async fn newest(&self, thing: &str) -> Result<Entry, AppError> {
        let newest = self.book.newest(Kind::Study, thing).await?;
        newest
            .map(|r| r.entry)
            .ok_or_else(|| AppError::NoStudy(shown(thing)))
    }

    /// The text of a revision.
    pub(crate) async fn form_at(&self, thing: &str, number: u64) -> Result<String, AppError> {
        let revision = self.book.numbered(Kind::Study, thing, number).await?;
        revision
            .map(|r| r.form)
            .ok_or_else(|| AppError::NoRevision {
                thing: shown(thing),
                number,
            })
    }

    pub(crate) async fn view(
        &self,
        who: &str,
        thing: &str,
        stands: Stands,
    ) -> Result<StudyView, AppError> {
        let desk = Arc::clone(&self.desk);
        let reading = reading(&stands.text)?;
        let (resolved, answers) = tokio::task::spawn_blocking(move || {
            let resolved = reading.resolved().clone();
            (resolved, reading.answers(&desk))
        })
        .await
        .map_err(|e| AppError::BrokenOff(e.to_string()))?;
        let Resolved {
            study,
            problems,
            in_proportion,
        } = resolved;
        let (back, forth) = self.steps.count(who, thing);
        let Stands {
            newest,
            base,
            counter,
            draft,
            text,
            written,
        } = stands;
        let can_undo = back > 0 || draft.is_some() || newest.number > 1;
        Ok(StudyView {
            thing: thing.to_owned(),
            base,
            counter,
            draft: draft.map(|d| DraftState {
                stale: base != newest.number,
                base,
                when: d.when,
            }),
            newest,
            can_undo,
            can_redo: forth > 0,
            text,
            written,
            study,
            problems,
            in_proportion,
            answers,
        })
    }
}
