//! A batch as it stands at the bench, and the batches that wait there.

use crate::answers::worked_through;
use crate::desk::Question;
use crate::planning::resolved;
use crate::trials_kept::{TrialLine, row_of};
use crate::{App, AppError};
use bench::{Advice, Batch, Belief, Made, Place, Standing, Trial, What, advise, belief, fold};
use book::{Action, BenchEntry, Kind};
use formula::batch::{BatchLine, Scales, Size, scale};
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;
use study::chain::dough_and_piece::dough_and_piece;
use study::chain::key;
use study::{BakeOptions, Sample, Study, Workspace};
use trials::plan::Unit;

/// Division of the scale at the bench, kg.
const SCALE_KG: f64 = 0.001;

/// A batch as it stands at the bench.
#[derive(Clone, Debug, Serialize)]
pub struct AtBench {
    /// The batch with what it has come to.
    pub made: Made,
    /// Every row of it, in the order of the book.
    pub rows: Vec<BenchEntry>,
    /// What stands of it in its trial; none for a batch on its own.
    pub of: Option<OfTrial>,
    /// What is believed of its water; none where its plan tells nothing of it.
    pub belief: Option<Belief>,
    /// The next dose.
    pub advice: Option<Advice>,
    /// The lots of each material that are written down, and those that its trial has used so far.
    pub lots: BTreeMap<String, Vec<String>>,
}

/// A batch in its trial.
#[derive(Clone, Debug, Serialize)]
pub struct OfTrial {
    /// Lasting name of the trial.
    pub id: String,
    /// Its name.
    pub name: String,
    /// What the treatment is called at the bench: its code where the trial is blind.
    pub called: String,
    /// Which batch, from 1.
    pub nth: usize,
    /// Of how many.
    pub batches: usize,
}

/// A trial, or the batches of none, as the list at the bench has them.
#[derive(Clone, Debug, Serialize)]
pub struct DayTrial {
    /// Lasting name of the trial; none of batches on their own.
    pub id: Option<String>,
    /// Its name.
    pub name: String,
    /// Its batches, in the order of work.
    pub batches: Vec<DayBatch>,
}

/// A batch as the list at the bench has it.
#[derive(Clone, Debug, Serialize)]
pub struct DayBatch {
    /// Its lasting name.
    pub id: String,
    /// Its code.
    pub code: String,
    /// What its treatment is called at the bench.
    pub called: String,
    /// Place in the order of work, from 1.
    pub order: Option<usize>,
    /// Where it stands in its trial.
    pub places: Vec<Place>,
    /// Where it stands.
    pub stands: Standing,
}

impl DayBatch {
    /// All that its trial tells of a batch.
    fn of_trial(trial: &Trial, id: String, stands: Standing) -> Self {
        let run = trial.runs.iter().find(|r| r.batch == id);
        let label = run.map_or("", |r| r.treatment.as_str());
        // A food that many dogs get stands in no place of its own.
        let own = run.filter(|_| trial.unit != Unit::Dog);
        let place = |(name, value): (&String, &String)| Place {
            name: name.clone(),
            value: value.clone(),
        };
        let places = own.map_or(&[][..], |r| &r.places);
        Self {
            code: code_in(trial, &id),
            called: called_of(trial, label),
            order: own.map(|r| r.order),
            places: trial.place_names.iter().zip(places).map(place).collect(),
            id,
            stands,
        }
    }

    fn alone(made: &Made) -> Self {
        let batch = &made.batch;
        Self {
            id: made.id.clone(),
            code: batch.code.clone(),
            called: batch.label.clone(),
            order: batch.order,
            places: batch.places.clone(),
            stands: made.state.standing(),
        }
    }
}

/// The code of a batch, as the plan has it: that of its unit, or where dogs are the units the number of its food.
pub(crate) fn code_in(trial: &Trial, batch: &str) -> String {
    let run = trial.runs.iter().find(|r| r.batch == batch);
    match run {
        Some(run) if trial.unit != Unit::Dog => run.unit.clone(),
        // The plan made it of the trial's name and the code.
        _ => batch.rsplit('-').next().unwrap_or(batch).to_uppercase(),
    }
}

/// What the treatment of a batch is called at the bench.
pub fn called(trial: &Trial, batch: &Batch) -> String {
    called_of(trial, &batch.label)
}

fn called_of(trial: &Trial, label: &str) -> String {
    let pinned = trial.pinned(label);
    let named = pinned.and_then(|p| p.blind.clone().or_else(|| p.title.clone()));
    named.unwrap_or_else(|| label.to_owned())
}

impl App {
    /// Every trial with its batches, the newest first, and at the end the batches that belong to none.
    ///
    /// # Errors
    /// What the book tells.
    pub async fn day(&self) -> Result<Vec<DayTrial>, AppError> {
        let ends = self.batch_ends().await?;
        let lines = self.trials(None).await?;
        let of_trial = |line: &TrialLine| -> Vec<String> {
            line.trial
                .batches()
                .into_iter()
                .map(str::to_owned)
                .collect()
        };
        let things: Vec<String> = lines.iter().flat_map(of_trial).collect();
        let mut standings = self.standings(&things, &ends).await?.into_iter();
        let mut all = Vec::with_capacity(lines.len());
        for line in lines {
            let each = of_trial(&line).into_iter().zip(standings.by_ref());
            let batches = each.map(|(id, stands)| DayBatch::of_trial(&line.trial, id, stands));
            all.push(DayTrial {
                batches: batches.collect(),
                id: Some(line.entry.thing),
                name: line.trial.name,
            });
        }
        let known: BTreeSet<&String> = things.iter().collect();
        let mut alone: Vec<&String> = ends.keys().filter(|t| !known.contains(t)).collect();
        alone.sort_unstable();
        let mut batches = Vec::new();
        for thing in alone {
            if let Some(folded) = self.folded_if_sound(thing, &ends).await? {
                let made = &folded.view.made;
                let gone = folded.view.entry.action == Action::Remove;
                if !gone && made.batch.trial.is_none() {
                    batches.push(DayBatch::alone(made));
                }
            }
        }
        if !batches.is_empty() {
            all.push(DayTrial {
                id: None,
                name: "Batches of no trial".to_owned(),
                batches,
            });
        }
        Ok(all)
    }

