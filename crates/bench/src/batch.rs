//! A batch: one mixing of one treatment.

use crate::Asked;
use crate::form::{FormError, read_form, write_form};
use serde::{Deserialize, Serialize};
use trials::learn::{WaterError, WaterModel, WaterPrior};

/// Version of the language that a batch is written in.
pub const FORM_VERSION: u32 = 1;

/// Where a batch stands in its trial: on which day, in which load.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Place {
    /// What kind of place, e.g. `bake day`.
    pub name: String,
    /// Which.
    pub value: String,
}

/// A setting that the trial asks for beside the treatment.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Setting {
    /// What is set.
    pub name: String,
    /// Its unit; empty for a named level.
    #[serde(default)]
    pub unit: String,
    /// To what.
    pub value: String,
}

/// What a material of the batch drinks, as it was believed when the batch was planned.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Drinks {
    /// The material, or the offset of the forming.
    pub name: String,
    /// Its amount, kg per 100 kg of dry mix; 1 for the offset.
    pub kg_per_100kg: f64,
    /// Water uptake, kg per kg.
    pub uptake_kg_per_kg: f64,
    /// Its standard deviation.
    pub uptake_sd: f64,
}

/// A batch as it was planned. What happens to it is a list of rows of its own.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Batch {
    /// What is written on its tray, such as `B03`.
    pub code: String,
    /// Lasting name of the trial; none for a batch on its own.
    #[serde(default)]
    pub trial: Option<String>,
    /// Lasting name of the study.
    pub study: String,
    /// The revision of the study that it is made by.
    pub revision: u64,
    /// The hash of that revision.
    pub hash: String,
    /// Name of the treatment in the study.
    pub treatment: String,
    /// As the trial calls the treatment.
    pub label: String,
    /// Place in the order of work, from 1.
    #[serde(default)]
    pub order: Option<usize>,
    /// Where it stands in its trial.
    #[serde(default)]
    pub places: Vec<Place>,
    /// What its trial sets beside the treatment.
    #[serde(default)]
    pub settings: Vec<Setting>,
    /// Pieces to cut.
    #[serde(default)]
    pub pieces: Option<u32>,
    /// Dough to make, kg.
    #[serde(default)]
    pub dough_kg: Option<f64>,
    /// Dry mix to weigh in, kg: what doses of water are told per 100 of.
    #[serde(default)]
    pub dry_mix_kg: Option<f64>,
    /// Spread of one titration about the truth, kg per 100 kg dry mix.
    #[serde(default)]
    pub titration_sd_kg: Option<f64>,
    /// What its materials drink.
    #[serde(default)]
    pub drinks: Vec<Drinks>,
    /// What is measured on it.
    #[serde(default)]
    pub responses: Vec<Asked>,
}

impl Batch {
    /// The day, or whatever its first place is.
    pub fn day(&self) -> Option<&str> {
        self.places.first().map(|p| p.value.as_str())
    }

    /// The response of an id or a name.
    pub fn response(&self, name: &str) -> Option<&Asked> {
        let wanted = name.trim();
        self.responses
            .iter()
            .find(|r| r.id.eq_ignore_ascii_case(wanted) || r.name.eq_ignore_ascii_case(wanted))
    }

    /// What was believed of its water when it was planned, and its amounts; none where the plan doesn't tell.
    ///
    /// # Errors
    /// A belief that is no number.
    pub fn water_model(&self) -> Result<Option<(WaterModel, Vec<f64>)>, WaterError> {
        let Some(sd) = self.titration_sd_kg.filter(|_| !self.drinks.is_empty()) else {
            return Ok(None);
        };
        let priors: Vec<WaterPrior> = self
            .drinks
            .iter()
            .map(|d| WaterPrior {
                name: d.name.clone(),
                mean: d.uptake_kg_per_kg,
                sd: d.uptake_sd,
            })
            .collect();
        let amounts = self.drinks.iter().map(|d| d.kg_per_100kg).collect();
        Ok(Some((WaterModel::new(&priors, sd)?, amounts)))
    }

    /// Water that it was believed to need, kg per 100 kg of dry mix; none where the plan doesn't tell.
    pub fn need_kg_per_100kg(&self) -> Option<f64> {
        let (model, amounts) = self.water_model().ok()??;
        Some(model.predict(&amounts).ok()?.mean_kg)
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
