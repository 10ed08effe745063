//! What is worked out only when somebody looks at it: the cross-section through time, the settings
//! that would help most, and oven output against dough water. Each is kept until what it depends on
//! changes.

use crate::answers::Inputs;
use crate::sheet::StudyView;
use crate::{App, AppError};
use baking::after::Changed;
use std::collections::VecDeque;
use std::sync::{Arc, Mutex};
use study::after::{AfterAnswer, AfterAsked, after};
use study::compare::{WaterPoint, water_curve};
use study::field::{Field, field};
use study::sensitivity::{Sensitivity, sensitivities};
use study::{Asked, Study};

/// Answers of one kind that are kept; a field is the largest, of about 250 kB.
const MOST_KEPT: usize = 48;
/// Points of a curve against dough water.
const WATER_POINTS: usize = 11;

/// What was looked at last, each kind on a shelf of its own.
#[derive(Debug, Default)]
pub(crate) struct Looked {
    fields: Shelf<Field>,
    sensitivities: Shelf<Vec<Sensitivity>>,
    curves: Shelf<Vec<WaterPoint>>,
    pub(crate) afters: Shelf<AfterAnswer>,
    changes: Shelf<Vec<Changed>>,
}

/// An answer with what it depends on: the treatment's inputs, and how fine it was asked for.
#[derive(Debug)]
struct KeptLook<A> {
    inputs: Inputs,
    fine: usize,
    answer: Result<Arc<A>, String>,
}

/// Answers of one kind, the one used last at the front.
#[derive(Debug)]
pub(crate) struct Shelf<A>(Mutex<VecDeque<KeptLook<A>>>);

impl<A> Default for Shelf<A> {
    fn default() -> Self {
        Self(Mutex::default())
    }
}

impl<A> Shelf<A> {
    pub(crate) fn get(&self, inputs: &Inputs, fine: usize) -> Option<Result<Arc<A>, String>> {
        let mut kept = self.0.lock().ok()?;
        let at = kept
            .iter()
            .position(|k| k.fine == fine && k.inputs == *inputs)?;
        let found = kept.remove(at)?;
        let answer = found.answer.clone();
        kept.push_front(found);
        Some(answer)
    }

    pub(crate) fn put(&self, inputs: Inputs, fine: usize, answer: Result<Arc<A>, String>) {
        if let Ok(mut kept) = self.0.lock() {
            kept.push_front(KeptLook {
                inputs,
                fine,
                answer,
            });
            kept.truncate(MOST_KEPT);
        }
    }
}

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
    ) -> Result<Arc<Field>, AppError> {
        self.looked_at(
            view,
            treatment,
            frames,
            |l| &l.fields,
            move |study, at| {
                field(study, &study.treatments[at], frames).map_err(|e| e.why.to_string())
            },
        )
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
        self.looked_at(
            view,
            treatment,
            0,
            |l| &l.sensitivities,
            |study, at| sensitivities(study, &study.treatments[at]).map_err(|e| e.why.to_string()),
        )
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
        self.looked_at(
            view,
            treatment,
            WATER_POINTS,
            |l| &l.curves,
            |study, at| {
                let asked = Asked {
                    cells: 20,
                    checks: false,
                    ..Asked::QUICK
                };
                water_curve(study, &study.treatments[at], &asked, WATER_POINTS)
                    .map_err(|e| e.why.to_string())
            },
        )
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
        self.looked_at(
            view,
            treatment,
            0,
            |l| &l.changes,
            |study, at| {
                let treatment = &study.treatments[at];
                let asked = AfterAsked {
                    changes: true,
                    ..AfterAsked::of(treatment)
                };
                let answer = after(study, treatment, &asked).map_err(|e| e.to_string())?;
                Ok(answer.checking.changes)
            },
        )
        .await
    }

    /// The kept answer for a treatment, or the work done beside the threads that answer requests.
    async fn looked_at<A: Send + Sync + 'static>(
        &self,
        view: &StudyView,
        treatment: &str,
        fine: usize,
        shelf: impl Fn(&Looked) -> &Shelf<A> + Send + 'static,
        work: impl FnOnce(&Study, usize) -> Result<A, String> + Send + 'static,
    ) -> Result<Arc<A>, AppError> {
        let none = || AppError::NoTreatment(crate::sheet::shown(treatment));
        let study = Arc::clone(view.study.as_ref().ok_or_else(none)?);
        let at = study
            .treatments
            .iter()
            .position(|t| t.id == treatment)
            .ok_or_else(none)?;
        let looked = Arc::clone(&self.looked);
        let answer = tokio::task::spawn_blocking(move || {
            let shelf = shelf(&looked);
            let inputs = Inputs::of(&study, &study.treatments[at]);
            shelf.get(&inputs, fine).unwrap_or_else(|| {
                let answer = work(&study, at).map(Arc::new);
                shelf.put(inputs, fine, answer.clone());
                answer
            })
        })
        .await;
        answer
            .map_err(|e| AppError::BrokenOff(e.to_string()))?
            .map_err(|why| AppError::Value {
                field: format!("treatment {}", crate::sheet::shown(treatment)),
                why,
            })
    }
}
