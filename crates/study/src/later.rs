//! What comes after the oven in two figures, for the knock-on block: the checking index and the days in the pack.

use crate::after::AfterAsked;
use crate::after::{FilmAsked, film_of};
use crate::draw::{Draw, Uncertain};
use crate::study::Treatment;
use baking::after::checking::{EXPANSION, MODULUS, SETTING_CELSIUS, STRENGTH};
use baking::after::film::tropical_permeance_kg_per_m2_s_pa;
use baking::after::keeping::CRISP_WATER_ACTIVITY;
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
    /// Days followed, when it stays crisp all that long.
    pub crisp_days_at_least: Option<f64>,
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
            crisp_days_at_least: None,
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
    draw: Draw,
    w: &mut Workspace,
) -> Result<Later, BakeError> {
    let asked = drawn(AfterAsked::of(treatment), draw);
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
    let mut told = Later {
        checking_index: index.greatest,
        ..Later::none(String::new())
    };
    match kept(&asked, &course, &input, draw, &mut given) {
        Ok(Some(days)) => told.crisp_days = Some(days),
        Ok(None) => {
            told.crisp_days_at_least = Some(followed_s(&asked) / DAY_S);
            told.crisp_unknown = format!("longer than the {} months looked at", asked.months);
        }
        Err(why) => told.crisp_unknown = why,
    }
    told.given = given;
    Ok(told)
}

/// The crumb and the mouth of a draw; what a person has set stays.
fn drawn(mut asked: AfterAsked, draw: Draw) -> AfterAsked {
    let crumb = &mut asked.crumb;
    for (value, uncertain, constant) in [
        (&mut crumb.modulus_mpa, Uncertain::CrumbModulus, &MODULUS),
        (
            &mut crumb.expansion_per_point,
            Uncertain::CrumbExpansion,
            &EXPANSION,
        ),
        (&mut crumb.strength_mpa, Uncertain::CrumbStrength, &STRENGTH),
    ] {
        *value = constant.range.clamp(*value * uncertain.factor(draw));
    }
    let setting = crumb.setting_celsius + Uncertain::Setting.shift(draw);
    crumb.setting_celsius = SETTING_CELSIUS.range.clamp(setting);
    if asked.crisp_water_activity == CRISP_WATER_ACTIVITY.value {
        let limit = asked.crisp_water_activity + Uncertain::Crispness.shift(draw);
        asked.crisp_water_activity = CRISP_WATER_ACTIVITY.range.clamp(limit);
    }
    asked
}

fn followed_s(asked: &AfterAsked) -> f64 {
    asked.months * 365.0 / 12.0 * DAY_S
}

fn kept(
    asked: &AfterAsked,
    course: &Course,
    input: &BakeInput,
    draw: Draw,
    given: &mut Vec<Given>,
) -> Result<Option<f64>, String> {
    let (_, mut transmission, range, film) = film_of(&asked.film).map_err(|e| e.to_string())?;
    given.push(film);
    if let (FilmAsked::Known(_), Some((low, high))) = (&asked.film, range) {
        transmission *= (0.25 * (high / low).ln() * Uncertain::Film.shift(draw)).exp();
    }
    let start = DryBasis(crate::after::mean(&course.at(course.packed_s).moisture));
    let pack = KeepingInput {
        area_m2: asked.pack_area_m2,
        permeance_kg_per_m2_s_pa: tropical_permeance_kg_per_m2_s_pa(transmission),
        dry_kg: asked.pack_kg * (1.0 - start.to_wet().0),
        start,
        climate: asked.climate.clone(),
        duration_s: followed_s(asked),
        moments: 2,
        crisp_water_activity: asked.crisp_water_activity,
    };
    let kept = keeping(&pack, &input.closures.isotherm).map_err(|e| e.to_string())?;
    Ok(kept.crisp_days)
}
