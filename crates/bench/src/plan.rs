//! From a drawn plan to a trial that is kept, with its batches.

use crate::trial::FactorOf;
use crate::{Asked, Batch, Change, Changed, Pinned, Place, Planned, Setting, Trial};
use trials::plan::{Request, Run, RunSheet, Unit};
use trials::random::{SplitMix64, permutation};

/// What a trial is made of beside the drawn sheet.
#[derive(Clone, Debug)]
pub struct PlanKept {
    /// Lasting name of the trial.
    pub id: String,
    /// What it is called.
    pub name: String,
    /// What it wants to know.
    pub question: String,
    /// Lasting name of the study.
    pub study: String,
    /// The revision that it stands on.
    pub revision: u64,
    /// Its hash.
    pub hash: String,
    /// The control's label.
    pub control: Option<String>,
    /// Name in the study for each label of the plan that is a treatment there.
    pub names: Vec<(String, String)>,
    /// What is measured.
    pub responses: Vec<Asked>,
    /// Whether treatments are called by codes on sheets of people who mustn't know.
    pub blind: bool,
}

/// Lasting name of the batch of a unit: the trial's with the unit's after it.
pub fn code_of(trial: &str, unit: &str) -> String {
    let plain: String = unit
        .chars()
        .map(|c| {
            if c.is_alphanumeric() {
                c.to_ascii_lowercase()
            } else {
                '-'
            }
        })
        .collect();
    format!("{trial}-{plain}")
}

/// The trial of a drawn sheet, and its batches as far as the plan tells them: one for every unit; where dogs are the
/// units, one for every food. What a batch weighs and drinks is for the caller to fill in.
pub fn trial_of(
    sheet: &RunSheet,
    wish: &Request,
    kept: &PlanKept,
) -> (Trial, Vec<(String, Batch)>) {
    let mut labels: Vec<&str> = Vec::new();
    for run in &sheet.runs {
        if !labels.contains(&run.treatment.as_str()) {
            labels.push(&run.treatment);
        }
    }
    labels.sort_unstable();
    let codes = blind_codes(labels.len(), sheet.seed);
    let name_of = |label: &str| {
        let found = kept.names.iter().find(|(l, _)| l == label);
        found.map(|(_, name)| name.clone())
    };
    let treatments: Vec<Pinned> = labels
        .iter()
        .zip(codes)
        .map(|(label, code)| Pinned {
            label: (*label).to_owned(),
            treatment: name_of(label),
            title: None,
            revision: kept.revision,
            hash: kept.hash.clone(),
            blind: kept.blind.then_some(code),
        })
        .collect();
    let code = |run: &Run| match sheet.unit {
        Unit::Dog => format!(
            "F{}",
            1 + labels.iter().position(|l| *l == run.treatment).unwrap_or(0)
        ),
        _ => run.unit_id.clone(),
    };
    let runs: Vec<Planned> = sheet
        .runs
        .iter()
        .map(|run| Planned {
            order: run.order,
            unit: run.unit_id.clone(),
            batch: code_of(&kept.id, &code(run)),
            places: run.places.clone(),
            treatment: run.treatment.clone(),
            levels: run.levels.clone(),
            added: false,
        })
        .collect();
    let trial = Trial {
        name: kept.name.clone(),
        question: kept.question.clone(),
        study: kept.study.clone(),
        control: kept.control.clone(),
        invented: false,
        unit: sheet.unit,
        seed: sheet.seed,
        algorithm: sheet.algorithm.clone(),
        wish: wish.clone(),
        place_names: sheet.place_names.clone(),
        roles: sheet.roles(),
        factors: sheet
            .factors
            .iter()
            .map(|f| FactorOf {
                name: f.name.clone(),
                unit: f.unit.clone(),
            })
            .collect(),
        responses: kept.responses.clone(),
        treatments,
        runs,
        changes: Vec::new(),
    };
    let mut batches: Vec<(String, Batch)> = Vec::new();
    for run in &sheet.runs {
        let id = code_of(&kept.id, &code(run));
        if batches.iter().all(|(other, _)| *other != id) {
            let planned = trial.runs.iter().find(|r| r.batch == id);
            batches.extend(planned.map(|p| (id, batch_of(&trial, &kept.id, p, &code(run)))));
        }
    }
    (trial, batches)
}

