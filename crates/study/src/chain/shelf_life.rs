//! What comes after the oven in two figures, for the knock-on block: the checking index and the days in the pack.

use super::dough_and_piece::DoughAndPiece;
use super::timed_bake::TimedBake;
use super::{Sample, Uncertain};
use crate::model::{FilmChoice, Keeping, Treatment};
use baking::after::checking::{EXPANSION, MODULUS, SETTING_CELSIUS, STRENGTH};
use baking::after::film::tropical_permeance_kg_per_m2_s_pa;
use baking::after::growth::{Band, Preserved};
use baking::after::keeping::{CRISP_WATER_ACTIVITY, Keeping as Kept};
use baking::after::{
    Course, Crumb, Film, FilmError, Growth, KeepingError, KeepingInput, checking, course, keeping,
};
use baking::bake::{BakeError, BakeInput, InputError, StageKind, Workspace};
use measure::temperature::celsius;
use measure::units::DAY_S;
use measure::{DryBasis, Given, Grade, Range, Source, WetBasis};

/// Name of what an answer takes from its film.
pub const FILM_TRANSMISSION: &str = "transmission of the film at 38 °C and 90 %";
/// Days of evening-out that may be asked for.
pub const EVENING_DAYS: Range = Range::new(0.1, 60.0);

/// How the time after the oven is asked for.
#[derive(Clone, Debug, PartialEq)]
pub struct AfterOptions {
    /// Days of evening-out.
    pub evening_days: f64,
    /// The crumb as a solid.
    pub crumb: Crumb,
    /// Whether to try every change that may help against checking: some fifty bakes more.
    pub changes: bool,
    /// The pack, and how it is kept.
    pub keeping: Keeping,
}

impl Default for AfterOptions {
    /// A week of evening-out, kept as [`Keeping::default`].
    fn default() -> Self {
        Self {
            evening_days: 7.0,
            crumb: Crumb::default(),
            changes: false,
            keeping: Keeping::default(),
        }
    }
}

impl AfterOptions {
    /// As a treatment's pack is written; evening-out for as long as its pack is looked at.
    pub fn of(treatment: &Treatment) -> Self {
        let s = &treatment.setting;
        Self {
            evening_days: (s.pack.time_s / DAY_S).clamp(EVENING_DAYS.low, EVENING_DAYS.high),
            keeping: s.keeping.clone(),
            ..Self::default()
        }
    }
}

/// Checking and crispness, and what they stand on.
#[derive(Clone, Debug, PartialEq)]
pub struct ShelfLife {
    /// Greatest tension over strength of the crumb \[1\]; an index, not calibrated. None when it wasn't asked for.
    pub checking_index: Option<f64>,
    /// Days in the pack until the crispness limit.
    pub crisp_days: Option<f64>,
    /// Days followed, when it stays crisp all that long.
    pub crisp_days_at_least: Option<f64>,
    /// Why there are none; empty when there are.
    pub crisp_unknown: String,
    /// Moisture after the months that the pack is kept; none when it couldn't be followed.
    pub end_moisture: Option<WetBasis>,
    /// What may grow in the pack; none when it wasn't asked for.
    pub growth: Option<Growth>,
    /// Every default they stand on.
    pub given: Vec<Given>,
}

impl ShelfLife {
    /// No figures, and why.
    pub const fn none(why: String) -> Self {
        Self {
            checking_index: None,
            crisp_days: None,
            crisp_days_at_least: None,
            crisp_unknown: why,
            end_moisture: None,
            growth: None,
            given: Vec::new(),
        }
    }
}

/// Follows a bake whose time is found through cooling and pack, and then keeps it.
///
/// # Errors
/// A bake that can't be followed.
pub fn shelf_life(
    treatment: &Treatment,
    made: &DoughAndPiece,
    baked: &TimedBake,
    sample: Sample,
    w: &mut Workspace,
) -> Result<ShelfLife, BakeError> {
    let mut options = sampled(AfterOptions::of(treatment), sample);
    options.crumb.fat_per_100_flour = Some(fat_per_100_flour(&made.solids));
    let input = evened_for(&baked.input, options.evening_days);
    // Only a pack that is looked at for longer or shorter than it may even out is baked for once more.
    let course = if input == baked.input && !baked.result.profiles.is_empty() {
        Course::of(&input, baked.result.clone())
    } else {
        course(&input, w)?
    };
    let index = checking(&course, &options.crumb);
    let ph = treatment.setting.dough.ph;
    let mut given = index.given;
    let mut told = ShelfLife {
        checking_index: Some(index.greatest),
        growth: growth_of(made, &course, &options.keeping, ph, None).ok(),
        ..ShelfLife::none(String::new())
    };
    if let Some(why) = made.dough.sorption.unknown {
        told.crisp_unknown = why.to_owned();
        told.given = given;
        return Ok(told);
    }
    match kept(&options.keeping, &course, &input, sample, &mut given) {
        Ok(pack) => {
            told.end_moisture = pack.moisture.last().map(|x| DryBasis(*x).to_wet());
            let wettest = wettest_of(&pack.moisture);
            told.growth = growth_of(made, &course, &options.keeping, ph, wettest).ok();
            told.crisp_days = pack.crisp_days;
            if pack.crisp_days.is_none() {
                told.crisp_days_at_least = Some(followed_s(&options.keeping) / DAY_S);
                told.crisp_unknown = format!(
                    "longer than the {} months looked at",
                    options.keeping.months
                );
            }
        }
        Err(why) => told.crisp_unknown = why.to_string(),
    }
    told.given = given;
    Ok(told)
}

