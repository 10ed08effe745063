//! What edits would do, without keeping them.

use crate::answers::{Worked, worked_through};
use crate::desk::Question;
use crate::drafts::Stands;
use crate::sheet::StudyView;
use crate::texts::shown;
use crate::{App, AppError};
use std::sync::Arc;
use study::chain::key;
use study::edit::{self, Edit};
use study::views::cross_section::{CrossSection, cross_section};
use study::{Treatment, Workspace};

/// One treatment as edits would leave it.
#[derive(Clone, Debug)]
pub struct WouldBe {
    /// The treatment.
    pub treatment: Treatment,
    /// What it would do.
    pub worked: Arc<Worked>,
    /// Its cross-section through time.
    pub field: CrossSection,
}

impl App {
    /// The study as it would stand after edits; nothing is written.
    ///
    /// # Errors
    /// What an edit can't do; what the book tells.
    pub async fn preview(
        &self,
        who: &str,
        thing: &str,
        edits: &[Edit],
    ) -> Result<StudyView, AppError> {
        let stands = self.stands(who, thing).await?;
        let written = edit::apply_all(&stands.written, edits)?;
        crate::edits::still_worked_out(edits, &stands.written, &written)?;
        let text = study::written::write(&written);
        self.view(
            who,
            thing,
            Stands {
                text,
                written: Arc::new(written),
                ..stands
            },
        )
        .await
    }

    /// What edits would make of one treatment's bake, by the arithmetic of the sheet; nothing is written, and no other
    /// treatment is worked out, so that it can be asked while a hand still moves.
    ///
    /// # Errors
    /// What an edit can't do; no such treatment; what can't be worked out; what the book tells.
    pub async fn would_bake(
        &self,
        who: &str,
        thing: &str,
        treatment: &str,
        frames: usize,
        edits: &[Edit],
    ) -> Result<WouldBe, AppError> {
        let written = self.stands(who, thing).await?.written;
        let written = edit::apply_all(&written, edits)?;
        let desk = Arc::clone(&self.desk);
        let id = treatment.to_owned();
        let work = move || {
            let why = |why: String| AppError::Value {
                field: format!("treatment {}", shown(&id)),
                why,
            };
            let text = study::written::write(&written);
            let (study, problems, _) = edit::in_proportion(&written, &text);
            let first = problems.first();
            let study =
                study.ok_or_else(|| why(first.map_or_else(String::new, ToString::to_string)))?;
            let treatment = study.treatment(&id).cloned();
            let treatment = treatment.ok_or_else(|| AppError::NoTreatment(shown(&id)))?;
            let key = key(&treatment);
            let run = || worked_through(&treatment, key, &mut Workspace::new());
            let worked = desk.ask(key, Question::Run, run).map_err(why)?;
            // What is seen on the way isn't asked for again: it would only push off what is.
            let field = cross_section(&worked.run, frames).map_err(|e| why(e.why.to_string()))?;
            Ok(WouldBe {
                treatment,
                worked,
                field,
            })
        };
        tokio::task::spawn_blocking(work)
            .await
            .map_err(|e| AppError::BrokenOff(e.to_string()))?
    }
}
