//! What the doses and counts teach: the need of water, the next dose, and whether a piece leaves whole.

use crate::{Batch, BatchState};
use measure::estimate::Z95;
use measure::{Constant, Grade, Range};
use serde::Serialize;
use study::chain::learned::{TITRATION, WHOLE_LEVEL, WHOLE_LEVEL_SD, release_priors};
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

/// What titrations taught of the water that materials take, at the consistency that uptakes are told for.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct WaterTaught {
    /// What was believed before any of them.
    pub before: WaterModel,
    /// What is held now.
    pub after: WaterModel,
    /// Codes of the batches that taught it.
    pub taken: Vec<String>,
    /// Codes of those that lie far off and wait for somebody to confirm them by signing.
    pub asked: Vec<String>,
    /// Days, or other blocks, that they are of.
    pub days: usize,
}

impl WaterTaught {
    /// What it stands on, in words.
    pub fn stands_on(&self) -> String {
        counted(self.taken.len(), "titration", self.days)
    }
}

/// So many things of so many days.
fn counted(many: usize, what: &str, days: usize) -> String {
    let s = |n: usize| if n == 1 { "" } else { "s" };
    format!("{many} {what}{} in {days} block{}", s(many), s(days))
}

fn days<'a>(batches: impl Iterator<Item = &'a Batch>) -> usize {
    let all: std::collections::BTreeSet<(Option<&str>, Option<&str>)> =
        batches.map(|b| (b.trial.as_deref(), b.day())).collect();
    all.len()
}

/// What every titration teaches of the materials, from what is believed of them. A batch's own consistency scales what it
/// drank; a titration far off is taken in only where its batch was signed. None where nothing was titrated.
///
/// # Errors
/// Numbers that can't be.
pub fn water_taught<'a>(
    believed: &[WaterPrior],
    titrations: impl IntoIterator<Item = (&'a Batch, &'a BatchState)>,
) -> Result<Option<WaterTaught>, LearnError> {
    let (alone, of_a_day) = (TITRATION.0.value, TITRATION.1.value);
    let noise = alone.hypot(of_a_day);
    let mut before = WaterModel::new(believed, noise)?;
    let mut model = WaterModel::new(believed, alone)?;
    let (mut of, mut asked) = (Vec::new(), Vec::new());
    let mut blocks: Vec<String> = Vec::new();
    for (batch, state) in titrations {
        let Some((water, sd)) = titrated(state).zip(batch.titration_sd_kg) else {
            continue;
        };
        // The plan told its titration for the consistency that was wanted.
        let stiff = sd / noise;
        for drinks in &batch.drinks {
            if !model.names.contains(&drinks.name) {
                let prior = WaterPrior {
                    name: drinks.name.clone(),
                    mean: drinks.uptake_kg_per_kg / stiff,
                    sd: drinks.uptake_sd / stiff,
                };
                model = model.with_material(&prior);
                before = before.with_material(&prior);
            }
        }
        // Doughs of one day are off together, so that many of them say no more of the forming than that day can.
        let block = format!("\u{0}{:?}", (&batch.trial, batch.day()));
        if !blocks.contains(&block) {
            model = model.with_material(&WaterPrior {
                name: block.clone(),
                mean: 0.0,
                sd: of_a_day,
            });
            blocks.push(block.clone());
        }
        let mut amounts = amounts_in(&model, batch);
        for (name, amount) in model.names.iter().zip(&mut amounts) {
            if *name == block {
                *amount = 1.0;
            }
        }
        let learned = model.update(&amounts, water / stiff)?;
        if learned.verdict == Verdict::Ask && state.signed.is_none() {
            asked.push(batch.code.clone());
            continue;
        }
        model = learned.model;
        of.push(batch);
    }
    Ok((!of.is_empty()).then(|| WaterTaught {
        after: within(&model, &before.names, noise),
        before,
        taken: of.iter().map(|b| b.code.clone()).collect(),
        asked,
        days: days(of.into_iter()),
    }))
}

