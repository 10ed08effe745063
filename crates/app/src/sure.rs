//! How sure the answers of a study are: draws from what is uncertain. They take seconds, so they are made in the room of
//! long work while the answers themselves stand there; an edit stops them.

use crate::desk::Question;
use crate::jobs::{About, JobId, JobState, UNASKED, Unanswered};
use crate::sheet::StudyView;
use crate::{App, AppError};
use baking::bake::Workspace;
use std::sync::Arc;
use study::BakeOptions;
use study::chain::Key;
use study::compare::{Drawing, Spread};

/// Draws from what is uncertain: enough for 95 % limits to about a quarter of their width.
const DRAWS: usize = 40;
/// The seed of the draws, the same for everybody.
const SEED: u64 = 1;

impl App {
    /// How sure the answers of all treatments are, in the order of the answers: limits from draws that they share, and
    /// what widens them most. Who asks for the first time sets them to work, and asks again.
    ///
    /// # Errors
    /// [`AppError::Full`].
    pub fn sure(&self, view: &StudyView) -> Result<JobState<Vec<Spread>>, AppError> {
        let Some(study) = view.study.clone() else {
            return Ok(JobState::NotAsked);
        };
        let worked = view.answers.worked.iter().map(|w| w.key.to_string());
        let key = Key::of(&worked.collect::<Vec<_>>());
        match self.desk.find(key, Question::Spread) {
            Some(Ok(spreads)) => return Ok(JobState::Done(spreads)),
            Some(Err(why)) => return Ok(JobState::Failed(why)),
            None => {}
        }
        let id = JobId {
            about: about(&view.thing),
            key,
            question: UNASKED,
        };
        let stands = self.jobs.state::<Vec<Spread>>(&id);
        if matches!(stands, JobState::Running(_) | JobState::Failed(_)) {
            return Ok(stands);
        }
        let mut compared = view.answers.compared.clone();
        let desk = Arc::clone(&self.desk);
        let work = move |go_on: &mut (dyn FnMut(f64) -> bool + Send)| {
            let drawing = Drawing::of(&study, &compared, &BakeOptions::QUICK, DRAWS, SEED);
            let mut workspace = Workspace::new();
            let mut rows = Vec::with_capacity(drawing.draws);
            for number in 0..drawing.draws {
                rows.push(drawing.one(number, &mut workspace));
                if !go_on(rows.len() as f64 / drawing.draws as f64) {
                    return Err(Unanswered::Stopped);
                }
            }
            drawing.tell(&rows, &mut compared);
            Ok(compared.iter().filter_map(|c| c.spread.clone()).collect())
        };
        self.jobs
            .start(id.clone(), work, move |spreads: &Vec<Spread>| {
                let _kept = desk.lay(key, Question::Spread, Ok(spreads.clone()));
            })?;
        Ok(self.jobs.state(&id))
    }

    /// Stops what is being drawn for a study, as when somebody types in it.
    pub(crate) fn stop_sure(&self, thing: &str) {
        self.jobs.stop(&about(thing));
    }
}

/// All treatments of a study: none has an empty name.
fn about(thing: &str) -> About {
    About {
        study: thing.to_owned(),
        treatment: String::new(),
    }
}