    /// A batch with its rows, what is learned of its water, and what to do next.
    ///
    /// # Errors
    /// No such batch; what the book tells.
    pub async fn at_bench(&self, thing: &str) -> Result<AtBench, AppError> {
        let view = self.batch(thing).await?;
        let rows = self.book().entries_of(Kind::Batch, thing, 0).await?;
        let mut made = view.made;
        if rows.last().map_or(0, |r| r.id) != made.state.last_id {
            let entries: Vec<_> = rows.iter().cloned().map(row_of).collect();
            made.state = fold(&made.batch, &entries);
        }
        let (of, siblings) = match &made.batch.trial {
            None => (None, Arc::default()),
            Some(trial) => {
                let view = self.trial(trial).await?;
                let at = view.made.iter().position(|m| m.id == thing);
                let of = OfTrial {
                    id: trial.clone(),
                    name: view.trial.name.clone(),
                    called: called(&view.trial, &made.batch),
                    nth: made.batch.order.unwrap_or(at.unwrap_or(0) + 1),
                    batches: view.made.len(),
                };
                (Some(of), view.made)
            }
        };
        let others = || {
            siblings
                .iter()
                .filter(|m| m.id != thing && m.state.abandoned.is_none())
                .map(|m| (&m.batch, &m.state))
        };
        // A belief that can't be worked out is no reason to hold up who stands at the mixer.
        let belief = belief(&made.batch, others()).ok().flatten();
        let advice = belief
            .as_ref()
            .and_then(|b| advise(&made.batch, &made.state, b, others()).ok().flatten());
        let written = siblings.iter().map(|m| &m.state).chain([&made.state]);
        let mut lots = self.lots_written_down().await?;
        for kept in written
            .flat_map(|s| &s.words)
            .filter(|k| k.what == What::Lot)
        {
            let known = lots.entry(kept.of.clone().unwrap_or_default()).or_default();
            if !known.contains(&kept.words) {
                known.push(kept.words.clone());
            }
        }
        Ok(AtBench {
            made,
            rows,
            of,
            belief,
            advice,
            lots,
        })
    }

    /// How long a batch is planned to bake, minutes, by the revision of the study that it is pinned to: the time that is
    /// set there, else the one that meets its target. None where that can't be worked out.
    ///
    /// # Errors
    /// No such revision; what the book tells.
    pub async fn planned_bake_min(&self, batch: &Batch) -> Result<Option<f64>, AppError> {
        let study = self.pinned(batch).await?;
        let treatment = study.treatment(&batch.treatment).unwrap_or(study.control());
        if let Some(time_s) = treatment.setting.bake_time_s {
            return Ok(Some(time_s / 60.0));
        }
        let (desk, treatment) = (Arc::clone(&self.desk), treatment.clone());
        tokio::task::spawn_blocking(move || {
            let key = key(&treatment);
            let work = || worked_through(&treatment, key, &mut Workspace::new());
            let worked = desk.ask(key, Question::Run, work);
            worked.ok().map(|w| w.run.baked.time_s / 60.0)
        })
        .await
        .map_err(|e| AppError::BrokenOff(e.to_string()))
    }

    /// The study as the batch is pinned to it.
    async fn pinned(&self, batch: &Batch) -> Result<Arc<Study>, AppError> {
        let written = self
            .book()
            .numbered(Kind::Study, &batch.study, batch.revision)
            .await?
            .ok_or_else(|| AppError::NoRevision {
                thing: batch.study.clone(),
                number: batch.revision,
            })?;
        resolved(&written.form)
    }

    /// What to weigh for a batch by the revision of the study that it is pinned to, in the order of addition; nothing
    /// where its plan doesn't tell how much dough it is.
    ///
    /// # Errors
    /// No such revision; one without an answer; what the book tells.
    pub async fn weigh_list(&self, batch: &Batch) -> Result<Vec<BatchLine>, AppError> {
        let Some(kg) = batch.dough_kg.filter(|kg| *kg > 0.0) else {
            return Ok(Vec::new());
        };
        let study = self.pinned(batch).await?;
        let treatment = study.treatment(&batch.treatment).unwrap_or(study.control());
        let wrong = |why: String| AppError::Value {
            field: format!("batch {}", batch.code),
            why,
        };
        let made = dough_and_piece(treatment, &BakeOptions::QUICK, Sample::Centre)
            .map_err(|e| wrong(e.to_string()))?;
        let whole = scale(&made.formula, Size::Dough { kg }, Scales::one(SCALE_KG))
            .map_err(|e| wrong(e.to_string()))?;
        let of_water = |line: &BatchLine| {
            let found = made.formula.lines().iter();
            found
                .filter(|l| l.material.id == line.material)
                .any(|l| l.material.is_water())
        };
        Ok(whole.lines.into_iter().filter(|l| !of_water(l)).collect())
    }
}