/// What is held of some of a model's names, in their order, for a titration of any day.
fn within(model: &WaterModel, names: &[String], titration_sd_kg: f64) -> WaterModel {
    let place = |name: &String| model.names.iter().position(|n| n == name);
    let places: Vec<usize> = names.iter().filter_map(place).collect();
    let row = |i: &usize| places.iter().map(|j| model.covariance[*i][*j]).collect();
    WaterModel {
        names: places.iter().map(|i| model.names[*i].clone()).collect(),
        mean: places.iter().map(|i| model.mean[*i]).collect(),
        covariance: places.iter().map(row).collect(),
        titration_sd_kg,
    }
}

/// What counts of whole and broken pieces taught.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct WholeTaught {
    /// What was believed before any of them.
    pub before: Release,
    /// What is held now.
    pub after: Release,
    /// Codes of the batches that taught it.
    pub taken: Vec<String>,
    /// Pieces that were counted.
    pub pieces: u32,
    /// Days, or other blocks, that they are of.
    pub days: usize,
}

impl WholeTaught {
    /// What it stands on, in words.
    pub fn stands_on(&self) -> String {
        counted(self.taken.len(), "count", self.days)
    }
}

/// Share of the variance that lies between cuttings: pieces of one dough go well or badly together.
pub static BETWEEN_CUTTINGS: Constant = Constant {
    name: "share of the variance between cuttings",
    value: 0.05,
    unit: "1",
    range: Range::new(0.0, 1.0),
    source: "judgement: fifty pieces of one dough count as some fifteen of different ones",
    grade: Grade::Assumed,
};

