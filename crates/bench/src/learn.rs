//! What the doses and counts teach: the need of water, the next dose, and whether a piece leaves whole.

use crate::{Batch, BatchState};
use measure::estimate::Z95;
use serde::Serialize;
use study::chain::learned::{WHOLE_LEVEL, WHOLE_LEVEL_SD, WHOLE_OFF_WATER, WHOLE_OFF_WATER_SD};
use trials::learn::{
    Cut, NextDose, Release, ReleaseError, ReleasePrior, Verdict, WaterError, WaterModel,
    WaterPrediction, WaterPrior, Whole, fit, next_dose,
};

/// Doses that are weighed against each other.
const DOSES: usize = 41;
/// Pieces that a next dose is weighed with where the batch doesn't tell how many it has.
const PIECES: u32 = 20;

/// What can't be learned from.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum LearnError {
    /// The water.
    #[error(transparent)]
    Water(#[from] WaterError),
    /// The pieces.
    #[error(transparent)]
    Release(#[from] ReleaseError),
}

/// What is believed of the water that a batch needs, kg per 100 kg of dry mix.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Belief {
    /// When the batch was planned.
    pub prior: WaterPrediction,
    /// With every titration that was taken in.
    pub learned: WaterPrediction,
    /// Titrations that were taken in.
    pub taken: usize,
    /// Titrations that lie far off and wait for somebody to confirm them.
    pub asked: Vec<String>,
}

impl Belief {
    /// The 95 % interval of the mean need before, and after.
    pub fn intervals(&self) -> [(f64, f64); 2] {
        [self.prior, self.learned].map(|p| {
            let half = Z95 * p.sd_mean_kg;
            ((p.mean_kg - half).max(0.0), p.mean_kg + half)
        })
    }
}

/// A titration that ended: the water at which the dough was called right.
fn titrated(state: &BatchState) -> Option<f64> {
    state.water.right.as_ref()?;
    // What came after the dough was right was not asked for by the dough.
    let upto = state.water.doses.iter().rfind(|d| !d.after_right)?;
    upto.per_100kg
}

/// What is believed of the water of a batch, from its plan and from every batch that was titrated, itself among them
/// if it is in the list. A titration far off is taken in only where its batch was signed.
///
/// # Errors
/// Numbers that can't be; none where the plan of the batch tells nothing of its water.
pub fn belief<'a>(
    batch: &Batch,
    titrations: impl IntoIterator<Item = (&'a Batch, &'a BatchState)>,
) -> Result<Option<Belief>, LearnError> {
    let Some((mut model, mut amounts)) = batch.water_model()? else {
        return Ok(None);
    };
    let prior = model.predict(&amounts)?;
    let (mut taken, mut asked) = (0, Vec::new());
    for (other, state) in titrations {
        let Some(water) = titrated(state) else {
            continue;
        };
        for drinks in &other.drinks {
            if !model.names.contains(&drinks.name) {
                model = model.with_material(&WaterPrior {
                    name: drinks.name.clone(),
                    mean: drinks.uptake_kg_per_kg,
                    sd: drinks.uptake_sd,
                });
                amounts.push(0.0);
            }
        }
        let theirs = amounts_in(&model, other);
        let learned = model.update(&theirs, water)?;
        if learned.verdict == Verdict::Ask && state.signed.is_none() {
            asked.push(other.code.clone());
            continue;
        }
        model = learned.model;
        taken += 1;
    }
    Ok(Some(Belief {
        prior,
        learned: model.predict(&amounts)?,
        taken,
        asked,
    }))
}

/// The amounts of a batch in the order of the model's names.
fn amounts_in(model: &WaterModel, batch: &Batch) -> Vec<f64> {
    let amount = |name: &String| {
        let own = batch.drinks.iter().find(|d| d.name == *name);
        own.map_or(0.0, |d| d.kg_per_100kg)
    };
    model.names.iter().map(amount).collect()
}

/// What to do with the water next.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Advice {
    /// Water in the dough so far, kg per 100 kg of dry mix.
    pub so_far: f64,
    /// Water to have in it next, kg per 100 kg of dry mix.
    pub next: f64,
    /// Water to add for that, kg.
    pub add_kg: f64,
    /// The doses weighed against each other, told as all water in the dough; none before the first dose, which is one
    /// standard deviation below the belief: water can be added and not taken out.
    pub weighed: Option<NextDose>,
}

