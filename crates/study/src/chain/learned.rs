//! What is learned from batches stands here: the water a dough needs, and whether its pieces leave the cutter whole.
//!
//! Until there are batches the beliefs are the priors alone: the water need is that of the materials' uptakes, and the
//! share of whole pieces is as wide as what is known of it.

use super::Sample;
use crate::model::{Joint, LearnedWater, LearnedWhole, Study, Treatment};
use formula::water::{DAY_SD, TITRATION_SD};
use formula::{Forming, WaterNeed};
use measure::{Constant, Given, Grade, Range, Source};
use trials::learn::{
    Release, ReleaseError, ReleasePrior, WaterError, WaterModel, WaterPrior, Whole, fit,
};

/// Name of what a way of forming asks for beside the materials: what one likes says nothing of another.
const fn offset(forming: Forming) -> &'static str {
    match forming {
        Forming::Sheeted => "forming",
        Forming::RotaryMoulded => "forming, rotary moulded",
        Forming::WireCut => "forming, wire-cut",
    }
}

/// Logit of the share of pieces that leave the cutter whole at the water the dough needs.
pub const WHOLE_LEVEL: Constant = Constant {
    name: "logit of the share of whole pieces at the water needed",
    value: 2.5,
    unit: "1",
    range: Range::new(-3.0, 7.0),
    source: "working value: nine of ten pieces and more leave the cutter whole once a dough is right; counts replace it",
    grade: Grade::Assumed,
};
/// Its spread between doughs.
pub const WHOLE_LEVEL_SD: Constant = Constant {
    name: "spread between doughs of the logit of the share of whole pieces",
    value: 1.2,
    unit: "1, sd",
    range: Range::new(0.1, 5.0),
    source: "judgement: from half to nearly all of the pieces, before any count",
    grade: Grade::Assumed,
};
/// What a tenth of the needed water too much or too little takes off the logit.
pub const WHOLE_OFF_WATER: Constant = Constant {
    name: "fall of the logit of the share of whole pieces per tenth of the water off the need",
    value: 1.0,
    unit: "1",
    range: Range::new(0.0, 5.0),
    source: "judgement: a dough a fifth too wet sticks, one a fifth too dry crumbles; counts replace it",
    grade: Grade::Assumed,
};
/// Its spread.
pub const WHOLE_OFF_WATER_SD: Constant = Constant {
    name: "spread of the fall per tenth of the water off the need",
    value: 0.7,
    unit: "1, sd",
    range: Range::new(0.05, 5.0),
    source: "judgement, before any count",
    grade: Grade::Assumed,
};

/// The water model of a need: a prior for each material and one for the forming. What was learned of them stands in their
/// place with how they go together; of a draw it is drawn as a whole. A material that wasn't among what was learned keeps its
/// own.
///
/// # Errors
/// A prior that is no number.
pub fn water_model(
    need: &WaterNeed,
    taught: Option<&LearnedWater>,
    sample: Sample,
) -> Result<(WaterModel, Vec<f64>), WaterError> {
    let amounts = need.shares.iter().map(|s| s.kg_per_100kg);
    let amounts: Vec<f64> = amounts.chain([1.0]).collect();
    let noise = TITRATION_SD.value.hypot(DAY_SD.value);
    let mut model = WaterModel::new(&priors(need), noise)?;
    if let Some(taught) = taught {
        take_up(&mut model, &taught.uptakes, sample);
    }
    Ok((model, amounts))
}

/// Spread of a titration about the truth, and from day to day.
pub const TITRATION: (&Constant, &Constant) = (&TITRATION_SD, &DAY_SD);

/// What is believed of the water that a study's materials take before any titration, and of its forming.
pub fn water_believed(study: &Study) -> Vec<WaterPrior> {
    let mut all: Vec<WaterPrior> = Vec::new();
    for treatment in &study.treatments {
        let need = formula::water::need(&treatment.formula, treatment.setting.process.forming);
        for prior in priors(&need) {
            if !all.iter().any(|p| p.name == prior.name) {
                all.push(prior);
            }
        }
    }
    all
}

fn priors(need: &WaterNeed) -> Vec<WaterPrior> {
    let materials = need.shares.iter().map(|s| WaterPrior {
        name: s.material.clone(),
        mean: s.uptake_kg_per_kg,
        sd: s.uptake_sd,
    });
    let forming = WaterPrior {
        name: offset(need.forming).to_owned(),
        mean: need.forming.offset().value,
        sd: need.forming.offset_sd().value,
    };
    materials.chain([forming]).collect()
}

