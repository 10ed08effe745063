//! What the batches of a study taught of its doughs: the water that materials take, and the cutting.

use crate::next_trial::standing;
use crate::sheet::StudyView;
use crate::{App, AppError};
use bench::{WaterTaught, WholeTaught, water_taught, whole_taught};
use study::chain::dough_and_piece::dough_and_piece;
use study::chain::learned::water_believed;
use study::edit::{self, Edit, Part, Taught};
use study::{BakeOptions, Sample};

/// What batches taught of doughs.
#[derive(Clone, Debug, Default)]
pub struct DoughsTaught {
    /// Of the water that materials take.
    pub water: Option<WaterTaught>,
    /// The need of each treatment by name, with its limits as the study stands and with what was taught.
    pub needs: Vec<(String, [f64; 3], [f64; 3])>,
    /// Of pieces leaving the cutter whole.
    pub whole: Option<WholeTaught>,
}

fn wrong(why: impl Into<String>) -> AppError {
    AppError::Value {
        field: "batches".to_owned(),
        why: why.into(),
    }
}

impl App {
    /// What the batches of a study's trials taught of its doughs.
    ///
    /// # Errors
    /// What the book tells; numbers that can't be.
    pub async fn doughs_taught(&self, view: &StudyView) -> Result<DoughsTaught, AppError> {
        let Some(study) = view.study.as_deref() else {
            return Ok(DoughsTaught::default());
        };
        let made = self.batches_of(&view.thing).await?;
        let told = |e: bench::LearnError| wrong(e.to_string());
        let all = || standing(&made).map(|m| (&m.batch, &m.state));
        let water = water_taught(&water_believed(study), all()).map_err(told)?;
        let mut needs = Vec::new();
        if let Some(taught) = &water {
            let learned = Taught::of_water(taught.stands_on(), &taught.after);
            let with = edit::apply(&view.written, &Edit::TakeUp { learned });
            let with = with.ok().and_then(|w| study::written::resolve(&w).ok());
            for treatment in &study.treatments {
                let other = with.as_ref().and_then(|s| s.treatment(&treatment.id));
                let need = |t| dough_and_piece(t, &BakeOptions::BAKE_ONLY, Sample::Centre).ok();
                if let Some((now, then)) = need(treatment).zip(other.and_then(need)) {
                    let limits = |n: &formula::WaterNeed| [n.mean, n.low95, n.high95];
                    let name = treatment.name.clone();
                    needs.push((name, limits(&now.need), limits(&then.need)));
                }
            }
        }
        Ok(DoughsTaught {
            whole: whole_taught(all()).map_err(told)?,
            water,
            needs,
        })
    }

    /// Takes up in a study's draft what its batches taught of the water or of the cutting.
    ///
    /// # Errors
    /// Nothing that taught it; what an edit tells.
    pub async fn take_up_doughs(
        &self,
        who: &str,
        thing: &str,
        seen: u64,
        part: Part,
    ) -> Result<StudyView, AppError> {
        let view = self.study(who, thing).await?;
        let told = self.doughs_taught(&view).await?;
        let learned = match part {
            Part::Water => told
                .water
                .map(|w| Taught::of_water(w.stands_on(), &w.after)),
            Part::Whole => (told.whole).and_then(|w| Taught::of_whole(w.stands_on(), &w.after)),
            Part::Bake => None,
        };
        let learned = learned.ok_or_else(|| {
            wrong("none of this study's trials taught it yet; titrate a dough or count what is cut")
        })?;
        self.edit(who, thing, seen, &[Edit::TakeUp { learned }])
            .await
    }
}
