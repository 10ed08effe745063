//! The interval of a bake time before and after a fit.

use crate::bakes::{BAKE_HEAT, BAKE_MOISTURE, MODEL_MOISTURE};
use crate::{Chosen, Fit};
use baking::bake::derivatives::band_time_with_derivatives;
use baking::bake::search::BandTarget;
use baking::bake::{BakeError, BakeInput, Direction, Multiplier, Workspace};
use nalgebra::{DMatrix, DVector};

/// A time in the oven and how sure it is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sure {
    /// The time \[s\].
    pub time_s: f64,
    /// Standard deviation of its logarithm by what is learned or believed of the oven and dough.
    pub sd_ln: f64,
    /// The same for the next single bake: with the differences between bakes and the error of the model itself.
    pub next_sd_ln: f64,
}

impl Sure {
    /// The central 95 % of the time \[s\].
    pub fn interval_s(&self) -> [f64; 2] {
        [-1.96, 1.96].map(|z| self.time_s * (z * self.sd_ln).exp())
    }

    /// The central 95 % for the next single bake \[s\].
    pub fn next_interval_s(&self) -> [f64; 2] {
        [-1.96, 1.96].map(|z| self.time_s * (z * self.next_sd_ln).exp())
    }
}

/// The time at which a target is met by the best values alone; none where it isn't.
///
/// # Errors
/// What can't be baked.
pub fn before(
    input: &BakeInput,
    wanted: &BandTarget,
    chosen: &[Chosen],
    w: &mut Workspace,
) -> Result<Option<Sure>, BakeError> {
    let sd: Vec<f64> = chosen.iter().map(|c| c.sd(input).powi(2)).collect();
    let covariance = DMatrix::from_diagonal(&DVector::from_vec(sd));
    sure(
        input,
        wanted,
        chosen,
        &vec![0.0; chosen.len()],
        &covariance,
        w,
    )
}

/// The same after a fit.
///
/// # Errors
/// What can't be baked.
pub fn after(
    input: &BakeInput,
    wanted: &BandTarget,
    fit: &Fit,
    w: &mut Workspace,
) -> Result<Option<Sure>, BakeError> {
    let chosen: Vec<Chosen> = fit.parameters.iter().map(|p| p.chosen).collect();
    let places: Vec<f64> = fit.parameters.iter().map(|p| p.place).collect();
    sure(input, wanted, &chosen, &places, &fit.covariance, w)
}

/// The time, its slopes by the places of what is learned, and the deviations of the next bake that no reading takes away.
pub(crate) struct Sloped {
    pub time_s: f64,
    pub slopes: DVector<f64>,
    pub next_variance: f64,
}

impl Sloped {
    pub(crate) fn variance(&self, covariance: &DMatrix<f64>) -> f64 {
        self.slopes.dot(&(covariance * &self.slopes)).max(0.0)
    }
}

fn sure(
    input: &BakeInput,
    wanted: &BandTarget,
    chosen: &[Chosen],
    places: &[f64],
    covariance: &DMatrix<f64>,
    w: &mut Workspace,
) -> Result<Option<Sure>, BakeError> {
    let Some(sloped) = sloped(input, wanted, chosen, places, w)? else {
        return Ok(None);
    };
    let variance = sloped.variance(covariance);
    Ok(Some(Sure {
        time_s: sloped.time_s,
        sd_ln: variance.sqrt(),
        next_sd_ln: (variance + sloped.next_variance).sqrt(),
    }))
}

/// The time that meets a target at places of what is learned, with its slopes; none where it isn't met.
pub(crate) fn sloped(
    input: &BakeInput,
    wanted: &BandTarget,
    chosen: &[Chosen],
    places: &[f64],
    w: &mut Workspace,
) -> Result<Option<Sloped>, BakeError> {
    let mut at = input.clone();
    let mut by: Vec<Direction> = Vec::new();
    for (chosen, place) in chosen.iter().zip(places) {
        chosen.apply(&mut at, *place);
        by.push(chosen.direction());
    }
    by.extend([Multiplier::TopHeat, Multiplier::InitialMoisture].map(Direction::of));
    let told = band_time_with_derivatives(&at, wanted, &by, w)?;
    let Some(slopes) = told.by else {
        return Ok(None);
    };
    let (own, bake) = slopes.split_at(chosen.len());
    let off = MODEL_MOISTURE.value / told.moisture_per_ln_time;
    Ok(Some(Sloped {
        time_s: told.found.time_s,
        slopes: DVector::from_iterator(
            own.len(),
            own.iter()
                .zip(chosen.iter().zip(places))
                .map(|(s, (c, place))| s * c.factor(input, *place).1),
        ),
        next_variance: (BAKE_HEAT.value * bake[0]).powi(2)
            + (BAKE_MOISTURE.value * bake[1]).powi(2)
            + off * off,
    }))
}
