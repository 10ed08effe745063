//! A study: a question, a control and its treatments, with everything that follows from them.

use super::{FigureLimit, Setting, Treatment};
use formula::{Material, Species};
use measure::WetBasis;
use serde::Serialize;
use std::collections::BTreeMap;
use std::sync::Arc;

/// Where a moisture holds: water flashes off after the oven.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub enum Place {
    /// As the piece leaves the oven.
    OvenExit,
    /// As it goes into the pack.
    Cooled,
    /// After the first days in the closed pack.
    Packed,
}

impl Place {
    /// Every place, in the order a piece passes them.
    pub const ALL: [Self; 3] = [Self::OvenExit, Self::Cooled, Self::Packed];

    /// The word in files.
    pub const fn written(self) -> &'static str {
        match self {
            Self::OvenExit => "oven exit",
            Self::Cooled => "cooled",
            Self::Packed => "packed",
        }
    }
}

/// What the bake aims at: a mean moisture, and the kill that it has to reach with it.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Target {
    /// Moisture.
    pub moisture: WetBasis,
    /// Where it holds.
    pub at: Place,
    /// Log reduction of *Salmonella* that the bake has to be shown to reach; none when nobody asked for one.
    pub kill_log10: Option<f64>,
}

/// A study, resolved.
#[derive(Clone, Debug, PartialEq)]
pub struct Study {
    /// What it is called.
    pub name: String,
    /// What it wants to know; empty when nothing was written.
    pub question: String,
    /// The animal the treat is for.
    pub species: Species,
    /// Whether the data are made up.
    pub invented: bool,
    /// Currency of every price, three letters.
    pub currency: String,
    /// Anything else.
    pub note: String,
    /// The moisture that the bake aims at.
    pub target: Target,
    /// Materials of its own, by id; these go before the shelf's.
    pub materials: BTreeMap<String, Arc<Material>>,
    /// The study's setting, before treatments put in their own values.
    pub setting: Setting,
    /// Index of the control.
    pub control: usize,
    /// Limits that every treatment has to keep.
    pub limits: Vec<FigureLimit>,
    /// The treatments in the order written; at least one.
    pub treatments: Vec<Treatment>,
}

impl Study {
    /// The control.
    pub fn control(&self) -> &Treatment {
        &self.treatments[self.control]
    }

    /// The treatment with an id.
    pub fn treatment(&self, id: &str) -> Option<&Treatment> {
        self.treatments.iter().find(|t| t.id == id)
    }

    /// A material: the study's own, else the shelf's.
    pub fn material(&self, id: &str) -> Option<Arc<Material>> {
        self.materials
            .get(id)
            .cloned()
            .or_else(|| formula::shelf::find(id))
    }
}
