//! What is worked out only when somebody looks at it: the cross-section through time, the settings that would help
//! most, output against dough water. Each is kept on the desk until what it depends on changes.

use crate::desk::Question;
use crate::sheet::StudyView;
use crate::{App, AppError};
use baking::after::Changed;
use std::sync::Arc;
use study::chain::shelf_life::AfterOptions;
use study::compare::{Sensitivity, WaterPoint, sensitivities, water_curve};
use study::views::after_oven::after_oven;
use study::views::cross_section::{CrossSection, cross_section};
use study::{BakeOptions, Run};

/// Points of a curve against dough water.
const WATER_POINTS: usize = 11;

impl App {
    /// The cross-section of a treatment's bake in so many frames.
    ///
    /// # Errors
    /// No such treatment, or one without an answer.
    pub async fn field(
        &self,
        view: &StudyView,
        treatment: &str,
        frames: usize,
    ) -> Result<Arc<CrossSection>, AppError> {
        let question = Question::CrossSection(frames);
        self.looked_at(view, treatment, question, move |run| {
            cross_section(run, frames).map_err(|e| e.why.to_string())
        })
        .await
    }

    /// Which settings of a treatment's oven and dough would change its bake most.
    ///
    /// # Errors
    /// No such treatment, or one without an answer.
    pub async fn sensitivities(
        &self,
        view: &StudyView,
        treatment: &str,
    ) -> Result<Arc<Vec<Sensitivity>>, AppError> {
        self.looked_at(view, treatment, Question::Sensitivities, |run| {
            sensitivities(run).map_err(|e| e.why.to_string())
        })
        .await
    }

    /// Oven and line output of a treatment against its dough water.
    ///
    /// # Errors
    /// No such treatment, or one without an answer.
    pub async fn water_curve(
        &self,
        view: &StudyView,
        treatment: &str,
    ) -> Result<Arc<Vec<WaterPoint>>, AppError> {
        self.looked_at(view, treatment, Question::WaterCurve, |run| {
            water_curve(&run.treatment, &BakeOptions::COARSE, WATER_POINTS)
                .map_err(|e| e.why.to_string())
        })
        .await
    }

    /// What the changes of the trade would do to a treatment's checking, each baked again to the same dryness.
    ///
    /// # Errors
    /// No such treatment, or one without an answer.
    pub async fn checking_changes(
        &self,
        view: &StudyView,
        treatment: &str,
    ) -> Result<Arc<Vec<Changed>>, AppError> {
        self.looked_at(view, treatment, Question::CheckingChanges, |run| {
            let options = AfterOptions {
                changes: true,
                ..AfterOptions::of(&run.treatment)
            };
            let answer = after_oven(run, &options).map_err(|e| e.to_string())?;
            Ok(answer.checking.changes)
        })
        .await
    }

    /// The kept answer for a treatment, or the work done beside the threads that answer requests.
    pub(crate) async fn looked_at<A: crate::desk::Kept>(
        &self,
        view: &StudyView,
        treatment: &str,
        question: Question,
        work: impl FnOnce(&Run) -> Result<A, String> + Send + 'static,
    ) -> Result<Arc<A>, AppError> {
        let worked = Arc::clone(view.worked(treatment)?);
        let desk = Arc::clone(&self.desk);
        tokio::task::spawn_blocking(move || desk.ask(worked.key, question, || work(&worked.run)))
            .await
            .map_err(|e| AppError::BrokenOff(e.to_string()))?
            .map_err(|why| AppError::Value {
                field: format!("treatment {}", crate::texts::shown(treatment)),
                why,
            })
    }
}