fn take_up(model: &mut WaterModel, uptakes: &Joint<String>, sample: Sample) {
    let deviate = |name: &String| sample.z(&format!("learned water of {name}"));
    let drawn = uptakes.at(&uptakes.of.iter().map(deviate).collect::<Vec<_>>());
    let place = |name: &String| uptakes.of.iter().position(|of| of == name);
    let places: Vec<Option<usize>> = model.names.iter().map(place).collect();
    for (i, here) in places.iter().enumerate() {
        let Some(here) = *here else { continue };
        model.mean[i] = drawn[here];
        for (j, there) in places.iter().enumerate() {
            if let Some(there) = *there {
                model.covariance[i][j] = uptakes.covariance(here, there);
            }
        }
    }
}

/// The share of pieces that leave the cutter whole with so much water, kg per 100 kg dry mix; none where the need is
/// nothing.
///
/// # Errors
/// Counts that can't be.
pub fn whole_pieces(
    need_kg: f64,
    water_kg: f64,
    taught: Option<&LearnedWhole>,
) -> Result<Option<Whole>, ReleaseError> {
    if need_kg <= 0.0 {
        return Ok(None);
    }
    let tenths_off = (10.0 * (water_kg / need_kg - 1.0)).abs();
    release(taught)?.whole(&[1.0, tenths_off]).map(Some)
}

/// What is believed of pieces leaving the cutter whole before any count, or what counts taught.
///
/// # Errors
/// Never for what can be written.
pub fn release(taught: Option<&LearnedWhole>) -> Result<Release, ReleaseError> {
    let mut model = fit(&release_priors(), &[], 0.0)?;
    if let Some(taught) = taught {
        model.mean = taught.mean.to_vec();
        model.covariance = taught.covariance.map(Vec::from).to_vec();
    }
    Ok(model)
}

/// Beliefs before any count: the level at the water needed, and its change per tenth of the water off the need.
pub fn release_priors() -> [ReleasePrior; 2] {
    let prior = |name: &str, mean: f64, sd: &Constant| ReleasePrior {
        name: name.to_owned(),
        mean,
        sd: sd.value,
    };
    [
        prior("level", WHOLE_LEVEL.value, &WHOLE_LEVEL_SD),
        prior(
            "water off the need",
            -WHOLE_OFF_WATER.value,
            &WHOLE_OFF_WATER_SD,
        ),
    ]
}

/// The numbers that the share of whole pieces stands on.
pub fn whole_given(treatment: &Treatment) -> Vec<Given> {
    let taken_up = treatment.setting.learned.as_ref();
    let beliefs = [
        &WHOLE_LEVEL,
        &WHOLE_LEVEL_SD,
        &WHOLE_OFF_WATER,
        &WHOLE_OFF_WATER_SD,
    ];
    let Some(taught) = taken_up.and_then(|l| l.whole.as_ref()) else {
        return beliefs.map(Constant::used).to_vec();
    };
    let sd = |i: usize| taught.covariance[i][i].sqrt();
    let values = [taught.mean[0], sd(0), -taught.mean[1], sd(1)];
    beliefs
        .into_iter()
        .zip(values)
        .map(|(constant, value)| Given {
            value: Some(value),
            source: Source::new(Grade::Learned, taught.from.clone()),
            ..constant.used()
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use formula::water;

    /// Without a batch the model says what the sum of the uptakes says.
    #[test]
    fn priors_alone_give_the_need_of_the_materials() {
        let text = include_str!("../../../../examples/spent-grain.toml");
        let study = crate::written::read(text).unwrap();
        for t in &study.treatments {
            let need = water::need(&t.formula, Forming::Sheeted);
            let (model, amounts) = water_model(&need, None, Sample::Centre).unwrap();
            let told = model.predict(&amounts).unwrap();
            assert!((told.mean_kg - need.mean).abs() < 1e-9, "{}", t.id);
            assert!((told.sd_titration_kg - need.sd).abs() < 1e-9, "{}", t.id);
        }
    }

    #[test]
    fn pieces_are_likeliest_whole_at_the_water_that_is_needed() {
        let share = |water| whole_pieces(30.0, water, None).unwrap().unwrap();
        let right = share(30.0);
        assert!(
            right.probability > share(33.0).probability
                && right.probability > share(27.0).probability
        );
        assert!(
            right.low95 < 0.6 && right.high95 > 0.95,
            "{right:?}: wide before any count"
        );
        assert_eq!(whole_pieces(0.0, 5.0, None).unwrap(), None);
    }
}
