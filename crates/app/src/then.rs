//! What a study was saved with: the figures as they were told then, kept beside the revision, and what an earlier
//! version of the model told otherwise.

use crate::reading::{Reading, reading};
use crate::{App, AppError, FORM_VERSION, now};
use book::{Action, Entry, Kind, Revision, Save, SaveError};
use serde::{Deserialize, Serialize};
use std::sync::Arc;
use study::MODEL_VERSION;
use study::compare::{Moved, Told, moved, told};

/// How often keeping figures is tried again when somebody else is just keeping some.
const TRIES: usize = 3;

/// Figures as they are kept.
#[derive(Debug, Serialize, Deserialize)]
struct KeptFigures {
    /// The revision of the study that they belong to.
    revision: u64,
    /// What was told of it.
    told: Told,
}

/// What the newest revision of a study was saved with, where that isn't what this program tells.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Then {
    /// It was saved under another version of the model.
    Otherwise {
        /// The revision.
        revision: u64,
        /// When it was saved.
        when: String,
        /// The version of the model then.
        model: u32,
        /// The figures that are told otherwise now.
        moved: Vec<Moved>,
    },
    /// Its figures weren't kept: an earlier program saved it, or the program ended in the midst of saving.
    NotKept {
        /// The revision.
        revision: u64,
        /// When it was saved.
        when: String,
    },
}

impl App {
    /// What the newest revision of a study was saved with, where another version of the model told it; none where it
    /// is this one.
    ///
    /// # Errors
    /// No such study; what the book tells.
    pub async fn then(&self, thing: &str) -> Result<Option<Then>, AppError> {
        let newest = self.newest(thing).await?;
        if newest.action == Action::Remove {
            return Ok(None);
        }
        let (revision, when) = (newest.number, newest.when);
        let kept = match self.kept_figures(thing).await? {
            Some(kept) if kept.revision == revision => kept,
            _ => return Ok(Some(Then::NotKept { revision, when })),
        };
        if kept.told.model == MODEL_VERSION {
            return Ok(None);
        }
        let now = match reading(&self.form_at(thing, revision).await?) {
            Ok(reading) => self.told_of(reading).await?,
            Err(_) => Told::default(),
        };
        Ok(Some(Then::Otherwise {
            revision,
            when,
            model: kept.told.model,
            moved: moved(&kept.told, &now),
        }))
    }

    async fn kept_figures(&self, thing: &str) -> Result<Option<KeptFigures>, AppError> {
        let kept = self.book.current(Kind::Figures, thing).await?;
        Ok(kept.and_then(|kept| serde_json::from_str(&kept.form).ok()))
    }

    /// Keeps what a revision is told with, after it was acknowledged. Figures that can't be kept take nothing away from
    /// it; [`App::then`] says that they weren't.
    pub(crate) async fn keep_figures(&self, saved: &Revision) {
        // A failure leaves no record, and that is told.
        let _kept_or_told = self.try_to_keep_figures(saved).await;
    }

    async fn try_to_keep_figures(&self, saved: &Revision) -> Result<(), AppError> {
        let Entry {
            thing,
            number,
            who,
            title,
            ..
        } = &saved.entry;
        let Ok(reading) = reading(&saved.form) else {
            return Ok(());
        };
        let form = serde_json::to_string(&KeptFigures {
            revision: *number,
            told: self.told_of(reading).await?,
        })
        .map_err(|e| AppError::BrokenOff(e.to_string()))?;
        for _ in 0..TRIES {
            let newest = self.kept_figures(thing).await?;
            // Who saved later may have been faster here.
            if newest.is_some_and(|n| n.revision >= *number) {
                return Ok(());
            }
            let base = self.book.newest(Kind::Figures, thing).await?;
            let save = Save {
                kind: Kind::Figures,
                thing: thing.clone(),
                base: base.map(|n| n.entry.number),
                who: who.clone(),
                when: now(),
                why: None,
                title: title.clone(),
                form_version: FORM_VERSION,
                form: form.clone(),
            };
            match self.book.save(save).await {
                Err(SaveError::Stale { .. }) => {}
                Err(other) => return Err(other.into()),
                Ok(_) => return Ok(()),
            }
        }
        Err(AppError::Busy)
    }

    /// What is told of a study, from the desk where it lies there.
    async fn told_of(&self, reading: Arc<Reading>) -> Result<Told, AppError> {
        let desk = Arc::clone(&self.desk);
        tokio::task::spawn_blocking(move || told(&reading.answers(&desk).compared))
            .await
            .map_err(|e| AppError::BrokenOff(e.to_string()))
    }
}
