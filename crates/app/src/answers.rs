//! What the treatments of a study do, worked out once and kept on the desk until their inputs change.

use crate::desk::{Desk, Question};
use rayon::prelude::*;
use serde::Serialize;
use std::sync::Arc;
use study::chain::{Key, key};
use study::{
    BakeOptions, Compared, KnockOn, Run, Sample, Study, Treatment, Workspace, knock_on, run,
};

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

/// A treatment that was worked out.
#[derive(Clone, Debug)]
pub struct Worked {
    /// Hash of everything that went in.
    pub key: Key,
    /// The chain.
    pub run: Arc<Run>,
    /// What is told of it.
    pub answer: Arc<KnockOn>,
}

/// Bytes of a run beside its histories and its materials, about.
const RUN_BYTES: u64 = 64 << 10;
/// Bytes of a material with its values and their sources, about.
const MATERIAL_BYTES: u64 = 8 << 10;
/// Columns of a history.
const COLUMNS: u64 = 12;

impl Worked {
    /// Bytes that it takes, about: rather too many, for what several runs share counts for each.
    pub(crate) fn bytes(&self) -> u64 {
        let result = &self.run.baked.result;
        let profiles = result.profiles.iter().map(|p| 2 * p.moisture.len() as u64);
        let rows = (result.history.time_s.len() + self.answer.bake.curve.time_min.len()) as u64;
        let lines = self.run.made.formula.lines().len() as u64;
        8 * (COLUMNS * rows + profiles.sum::<u64>()) + MATERIAL_BYTES * lines + RUN_BYTES
    }
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
    /// The runs behind the answers, in the same order.
    #[serde(skip)]
    pub worked: Vec<Arc<Worked>>,
}

/// What the answers of a study are found by, in their order.
pub(crate) fn keys(study: &Study) -> Vec<Key> {
    ordered(study).into_par_iter().map(key).collect()
}

/// The answers of a study whose [`keys`] are known, from the desk where inputs are the same.
pub(crate) fn answers(study: &Study, keys: &[Key], desk: &Desk) -> Answers {
    let keys = keys.iter().copied();
    let wanted: Vec<(&Treatment, Key)> = ordered(study).into_iter().zip(keys).collect();
    let mut found: Vec<Option<Result<Arc<Worked>, String>>> = wanted
        .iter()
        .map(|(_, key)| desk.find(*key, Question::Run))
        .collect();
    let missing: Vec<usize> = (0..wanted.len()).filter(|i| found[*i].is_none()).collect();
    let new: Vec<(usize, Result<Arc<Worked>, String>)> = missing
        .par_iter()
        .map_init(Workspace::new, |workspace, &i| {
            let (treatment, key) = wanted[i];
            let worked = worked_through(treatment, key, workspace);
            (i, desk.lay(key, Question::Run, worked))
        })
        .collect();
    let mut answers = Answers {
        worked_out: new.len(),
        ..Answers::default()
    };
    for (i, answer) in new {
        found[i] = Some(answer);
    }
    for ((treatment, _), outcome) in wanted.iter().zip(found.into_iter().flatten()) {
        match outcome {
            Ok(worked) => answers.worked.push(worked),
            Err(why) => answers.failed.push(Failed {
                id: treatment.id.clone(),
                name: treatment.name.clone(),
                why,
            }),
        }
    }
    // Without an answer of the control each treatment stands beside itself.
    let control = answers
        .worked
        .first()
        .filter(|w| w.answer.id == study.control().id)
        .map(|w| Arc::clone(&w.answer));
    let beside = |w: &Arc<Worked>| {
        Compared::beside(Arc::clone(&w.answer), control.as_ref().unwrap_or(&w.answer))
    };
    answers.compared = answers.worked.iter().map(beside).collect();
    answers
}

/// A treatment worked through the whole chain, or why it can't be.
pub(crate) fn worked_through(
    treatment: &Treatment,
    key: Key,
    workspace: &mut Workspace,
) -> Result<Worked, String> {
    let ran = run(treatment, &BakeOptions::QUICK, Sample::Centre, workspace);
    ran.map_err(|e| e.why.to_string()).map(|run| Worked {
        key,
        answer: Arc::new(knock_on(&run)),
        run: Arc::new(run),
    })
}

/// The control first, then the others as written.
pub(crate) fn ordered(study: &Study) -> Vec<&Treatment> {
    let control = study.control();
    std::iter::once(control)
        .chain(study.treatments.iter().filter(|t| t.id != control.id))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_run_weighs_about_what_it_takes_to_write_it_out() {
        let text = include_str!("../../../examples/spent-grain.toml");
        let study = study::written::read(text).unwrap();
        for worked in answers(&study, &keys(&study), &Desk::default()).worked {
            let (weighs, written) = (worked.bytes(), format!("{worked:?}").len() as u64);
            println!("{weighs} of {written}");
            assert!(
                weighs > written / 4 && weighs < 4 * written,
                "{weighs} of {written}"
            );
        }
    }
}
