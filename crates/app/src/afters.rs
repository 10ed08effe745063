//! What happens to every treatment after the oven, kept until what it depends on changes.

use crate::desk::Question;
use crate::sheet::StudyView;
use crate::{App, AppError};
use rayon::prelude::*;
use serde::Serialize;
use std::sync::Arc;
use study::chain::shelf_life::AfterOptions;
use study::views::after_oven::{AfterAnswer, after_oven};

/// What happens to a treatment after the oven, or why that isn't known.
#[derive(Clone, Debug, Serialize)]
pub struct AfterOf {
    /// Short name of the treatment.
    pub id: String,
    /// Its name.
    pub name: String,
    /// The answer.
    pub told: Option<Arc<AfterAnswer>>,
    /// Why there is none; empty when there is one.
    pub why: String,
}

impl App {
    /// Cooling, evening-out, checking and keeping of every treatment as its pack is written, the control first.
    ///
    /// # Errors
    /// Work that was broken off.
    pub async fn afters(&self, view: &StudyView) -> Result<Vec<AfterOf>, AppError> {
        let (worked, failed) = (view.answers.worked.clone(), view.answers.failed.clone());
        let desk = Arc::clone(&self.desk);
        tokio::task::spawn_blocking(move || {
            let told = worked.par_iter().map(|w| {
                let t = &w.run.treatment;
                let told = desk.ask(w.key, Question::AfterOven, || {
                    after_oven(&w.run, &AfterOptions::of(t)).map_err(|e| e.to_string())
                });
                AfterOf {
                    id: t.id.clone(),
                    name: t.name.clone(),
                    why: told.as_ref().err().cloned().unwrap_or_default(),
                    told: told.ok(),
                }
            });
            let mut all: Vec<AfterOf> = told.collect();
            all.extend(failed.into_iter().map(|f| AfterOf {
                id: f.id,
                name: f.name,
                told: None,
                why: f.why,
            }));
            all
        })
        .await
        .map_err(|e| AppError::BrokenOff(e.to_string()))
    }
}
