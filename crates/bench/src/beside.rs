//! What batches say of the figures that the study computes.

use crate::{BatchState, Made, What};
use measure::estimate::Z95;
use serde::Serialize;
use study::Figure;
use trials::stats::distribution::t_quantile;

/// The figures that a batch can say something of.
pub const MEASURED: [Figure; 6] = [
    Figure::WaterNeed,
    Figure::GreenMass,
    Figure::BakedMass,
    Figure::BakeTime,
    Figure::PackedMoisture,
    Figure::PackedActivity,
];

/// A figure as batches of a treatment have it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Beside {
    /// The treatment, by its name in the study.
    pub treatment: String,
    /// Key of the figure.
    pub figure: &'static str,
    /// Mean of the batches, in the figure's unit.
    pub mean: f64,
    /// 95 % interval of the mean by Student's t; none of one batch alone.
    pub interval: Option<(f64, f64)>,
    /// Batches.
    pub batches: usize,
    /// The lowest and highest revision of the study that they were made by.
    pub revisions: (u64, u64),
}

/// The mean of the values of a thing that stand and aren't set aside.
fn mean(state: &BatchState, what: What) -> Option<f64> {
    let values = state.of(what).filter(|v| v.set_aside().is_none());
    mean_of(values.map(|v| v.value))
}

fn mean_of(values: impl Iterator<Item = f64>) -> Option<f64> {
    let all: Vec<f64> = values.filter(|v| v.is_finite()).collect();
    (!all.is_empty()).then(|| all.iter().sum::<f64>() / all.len() as f64)
}

/// What a batch says of a figure, in the figure's unit.
pub fn of_figure(state: &BatchState, figure: Figure) -> Option<f64> {
    match figure {
        Figure::WaterNeed => {
            state.water.right.as_ref()?;
            state
                .water
                .doses
                .iter()
                .rfind(|d| !d.after_right)?
                .per_100kg
        }
        Figure::GreenMass => mean_of(state.of(What::MassBefore).filter_map(|before| {
            let same = |v: &&crate::Value| v.of == before.of && v.on == before.on;
            let pieces = state.of(What::PulledPieces).filter(same).last()?;
            (pieces.value > 0.0).then(|| before.value / pieces.value)
        })),
        Figure::BakedMass => mean(state, What::CooledMass),
        Figure::BakeTime => mean_of(state.loads.iter().filter_map(|l| l.minutes)),
        Figure::PackedMoisture => mean(state, What::Moisture),
        Figure::PackedActivity => mean(state, What::WaterActivity),
        _ => None,
    }
}

/// Treatment, figure, the batches' values, the revisions they were made by.
type Gathered<'a> = (&'a str, Figure, Vec<f64>, (u64, u64));

/// What the batches say of the figures, treatment by treatment. Batches that were given up say nothing.
///
/// ```
/// // Two batches of 10 and 12: mean 11, and by Student's t with one degree of freedom 11 ± 12.706 (textbook).
/// let (mean, interval) = bench::mean_and_interval(&[10.0, 12.0]);
/// assert_eq!(mean, 11.0);
/// assert!((interval.unwrap().1 - 23.706).abs() < 1e-3);
/// ```
pub fn beside<'a>(made: impl IntoIterator<Item = &'a Made>) -> Vec<Beside> {
    let mut all: Vec<Gathered<'_>> = Vec::new();
    for one in made {
        if one.state.abandoned.is_some() {
            continue;
        }
        for figure in MEASURED {
            let Some(value) = of_figure(&one.state, figure) else {
                continue;
            };
            let (treatment, revision) = (one.batch.treatment.as_str(), one.batch.revision);
            match all.iter_mut().find(|a| a.0 == treatment && a.1 == figure) {
                Some((_, _, values, revisions)) => {
                    values.push(value);
                    *revisions = (revisions.0.min(revision), revisions.1.max(revision));
                }
                None => all.push((treatment, figure, vec![value], (revision, revision))),
            }
        }
    }
    all.into_iter()
        .map(|(treatment, figure, values, revisions)| {
            let (mean, interval) = mean_and_interval(&values);
            Beside {
                treatment: treatment.to_owned(),
                figure: figure.about().key,
                mean,
                interval,
                batches: values.len(),
                revisions,
            }
        })
        .collect()
}

/// The mean of batches with its 95 % interval by Student's t; one batch has none.
pub fn mean_and_interval(values: &[f64]) -> (f64, Option<(f64, f64)>) {
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n;
    if values.len() < 2 {
        return (mean, None);
    }
    let variance = values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (n - 1.0);
    let t = t_quantile(0.975, n - 1.0).max(Z95);
    let half = t * (variance / n).sqrt();
    (mean, Some((mean - half, mean + half)))
}
