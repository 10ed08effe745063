//! Bakes of the whole piece. They take seconds, so each runs beside the threads that answer requests, one after
//! another, tells how far it is, and can be stopped. A whole answer is kept in the book with what went in.

use crate::answers::Inputs;
use crate::sheet::{StudyView, shown};
use crate::{App, AppError, FORM_VERSION, now};
use baking::bake::solid::{MODEL_VERSION, SolidError, SolidGrid};
use baking::piece::dock;
use book::{Kind, Save, SaveError};
use serde::Serialize;
use serde_json::{Value, json};
use sha2::{Digest, Sha256};
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::{Arc, Mutex, PoisonError};
use study::solid::dockers::{DockerStudy, DockersAsked, docker_study};
use study::solid::{FramesTold, SolidAnswer, SolidAsked, SolidWhy, frames_told, solid};
use study::{Study, Treatment};

/// Runs that are remembered, running or ended.
const MOST_RUNS: usize = 12;

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

/// How a question stands.
#[derive(Clone, Debug)]
pub enum SolidState {
    /// It wasn't asked for these inputs.
    NotAsked,
    /// It is being worked on; the share that is done.
    Running(f64),
    /// Answered.
    Done(Arc<SolidAnswered>),
    /// It can't be answered, and why.
    Failed(String),
}

/// A run.
#[derive(Debug)]
struct Run {
    inputs: Inputs,
    what: SolidWhat,
    /// Bits of the share that is done.
    done: Arc<AtomicU64>,
    stop: Arc<AtomicBool>,
    outcome: Arc<Mutex<Option<Outcome>>>,
}

#[derive(Clone, Debug)]
enum Outcome {
    Answered(Arc<SolidAnswered>),
    Failed(String),
    Stopped,
}

impl Run {
    fn outcome(&self) -> Option<Outcome> {
        self.outcome
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .clone()
    }
}

/// The runs, the newest last, and the one oven they share.
#[derive(Debug, Default)]
pub(crate) struct Solids {
    runs: Mutex<Vec<Run>>,
    oven: Arc<Mutex<()>>,
}

