//! What bakes of one's own taught: fits as things of the book, made in the room of long work, taken up by a study.

use crate::jobs::{About, JobId, JobState, Unanswered};
use crate::sheet::StudyView;
use crate::texts::shown;
use crate::{App, AppError, FORM_VERSION, now};
use baking::bake::{BakeInput, StageKind, Workspace};
use bench::{OvenReadings, oven_rows};
use book::{Entry, Order, Page, Save, SaveError};
use learning::next::{Means, NextBake, next_bake};
use learning::written::{self, Kept};
use learning::{Asked, Bakes, Chosen, FitError, Kind, Parameter, Row, time};
use measure::{Finding, Severity};
use std::sync::{Mutex, PoisonError};
use study::chain::Key;
use study::chain::effective::unlearned;
use study::chain::timed_bake::wanted;
use study::edit::{Edit, Part, Taught};
use study::{BakeOptions, Sample, Study, Treatment};

/// The longest name of a fit.
const LONGEST_NAME: usize = 80;
/// The question of a fit in the room of long work.
const QUESTION: &str = "own oven";

/// What is to be learned, and from what.
#[derive(Clone, Debug)]
pub struct FitAsked {
    /// Name of the fit; one of the same name gets a new revision.
    pub name: String,
    /// The treatment that was baked.
    pub treatment: String,
    /// The readings.
    pub rows: Vec<Row>,
    /// What to learn; what moves the bake of a dense piece most where nothing is named.
    pub learn: Vec<Parameter>,
    /// Whether heat from above and from the band is learned in each zone by itself.
    pub by_zone: bool,
    /// Bakes that are left out, such as those before a change of the oven.
    pub leave_out: Vec<String>,
}

/// How asking for a fit ended.
#[derive(Clone, Debug)]
pub enum FitStart {
    /// It is at work.
    AtWork,
    /// Readings that can't be so, each named by its row.
    Readings(Vec<Finding>),
}

/// A fit of the book.
#[derive(Clone, Debug)]
pub struct FitKept {
    /// Its newest revision.
    pub entry: Entry,
    /// The fit.
    pub kept: Kept,
}

/// What a fit comes to.
#[derive(Clone, Debug)]
pub struct FitLook {
    /// The bake time as believed, where the target is met.
    pub before: Option<time::Sure>,
    /// As learned; none without a fit.
    pub after: Option<time::Sure>,
    /// What the model says over the time, of each kind that was read.
    pub curves: Vec<FitCurve>,
    /// The zones: where each begins and ends, min.
    pub zones: Vec<(String, f64, f64)>,
    /// What to read of the next bake, by each of the means.
    pub next: Vec<(Means, NextBake)>,
}

/// What the model says over the time.
#[derive(Clone, Debug)]
pub struct FitCurve {
    /// Of which kind.
    pub kind: Kind,
    /// Height of a probe, m.
    pub height_m: Option<f64>,
    /// Minutes in the oven, with what is said by the best values and fitted, in the unit of the kind (per cent of the mass
    /// before for a mass).
    pub points: Vec<[f64; 3]>,
}

/// Readings of a bake that are proposed at once.
const PROPOSED: usize = 3;
/// Points of a curve.
const POINTS: usize = 36;

pub(crate) fn looked_at(
    treatment: &Treatment,
    fit: Option<&learning::Fit>,
) -> Result<FitLook, AppError> {
    let input = at_best_values(treatment)?;
    let (target, w) = (wanted(treatment), &mut Workspace::new());
    let chosen: Vec<Chosen> = match fit {
        Some(fit) => fit.parameters.iter().map(|p| p.chosen).collect(),
        None => chosen(&[], false, &input),
    };
    let told = |e: baking::bake::BakeError| wrong("bake", e.to_string());
    let after = fit.map(|fit| time::after(&input, &target, fit, w));
    let mut next = Vec::new();
    for means in Means::ALL {
        let of = (&chosen[..], fit);
        let found = next_bake(&input, &target, of, means, PROPOSED, w).map_err(told)?;
        next.extend(found.map(|n| (means, n)));
    }
    let mut begins = 0.0;
    let oven = input.stages.iter().filter(|s| s.kind == StageKind::Oven);
    let zones = treatment.setting.oven.zones.iter().zip(oven);
    let zones = zones.map(|(zone, stage)| {
        let from = begins;
        begins += stage.duration_s / 60.0;
        (zone.name.clone(), from, begins)
    });
    Ok(FitLook {
        zones: zones.collect(),
        before: time::before(&input, &target, &chosen, w).map_err(told)?,
        after: after.transpose().map_err(told)?.flatten(),
        curves: fit.map_or_else(Vec::new, |fit| curves(&input, fit, w)),
        next,
    })
}

