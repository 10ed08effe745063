//! What dough water costs in the oven: output against the water of a treatment.

use crate::chain::dough_and_piece::dough_and_piece;
use crate::chain::{BakeOptions, RunError, Sample, Why, run};
use crate::model::Treatment;
use crate::views::knock_on;
use baking::bake::Workspace;
use rayon::prelude::*;
use serde::Serialize;

/// A point of the curve of oven output against dough water.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct WaterPoint {
    /// Water added, kg per 100 kg dry mix.
    pub water_kg_per_100kg_dry_mix: f64,
    /// Dough moisture, % wet basis.
    pub dough_moisture_pct: f64,
    /// Bake time, min.
    pub bake_min: f64,
    /// What the oven alone gives, kg/h.
    pub oven_kg_per_h: Option<f64>,
    /// Line output, kg/h.
    pub output_kg_per_h: f64,
    /// Whether the target is reached there.
    pub reached: bool,
}

/// The oven's output against dough water around the water of a treatment, `points` (at least 9)
/// evenly from 25 % less to 25 % more.
///
/// # Errors
/// A point that can't be worked out.
pub fn water_curve(
    treatment: &Treatment,
    options: &BakeOptions,
    points: usize,
) -> Result<Vec<WaterPoint>, RunError> {
    let centre = dough_and_piece(treatment, options, Sample::Centre)
        .map_err(|e| Why::from(e).of(treatment))?
        .formula
        .water_kg_per_100kg_dry_mix();
    let points = points.max(9);
    (0..points)
        .into_par_iter()
        .map_init(Workspace::new, |w, i| {
            let share = 0.75 + 0.5 * i as f64 / (points - 1) as f64;
            let options = BakeOptions {
                water_kg_per_100kg: Some(centre * share),
                checks: false,
                ..*options
            };
            let k = knock_on(&run(treatment, &options, Sample::Centre, w)?);
            Ok(WaterPoint {
                water_kg_per_100kg_dry_mix: k.dough.water_added_kg_per_100kg_dry_mix,
                dough_moisture_pct: k.dough.moisture_pct,
                bake_min: k.bake.time_min,
                oven_kg_per_h: k.line.oven_kg_per_h,
                output_kg_per_h: k.line.output_kg_per_h,
                reached: k.bake.reached,
            })
        })
        .collect::<Vec<Result<WaterPoint, RunError>>>()
        .into_iter()
        .collect()
}
