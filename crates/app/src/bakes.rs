//! What is worked out only when somebody looks at it: the cross-section through time, the settings
//! that would help most, and oven output against dough water.

use crate::sheet::StudyView;
use crate::{App, AppError};
use std::sync::Arc;
use study::compare::{WaterPoint, water_curve};
use study::field::{Field, field};
use study::sensitivity::{Sensitivity, sensitivities};
use study::{Asked, Study};

impl App {
    /// The cross-section of a treatment's bake in so many frames.
    ///
    /// # Errors
    /// No such treatment, or one without an answer.
    pub async fn field(&self, view: &StudyView, treatment: &str, frames: usize) -> Result<Field, AppError> {
        with(view, treatment, move |study, at| {
            field(study, &study.treatments[at], frames).map_err(|e| e.to_string())
        })
        .await
    }

    /// Which settings of a treatment's oven and dough would change its bake most.
    ///
    /// # Errors
    /// No such treatment, or one without an answer.
    pub async fn sensitivities(&self, view: &StudyView, treatment: &str) -> Result<Vec<Sensitivity>, AppError> {
        with(view, treatment, |study, at| {
            sensitivities(study, &study.treatments[at]).map_err(|e| e.to_string())
        })
        .await
    }

    /// Oven and line output of a treatment against its dough water.
    ///
    /// # Errors
    /// No such treatment, or one without an answer.
    pub async fn water_curve(&self, view: &StudyView, treatment: &str) -> Result<Vec<WaterPoint>, AppError> {
        with(view, treatment, |study, at| {
            let asked = Asked { cells: 20, checks: false, ..Asked::QUICK };
            water_curve(study, &study.treatments[at], &asked, 11).map_err(|e| e.to_string())
        })
        .await
    }
}

/// Work on one treatment, beside the threads that answer requests.
async fn with<T: Send + 'static>(
    view: &StudyView,
    treatment: &str,
    work: impl FnOnce(&Study, usize) -> Result<T, String> + Send + 'static,
) -> Result<T, AppError> {
    let none = || AppError::NoTreatment(crate::sheet::shown(treatment));
    let study = Arc::clone(view.study.as_ref().ok_or_else(none)?);
    let at = study.treatments.iter().position(|t| t.id == treatment).ok_or_else(none)?;
    let answer = tokio::task::spawn_blocking(move || work(&study, at)).await;
    answer
        .map_err(|e| AppError::BrokenOff(e.to_string()))?
        .map_err(|why| AppError::Value { field: format!("treatment {}", crate::sheet::shown(treatment)), why })
}