/// The curves of what was read: masses as per cent of the mass before, moistures, each height of a probe.
fn curves(input: &BakeInput, fit: &learning::Fit, w: &mut Workspace) -> Vec<FitCurve> {
    let mut of: Vec<(Kind, Option<f64>)> = Vec::new();
    for row in fit.rows.iter().filter(|r| r.kind != Kind::EndMoisture) {
        if !of.contains(&(row.kind, row.height_m)) {
            of.push((row.kind, row.height_m));
        }
    }
    let last_s = fit.rows.iter().map(|r| r.time_s).fold(0.0, f64::max);
    let chosen: Vec<Chosen> = fit.parameters.iter().map(|p| p.chosen).collect();
    let places: Vec<f64> = fit.parameters.iter().map(|p| p.place).collect();
    let mut curve = |(kind, height_m): (Kind, Option<f64>)| {
        let rows = (1..=POINTS).map(|k| Row {
            line: k,
            bake: "curve".to_owned(),
            kind,
            time_s: last_s * k as f64 / POINTS as f64,
            value: 1.0,
            before_g: (kind == Kind::Mass).then_some(100.0),
            height_m,
        });
        let bakes = Bakes::new(input, rows.collect(), chosen.clone());
        let believed = bakes.predicted(&vec![0.0; places.len()], w);
        let fitted = bakes.predicted(&places, w);
        let minutes = bakes.rows.iter().map(|r| r.time_s / 60.0);
        let points = minutes.zip(believed.into_iter().zip(fitted));
        FitCurve {
            kind,
            height_m,
            points: points.map(|(m, (b, f))| [m, b, f]).collect(),
        }
    };
    of.into_iter().map(&mut curve).collect()
}

/// A treatment's bake at the best values of everything: what readings are held against.
///
/// # Errors
/// A treatment that can't be baked.
pub fn at_best_values(treatment: &Treatment) -> Result<BakeInput, AppError> {
    let plain = unlearned(treatment);
    let run = study::run(
        &plain,
        &BakeOptions::BAKE_ONLY,
        Sample::Centre,
        &mut Workspace::new(),
    );
    match run {
        Ok(run) => Ok(run.baked.input),
        Err(error) => Err(AppError::Value {
            field: format!("treatment {}", treatment.id),
            why: error.to_string(),
        }),
    }
}

/// What is learned in a bake: each parameter for the whole oven, or the heats in each zone of it.
pub fn chosen(learn: &[Parameter], by_zone: bool, input: &BakeInput) -> Vec<Chosen> {
    let learn = if learn.is_empty() {
        &Parameter::USUAL[..]
    } else {
        learn
    };
    let zones = |parameter: Parameter| {
        let oven = input.stages.iter().enumerate();
        oven.filter(|(_, s)| s.kind == StageKind::Oven)
            .map(move |(zone, _)| Chosen {
                parameter,
                zone: Some(zone),
            })
            .collect::<Vec<_>>()
    };
    let mut all = Vec::new();
    for parameter in learn {
        let heat = matches!(parameter, Parameter::TopHeat | Parameter::BandHeat);
        if by_zone && heat {
            all.extend(zones(*parameter));
        } else {
            all.push(Chosen::whole(*parameter));
        }
    }
    let mut once: Vec<Chosen> = Vec::new();
    all.retain(|c| {
        !once.contains(c) && {
            once.push(*c);
            true
        }
    });
    all
}

fn wrong(field: &str, why: impl Into<String>) -> AppError {
    AppError::Value {
        field: field.to_owned(),
        why: why.into(),
    }
}

fn treatment_of<'a>(study: &'a Study, id: &str) -> Result<&'a Treatment, AppError> {
    let ids = || study.treatments.iter().map(|t| t.id.as_str());
    study.treatment(id).ok_or_else(|| {
        let all = ids().collect::<Vec<_>>().join(", ");
        wrong(
            "treatment",
            format!("‘{}’ isn't one of the study's; there are {all}", shown(id)),
        )
    })
}

/// The lasting name of a fit: its study and its name, in letters that every address takes.
fn thing_of(study: &str, name: &str) -> String {
    let key = Key::of_bytes(name.as_bytes()).to_string();
    format!("{study}.{}", &key[..12])
}

fn about(study: &str) -> About {
    About {
        study: study.to_owned(),
        treatment: QUESTION.to_owned(),
    }
}

impl App {
    /// The fits of a study, the newest first.
    ///
    /// # Errors
    /// What the book tells.
    pub async fn fits(&self, study: &str) -> Result<Vec<FitKept>, AppError> {
        let mut page = Page::first(Page::LONGEST);
        let mut all = Vec::new();
        let begins = format!("{study}.");
        loop {
            let list = self
                .book
                .list(book::Kind::Fit, None, Order::Recent, page)
                .await?;
            for entry in list.items {
                if entry.thing.starts_with(&begins) {
                    let read = self.fit_read(&entry.thing).await?;
                    all.extend(read.filter(|f| f.kept.study == study));
                }
            }
            page.start += page.count;
            if page.start >= list.total {
                return Ok(all);
            }
        }
    }