/// The batch of a run. A food that many dogs get stands in no place of its own.
pub(crate) fn batch_of(trial: &Trial, id: &str, run: &Planned, code: &str) -> Batch {
    let pinned = trial.pinned(&run.treatment);
    let shared = trial.unit == Unit::Dog;
    let places = trial.place_names.iter().zip(&run.places);
    let settings = trial.factors.iter().zip(&run.levels);
    Batch {
        code: code.to_owned(),
        trial: Some(id.to_owned()),
        study: trial.study.clone(),
        revision: pinned.map_or(0, |p| p.revision),
        hash: pinned.map_or_else(String::new, |p| p.hash.clone()),
        treatment: pinned.and_then(|p| p.treatment.clone()).unwrap_or_default(),
        label: run.treatment.clone(),
        order: (!shared).then_some(run.order),
        places: places
            .filter(|_| !shared)
            .map(|(name, value)| Place {
                name: name.clone(),
                value: value.clone(),
            })
            .collect(),
        settings: settings
            .map(|(factor, level)| Setting {
                name: factor.name.clone(),
                unit: factor.unit.clone(),
                value: level.to_string(),
            })
            .collect(),
        pieces: None,
        dough_kg: None,
        dry_mix_kg: None,
        titration_sd_kg: None,
        drinks: Vec::new(),
        responses: trial.responses.clone(),
    }
}

/// Three digits each (four where there are many), all different, none beginning with 0 (common practice of panels, no
/// source).
fn blind_codes(count: usize, seed: u64) -> Vec<String> {
    let least = if count <= 450 { 100 } else { 1000 };
    // A stream of its own: the order of runs tells nothing of the codes.
    let mut random = SplitMix64::stream(seed, BLIND);
    permutation(9 * least, &mut random)
        .into_iter()
        .take(count)
        .map(|i| (least + i).to_string())
        .collect()
}

/// The stream of random numbers that blind codes are drawn from.
const BLIND: u64 = 0x0b11_4d00;

impl Trial {
    /// The trial with a batch that its plan didn't have: one treatment more, or a unit made again in its place. Gives the
    /// trial, the lasting name of the batch, and the batch; none where there is no such treatment or unit.
    pub fn with_batch(
        &self,
        id: &str,
        what: More<'_>,
        when: &str,
        who: &str,
        why: &str,
    ) -> Option<(Self, String, Batch)> {
        let mut trial = self.clone();
        let order = 1 + self.runs.iter().map(|r| r.order).max().unwrap_or(0);
        let unit = format!("{}{order:02}", self.unit.letter());
        let (changed, like) = match what {
            More::Again(unit) => (
                Changed::Repeated,
                self.runs.iter().find(|r| r.unit == unit)?.clone(),
            ),
            More::Of { treatment, places } => {
                self.pinned(treatment)?;
                let like = self.runs.iter().find(|r| r.treatment == treatment)?;
                (
                    Changed::Added,
                    Planned {
                        places: places.to_vec(),
                        ..like.clone()
                    },
                )
            }
        };
        let batch = code_of(id, &unit);
        let run = Planned {
            order,
            unit: unit.clone(),
            batch: batch.clone(),
            added: true,
            ..like
        };
        trial.changes.push(Change {
            when: when.to_owned(),
            who: who.to_owned(),
            changed,
            unit: match what {
                More::Again(again) => format!("{unit} for {again}"),
                More::Of { .. } => unit.clone(),
            },
            why: why.to_owned(),
        });
        let made = batch_of(&trial, id, &run, &unit);
        trial.runs.push(run);
        Some((trial, batch, made))
    }
}

/// What is put into a trial after its plan was drawn.
#[derive(Clone, Copy, Debug)]
pub enum More<'a> {
    /// A unit of the plan once more.
    Again(&'a str),
    /// A treatment, in places of its own.
    Of {
        /// The label.
        treatment: &'a str,
        /// One place for each name.
        places: &'a [String],
    },
}
