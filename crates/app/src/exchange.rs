//! A study as one text file, out and in again; what an import will change is shown before it does.

use crate::changes::{Change, diff};
use crate::reading::readable;
use crate::{App, AppError};
use serde::Serialize;
use study::written::tables::TreatmentRow;
use study::written::{Problem, StudyWritten, resolve};

/// What an import would do.
#[derive(Clone, Debug)]
pub struct ImportPreview {
    /// The name in the text.
    pub title: String,
    /// The study as written.
    pub written: StudyWritten,
    /// What would change in the study it is read into; for a new study nothing.
    pub changes: Vec<Change>,
    /// The counter of the unsaved work that it was compared with; none for a new study.
    pub counter: Option<u64>,
    /// What keeps it from being worked out, if anything; it can be imported and mended all the same.
    pub problems: Vec<Problem>,
    /// Treatments it has.
    pub treatments: Vec<Named>,
}

/// A short name with its name.
#[derive(Clone, Debug, Serialize)]
pub struct Named {
    /// Short name.
    pub id: String,
    /// Name.
    pub name: String,
}

impl App {
    /// The text of a study as it stands for a person, their unsaved changes included, or of a
    /// revision of it.
    ///
    /// # Errors
    /// No such study or revision; what the book tells.
    pub async fn export(
        &self,
        who: &str,
        thing: &str,
        number: Option<u64>,
    ) -> Result<String, AppError> {
        match number {
            Some(number) => self.form_at(thing, number).await,
            None => Ok(self.standing(who, thing).await?.text),
        }
    }

    /// What reading a text in would change; into a study, or as a new one.
    ///
    /// # Errors
    /// A text that can't be read, with every problem; no such study; what the book tells.
    pub async fn preview_import(
        &self,
        who: &str,
        into: Option<&str>,
        text: &str,
    ) -> Result<ImportPreview, AppError> {
        let written = readable(text)?;
        let (changes, counter) = match into {
            None => (Vec::new(), None),
            Some(thing) => {
                let stands = self.stands(who, thing).await?;
                (diff(&stands.written, &written), Some(stands.counter))
            }
        };
        let resolving = written.clone();
        let problems =
            tokio::task::spawn_blocking(move || resolve(&resolving).err().unwrap_or_default())
                .await
                .map_err(|e| AppError::BrokenOff(e.to_string()))?;
        let treatments = written.treatments().iter().map(|t| {
            let id = t.get(TreatmentRow::id).unwrap_or_default();
            Named {
                id: id.to_owned(),
                name: t.get(TreatmentRow::name).unwrap_or(id).to_owned(),
            }
        });
        Ok(ImportPreview {
            title: crate::texts::title_of(&written),
            treatments: treatments.collect(),
            changes,
            counter,
            problems,
            written: StudyWritten::clone(&written),
        })
    }
}
