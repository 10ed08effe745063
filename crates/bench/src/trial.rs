//! A trial: a question of a study's treatments, and the runs that were drawn to answer it.

use crate::Asked;
use crate::form::{FormError, read_form, write_form};
use serde::{Deserialize, Serialize};
use trials::plan::{Design, Level, Request, Unit};

/// Version of the language that a trial is written in.
pub const FORM_VERSION: u32 = 1;

/// A treatment of the trial, pinned to a revision of its study.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Pinned {
    /// As the trial calls it.
    pub label: String,
    /// Its name in the study; none for settings that the study doesn't have as a treatment.
    #[serde(default)]
    pub treatment: Option<String>,
    /// What people call it.
    #[serde(default)]
    pub title: Option<String>,
    /// The revision of the study.
    pub revision: u64,
    /// Its hash.
    pub hash: String,
    /// What it is called on sheets of people who mustn't know what it is.
    #[serde(default)]
    pub blind: Option<String>,
}

/// A run of the plan.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Planned {
    /// Place in the order of work, from 1.
    pub order: usize,
    /// The experimental unit, such as `B03`.
    pub unit: String,
    /// Lasting name of the batch that it is made from.
    pub batch: String,
    /// Where it stands, one for each name of a place.
    #[serde(default)]
    pub places: Vec<String>,
    /// The treatment, by its label.
    pub treatment: String,
    /// One setting for each factor.
    #[serde(default)]
    pub levels: Vec<Level>,
    /// Whether it was put in after the plan was drawn.
    #[serde(default)]
    pub added: bool,
}

/// A factor of the plan.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct FactorOf {
    /// Its name.
    pub name: String,
    /// Its unit; empty for named levels.
    #[serde(default)]
    pub unit: String,
}

/// What of a plan was changed after it was drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Changed {
    /// A batch was put in that the plan didn't have.
    Added,
    /// A batch was made again.
    Repeated,
}

/// A change of the plan.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Change {
    /// When, in UTC.
    pub when: String,
    /// Who changed it.
    pub who: String,
    /// What was changed.
    pub changed: Changed,
    /// The unit that it is about.
    pub unit: String,
    /// Why.
    pub why: String,
}

/// A trial.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Trial {
    /// What it is called.
    pub name: String,
    /// What it wants to know.
    #[serde(default)]
    pub question: String,
    /// Lasting name of the study.
    pub study: String,
    /// The control's label; none where all are compared with each other.
    #[serde(default)]
    pub control: Option<String>,
    /// Whether its data are made up.
    #[serde(default)]
    pub invented: bool,
    /// The experimental unit.
    pub unit: Unit,
    /// The seed that the order was drawn from.
    pub seed: u64,
    /// Generator and shuffle, with version.
    pub algorithm: String,
    /// What was wished for: the design with its counts, for who wants to draw it again.
    pub wish: Request,
    /// Names of the places: block, whole plot …
    #[serde(default)]
    pub place_names: Vec<String>,
    /// Who is who in a table of it, as the analysis reads it back.
    pub roles: String,
    /// Factor columns.
    #[serde(default)]
    pub factors: Vec<FactorOf>,
    /// What is measured.
    pub responses: Vec<Asked>,
    /// Its treatments.
    pub treatments: Vec<Pinned>,
    /// Its runs, in the order of work.
    pub runs: Vec<Planned>,
    /// What was changed after it was drawn.
    #[serde(default)]
    pub changes: Vec<Change>,
}

impl Trial {
    /// What its treatments are called, each by its label; those without a name of their own, and names that several share,
    /// are left out.
    pub fn names(&self) -> Vec<(String, String)> {
        let title = |p: &Pinned| p.title.clone().filter(|t| !t.trim().is_empty());
        let alone = |title: &String| {
            let same = self
                .treatments
                .iter()
                .filter(|p| p.title.as_ref() == Some(title));
            same.count() == 1
        };
        let all = self.treatments.iter();
        all.filter_map(|p| Some((p.label.clone(), title(p).filter(alone)?)))
            .collect()
    }

    /// The design.
    pub const fn design(&self) -> Design {
        self.wish.design()
    }

    /// The treatment of a label.
    pub fn pinned(&self, label: &str) -> Option<&Pinned> {
        self.treatments.iter().find(|t| t.label == label)
    }

    /// The response of an id or a name.
    pub fn response(&self, name: &str) -> Option<&Asked> {
        let plain = |s: &str| s.trim().to_lowercase().replace([' ', '-'], "_");
        let wanted = plain(name);
        self.responses
            .iter()
            .find(|r| plain(&r.id) == wanted || plain(&r.name) == wanted)
    }

    /// The batches, each once, in the order of work.
    pub fn batches(&self) -> Vec<&str> {
        let mut all: Vec<&str> = Vec::new();
        for run in &self.runs {
            if !all.contains(&run.batch.as_str()) {
                all.push(&run.batch);
            }
        }
        all
    }

    /// Reads the written form.
    ///
    /// # Errors
    /// What isn't one.
    pub fn read(text: &str) -> Result<Self, FormError> {
        read_form(text)
    }

    /// The written form.
    ///
    /// # Errors
    /// A number that can't be written.
    pub fn write(&self) -> Result<String, FormError> {
        write_form(self)
    }
}
