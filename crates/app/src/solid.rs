//! Bakes of the whole piece. They take seconds, so each is a job; a whole answer is kept in the book with what went in.

use crate::answers::Worked;
use crate::jobs::{About, JobId, JobState, Unanswered};
use crate::sheet::StudyView;
use crate::texts::shown;
use crate::{App, AppError, FORM_VERSION, now};
use baking::bake::solid::{MODEL_VERSION, SolidError, SolidGrid};
use baking::piece::dock;
use book::{Kind, Save, SaveError};
use serde::Serialize;
use serde_json::{Value, json};
use std::sync::Arc;
use study::views::whole_piece::dockers::{DockerStudy, DockersAsked, docker_study};
use study::views::whole_piece::{
    FramesTold, SolidAnswer, SolidAsked, SolidWhy, frames_told, whole_piece, whole_piece_key,
};
use study::{Run, Treatment};

/// What is asked of the whole piece.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SolidWhat {
    /// A coarse bake, for a first look; not kept in the book.
    Preview,
    /// The bake on the usual grid, beside the same piece without holes.
    Bake,
    /// Numbers of docker holes and diameters, tried out.
    Dockers,
}

impl SolidWhat {
    /// Everything that can be asked.
    pub const ALL: [Self; 3] = [Self::Preview, Self::Bake, Self::Dockers];

    /// The word in forms and addresses.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Preview => "preview",
            Self::Bake => "bake",
            Self::Dockers => "dockers",
        }
    }

    /// The question that a word stands for.
    pub fn of(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|w| w.word() == word)
    }
}

/// An answer about the whole piece.
#[derive(Debug)]
pub enum SolidAnswered {
    /// A bake.
    Bake {
        /// The answer.
        answer: Box<SolidAnswer>,
        /// Pictures through time.
        frames: FramesTold,
    },
    /// A docker study.
    Dockers(DockerStudy),
}

/// A piece seen from above, for drawing over its pictures: from the middle of its extent, x along the band.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SeenFromAbove {
    /// Corners of the outline, mm.
    pub outline_mm: Vec<(f64, f64)>,
    /// Middles of the docker holes, mm.
    pub holes_mm: Vec<(f64, f64)>,
    /// Radius of a hole, mm.
    pub hole_radius_mm: f64,
}

/// A treatment's piece seen from above; no holes where their pattern can't be laid out.
pub fn seen_from_above(treatment: &Treatment) -> SeenFromAbove {
    /// Far below what a screen shows.
    const TOLERANCE_M: f64 = 5e-5;
    let setting = &treatment.setting;
    let mm = |m: f64| (m * 1e5).round() / 100.0;
    let points = |all: &[(f64, f64)]| all.iter().map(|(x, y)| (mm(*x), mm(*y))).collect();
    let docked = dock(&setting.piece, &setting.docker_pattern).ok();
    SeenFromAbove {
        outline_mm: points(&setting.piece.outline.polygon(TOLERANCE_M)),
        holes_mm: docked
            .as_ref()
            .map_or_else(Vec::new, |d| points(&d.centres_m)),
        hole_radius_mm: docked.map_or(0.0, |d| 0.5 * mm(d.diameter_m)),
    }
}

/// How a question about the whole piece stands.
pub type SolidState = JobState<SolidAnswered>;

impl App {
    /// How a question about a treatment's whole piece stands, for its inputs as they are now.
    ///
    /// # Errors
    /// No such treatment.
    pub fn solid(
        &self,
        view: &StudyView,
        treatment: &str,
        what: SolidWhat,
    ) -> Result<SolidState, AppError> {
        let id = job(view, view.worked(treatment)?, what);
        Ok(self.jobs.state(&id))
    }

    /// Sets a question about a treatment's whole piece to work, unless it runs or is answered already. A run of the
    /// same question for what the treatment was before is stopped.
    ///
    /// # Errors
    /// No such treatment; [`AppError::Full`].
    pub fn start_solid(
        &self,
        view: &StudyView,
        treatment: &str,
        what: SolidWhat,
    ) -> Result<(), AppError> {
        let worked = view.worked(treatment)?;
        let run = Arc::clone(&worked.run);
        let keep = self.keeper(view, worked);
        let handle = tokio::runtime::Handle::current();
        self.jobs.start(
            job(view, worked, what),
            move |go_on| work(&run, what, go_on),
            move |answer| {
                if what == SolidWhat::Bake {
                    handle.block_on(keep(answer));
                }
            },
        )
    }

    /// Stops what is being worked on for a treatment; nothing half done is kept.
    ///
    /// # Errors
    /// No such treatment.
    pub fn stop_solid(&self, view: &StudyView, treatment: &str) -> Result<(), AppError> {
        self.jobs.stop(&about(view, view.worked(treatment)?));
        Ok(())
    }

