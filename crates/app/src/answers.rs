//! What the treatments of a study do, worked out once and kept until their inputs change.
//!
//! A treatment's answer depends on its resolved formula and setting and on four things of the
//! study. Where those are equal to what was worked out before, the answer is the kept one: an
//! edited cell works out one treatment and those that start from it.

use rayon::prelude::*;
use serde::Serialize;
use std::collections::HashMap;
use std::fmt::Write as _;
use std::hash::{DefaultHasher, Hash, Hasher};
use std::sync::{Arc, Mutex};
use study::study::{Species, Target};
use study::{Asked, Compared, Draw, KnockOn, Study, Treatment, Workspace, knock_on};

/// Answers that are kept; about 30 kB each.
const MOST_KEPT: usize = 600;

/// A treatment that has no answer, and why.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Failed {
    /// Short name of the treatment.
    pub id: String,
    /// Its name.
    pub name: String,
    /// What can't be worked out, by name and value.
    pub why: String,
}

/// The answers of a study: the control first, then the others as written.
#[derive(Clone, Debug, Default, Serialize)]
pub struct Answers {
    /// Treatments with an answer, each with its differences from the control.
    pub compared: Vec<Compared>,
    /// Treatments without one.
    pub failed: Vec<Failed>,
    /// How many were worked out for this answer; the others were kept from before.
    pub worked_out: usize,
}

/// What an answer depends on.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Inputs {
    species: Species,
    currency: String,
    target: Target,
    treatment: Treatment,
}

impl Inputs {
    pub(crate) fn of(study: &Study, treatment: &Treatment) -> Self {
        let mut treatment = treatment.clone();
        // Words that no number depends on.
        treatment.note.clear();
        treatment.from = None;
        treatment.changes.clear();
        treatment.own.clear();
        Self {
            species: study.species,
            currency: study.currency.clone(),
            target: study.target,
            treatment,
        }
    }

    /// Short name of the treatment.
    pub(crate) fn treatment_id(&self) -> &str {
        &self.treatment.id
    }

    fn hash(&self) -> u64 {
        struct Sink(DefaultHasher);
        impl std::fmt::Write for Sink {
            fn write_str(&mut self, text: &str) -> std::fmt::Result {
                text.hash(&mut self.0);
                Ok(())
            }
        }
        let mut sink = Sink(DefaultHasher::new());
        // The debug form has every field and the shortest digits that read back the same.
        let _never_fails = write!(sink, "{self:?}");
        sink.0.finish()
    }
}

#[derive(Debug)]
struct KeptAnswer {
    inputs: Inputs,
    answer: Result<Arc<KnockOn>, String>,
    used: u64,
}

/// Answers by the hash of their inputs; equality of the inputs themselves decides.
#[derive(Debug, Default)]
pub(crate) struct Cache(Mutex<Shelf>);

#[derive(Debug, Default)]
struct Shelf {
    clock: u64,
    kept: HashMap<u64, KeptAnswer>,
}

impl Cache {
    fn get(&self, hash: u64, inputs: &Inputs) -> Option<Result<Arc<KnockOn>, String>> {
        let mut shelf = self.0.lock().ok()?;
        shelf.clock += 1;
        let clock = shelf.clock;
        let kept = shelf.kept.get_mut(&hash).filter(|k| k.inputs == *inputs)?;
        kept.used = clock;
        Some(kept.answer.clone())
    }

    fn put(&self, hash: u64, inputs: Inputs, answer: Result<Arc<KnockOn>, String>) {
        let Ok(mut shelf) = self.0.lock() else { return };
        if shelf.kept.len() >= MOST_KEPT {
            let mut ages: Vec<u64> = shelf.kept.values().map(|k| k.used).collect();
            ages.sort_unstable();
            let old = ages[ages.len() / 4];
            shelf.kept.retain(|_, k| k.used > old);
        }
        let used = shelf.clock;
        shelf.kept.insert(
            hash,
            KeptAnswer {
                inputs,
                answer,
                used,
            },
        );
    }
}

/// The answers of a study, from the cache where inputs are the same.
pub(crate) fn answers(study: &Study, cache: &Cache) -> Answers {
    let order = ordered(study);
    let wanted: Vec<(&Treatment, Inputs, u64)> = order
        .into_iter()
        .map(|t| {
            let inputs = Inputs::of(study, t);
            let hash = inputs.hash();
            (t, inputs, hash)
        })
        .collect();
    let found: Vec<Option<Result<Arc<KnockOn>, String>>> = wanted
        .iter()
        .map(|(_, inputs, hash)| cache.get(*hash, inputs))
        .collect();
    let missing: Vec<usize> = (0..wanted.len()).filter(|i| found[*i].is_none()).collect();
    let new: Vec<(usize, Result<Arc<KnockOn>, String>)> = missing
        .par_iter()
        .map_init(Workspace::new, |workspace, &i| {
            let answer = knock_on(study, wanted[i].0, &Asked::QUICK, Draw::Centre, workspace);
            (i, answer.map(Arc::new).map_err(|e| e.why.to_string()))
        })
        .collect();
    let worked_out = new.len();
    let mut found = found;
    for (i, answer) in new {
        cache.put(wanted[i].2, wanted[i].1.clone(), answer.clone());
        found[i] = Some(answer);
    }
    let mut answers = Answers {
        worked_out,
        ..Answers::default()
    };
    let control_id = &study.control().id;
    let control = found
        .first()
        .and_then(|f| f.as_ref())
        .and_then(|r| r.as_ref().ok())
        .cloned();
    for ((treatment, ..), answer) in wanted.iter().zip(found) {
        match answer {
            Some(Ok(answer)) => {
                let answer = (*answer).clone();
                answers.compared.push(match control.as_deref() {
                    Some(control) => Compared::beside(answer, control),
                    None => {
                        let alone = answer.clone();
                        Compared::beside(answer, &alone)
                    }
                });
            }
            Some(Err(why)) => {
                answers.failed.push(Failed {
                    id: treatment.id.clone(),
                    name: treatment.name.clone(),
                    why,
                });
            }
            None => {}
        }
    }
    debug_assert!(
        answers
            .compared
            .first()
            .is_none_or(|c| control.is_none() || c.answer.id == *control_id)
    );
    answers
}

/// The control first, then the others as written.
pub(crate) fn ordered(study: &Study) -> Vec<&Treatment> {
    let control = study.control();
    std::iter::once(control)
        .chain(study.treatments.iter().filter(|t| t.id != control.id))
        .collect()
}
