//! The piece in cross-section through time: what a heat picture with a time slider shows.

use crate::chain::{Run, RunError, Why, browning};
use baking::bake::{Ask, AskedTimes, StageKind, Workspace, bake};
use measure::temperature::celsius;
use serde::Serialize;

/// Frames of a bake through the thickness; rows from the bottom to the top of the piece.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CrossSection {
    /// Time of each frame from the oven's mouth, min.
    pub time_min: Vec<f64>,
    /// Height of each node over the band, mm.
    pub height_mm: Vec<f64>,
    /// Temperature, °C, a row per frame.
    pub temperature_c: Vec<Vec<f64>>,
    /// Moisture, % wet basis, a row per frame.
    pub moisture_pct: Vec<Vec<f64>>,
    /// Water activity at the local temperature, a row per frame.
    pub water_activity: Vec<Vec<f64>>,
    /// Colour difference ΔE of the top from the dough so far, a value per frame.
    pub colour_delta_e: Vec<f64>,
    /// Log reduction of *Salmonella* so far at the least treated place, a value per frame; only what
    /// the tested temperatures and water activities support is credited.
    pub kill_log10: Vec<f64>,
    /// Name and end (min) of every zone and of the cooling.
    pub zones: Vec<(String, f64)>,
    /// Where the piece is wettest as it leaves the oven, mm over the band.
    pub wettest_at_exit_mm: Option<f64>,
    /// How wet it is there, % wet basis.
    pub wettest_at_exit_pct: Option<f64>,
}

/// Most frames of a field.
pub const MOST_FRAMES: usize = 240;

/// The cross-section of a bake in `frames` frames over oven and cooling.
///
/// # Errors
/// A bake that can't be followed.
pub fn cross_section(run: &Run, frames: usize) -> Result<CrossSection, RunError> {
    let frames = frames.clamp(2, MOST_FRAMES);
    let (input, time_s, browned) = (&run.baked.input, run.baked.time_s, run.browning);
    let end_s: f64 = input
        .stages
        .iter()
        .filter(|s| s.kind != StageKind::Pack)
        .map(|s| s.duration_s)
        .sum();
    // The oven's exit is a frame of its own.
    let mut times: Vec<f64> = (0..frames)
        .map(|i| end_s * i as f64 / (frames - 1) as f64)
        .collect();
    times.push(time_s);
    times.sort_by(f64::total_cmp);
    times.dedup_by(|a, b| (*a - *b).abs() < 1e-6);
    let ask = Ask {
        history: AskedTimes::At(times.clone()),
        profile_times_s: times,
        ..Ask::default()
    };
    let result =
        bake(input, &ask, &mut Workspace::new()).map_err(|e| Why::from(e).of(&run.treatment))?;
    let isotherm = &input.closures.isotherm;
    let wet = |x: f64| 100.0 * x / (1.0 + x);
    let height_mm: Vec<f64> = (0..=input.cells)
        .map(|i| 1e3 * input.thickness_m * i as f64 / input.cells as f64)
        .collect();
    let exit = result.profiles.iter().min_by(|a, b| {
        (a.time_s - time_s)
            .abs()
            .total_cmp(&(b.time_s - time_s).abs())
    });
    let wettest = exit.and_then(|p| {
        p.moisture
            .iter()
            .zip(&height_mm)
            .max_by(|a, b| a.0.total_cmp(b.0))
            .map(|(x, mm)| (*mm, wet(*x)))
    });
    Ok(CrossSection {
        time_min: result.profiles.iter().map(|p| p.time_s / 60.0).collect(),
        temperature_c: result
            .profiles
            .iter()
            .map(|p| p.temperature_k.iter().map(|k| celsius(*k)).collect())
            .collect(),
        moisture_pct: result
            .profiles
            .iter()
            .map(|p| p.moisture.iter().map(|x| wet(*x)).collect())
            .collect(),
        water_activity: result
            .profiles
            .iter()
            .map(|p| {
                p.moisture
                    .iter()
                    .zip(&p.temperature_k)
                    .map(|(x, k)| isotherm.water_activity(*x, celsius(*k)))
                    .collect()
            })
            .collect(),
        colour_delta_e: result
            .history
            .colour_delta_e
            .iter()
            .map(|d| browning::deepened(*d, browned))
            .collect(),
        kill_log10: result.history.kill_log10,
        zones: result
            .stages
            .iter()
            .filter(|s| s.kind != StageKind::Pack)
            .map(|s| (s.name.clone(), s.time_s / 60.0))
            .collect(),
        height_mm,
        wettest_at_exit_mm: wettest.map(|w| w.0),
        wettest_at_exit_pct: wettest.map(|w| w.1),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chain::{BakeOptions, Sample, run};
    use crate::views::knock_on;

    #[test]
    fn frames_agree_with_the_answer() {
        let study =
            crate::written::read(include_str!("../../../../examples/spent-grain.toml")).unwrap();
        let mut w = Workspace::new();
        let control = run(study.control(), &BakeOptions::QUICK, Sample::Centre, &mut w).unwrap();
        let (k, f) = (knock_on(&control), cross_section(&control, 60).unwrap());
        assert!(f.time_min.len() >= 60 && f.height_mm.len() == control.baked.input.cells + 1);
        let exit = f
            .time_min
            .iter()
            .position(|t| (t - k.bake.time_min).abs() < 1e-6)
            .unwrap();
        // The mean by the trapezoid over X is the answer's moisture at exit.
        let x: Vec<f64> = f.moisture_pct[exit]
            .iter()
            .map(|m| m / (100.0 - m))
            .collect();
        let cells = x.len() - 1;
        let mean = (x.iter().sum::<f64>() - 0.5 * (x[0] + x[cells])) / cells as f64;
        assert!((100.0 * mean / (1.0 + mean) - k.bake.exit_moisture_pct).abs() < 0.05);
        // What is credited only grows, and ends where the answer ends.
        assert_eq!(f.kill_log10.len(), f.time_min.len());
        assert!(f.kill_log10.windows(2).all(|w| w[1] >= w[0]));
        let colour = f.colour_delta_e.last().unwrap();
        assert!((colour - k.bake.colour_delta_e).abs() < 0.05);
        let killed = f.kill_log10.last().unwrap();
        assert!((killed - k.bake.kill_log10).abs() < 0.01);
        assert!(f.wettest_at_exit_pct.unwrap() > k.bake.exit_moisture_pct);
        assert!(
            f.water_activity
                .iter()
                .flatten()
                .all(|a| (0.0..=1.0).contains(a))
        );
    }
}
