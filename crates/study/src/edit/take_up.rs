//! Taking up what was learned, and leaving it out again.

use super::EditError;
use crate::written::tables::{
    LEARNED, LEARNED_BAKE, LEARNED_FACTOR, LEARNED_UPTAKE, LEARNED_WATER, LEARNED_WHOLE,
    LearnedBakeRow, LearnedFactorRow, LearnedRow, LearnedUptakeRow, LearnedWaterRow,
    LearnedWholeRow, RootRow, TOGETHER, TogetherRow,
};
use crate::written::{Row, StudyWritten, Value};
use learning::written::Kept;
use learning::{Learned, Parameter};
use serde::{Deserialize, Serialize};
use trials::learn::{Release, WaterModel};

/// What was learned, as it is taken up.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Taught {
    /// Numbers of the bake.
    Bake {
        /// Name of the fit.
        fit: String,
        /// What it stands on.
        from: String,
        /// The treatment that was baked.
        treatment: String,
        /// When it was made.
        made: String,
        /// Version of the bake's arithmetic it was made with.
        model_version: u32,
        /// What was learned.
        factors: Vec<Factor>,
        /// Correlations of the places of two, counted from 0.
        together: Vec<(usize, usize, f64)>,
    },
    /// Water that the materials take: name, mean, standard deviation.
    Water {
        /// What it stands on.
        from: String,
        /// What was learned.
        uptakes: Vec<(String, f64, f64)>,
        /// Correlations of the places of two, counted from 0.
        together: Vec<(usize, usize, f64)>,
    },
    /// Whether pieces leave the cutter whole: means and standard deviations of level and change, and their correlation.
    Whole {
        /// What it stands on.
        from: String,
        /// Log-odds at the water needed, and its change per tenth of the water off.
        mean: [f64; 2],
        /// Their standard deviations.
        sd: [f64; 2],
        /// Their correlation.
        correlation: f64,
    },
}

/// A number of the bake that was learned.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Factor {
    /// Which.
    pub on: Parameter,
    /// Its zone, counted from 1; none for the whole oven.
    pub zone: Option<u32>,
    /// Its place on its own scale.
    pub place: f64,
    /// Standard deviation of it.
    pub sd: f64,
}

/// A part of what can be learned.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Part {
    /// Numbers of the bake.
    Bake,
    /// Water that the materials take.
    Water,
    /// Whether pieces leave the cutter whole.
    Whole,
}

impl Part {
    /// Every part.
    pub const ALL: [Self; 3] = [Self::Bake, Self::Water, Self::Whole];

    /// Its word in a study file.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Bake => LearnedRow::bake.name,
            Self::Water => LearnedRow::water.name,
            Self::Whole => LearnedRow::whole.name,
        }
    }
}

impl Taught {
    /// A fit to bakes.
    pub fn of_fit(kept: &Kept) -> Self {
        let fit = &kept.fit;
        let factor = |p: &Learned| Factor {
            on: p.chosen.parameter,
            zone: p.chosen.zone.map(|z| z as u32 + 1),
            place: p.place,
            sd: p.sd,
        };
        Self::Bake {
            fit: kept.name.clone(),
            from: fit.stands_on(),
            treatment: kept.treatment.clone(),
            made: kept.made.clone(),
            model_version: fit.model_version,
            factors: fit.parameters.iter().map(factor).collect(),
            together: correlations(fit.parameters.len(), |i, j| fit.covariance[(i, j)]),
        }
    }

    /// What titrations taught of materials and forming.
    pub fn of_water(from: String, model: &WaterModel) -> Self {
        let n = model.names.len();
        let sd = model.sd();
        let told = (0..n).map(|i| (model.names[i].clone(), model.mean[i], sd[i]));
        Self::Water {
            from,
            uptakes: told.collect(),
            together: correlations(n, |i, j| model.covariance[i][j]),
        }
    }

    /// What counts of whole and broken pieces taught; none of a model of other effects.
    pub fn of_whole(from: String, model: &Release) -> Option<Self> {
        let [level, off] = model.mean[..] else {
            return None;
        };
        let c = |i: usize, j: usize| model.covariance[i][j];
        let sd = [c(0, 0).max(0.0).sqrt(), c(1, 1).max(0.0).sqrt()];
        let pairs = correlations(2, c);
        Some(Self::Whole {
            from,
            mean: [level, off],
            sd,
            correlation: pairs.first().map_or(0.0, |p| p.2),
        })
    }

    /// Which part it is.
    pub const fn part(&self) -> Part {
        match self {
            Self::Bake { .. } => Part::Bake,
            Self::Water { .. } => Part::Water,
            Self::Whole { .. } => Part::Whole,
        }
    }