/// The wettest that a piece gets in its pack.
pub(crate) fn wettest_of(moisture: &[f64]) -> Option<DryBasis> {
    moisture.iter().copied().reduce(f64::max).map(DryBasis)
}

/// What may grow in the pack, from the evened-out piece and its wettest place as packed.
///
/// Where solutes leave bounds, by the upper one: what may grow is told from the unsafe side.
///
/// # Errors
/// Why the water activity isn't known.
pub(crate) fn growth_of(
    made: &DoughAndPiece,
    course: &Course,
    kept: &Keeping,
    ph: Option<f64>,
    end: Option<DryBasis>,
) -> Result<Growth, String> {
    let at_most = |x: f64| Ok::<_, String>(made.dough.sorption.bounded(DryBasis(x))?.2);
    let at_packing = course.at(course.packed_s);
    let mean_moisture = DryBasis(mean(&at_packing.moisture));
    let (best, _, packed) = made.dough.sorption.bounded(mean_moisture)?;
    let wettest = at_packing.moisture.iter().copied().fold(0.0, f64::max);
    let (mean_k, _) = kept.climate.mean();
    // The wettest place has come down when it is in the band of the evened-out piece.
    let above = Band::ALL.into_iter().map(Band::from).find(|a| *a > packed);
    Ok(Growth {
        packed,
        end: end.map(|x| at_most(x.0)).transpose()?,
        wettest: at_most(wettest)?,
        // Apart as told.
        upper: packed - best > 0.005,
        wet_days: above.and_then(|a| course.wet_days(a)),
        store_c: celsius(mean_k),
        preserved: preserved(made, mean_moisture.to_wet(), ph),
    })
}

/// What acids and preservatives do; without a measured pH that isn't known.
fn preserved(made: &DoughAndPiece, packed: WetBasis, ph: Option<f64>) -> Preserved {
    let preservation = made.formula.preservation();
    if preservation.acids.is_empty() && preservation.unknown.is_empty() {
        return Preserved::None;
    }
    ph.map_or(Preserved::Unknown, |ph| {
        Preserved::by(preservation.undissociated_kg_per_kg_water(packed, ph))
    })
}

/// Fat per 100 of flour and meal: of all other organic dry solids.
pub(crate) fn fat_per_100_flour(solids: &formula::DrySolids) -> f64 {
    let rest = (1.0 - solids.fat - solids.ash).max(0.05);
    100.0 * solids.fat / rest
}

/// A timed bake with so many days in the pack.
pub(crate) fn evened_for(timed: &BakeInput, days: f64) -> BakeInput {
    let mut input = timed.clone();
    let packs = input
        .stages
        .iter_mut()
        .filter(|s| s.kind == StageKind::Pack);
    for stage in packs {
        stage.duration_s = days * DAY_S;
    }
    input
}

/// The crumb and the mouth of a sample; what a person has set stays.
fn sampled(mut options: AfterOptions, sample: Sample) -> AfterOptions {
    let crumb = &mut options.crumb;
    for (value, uncertain, constant) in [
        (&mut crumb.modulus_mpa, Uncertain::CrumbModulus, &MODULUS),
        (
            &mut crumb.expansion_per_point,
            Uncertain::CrumbExpansion,
            &EXPANSION,
        ),
        (&mut crumb.strength_mpa, Uncertain::CrumbStrength, &STRENGTH),
    ] {
        *value = constant.range.clamp(*value * uncertain.factor(sample));
    }
    let setting = crumb.setting_celsius + Uncertain::Setting.shift(sample);
    crumb.setting_celsius = SETTING_CELSIUS.range.clamp(setting);
    let crisp = &mut options.keeping.crisp_water_activity;
    if *crisp == CRISP_WATER_ACTIVITY.value {
        let limit = *crisp + Uncertain::Crispness.shift(sample);
        *crisp = CRISP_WATER_ACTIVITY.range.clamp(limit);
    }
    options
}