/// What every count teaches of pieces leaving the cutter whole. None where nothing was counted.
///
/// # Errors
/// Counts that can't be.
pub fn whole_taught<'a>(
    cut: impl IntoIterator<Item = (&'a Batch, &'a BatchState)>,
) -> Result<Option<WholeTaught>, LearnError> {
    let counted = |(batch, state)| Some((batch, cutting((batch, state))?));
    let of: Vec<(&Batch, Cut)> = cut.into_iter().filter_map(counted).collect();
    if of.is_empty() {
        return Ok(None);
    }
    let cuts: Vec<Cut> = of.iter().map(|(_, cut)| cut.clone()).collect();
    Ok(Some(WholeTaught {
        before: fit(&release_priors(), &[], 0.0)?,
        after: fit(&release_priors(), &cuts, BETWEEN_CUTTINGS.value)?,
        taken: of.iter().map(|(b, _)| b.code.clone()).collect(),
        pieces: cuts.iter().map(|c| c.cut).sum(),
        days: days(of.iter().map(|(b, _)| *b)),
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
    let cuts: Vec<Cut> = cut.into_iter().filter_map(cutting).collect();
    fit(&release_priors(), &cuts, 0.0)
}

/// A batch that was cut and counted.
fn cutting((batch, state): (&Batch, &BatchState)) -> Option<Cut> {
    let need = batch.need_kg_per_100kg().filter(|n| *n > 0.0)?;
    let counts = state.counts;
    (counts.out_of() > 0).then(|| Cut {
        x: setting(need, state.water.per_100kg.unwrap_or(need)),
        whole: counts.left_whole(),
        cut: counts.out_of(),
    })
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Entry, fold};

    fn titration(n: usize, a: f64, water_kg: f64) -> (Batch, BatchState) {
        let form = format!(
            "code = 'B{n}'\nstudy = 's'\nrevision = 1\nhash = ''\ntreatment = 'control'\nlabel = 'c'\ndry_mix_kg = 100.0\n\
             places = [{{ name = 'day', value = 'd{}' }}]\n\
             titration_sd_kg = {}\n\
             drinks = [{{ name = 'old', kg_per_100kg = {a}, uptake_kg_per_kg = 0.9, uptake_sd = 0.2 }}, \
             {{ name = 'new', kg_per_100kg = {}, uptake_kg_per_kg = 0.7, uptake_sd = 0.3 }}, \
             {{ name = 'forming', kg_per_100kg = 1.0, uptake_kg_per_kg = -2.0, uptake_sd = 1.5 }}]",
            n / 4,
            TITRATION.0.value.hypot(TITRATION.1.value) * 0.8,
            100.0 - a
        );
        let batch: Batch = crate::read_form(&form).unwrap();
        let row = |id: u64, what: &str, value: String| Entry {
            id,
            key: format!("k{n}-{id}"),
            at: format!("2026-03-02T09:{n:02}:0{id}Z"),
            arrived: format!("2026-03-02T09:{n:02}:0{id}Z"),
            who: "Ada".into(),
            what: what.into(),
            value,
            ..Entry::default()
        };
        let rows = [
            row(1, "dose", format!("{water_kg}")),
            row(2, "dough-right", "yes".into()),
        ];
        let state = fold(&batch, &rows);
        (batch, state)
    }

    /// The same by the other way round, with the days as two more unknowns: Σ⁻¹ = Σ₀⁻¹ + XᵀX/σ², m = Σ(Σ₀⁻¹m₀ + Xᵀy/σ²),
    /// solved by elimination.
    fn by_precision(x: &[[f64; 5]], y: &[f64]) -> ([f64; 5], [[f64; 5]; 5]) {
        let sd = TITRATION.0.value;
        let day = TITRATION.1.value;
        let (m, s) = ([0.6, 0.5, 1.0, 0.0, 0.0], [0.1_f64, 0.2, 1.5, day, day]);
        let mut a = [[0.0; 11]; 5];
        for i in 0..5 {
            a[i][i] = s[i].powi(-2);
            a[i][5] = m[i] / (s[i] * s[i]);
            a[i][6 + i] = 1.0;
            for (row, y) in x.iter().zip(y) {
                for j in 0..5 {
                    a[i][j] += row[i] * row[j] / (sd * sd);
                }
                a[i][5] += row[i] * y / (sd * sd);
            }
        }
        for i in 0..5 {
            let pivot = a[i][i];
            a[i].iter_mut().for_each(|v| *v /= pivot);
            for k in (0..5).filter(|k| *k != i) {
                let (by, row) = (a[k][i], a[i]);
                a[k].iter_mut().zip(row).for_each(|(v, r)| *v -= by * r);
            }
        }
        let five = [0, 1, 2, 3, 4];
        (
            five.map(|i| a[i][5]),
            five.map(|i| five.map(|j| a[i][6 + j])),
        )
    }

    /// Eight titrations of a new blend, at another consistency than uptakes are told for.
    #[test]
    fn eight_titrations_narrow_the_need_as_an_independent_computation_says() {
        let believed = [("old", 0.6, 0.1), ("new", 0.5, 0.2), ("forming", 1.0, 1.5)];
        let believed = believed.map(|(name, mean, sd)| WaterPrior {
            name: name.into(),
            mean,
            sd,
        });
        let amounts = [80.0, 60.0, 50.0, 40.0, 70.0, 30.0, 55.0, 65.0];
        let water = |a: f64, n: usize| {
            let off = [0.4, -0.7, 0.2, 0.5, -0.1, 0.3, -0.4, 0.0][n];
            0.8 * (0.62 * a + 0.55 * (100.0 - a) + 0.8 + off)
        };
        let all: Vec<(Batch, BatchState)> = amounts
            .iter()
            .enumerate()
            .map(|(n, a)| titration(n, *a, water(*a, n)))
            .collect();
        let told = water_taught(&believed, all.iter().map(|(b, s)| (b, s)))
            .unwrap()
            .unwrap();
        assert_eq!(told.taken.len(), 8, "{:?}", told.asked);
        assert_eq!(told.days, 2);
        let day = |n: usize, of: usize| f64::from(u8::from(n / 4 == of));
        let rows = amounts.iter().enumerate();
        let x: Vec<[f64; 5]> = rows
            .map(|(n, a)| [*a, 100.0 - a, 1.0, day(n, 0), day(n, 1)])
            .collect();
        let y: Vec<f64> = (0..8).map(|n| water(amounts[n], n) / 0.8).collect();
        let (mean, covariance) = by_precision(&x, &y);
        for i in 0..3 {
            assert!((told.after.mean[i] - mean[i]).abs() < 1e-9);
            for (told, own) in told.after.covariance[i].iter().zip(covariance[i]) {
                assert!((told - own).abs() < 1e-9);
            }
        }
        let width = |m: &WaterModel| m.predict(&[50.0, 50.0, 1.0]).unwrap().sd_mean_kg;
        assert!(width(&told.after) < 0.2 * width(&told.before));
    }
}