impl Advice {
    /// Water to add, as whole g and at least one: what a balance at the mixer shows.
    pub fn add_g(&self) -> f64 {
        (1000.0 * self.add_kg).round().max(1.0)
    }
}

/// Advice for the next dose: the first as the belief has it, a later one as [`next_dose()`] weighs them, between what is
/// in the dough and two standard deviations above the belief. None where the plan tells nothing of the water, the dough
/// was called right, or there is as much water in it as can be advised.
///
/// # Errors
/// Numbers that can't be.
pub fn advise<'a>(
    batch: &Batch,
    state: &BatchState,
    belief: &Belief,
    cut: impl IntoIterator<Item = (&'a Batch, &'a BatchState)>,
) -> Result<Option<Advice>, LearnError> {
    let Some(dry_mix_kg) = batch.dry_mix_kg.filter(|m| *m > 0.0) else {
        return Ok(None);
    };
    if state.water.right.is_some() {
        return Ok(None);
    }
    let so_far = state.water.per_100kg.unwrap_or(0.0);
    let at = |next: f64, weighed| {
        (next > so_far).then(|| Advice {
            so_far,
            next,
            add_kg: (next - so_far) * dry_mix_kg / 100.0,
            weighed,
        })
    };
    let need = belief.learned;
    let first = need.first_dose_kg();
    if so_far < first {
        return Ok(at(first, None));
    }
    let most = need.mean_kg + 2.0 * need.sd_titration_kg;
    if so_far >= most {
        return Ok(None);
    }
    let model = release(cut)?;
    let doses: Vec<f64> = (1..=DOSES)
        .map(|i| so_far + (most - so_far) * i as f64 / DOSES as f64)
        .collect();
    let pieces = batch.pieces.unwrap_or(PIECES).max(1);
    let weighed = next_dose(&model, &doses, pieces, |w| setting(need.mean_kg, w))?;
    let next = weighed.doses[weighed.likeliest].water;
    Ok(at(next, Some(weighed)))
}

/// The values of the effects at so much water: the level, and the tenths of the need that it is off.
fn setting(need: f64, water: f64) -> Vec<f64> {
    vec![1.0, (10.0 * (water / need - 1.0)).abs()]
}

fn release<'a>(
    cut: impl IntoIterator<Item = (&'a Batch, &'a BatchState)>,
) -> Result<Release, ReleaseError> {
    let prior = |name: &str, mean: f64, sd: f64| ReleasePrior {
        name: name.to_owned(),
        mean,
        sd,
    };
    let priors = [
        prior("level", WHOLE_LEVEL.value, WHOLE_LEVEL_SD.value),
        prior(
            "water off the need",
            -WHOLE_OFF_WATER.value,
            WHOLE_OFF_WATER_SD.value,
        ),
    ];
    let cuts: Vec<Cut> = cut
        .into_iter()
        .filter_map(|(batch, state)| {
            let need = batch.need_kg_per_100kg().filter(|n| *n > 0.0)?;
            let counts = state.counts;
            (counts.out_of() > 0).then(|| Cut {
                x: setting(need, state.water.per_100kg.unwrap_or(need)),
                whole: counts.left_whole(),
                cut: counts.out_of(),
            })
        })
        .collect();
    fit(&priors, &cuts, 0.0)
}

/// What is believed of the logit of the share of whole pieces before any is counted: its mean and standard deviation.
pub const fn whole_believed() -> (f64, f64) {
    (WHOLE_LEVEL.value, WHOLE_LEVEL_SD.value)
}

/// The probability that a piece of this batch leaves the cutter whole, from what is believed of doughs and the pieces
/// counted so far. Pieces of one batch speak for this batch, not for the next one.
///
/// # Errors
/// Counts that can't be.
pub fn whole(state: &BatchState) -> Result<Whole, ReleaseError> {
    let (mean, sd) = whole_believed();
    let level = ReleasePrior {
        name: "level".to_owned(),
        mean,
        sd,
    };
    let counts = state.counts;
    let cuts = [Cut {
        x: vec![1.0],
        whole: counts.left_whole(),
        cut: counts.out_of(),
    }];
    fit(&[level], &cuts, 0.0)?.whole(&[1.0])
}