    async fn fit_read(&self, thing: &str) -> Result<Option<FitKept>, AppError> {
        let Some(current) = self.book.current(book::Kind::Fit, thing).await? else {
            return Ok(None);
        };
        match written::read(&current.form) {
            Ok(kept) => Ok(Some(FitKept {
                entry: current.entry,
                kept,
            })),
            Err(error) => Err(wrong(&shown(thing), error.to_string())),
        }
    }

    /// A fit of the book.
    ///
    /// # Errors
    /// No such fit; what the book tells.
    pub async fn fit(&self, thing: &str) -> Result<FitKept, AppError> {
        self.fit_read(thing).await?.ok_or_else(|| {
            wrong(
                "fit",
                format!(
                    "there is no fit ‘{}’; look at the page Own oven",
                    shown(thing)
                ),
            )
        })
    }

    /// What the batches of a treatment tell of their oven, over all trials of a study.
    ///
    /// # Errors
    /// What the book tells.
    pub async fn oven_readings(
        &self,
        study: &str,
        treatment: &str,
    ) -> Result<OvenReadings, AppError> {
        let all = self.batches_of(study).await?;
        let made = all.iter().flat_map(|(_, made)| made.iter());
        Ok(oven_rows(made.filter(|m| m.batch.treatment == treatment)))
    }

    /// How the fit stands that a study was last asked for; its lasting name when it is done.
    pub fn fit_stands(&self, view: &StudyView) -> JobState<String> {
        match self.jobs.newest(&about(&view.thing), QUESTION) {
            Some(id) => self.jobs.state(&id),
            None => JobState::NotAsked,
        }
    }

    /// Sets a fit to work; it is kept in the book when it is done.
    ///
    /// # Errors
    /// A treatment that isn't there or can't be baked, a name that can't be one, nothing to learn from;
    /// [`AppError::Full`].
    pub async fn start_fit(
        &self,
        who: &str,
        view: &StudyView,
        asked: FitAsked,
    ) -> Result<FitStart, AppError> {
        let name = asked.name.trim().to_owned();
        if name.is_empty() || name.chars().count() > LONGEST_NAME {
            return Err(wrong(
                "name",
                format!("give the fit a name of 1 to {LONGEST_NAME} letters"),
            ));
        }
        let study = view
            .study
            .as_deref()
            .ok_or_else(|| wrong("study", "it has problems; solve them first"))?;
        let treatment = treatment_of(study, &asked.treatment)?.clone();
        let mut rows = asked.rows;
        rows.retain(|r| !asked.leave_out.contains(&r.bake));
        if rows.is_empty() {
            return Err(wrong(
                "readings",
                "there are none; weigh pieces pulled from the oven at set times, or type the table",
            ));
        }
        let title = format!("{}, treatment {}", study.name, treatment.id);
        let (learn, by_zone) = (asked.learn, asked.by_zone);
        let prepared = tokio::task::spawn_blocking(move || {
            let input = at_best_values(&treatment)?;
            let chosen = chosen(&learn, by_zone, &input);
            let bakes = Bakes::new(&input, rows, chosen);
            let found = learning::fit::checked(&bakes);
            Ok::<_, AppError>((bakes, found))
        });
        let prepared = prepared
            .await
            .map_err(|e| AppError::BrokenOff(e.to_string()))?;
        let (bakes, found) = prepared?;
        if found.iter().any(|f| f.severity == Severity::Stop) {
            return Ok(FitStart::Readings(found));
        }
        let kept = move |fit| Kept {
            of: title,
            name,
            study: String::new(),
            treatment: asked.treatment,
            made: now().chars().take(10).collect(),
            fit,
        };
        self.fit_at_work(who, &view.thing, bakes, kept)?;
        Ok(FitStart::AtWork)
    }

    fn fit_at_work(
        &self,
        who: &str,
        study: &str,
        bakes: Bakes,
        kept: impl FnOnce(learning::Fit) -> Kept + Send + 'static,
    ) -> Result<(), AppError> {
        // Whoever asks again wants it made again.
        let id = JobId {
            about: about(study),
            key: Key::of(&now()),
            question: QUESTION,
        };
        let (book, who, study) = (self.book.clone(), who.to_owned(), study.to_owned());
        let handle = tokio::runtime::Handle::current();
        let work = move |go_on: &mut (dyn FnMut(f64) -> bool + Send)| {
            let go_on = Mutex::new(go_on);
            let told = |share: f64| {
                let mut go_on = go_on.lock().unwrap_or_else(PoisonError::into_inner);
                go_on(share)
            };
            let fit = match learning::fit(&bakes, Asked::USUAL, &told) {
                Ok(fit) => fit,
                Err(FitError::Stopped) => return Err(Unanswered::Stopped),
                Err(error) => return Err(Unanswered::Failed(error.to_string())),
            };
            let kept = Kept {
                study: study.clone(),
                ..kept(fit)
            };
            let thing = thing_of(&study, &kept.name);
            let saved = handle.block_on(keep(&book, &who, &thing, &kept));
            saved.map_err(|e| Unanswered::Failed(e.to_string()))?;
            Ok(thing)
        };
        self.jobs.start(id, work, |_: &String| ())
    }