    fn row(&self) -> Row {
        match self {
            Self::Bake {
                fit,
                from,
                treatment,
                made,
                model_version,
                factors,
                together,
            } => {
                let mut row = Row::new(&LEARNED_BAKE);
                row.put(LearnedBakeRow::fit, fit);
                row.put(LearnedBakeRow::from, from);
                row.put(LearnedBakeRow::treatment, treatment);
                row.put(LearnedBakeRow::made, made);
                row.put(LearnedBakeRow::model_version, *model_version);
                let lines = factors.iter().map(|f| {
                    let mut line = Row::new(&LEARNED_FACTOR);
                    line.put(LearnedFactorRow::on, f.on);
                    if let Some(zone) = f.zone {
                        line.put(LearnedFactorRow::zone, zone);
                    }
                    line.put(LearnedFactorRow::place, f.place);
                    line.put(LearnedFactorRow::sd, f.sd);
                    line
                });
                let lines = Value::Rows(lines.collect());
                row.set(LearnedBakeRow::factors.name, lines);
                put_together(&mut row, together);
                row
            }
            Self::Water {
                from,
                uptakes,
                together,
            } => {
                let mut row = Row::new(&LEARNED_WATER);
                row.put(LearnedWaterRow::from, from);
                let lines = uptakes.iter().map(|(of, mean, sd)| {
                    let mut line = Row::new(&LEARNED_UPTAKE);
                    line.put(LearnedUptakeRow::of, of);
                    line.put(LearnedUptakeRow::mean, *mean);
                    line.put(LearnedUptakeRow::sd, *sd);
                    line
                });
                let lines = Value::Rows(lines.collect());
                row.set(LearnedWaterRow::uptakes.name, lines);
                put_together(&mut row, together);
                row
            }
            Self::Whole {
                from,
                mean,
                sd,
                correlation,
            } => {
                let mut row = Row::new(&LEARNED_WHOLE);
                row.put(LearnedWholeRow::from, from);
                row.put(LearnedWholeRow::level, mean[0]);
                row.put(LearnedWholeRow::level_sd, sd[0]);
                row.put(LearnedWholeRow::off_water, mean[1]);
                row.put(LearnedWholeRow::off_water_sd, sd[1]);
                row.put(LearnedWholeRow::correlation, *correlation);
                row
            }
        }
    }
}

/// The correlations of a covariance that aren't nothing.
fn correlations(n: usize, covariance: impl Fn(usize, usize) -> f64) -> Vec<(usize, usize, f64)> {
    let pairs = (0..n).flat_map(|i| (i + 1..n).map(move |j| (i, j)));
    pairs
        .filter_map(|(i, j)| {
            let scale = (covariance(i, i) * covariance(j, j)).sqrt();
            let r = covariance(i, j) / scale;
            (scale > 0.0 && r != 0.0).then(|| (i, j, r.clamp(-1.0, 1.0)))
        })
        .collect()
}

fn put_together(row: &mut Row, together: &[(usize, usize, f64)]) {
    let lines = together.iter().map(|&(first, second, correlation)| {
        let mut line = Row::new(&TOGETHER);
        line.put(TogetherRow::first, first as u32 + 1);
        line.put(TogetherRow::second, second as u32 + 1);
        line.put(TogetherRow::correlation, correlation);
        line
    });
    let lines: Vec<Row> = lines.collect();
    if !lines.is_empty() {
        row.set(LearnedBakeRow::together.name, Value::Rows(lines));
    }
}

/// Puts it in the study, in place of what was learned of the same part before.
pub(super) fn take_up(w: &mut StudyWritten, taught: &Taught) -> Result<(), EditError> {
    let row = taught.row();
    checked(&row, taught.part())?;
    let section = RootRow::learned.name;
    if w.root.below(section).is_none() {
        w.root.set(section, Value::Row(Row::new(&LEARNED)));
    }
    if let Some(learned) = w.root.below_mut(section) {
        learned.take(LearnedRow::take_up);
        learned.set(taught.part().word(), Value::Row(row));
    }
    Ok(())
}

/// Every value as its field takes it, so that what is written can be read back.
fn checked(row: &Row, part: Part) -> Result<(), EditError> {
    use super::{Put, field};
    for entry in &row.entries {
        let path = format!("learned.{}.{}", part.word(), entry.key);
        let put = match &entry.value {
            Value::Number(n) => Put::Number(*n),
            Value::Text(t) => Put::Text(t.clone()),
            Value::Rows(rows) => {
                rows.iter().try_for_each(|r| checked(r, part))?;
                continue;
            }
            _ => continue,
        };
        if let Some(of) = row.table.field(entry.key) {
            field::value(of, &path, &put)?;
        }
    }
    Ok(())
}

/// Takes a part out of the study; the section goes with the last of them.
pub(super) fn leave_out(w: &mut StudyWritten, part: Part) {
    let section = RootRow::learned.name;
    let Some(learned) = w.root.below_mut(section) else {
        return;
    };
    learned.remove(part.word());
    if !Part::ALL.iter().any(|p| learned.has(p.word())) {
        w.root.remove(section);
    }
}
