//! What comes after the oven in two figures, for the knock-on block: the checking index and the days in the pack.

use crate::after::AfterAsked;
use crate::after::film_of;
use crate::study::Treatment;
use baking::after::film::tropical_permeance_kg_per_m2_s_pa;
use baking::after::{Course, KeepingInput, checking, course, keeping};
use baking::bake::{BakeError, BakeInput, StageKind, Workspace};
use measure::units::DAY_S;
use measure::{DryBasis, Given};

/// The two figures, and what they stand on.
pub(crate) struct Later {
    /// Greatest tension over strength of the crumb \[1\]; an index, not calibrated.
    pub checking_index: f64,
    /// Days in the pack until the crispness limit.
    pub crisp_days: Option<f64>,
    /// Why there are none; empty when there are.
    pub crisp_unknown: String,
    pub given: Vec<Given>,
}

impl Later {
    /// No figures, and why.
    pub(crate) const fn none(why: String) -> Self {
        Self {
            checking_index: f64::NAN,
            crisp_days: None,
            crisp_unknown: why,
            given: Vec::new(),
        }
    }
}

/// Follows a bake whose time is found through cooling and pack, once more with its profiles, and then keeps it.
///
/// # Errors
/// A bake that can't be followed.
pub(crate) fn later(
    treatment: &Treatment,
    timed: &BakeInput,
    w: &mut Workspace,
) -> Result<Later, BakeError> {
    let asked = AfterAsked::of(treatment);
    let mut input = timed.clone();
    let packs = input
        .stages
        .iter_mut()
        .filter(|s| s.kind == StageKind::Pack);
    for stage in packs {
        stage.duration_s = asked.evening_days * DAY_S;
    }
    let course = course(&input, w)?;
    let index = checking(&course, &asked.crumb);
    let mut given = index.given;
    let (crisp_days, crisp_unknown) = match kept(&asked, &course, &input, &mut given) {
        Ok(Some(days)) => (Some(days), String::new()),
        Ok(None) => (
            None,
            format!("longer than the {} months looked at", asked.months),
        ),
        Err(why) => (None, why),
    };
    Ok(Later {
        checking_index: index.greatest,
        crisp_days,
        crisp_unknown,
        given,
    })
}

fn kept(
    asked: &AfterAsked,
    course: &Course,
    input: &BakeInput,
    given: &mut Vec<Given>,
) -> Result<Option<f64>, String> {
    let (_, transmission, _, film) = film_of(&asked.film).map_err(|e| e.to_string())?;
    given.push(film);
    let start = DryBasis(crate::after::mean(&course.at(course.packed_s).moisture));
    let pack = KeepingInput {
        area_m2: asked.pack_area_m2,
        permeance_kg_per_m2_s_pa: tropical_permeance_kg_per_m2_s_pa(transmission),
        dry_kg: asked.pack_kg * (1.0 - start.to_wet().0),
        start,
        climate: asked.climate.clone(),
        duration_s: asked.months * 365.0 / 12.0 * DAY_S,
        moments: 2,
        crisp_water_activity: asked.crisp_water_activity,
    };
    let kept = keeping(&pack, &input.closures.isotherm).map_err(|e| e.to_string())?;
    Ok(kept.crisp_days)
}
