//! From an oven, a band time and what comes after to the stages of a bake.

use super::{Cooling, Oven, OvenError, Pack, with_steps};
use crate::bake::{Stage, StageKind};
use crate::properties::measured;
use crate::properties::water::saturation_pressure_pa;
use measure::Range;

/// Why stages can't be laid out.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum StageError {
    /// The oven's description.
    #[error(transparent)]
    Oven(#[from] OvenError),
    /// Band time, cooling or pack outside what can be.
    #[error(
        "{field} is {}; it must lie within {}",
        measured(value, unit),
        measured(allowed, unit)
    )]
    Range {
        /// The field.
        field: &'static str,
        /// What was given.
        value: f64,
        /// Unit.
        unit: &'static str,
        /// What is allowed.
        allowed: Range,
    },
}

/// Band times a bake may take \[s\].
pub const BAND_TIME_S: Range = Range::new(1.0, 4.0 * 3600.0);

pub(super) fn within(
    field: &'static str,
    value: f64,
    unit: &'static str,
    allowed: Range,
) -> Result<(), StageError> {
    if allowed.contains(value) {
        Ok(())
    } else {
        Err(StageError::Range {
            field,
            value,
            unit,
            allowed,
        })
    }
}

/// The stages a piece passes: every zone stretched alike by the band's speed, cooling, pack.
///
/// `band_time_s` is the time from the oven's entrance to its exit; `piece_length_m` is the length
/// along the air when a zone tells its heat by air speed.
///
/// - Rule: each zone takes its share of the time; cooling and pack follow
/// - Units: times \[s\], lengths \[m\]
/// - Valid: bake times, rooms and stores within the ranges that the errors name
/// - Source: geometry of a band at one speed
///
/// # Errors
/// An oven that fails its check, or a time, room or store outside what can be.
///
/// ```
/// use baking::oven::{presets, stages, Cooling, Pack};
/// let oven = presets::steel_band();
/// let stages = stages(&oven, 1056.0, 0.05, &Cooling::default(), &Pack::default())?;
/// assert_eq!(stages.len(), oven.zones.len() + 2);
/// let bake: f64 = stages.iter().take(oven.zones.len()).map(|s| s.duration_s).sum();
/// assert!((bake - 1056.0).abs() < 1e-9);
/// # Ok::<(), baking::oven::StageError>(())
/// ```
pub fn stages(
    oven: &Oven,
    band_time_s: f64,
    piece_length_m: f64,
    cooling: &Cooling,
    pack: &Pack,
) -> Result<Vec<Stage>, StageError> {
    oven.check()?;
    within("bake time", band_time_s, "s", BAND_TIME_S)?;
    within("piece length", piece_length_m, "m", Range::new(1e-3, 1.0))?;
    within(
        "room temperature",
        cooling.room_k,
        "K",
        Range::new(263.15, 333.15),
    )?;
    within(
        "relative humidity of the room",
        cooling.relative_humidity,
        "",
        Range::new(0.0, 1.0),
    )?;
    let cooling_s = cooling.seconds(band_time_s);
    within(
        "cooling time",
        cooling_s,
        "s",
        Range::new(1.0, 48.0 * 3600.0),
    )?;
    within(
        "store temperature",
        pack.store_k,
        "K",
        Range::new(253.15, 333.15),
    )?;
    within("time in the pack", pack.time_s, "s", Range::new(1.0, 3.2e8))?;

    let stages: Vec<Stage> = oven
        .zones
        .iter()
        .zip(oven.shares())
        .map(|(zone, share)| Stage {
            name: zone.name.clone(),
            kind: StageKind::Oven,
            duration_s: share * band_time_s,
            air_k: zone.air_k,
            radiating_k: zone.radiating_k.unwrap_or(zone.air_k),
            band_k: zone.band_k,
            air_vapour_pa: zone.humidity.vapour_pressure_pa(),
            top_w_per_m2_k: zone.top.w_per_m2_k(piece_length_m, zone.air_k),
            bottom_w_per_m2_k: oven.bottom_w_per_m2_k(zone),
            band_open: oven.open(),
            vapour_exchange: 1.0,
        })
        .collect();
    let mut stages = with_steps(stages, &oven.steps)?;
    let room_vapour =
        cooling.relative_humidity * saturation_pressure_pa(cooling.room_k.max(273.16));
    stages.push(Stage {
        name: "cooling".into(),
        kind: StageKind::Cooling,
        duration_s: cooling_s,
        air_k: cooling.room_k,
        radiating_k: cooling.room_k,
        band_k: cooling.room_k,
        air_vapour_pa: room_vapour,
        top_w_per_m2_k: cooling.top_w_per_m2_k,
        bottom_w_per_m2_k: cooling.bottom_w_per_m2_k,
        band_open: cooling.open_fraction,
        vapour_exchange: 1.0,
    });
    stages.push(Stage {
        name: "pack".into(),
        kind: StageKind::Pack,
        duration_s: pack.time_s,
        air_k: pack.store_k,
        radiating_k: pack.store_k,
        band_k: pack.store_k,
        air_vapour_pa: room_vapour,
        top_w_per_m2_k: pack.w_per_m2_k,
        bottom_w_per_m2_k: pack.w_per_m2_k,
        band_open: 0.0,
        vapour_exchange: 0.0,
    });
    Ok(stages)
}

#[cfg(test)]
mod tests {
    use super::super::{CoolingTime, presets};
    use super::*;

    #[test]
    fn zones_stretch_alike() {
        let cooling = Cooling {
            time: CoolingTime::OfBakeTime(1.5),
            ..Cooling::default()
        };
        for oven in presets::all() {
            let at = |s| stages(&oven, s, 0.05, &cooling, &Pack::default()).unwrap();
            for (a, b) in at(600.0)
                .iter()
                .zip(at(1200.0))
                .filter(|(s, _)| s.kind != StageKind::Pack)
            {
                assert!(
                    (b.duration_s / a.duration_s - 2.0).abs() < 1e-12,
                    "{}",
                    a.name
                );
            }
        }
    }

    #[test]
    fn what_cannot_be_is_named() {
        let oven = presets::steel_band();
        let error =
            stages(&oven, f64::NAN, 0.05, &Cooling::default(), &Pack::default()).unwrap_err();
        assert_eq!(
            error.to_string(),
            "bake time is NaN s; it must lie within 1 to 14400 s"
        );
        let mut wrong = oven.clone();
        wrong.zones[1].air_k = 210.0;
        let error = stages(&wrong, 600.0, 0.05, &Cooling::default(), &Pack::default()).unwrap_err();
        assert!(
            error
                .to_string()
                .contains("zone middle, air temperature: 210 K is outside 293.15 to 673.15 K"),
            "{error}"
        );
        let mut wrong = presets::bench_convection();
        wrong.zones.push(wrong.zones[0].clone());
        assert!(stages(&wrong, 600.0, 0.05, &Cooling::default(), &Pack::default()).is_err());
    }
}
