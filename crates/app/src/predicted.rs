//! What batches measured of a study’s figures, beside what is computed: by the revisions that they were made by, and by
//! the study as it was last saved.

use crate::desk::Question;
use crate::sheet::StudyView;
use crate::{App, AppError};
use bench::{Batch, Beside, Says, beside};
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;
use study::chain::Key;
use study::{Compared, Figure};

/// Revisions that are worked out for what was made by them; older ones stand without.
const MOST_REVISIONS: usize = 12;

/// A figure of a treatment, measured and computed.
#[derive(Clone, Debug, Serialize)]
pub struct Predicted {
    /// What was measured.
    pub measured: Beside,
    /// The treatment’s name.
    pub name: String,
    /// What was computed for these batches by the revisions that they were made by, each counted as often as it has
    /// batches; none where one of them can’t be worked out.
    pub for_these: Option<f64>,
    /// What is computed of the study as it was last saved.
    pub today: Option<f64>,
    /// Each batch: its code, what was computed for it, what was measured.
    pub batches: Vec<(String, Option<f64>, f64)>,
}

impl App {
    /// What a revision of a study is worked out as, from the desk where it lies there; none where it can’t be.
    pub(crate) async fn answers_at(&self, thing: &str, number: u64) -> Option<Arc<Vec<Compared>>> {
        // What a revision says never changes, so it is read once.
        let key = Key::of(&(thing, number));
        if let Some(found) = self.desk.find(key, Question::Saved) {
            return found.ok();
        }
        let form = self.form_at(thing, number).await.ok()?;
        let desk = Arc::clone(&self.desk);
        let work = move || {
            let reading = crate::reading::reading(&form).ok()?;
            reading.resolved().study.as_ref()?;
            let compared = reading.answers(&desk).compared;
            desk.lay(key, Question::Saved, Ok(compared)).ok()
        };
        tokio::task::spawn_blocking(work).await.ok().flatten()
    }

    /// Mass of a baked piece in g and cost of a kilogram in the book’s currency, as the revision that a batch is pinned to
    /// computes them; none where it can’t be worked out, no cost where a price is unknown.
    pub async fn piece_and_cost(&self, batch: &Batch) -> Option<(f64, Option<f64>)> {
        let all = self.answers_at(&batch.study, batch.revision).await?;
        let found = all.iter().find(|c| c.answer.id == batch.treatment)?;
        let of = |figure: Figure| figure.value(&found.answer).filter(|v| v.is_finite());
        Some((of(Figure::BakedMass)?, of(Figure::CostPerKg)))
    }

    /// What the batches of a study’s trials measured of its figures beside what is computed, in the order of the study, and
    /// how many batches aren’t read yet.
    ///
    /// # Errors
    /// What the book tells.
    pub async fn predicted(&self, view: &StudyView) -> Result<(Vec<Predicted>, usize), AppError> {
        let (said, unread) = self.said_of(&view.thing).await?;
        if said.is_empty() {
            return Ok((Vec::new(), unread));
        }
        let revisions: BTreeSet<u64> = said.iter().map(|s| s.revision).collect();
        let mut computed: BTreeMap<u64, Arc<Vec<Compared>>> = BTreeMap::new();
        for revision in revisions.into_iter().rev().take(MOST_REVISIONS) {
            if let Some(answers) = self.answers_at(&view.thing, revision).await {
                computed.insert(revision, answers);
            }
        }
        let saved = self.saved_answers(view).await;
        let today = saved.as_deref().unwrap_or(&view.answers.compared);
        let of = |all: &[Compared], treatment: &str, figure: Figure| {
            let found = all.iter().find(|c| c.answer.id == treatment)?;
            figure.value(&found.answer)
        };
        let mut rows = Vec::new();
        for measured in beside(&said) {
            let Some(figure) = Figure::with_key(measured.figure) else {
                continue;
            };
            let treatment = measured.treatment.as_str();
            let at = |s: &Says| of(computed.get(&s.revision)?, treatment, figure);
            let own = said.iter().filter(|s| s.treatment == treatment);
            let value = |s: &Says| {
                s.values
                    .iter()
                    .find(|v| v.0 == measured.figure)
                    .map(|v| v.1)
            };
            let batches: Vec<(String, Option<f64>, f64)> = own
                .filter_map(|s| Some((s.code.clone(), at(s), value(s)?)))
                .collect();
            let each: Option<Vec<f64>> = batches.iter().map(|b| b.1).collect();
            let for_these = each.map(|all| all.iter().sum::<f64>() / all.len() as f64);
            let named = today.iter().find(|c| c.answer.id == treatment);
            rows.push(Predicted {
                name: named.map_or_else(|| treatment.to_owned(), |c| c.answer.name.clone()),
                today: of(today, treatment, figure),
                for_these,
                batches,
                measured,
            });
        }
        let place = |r: &Predicted| {
            today
                .iter()
                .position(|c| c.answer.id == r.measured.treatment)
        };
        rows.sort_by_key(|r| (place(r).is_none(), place(r)));
        Ok((rows, unread))
    }
}