    /// The answer that the book keeps for a treatment's whole piece, and whether its inputs are those of now.
    ///
    /// # Errors
    /// No such treatment; what the book tells.
    pub async fn kept_solid(
        &self,
        view: &StudyView,
        treatment: &str,
    ) -> Result<Option<(Value, bool)>, AppError> {
        let key = baked_key(view.worked(treatment)?);
        let name = kept_name(&view.thing, treatment);
        let Some(kept) = self.book.current(Kind::Solid, &name).await? else {
            return Ok(None);
        };
        let Ok(mut form) = serde_json::from_str::<Value>(&kept.form) else {
            return Ok(None);
        };
        form["when"] = json!(kept.entry.when);
        let same = form["inputs"] == json!(key);
        Ok(Some((form, same)))
    }

    /// What keeps an answer in the book; a book that can't be written loses the answer's record, not the answer.
    fn keeper(
        &self,
        view: &StudyView,
        worked: &Worked,
    ) -> impl FnOnce(&SolidAnswered) -> std::pin::Pin<Box<dyn Future<Output = ()> + Send>> + Send + use<>
    {
        let book = self.book.clone();
        let treatment = &worked.run.treatment.id;
        let name = kept_name(&view.thing, treatment);
        let frozen = json!({
            "study": view.thing,
            "over_revision": view.base,
            "with_unsaved_changes": view.draft.is_some(),
            "treatment": treatment,
            "inputs": baked_key(worked),
            "model_version": MODEL_VERSION,
        });
        let title = format!("whole piece: {}", shown(treatment));
        move |answered| {
            let mut form = frozen;
            if let SolidAnswered::Bake { answer, .. } = answered {
                form["answer"] = without_maps(answer);
            }
            Box::pin(async move {
                for _ in 0..3 {
                    let Ok(newest) = book.newest(Kind::Solid, &name).await else {
                        return;
                    };
                    let save = Save {
                        kind: Kind::Solid,
                        thing: name.clone(),
                        base: newest.map(|n| n.entry.number),
                        who: "solid bake".to_owned(),
                        when: now(),
                        why: None,
                        title: title.clone(),
                        form_version: FORM_VERSION,
                        form: form.to_string(),
                    };
                    match book.save(save).await {
                        Err(SaveError::Stale { .. }) => {}
                        Ok(_) | Err(_) => return,
                    }
                }
            })
        }
    }
}

/// The answer in numbers and words, without maps and histories: those are computed again when looked at.
fn without_maps(answer: &SolidAnswer) -> Value {
    let mut value = serde_json::to_value(answer).unwrap_or_default();
    if let Some(answer) = value.as_object_mut() {
        answer.retain(|name, _| !name.contains("history"));
        for end in answer
            .get_mut("ends")
            .and_then(Value::as_array_mut)
            .into_iter()
            .flatten()
        {
            if let Some(end) = end.as_object_mut() {
                end.retain(|name, _| !name.ends_with("_map"));
            }
        }
    }
    value
}

fn kept_name(thing: &str, treatment: &str) -> String {
    format!("{thing}.{treatment}")
}

fn about(view: &StudyView, worked: &Worked) -> About {
    About {
        study: view.thing.clone(),
        treatment: worked.run.treatment.id.clone(),
    }
}

fn job(view: &StudyView, worked: &Worked, what: SolidWhat) -> JobId {
    JobId {
        about: about(view, worked),
        key: worked.key,
        question: what.word(),
    }
}

/// Hash of what the bake of the whole piece reads, its model's version in it: a new name changes nothing, new
/// arithmetic does.
fn baked_key(worked: &Worked) -> String {
    whole_piece_key(&worked.run).to_string()
}

fn work(
    run: &Run,
    what: SolidWhat,
    go_on: &mut (dyn FnMut(f64) -> bool + Send),
) -> Result<SolidAnswered, Unanswered> {
    let ended = |why: SolidWhy| match why {
        SolidWhy::Solid(SolidError::Cancelled) => Unanswered::Stopped,
        why => Unanswered::Failed(why.to_string()),
    };
    let asked = match what {
        SolidWhat::Dockers => {
            let found = docker_study(run, &DockersAsked::default(), go_on).map_err(ended)?;
            return Ok(SolidAnswered::Dockers(found));
        }
        SolidWhat::Preview => SolidAsked {
            grid: Some(SolidGrid::PREVIEW),
            compare: false,
            frames: 60,
            ..SolidAsked::default()
        },
        SolidWhat::Bake => SolidAsked {
            frames: 60,
            ..SolidAsked::default()
        },
    };
    let (answer, frames) = whole_piece(run, &asked, go_on).map_err(ended)?;
    Ok(SolidAnswered::Bake {
        answer: Box::new(answer),
        frames: frames.as_ref().map(frames_told).unwrap_or_default(),
    })
}