impl Solids {
    fn runs(&self) -> std::sync::MutexGuard<'_, Vec<Run>> {
        self.runs.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Stops every run, so that nothing is worked on after the book is closed.
    pub(crate) fn stop_all(&self) {
        for run in self.runs().iter() {
            run.stop.store(true, Ordering::Relaxed);
        }
    }
}

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
        let (study, at) = place(view, treatment)?;
        let inputs = Inputs::of(&study, &study.treatments[at]);
        let runs = self.solids.runs();
        let run = runs
            .iter()
            .rev()
            .find(|r| r.what == what && r.inputs == inputs);
        Ok(match run.map(|r| (r, r.outcome())) {
            None | Some((_, Some(Outcome::Stopped))) => SolidState::NotAsked,
            Some((r, None)) => SolidState::Running(f64::from_bits(r.done.load(Ordering::Relaxed))),
            Some((_, Some(Outcome::Answered(answer)))) => SolidState::Done(answer),
            Some((_, Some(Outcome::Failed(why)))) => SolidState::Failed(why),
        })
    }

    /// Sets a question about a treatment's whole piece to work, unless it runs or is answered already. A run of the
    /// same question for what the treatment was before is stopped.
    ///
    /// # Errors
    /// No such treatment.
    pub fn start_solid(
        &self,
        view: &StudyView,
        treatment: &str,
        what: SolidWhat,
    ) -> Result<(), AppError> {
        let (study, at) = place(view, treatment)?;
        let inputs = Inputs::of(&study, &study.treatments[at]);
        let mut runs = self.solids.runs();
        for run in runs
            .iter()
            .filter(|r| r.what == what && r.outcome().is_none())
        {
            if run.inputs == inputs {
                return Ok(());
            }
            if run.inputs.treatment_id() == treatment {
                run.stop.store(true, Ordering::Relaxed);
            }
        }
        let ended_well = |r: &Run| matches!(r.outcome(), Some(Outcome::Answered(_)));
        if runs
            .iter()
            .any(|r| r.what == what && r.inputs == inputs && ended_well(r))
        {
            return Ok(());
        }
        runs.retain(|r| !(r.what == what && r.inputs == inputs));
        while runs.len() >= MOST_RUNS {
            let Some(old) = runs.iter().position(|r| r.outcome().is_some()) else {
                return Err(AppError::Value {
                    field: "whole piece".to_owned(),
                    why: format!("{MOST_RUNS} bakes are waiting; stop one, or wait for it"),
                });
            };
            runs.remove(old);
        }
        let run = Run {
            inputs: inputs.clone(),
            what,
            done: Arc::default(),
            stop: Arc::default(),
            outcome: Arc::default(),
        };
        let (done, stop, outcome) = (
            Arc::clone(&run.done),
            Arc::clone(&run.stop),
            Arc::clone(&run.outcome),
        );
        runs.push(run);
        drop(runs);
        let oven = Arc::clone(&self.solids.oven);
        let keep = self.keeper(view, treatment, &inputs);
        let handle = tokio::runtime::Handle::current();
        std::thread::spawn(move || {
            let one_at_a_time = oven.lock().unwrap_or_else(PoisonError::into_inner);
            let mut go_on = |share: f64| {
                done.store(share.to_bits(), Ordering::Relaxed);
                !stop.load(Ordering::Relaxed)
            };
            let worked = std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| {
                work(&study, at, what, &mut go_on)
            }));
            drop(one_at_a_time);
            let ended = match worked {
                Ok(Ok(answer)) => Outcome::Answered(Arc::new(answer)),
                Ok(Err(SolidWhy::Solid(SolidError::Cancelled))) => Outcome::Stopped,
                Ok(Err(why)) => Outcome::Failed(why.to_string()),
                Err(_) => {
                    Outcome::Failed("the calculation broke off; the book is as it was".into())
                }
            };
            if let (Outcome::Answered(answer), SolidWhat::Bake) = (&ended, what) {
                handle.block_on(keep(answer));
            }
            *outcome.lock().unwrap_or_else(PoisonError::into_inner) = Some(ended);
        });
        Ok(())
    }

    /// Stops what is being worked on for a treatment; nothing half done is kept.
    ///
    /// # Errors
    /// No such treatment.
    pub fn stop_solid(&self, view: &StudyView, treatment: &str) -> Result<(), AppError> {
        place(view, treatment)?;
        for run in self.solids.runs().iter() {
            if run.inputs.treatment_id() == treatment {
                run.stop.store(true, Ordering::Relaxed);
            }
        }
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
        let (study, at) = place(view, treatment)?;
        let key = key(&Inputs::of(&study, &study.treatments[at]));
        let name = kept_name(&view.thing, treatment);
        let Some(kept) = self.book.current(Kind::Solid, &name).await? else {
            return Ok(None);
        };
        let Ok(mut form) = serde_json::from_str::<Value>(&kept.form) else {
            return Ok(None);
        };
        form["when"] = json!(kept.entry.when);
        let same = form["inputs"] == json!(key) && form["model_version"] == json!(MODEL_VERSION);
        Ok(Some((form, same)))
    }

    /// What keeps an answer in the book; a book that can't be written loses the answer's record, not the answer.
    fn keeper(
        &self,
        view: &StudyView,
        treatment: &str,
        inputs: &Inputs,
    ) -> impl FnOnce(&SolidAnswered) -> std::pin::Pin<Box<dyn Future<Output = ()> + Send>> + Send + use<>
    {
        let book = self.book.clone();
        let name = kept_name(&view.thing, treatment);
        let frozen = json!({
            "study": view.thing,
            "over_revision": view.base,
            "with_unsaved_changes": view.draft.is_some(),
            "treatment": treatment,
            "inputs": key(inputs),
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

/// SHA-256 of everything that a treatment's answer depends on.
fn key(inputs: &Inputs) -> String {
    let hash = Sha256::digest(format!("{inputs:?}"));
    hash.iter().map(|b| format!("{b:02x}")).collect()
}

fn place(view: &StudyView, treatment: &str) -> Result<(Arc<Study>, usize), AppError> {
    let none = || AppError::NoTreatment(shown(treatment));
    let study = Arc::clone(view.study.as_ref().ok_or_else(none)?);
    let at = study
        .treatments
        .iter()
        .position(|t| t.id == treatment)
        .ok_or_else(none)?;
    Ok((study, at))
}

fn work(
    study: &Study,
    at: usize,
    what: SolidWhat,
    go_on: &mut dyn FnMut(f64) -> bool,
) -> Result<SolidAnswered, SolidWhy> {
    let treatment = &study.treatments[at];
    let asked = match what {
        SolidWhat::Dockers => {
            let found = docker_study(study, treatment, &DockersAsked::default(), go_on)?;
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
    let (answer, frames) = solid(study, treatment, &asked, go_on)?;
    Ok(SolidAnswered::Bake {
        answer: Box::new(answer),
        frames: frames.as_ref().map(frames_told).unwrap_or_default(),
    })
}
