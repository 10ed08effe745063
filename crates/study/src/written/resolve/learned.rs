//! What was learned, as it was taken up.

use super::super::path::At;
use super::super::problem::{Problems, What};
use super::super::tables::{
    LearnedBakeRow, LearnedRow, LearnedWaterRow, LearnedWholeRow, TogetherRow,
};
use super::super::typed::Told;
use crate::model::{Joint, Learned, LearnedBake, LearnedWater, LearnedWhole};
use learning::Chosen;

/// What was learned; none where nothing is written or it is left out.
pub(super) fn learned(
    row: Option<&LearnedRow<'_>>,
    at: &At<'_>,
    problems: &mut Problems,
) -> Option<Learned> {
    let row = row.filter(|r| r.take_up.value != Some(false))?;
    let of = Learned {
        bake: (row.bake.get()).and_then(|b| bake(b, &at.key(LearnedRow::bake.name), problems)),
        water: (row.water.get()).and_then(|w| water(w, &at.key(LearnedRow::water.name), problems)),
        whole: (row.whole.get()).and_then(whole),
    };
    (of != Learned::default()).then_some(of)
}

fn bake(row: &LearnedBakeRow<'_>, at: &At<'_>, problems: &mut Problems) -> Option<LearnedBake> {
    let (mut of, mut mean, mut sd) = (Vec::new(), Vec::new(), Vec::new());
    for factor in &row.factors.value {
        of.push(Chosen {
            parameter: factor.on.value?,
            zone: factor.zone.value.map(|z| z as usize - 1),
        });
        mean.push(factor.place.value?);
        sd.push(factor.sd.value?);
    }
    let twice = (1..of.len()).find(|i| of[..*i].contains(&of[*i]));
    if let Some(i) = twice {
        let what = What::LearnedTwice(of[i].parameter.word().to_owned());
        let at = at.key(LearnedBakeRow::factors.name);
        problems.tell(&at, &row.factors.place, what);
        return None;
    }
    Some(LearnedBake {
        fit: row.fit.value?.to_owned(),
        from: row.from.value?.to_owned(),
        treatment: row.treatment.value?.to_owned(),
        made: row.made.value?.to_owned(),
        model_version: row.model_version.value?,
        factors: joint(of, mean, sd, &row.together, at, problems)?,
    })
}

fn water(row: &LearnedWaterRow<'_>, at: &At<'_>, problems: &mut Problems) -> Option<LearnedWater> {
    let (mut of, mut mean, mut sd) = (Vec::new(), Vec::new(), Vec::new());
    for uptake in &row.uptakes.value {
        of.push(uptake.of.value?.to_owned());
        mean.push(uptake.mean.value?);
        sd.push(uptake.sd.value?);
    }
    if let Some(i) = (1..of.len()).find(|i| of[..*i].contains(&of[*i])) {
        let what = What::LearnedTwice(of[i].clone());
        let at = at.key(LearnedWaterRow::uptakes.name);
        problems.tell(&at, &row.uptakes.place, what);
        return None;
    }
    Some(LearnedWater {
        from: row.from.value?.to_owned(),
        uptakes: joint(of, mean, sd, &row.together, at, problems)?,
    })
}

fn whole(row: &LearnedWholeRow<'_>) -> Option<LearnedWhole> {
    let sd = [row.level_sd.value?, row.off_water_sd.value?];
    let both = row.correlation.value * sd[0] * sd[1];
    Some(LearnedWhole {
        from: row.from.value?.to_owned(),
        mean: [row.level.value?, row.off_water.value?],
        covariance: [[sd[0] * sd[0], both], [both, sd[1] * sd[1]]],
    })
}

fn joint<Of>(
    of: Vec<Of>,
    mean: Vec<f64>,
    sd: Vec<f64>,
    together: &Told<Vec<TogetherRow<'_>>>,
    at: &At<'_>,
    problems: &mut Problems,
) -> Option<Joint<Of>> {
    let pairs: Option<Vec<(usize, usize, f64)>> = together
        .value
        .iter()
        .map(|row| {
            let place = |told: &Told<Option<u32>>| told.value.map(|v| v as usize - 1);
            Some((
                place(&row.first)?,
                place(&row.second)?,
                row.correlation.value?,
            ))
        })
        .collect();
    let joint = Joint::new(of, mean, sd, &pairs?);
    if joint.is_none() {
        let at = at.key(LearnedBakeRow::together.name);
        problems.tell(&at, &together.place, What::NotTogether);
    }
    joint
}
