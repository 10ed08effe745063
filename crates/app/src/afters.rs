//! What happens to every treatment after the oven, kept until what it depends on changes.

use crate::answers::{Inputs, ordered};
use crate::sheet::StudyView;
use crate::{App, AppError};
use rayon::prelude::*;
use serde::Serialize;
use std::sync::Arc;
use study::after::{AfterAnswer, AfterAsked, after};

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
        let Some(study) = view.study.as_ref().map(Arc::clone) else {
            return Ok(Vec::new());
        };
        let looked = Arc::clone(&self.looked);
        tokio::task::spawn_blocking(move || {
            ordered(&study)
                .into_par_iter()
                .map(|t| {
                    let inputs = Inputs::of(&study, t);
                    let told = looked.afters.get(&inputs, 0).unwrap_or_else(|| {
                        let told = after(&study, t, &AfterAsked::of(t));
                        let told = told.map(Arc::new).map_err(|e| e.to_string());
                        looked.afters.put(inputs, 0, told.clone());
                        told
                    });
                    AfterOf {
                        id: t.id.clone(),
                        name: t.name.clone(),
                        why: told.as_ref().err().cloned().unwrap_or_default(),
                        told: told.ok(),
                    }
                })
                .collect()
        })
        .await
        .map_err(|e| AppError::BrokenOff(e.to_string()))
    }
}
