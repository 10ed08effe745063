//! Why the treatments of a study differ from their control.

use crate::desk::Question;
use crate::patient::patiently;
use crate::sheet::StudyView;
use crate::{App, AppError, Worked};
use std::collections::BTreeMap;
use std::sync::Arc;
use study::chain::Key;
use study::compare::bridge::{Bridge, Depth, Exchange};
use study::compare::tries::{Try, tries};
use study::{BakeOptions, Compared, Figure};

/// The bridges of a treatment by figure, or why there is none.
type Bridges = BTreeMap<Figure, Result<Bridge, String>>;

/// Why a treatment's figure differs from the control's.
#[derive(Clone, Debug)]
pub struct WhyOf {
    /// Short name of the treatment.
    pub id: String,
    /// The bridge from the control, or why there is none.
    pub bridge: Result<Bridge, String>,
}

impl App {
    /// The bridges of a figure from the control to each treatment that was worked out; nothing where the control wasn't.
    ///
    /// # Errors
    /// The work was broken off.
    pub async fn whys(&self, view: &StudyView, figure: Figure) -> Result<Vec<WhyOf>, AppError> {
        let desk = Arc::clone(&self.desk);
        let worked = view.answers.worked.clone();
        let control = view.study.as_ref().map(|s| s.control().id.clone());
        let work = move || {
            let [first, others @ ..] = &worked[..] else {
                return Vec::new();
            };
            if control.as_ref() != Some(&first.answer.id) {
                return Vec::new();
            }
            let depth = Depth::of(figure);
            let why = |w: &Arc<Worked>| {
                let key = Key::of(&(first.key.to_string(), w.key.to_string()));
                let bridges = desk.ask(key, Question::Bridges(depth), || {
                    Ok::<Bridges, String>(bridges(first, w, depth))
                });
                let none = || Err("it isn’t worked out".to_owned());
                let bridge = bridges.and_then(|b| b.get(&figure).cloned().unwrap_or_else(none));
                WhyOf {
                    id: w.answer.id.clone(),
                    bridge,
                }
            };
            others.iter().map(why).collect()
        };
        tokio::task::spawn_blocking(work)
            .await
            .map_err(|e| AppError::BrokenOff(e.to_string()))
    }

    /// What to try for a figure of a treatment.
    ///
    /// # Errors
    /// No such treatment, or one without an answer.
    pub async fn tries(
        &self,
        view: &StudyView,
        treatment: &str,
        figure: Figure,
    ) -> Result<Arc<Vec<Try>>, AppError> {
        self.looked_at(view, treatment, Question::Tries(figure), move |run| {
            Ok(patiently(|| tries(run, figure)))
        })
        .await
    }

    /// What the treatments of a study did when it was last saved; none while nothing is unsaved or where that can't be
    /// worked out.
    pub async fn saved_answers(&self, view: &StudyView) -> Option<Arc<Vec<Compared>>> {
        view.draft.as_ref()?;
        self.answers_at(&view.thing, view.base).await
    }
}

/// The bridges of every figure that needs no more of the chain.
fn bridges(control: &Worked, treatment: &Worked, depth: Depth) -> Bridges {
    let ends = [&control.run.treatment, &treatment.run.treatment];
    let answers = [&control.answer, &treatment.answer];
    let exchange = Exchange::new(ends, answers, depth, &BakeOptions::QUICK);
    let of_this = Figure::ALL.into_iter().filter(|f| Depth::of(*f) == depth);
    of_this.map(|f| (f, exchange.bridge(f))).collect()
}