    /// Makes a fit anew from the readings that it keeps, with the study and the arithmetic as they are now.
    ///
    /// # Errors
    /// No such fit; as [`Self::start_fit`].
    pub async fn fit_again(
        &self,
        who: &str,
        view: &StudyView,
        thing: &str,
        leave_out: Vec<String>,
    ) -> Result<FitStart, AppError> {
        let old = self.fit(thing).await?.kept;
        let all = old.fit.parameters.iter().map(|p| p.chosen);
        let by_zone = all.clone().any(|c| c.zone.is_some());
        let asked = FitAsked {
            name: old.name,
            treatment: old.treatment,
            learn: all.map(|c| c.parameter).collect(),
            rows: old.fit.rows,
            by_zone,
            leave_out,
        };
        self.start_fit(who, view, asked).await
    }

    /// Stops the fit that is at work for a study.
    pub fn stop_fit(&self, view: &StudyView) {
        self.jobs.stop(&about(&view.thing));
    }

    /// What a fit comes to: the bake time of its treatment before and after it, the curves over the zones, and what to read
    /// next.
    ///
    /// # Errors
    /// A treatment that isn't there any more, or can't be baked.
    pub async fn fit_look(&self, view: &StudyView, kept: &Kept) -> Result<FitLook, AppError> {
        let study = view
            .study
            .as_deref()
            .ok_or_else(|| wrong("study", "it has problems; solve them first"))?;
        let treatment = treatment_of(study, &kept.treatment)?.clone();
        let fit = kept.fit.clone();
        let worked = tokio::task::spawn_blocking(move || looked_at(&treatment, Some(&fit)));
        worked
            .await
            .map_err(|e| AppError::BrokenOff(e.to_string()))?
    }

    /// Takes a fit up in a study's draft. One with doubts is taken up only by who has seen them.
    ///
    /// # Errors
    /// No such fit, one of another version of the arithmetic, one with doubts that weren't seen; what an edit tells.
    pub async fn take_up_fit(
        &self,
        who: &str,
        thing: &str,
        seen: u64,
        fit: &str,
        doubts_seen: bool,
    ) -> Result<StudyView, AppError> {
        let kept = self.fit(fit).await?.kept;
        if kept.study != thing {
            return Err(wrong(
                "fit",
                "it is of another study: factors hold for one product in one oven; fit this one's own bakes",
            ));
        }
        if !kept.fit.holds() {
            return Err(wrong(
                "fit",
                "it was made under another version of the bake's arithmetic; make it anew first",
            ));
        }
        let doubts: Vec<&str> = kept.fit.doubts().map(|f| f.message.as_str()).collect();
        if !doubts.is_empty() && !doubts_seen {
            return Err(wrong(
                "fit",
                format!(
                    "it has doubts: {}; take it up with them in mind, or make it anew",
                    doubts.join("; ")
                ),
            ));
        }
        let learned = Taught::of_fit(&kept);
        self.edit(who, thing, seen, &[Edit::TakeUp { learned }])
            .await
    }

    /// Leaves out what was learned of a part.
    ///
    /// # Errors
    /// What an edit tells.
    pub async fn leave_out(
        &self,
        who: &str,
        thing: &str,
        seen: u64,
        part: Part,
    ) -> Result<StudyView, AppError> {
        self.edit(who, thing, seen, &[Edit::LeaveOut { part }])
            .await
    }
}

/// Saves a fit as the newest revision of its name.
async fn keep(book: &book::Book, who: &str, thing: &str, kept: &Kept) -> Result<Entry, AppError> {
    const TRIES: usize = 3;
    let mut tried = 1;
    loop {
        let newest = book.newest(book::Kind::Fit, thing).await?;
        let save = Save {
            kind: book::Kind::Fit,
            thing: thing.to_owned(),
            base: newest.map(|n| n.entry.number),
            who: who.to_owned(),
            when: now(),
            why: None,
            title: kept.name.clone(),
            form_version: FORM_VERSION,
            form: written::write(kept),
        };
        match book.save(save).await {
            // Somebody else's fit of the same name came in between.
            Err(SaveError::Stale { .. }) if tried < TRIES => tried += 1,
            saved => return Ok(saved?.entry),
        }
    }
}
