//! What batches say of the figures that the study computes.

use crate::{Batch, BatchState, Made, Value, What};
use measure::estimate::Z95;
use serde::Serialize;
use study::Figure;
use trials::response::Response;
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

fn mean_of(values: impl Iterator<Item = f64>) -> Option<f64> {
    let all: Vec<f64> = values.filter(|v| v.is_finite()).collect();
    (!all.is_empty()).then(|| all.iter().sum::<f64>() / all.len() as f64)
}

/// The mean of what stands and isn't set aside: written at a station, or read in as one of these responses.
fn read(batch: &Batch, state: &BatchState, what: Option<What>, asked: &[Response]) -> Option<f64> {
    let is_asked = |v: &&Value| {
        let of = v.of.as_deref().filter(|_| v.what == What::Observed);
        let known = of.and_then(|of| batch.response(of)?.known());
        known.is_some_and(|r| asked.contains(&r)) || Some(v.what) == what
    };
    let stands = state.values.iter().filter(|v| v.set_aside().is_none());
    mean_of(stands.filter(is_asked).map(|v| v.value))
}

/// The four ways in which the moisture at the end is measured; a study computes one.
pub(crate) const MOISTURES: [Response; 4] = [
    Response::MoistureAirOven130,
    Response::MoistureAirOven135,
    Response::MoistureVacuum,
    Response::MoistureHalogen,
];

/// What a batch says of a figure, in the figure's unit.
pub fn of_figure(batch: &Batch, state: &BatchState, figure: Figure) -> Option<f64> {
    match figure {
        Figure::WaterNeed => read(batch, state, None, &[Response::WaterDose]).or_else(|| {
            state.water.right.as_ref()?;
            let upto = state.water.doses.iter().rfind(|d| !d.after_right)?;
            upto.per_100kg
        }),
        Figure::GreenMass => mean_of(state.of(What::MassBefore).filter_map(|before| {
            let same = |v: &&Value| v.of == before.of && v.on == before.on;
            let pieces = state.of(What::PulledPieces).filter(same).last()?;
            let stands = before.set_aside().is_none() && pieces.value > 0.0;
            stands.then(|| before.value / pieces.value)
        })),
        Figure::BakedMass => read(batch, state, Some(What::CooledMass), &[Response::PieceMass]),
        Figure::BakeTime => mean_of(state.loads.iter().filter_map(|l| l.minutes)),
        Figure::PackedMoisture => read(batch, state, Some(What::Moisture), &MOISTURES),
        Figure::PackedActivity => {
            let what = Some(What::WaterActivity);
            read(batch, state, what, &[Response::WaterActivity])
        }
        _ => None,
    }
}

/// What a batch says of the figures.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Says {
    /// Its lasting name.
    pub batch: String,
    /// Its code.
    pub code: String,
    /// The treatment, by its name in the study.
    pub treatment: String,
    /// The revision of the study that it was made by.
    pub revision: u64,
    /// Keys of figures with their values, in their units.
    pub values: Vec<(&'static str, f64)>,
}

/// What a batch says of the figures; one that was given up says nothing.
pub fn says(made: &Made) -> Says {
    let figures = MEASURED.into_iter();
    let values = match made.state.abandoned {
        Some(_) => Vec::new(),
        None => figures
            .filter_map(|f| Some((f.about().key, of_figure(&made.batch, &made.state, f)?)))
            .collect(),
    };
    Says {
        batch: made.id.clone(),
        code: made.batch.code.clone(),
        treatment: made.batch.treatment.clone(),
        revision: made.batch.revision,
        values,
    }
}

/// What the batches say of the figures, treatment by treatment.
///
/// ```
/// // Two batches of 10 and 12: mean 11, and by Student's t with one degree of freedom 11 ± 12.706 (textbook).
/// let (mean, interval) = bench::mean_and_interval(&[10.0, 12.0]);
/// assert_eq!(mean, 11.0);
/// assert!((interval.unwrap().1 - 23.706).abs() < 1e-3);
/// ```
pub fn beside<'a>(all: impl IntoIterator<Item = &'a Says>) -> Vec<Beside> {
    let mut found: Vec<(Beside, Vec<f64>)> = Vec::new();
    for one in all {
        for (figure, value) in &one.values {
            let at = found
                .iter()
                .position(|(b, _)| b.treatment == one.treatment && b.figure == *figure);
            let at = at.unwrap_or_else(|| {
                let new = Beside {
                    treatment: one.treatment.clone(),
                    figure,
                    mean: f64::NAN,
                    interval: None,
                    batches: 0,
                    revisions: (one.revision, one.revision),
                };
                found.push((new, Vec::new()));
                found.len() - 1
            });
            let (beside, values) = &mut found[at];
            let (low, high) = beside.revisions;
            beside.revisions = (low.min(one.revision), high.max(one.revision));
            values.push(*value);
        }
    }
    let finished = found.into_iter().map(|(mut beside, values)| {
        (beside.mean, beside.interval) = mean_and_interval(&values);
        beside.batches = values.len();
        beside
    });
    finished.collect()
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
