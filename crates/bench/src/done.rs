//! What of a plan was done.

use crate::{Batch, BatchState, Code, Standing, Trial};
use measure::{Finding, Severity};
use serde::Serialize;

/// A batch with what it has come to.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Made {
    /// Its lasting name.
    pub id: String,
    /// As it was planned.
    pub batch: Batch,
    /// What it has come to.
    pub state: BatchState,
}

/// What of a plan was done.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Done {
    /// Batches that the plan was drawn with.
    pub planned: usize,
    /// Batches that were put in later.
    pub added: Vec<String>,
    /// Batches with something written, that weren't given up.
    pub begun: usize,
    /// Batches that were signed.
    pub signed: usize,
    /// Batches that were given up, each with why.
    pub abandoned: Vec<(String, String)>,
    /// Batches with nothing written yet.
    pub open: Vec<String>,
}

/// Counts what was done.
pub fn done(trial: &Trial, made: &[Made]) -> Done {
    let standing = |m: &Made| (m.id.clone(), m.batch.code.clone(), m.state.standing());
    done_of(trial, made.iter().map(standing))
}

/// The same from where each batch stands: its lasting name and its code with it.
pub fn done_of(
    trial: &Trial,
    batches: impl IntoIterator<Item = (String, String, Standing)>,
) -> Done {
    let mut done = Done::default();
    for (id, code, stands) in batches {
        let added = trial.runs.iter().any(|r| r.batch == id && r.added);
        if added {
            done.added.push(code.clone());
        } else {
            done.planned += 1;
        }
        match &stands.abandoned {
            Some(why) => done.abandoned.push((code, why.words.clone())),
            None if stands.is_begun() => {
                done.begun += 1;
                done.signed += usize::from(stands.signed.is_some());
            }
            None => done.open.push(code),
        }
    }
    done
}

impl Done {
    /// What differs from the plan, for a reader of the analysis.
    pub fn findings(&self) -> Vec<Finding> {
        let mut found = Vec::new();
        for (code, why) in &self.abandoned {
            found.push(Finding::new(
                Severity::Note,
                Code::Abandoned,
                code.clone(),
                format!("{code} was given up and is left out: {why}"),
            ));
        }
        if !self.open.is_empty() {
            found.push(
                Finding::new(
                    Severity::Warn,
                    Code::BatchesMissing,
                    "plan",
                    format!(
                        "Nothing is written of {} of the batches: {}.",
                        self.open.len(),
                        self.open.join(", ")
                    ),
                )
                .help("make them, or give them up with a reason; until then the answer stands on what was done"),
            );
        }
        if !self.added.is_empty() {
            found.push(Finding::new(
                Severity::Note,
                Code::BatchesAdded,
                "plan",
                format!(
                    "Put in after the plan was drawn: {}.",
                    self.added.join(", ")
                ),
            ));
        }
        found
    }

    /// One sentence.
    pub fn sentence(&self) -> String {
        let all = self.planned + self.added.len();
        let mut told = format!("{} of {all} batches done", self.begun);
        let mut more = |n: usize, words: &str| {
            if n > 0 {
                told.push_str(&format!(", {n} {words}"));
            }
        };
        more(self.abandoned.len(), "given up");
        more(self.added.len(), "put in after the plan was drawn");
        told.push('.');
        told
    }
}