/// How long a pack is followed, s.
pub(crate) fn followed_s(keeping: &Keeping) -> f64 {
    keeping.months * 365.0 / 12.0 * DAY_S
}

/// What a pack takes in: film of so much permeance, content at the mean moisture of `course` as packed.
pub(crate) fn pack_of(
    kept: &Keeping,
    course: &Course,
    transmission_g_per_m2_d: f64,
    moments: usize,
) -> KeepingInput {
    let start = DryBasis(mean(&course.at(course.packed_s).moisture));
    KeepingInput {
        area_m2: kept.pack_area_m2,
        permeance_kg_per_m2_s_pa: tropical_permeance_kg_per_m2_s_pa(transmission_g_per_m2_d),
        dry_kg: kept.pack_kg * (1.0 - start.to_wet().0),
        start,
        climate: kept.climate.clone(),
        duration_s: followed_s(kept),
        moments,
        crisp_water_activity: kept.crisp_water_activity,
    }
}

/// Why a pack can't be kept.
#[derive(Debug, thiserror::Error)]
enum KeptError {
    #[error(transparent)]
    Film(#[from] FilmError),
    #[error(transparent)]
    Input(#[from] InputError),
    #[error(transparent)]
    Keeping(#[from] KeepingError),
}

impl From<FilmFoundError> for KeptError {
    fn from(error: FilmFoundError) -> Self {
        match error {
            FilmFoundError::Film(e) => Self::Film(e),
            FilmFoundError::Input(e) => Self::Input(e),
        }
    }
}

fn kept(
    options: &Keeping,
    course: &Course,
    input: &BakeInput,
    sample: Sample,
    given: &mut Vec<Given>,
) -> Result<Kept, KeptError> {
    let film = film_of(&options.film)?;
    given.push(film.given);
    let mut transmission = film.transmission_g_per_m2_d;
    if let (FilmChoice::Known(_), Some((low, high))) = (&options.film, film.range) {
        transmission *= (0.25 * (high / low).ln() * Uncertain::Film.shift(sample)).exp();
    }
    let pack = pack_of(options, course, transmission, 2);
    Ok(keeping(&pack, &input.closures.isotherm)?)
}

/// A film as it was found.
pub(crate) struct FilmFound {
    /// Its name.
    pub name: String,
    /// Transmission at 38 °C and 90 % relative humidity, g/(m² d).
    pub transmission_g_per_m2_d: f64,
    /// Least and most of it.
    pub range: Option<(f64, f64)>,
    /// Where it comes from.
    pub given: Given,
}

/// Why a film can't be taken.
#[derive(Debug, thiserror::Error)]
pub enum FilmFoundError {
    /// The table doesn't have it, or not its transmission.
    #[error(transparent)]
    Film(#[from] FilmError),
    /// A transmission that can't be.
    #[error(transparent)]
    Input(#[from] InputError),
}

pub(crate) fn film_of(choice: &FilmChoice) -> Result<FilmFound, FilmFoundError> {
    let found = |name: &str, value, range, source| FilmFound {
        name: name.to_owned(),
        transmission_g_per_m2_d: value,
        range,
        given: Given {
            name: FILM_TRANSMISSION.into(),
            value: Some(value),
            unit: "g/(m² d)".into(),
            source,
        },
    };
    match choice {
        FilmChoice::Known(key) => {
            let film = Film::find(key)?;
            let value = film.transmission_g_per_m2_d()?;
            Ok(found(
                film.name,
                value,
                film.g_per_m2_d,
                film.source.clone(),
            ))
        }
        FilmChoice::Transmission(value) => {
            let range = Range::new(1e-4, 1e5);
            if !range.contains(*value) {
                return Err(InputError::new(
                    "transmission of the film",
                    *value,
                    format!("{range} g/(m² d)"),
                )
                .into());
            }
            let source = Source::fixed(Grade::Measured, "your own setting");
            Ok(found("own film", *value, None, source))
        }
    }
}

/// Mean over evenly spaced nodes, surfaces counting half.
pub(crate) fn mean(values: &[f64]) -> f64 {
    let n = values.len();
    (values.iter().sum::<f64>() - 0.5 * (values[0] + values[n - 1])) / (n - 1) as f64
}
