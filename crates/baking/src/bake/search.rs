//! The two questions: given a band time, the state; given a target moisture, the band time.

use super::error::{BakeError, InputError};
use super::input::{Accuracy, BakeInput, StageKind};
use super::result::{Ask, BakeResult};
use super::surface::PRESSURE_PA;
use super::through_thickness::bake;
use super::workspace::Workspace;
use measure::temperature::celsius;
use measure::{Range, WetBasis};

/// Where a moisture is told: water flashes off after the oven, so the place is part of the number.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TargetAt {
    /// As it leaves the oven.
    OvenExit,
    /// After cooling.
    Cooled,
    /// In the pack, moisture evened out.
    Packed,
}

impl TargetAt {
    /// Every place.
    pub const ALL: [Self; 3] = [Self::OvenExit, Self::Cooled, Self::Packed];

    /// The words shown to people.
    pub const fn word(self) -> &'static str {
        match self {
            Self::OvenExit => "at oven exit",
            Self::Cooled => "cooled",
            Self::Packed => "packed",
        }
    }

    /// The kind of stage at whose end it is told.
    pub const fn stage(self) -> StageKind {
        match self {
            Self::OvenExit => StageKind::Oven,
            Self::Cooled => StageKind::Cooling,
            Self::Packed => StageKind::Pack,
        }
    }
}

/// What keeps a piece wetter than wished at the longest time allowed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Limit {
    /// The centre still boils: heat doesn't get in fast enough.
    Heat,
    /// The surface is nearly in equilibrium with the air.
    Humidity,
    /// Water doesn't reach the surface fast enough.
    Movement,
    /// The oven gets there, but the room wets the piece again while it cools.
    Rewetted,
}

impl Limit {
    /// What limits, and the way out, in words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Heat => {
                "heat limits: the centre is still at its boiling plateau; a hotter band or air, more air speed, \
                 a thinner piece or a drier dough would get there"
            }
            Self::Humidity => {
                "humidity limits: the surface is in equilibrium with the vapour in the air; open the damper, \
                 or heat the air, or ask for a wetter target"
            }
            Self::Movement => {
                "the piece limits: the surface is dry but water moves to it too slowly; a thinner or more docked \
                 piece, or a longer bake, would get there"
            }
            Self::Rewetted => {
                "the cooling misses it: the piece leaves the oven dry enough, and the room wets it again while it \
                 cools; cool for a shorter time, pack it warm, or dry the air of the room; a longer bake doesn't help"
            }
        }
    }
}

/// How the search ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Found {
    /// The target was met within the tolerance.
    Met,
    /// Still too wet at the longest time allowed; what limits.
    TooWet(Limit),
    /// Drier than the target even at the shortest time allowed.
    TooDry,
    /// The dough itself isn't wetter than the target; told at the shortest time allowed.
    DoughTooDry,
}

/// The answer to "how long".
#[derive(Clone, Debug, PartialEq)]
pub struct BandTime {
    /// Time in the oven, all zones \[s\].
    pub time_s: f64,
    /// Every zone's time was multiplied by this.
    pub factor: f64,
    /// How the search ended.
    pub found: Found,
    /// Moisture reached at the place named.
    pub moisture: WetBasis,
    /// The whole bake at that time.
    pub bake: BakeResult,
    /// Accuracy of that bake: tight where the quick one jumps over the target.
    pub accuracy: Accuracy,
    /// Bakes computed on the way, the last one included.
    pub bakes: usize,
}

/// Tolerance of the search in wet-basis moisture.
pub const TOLERANCE: f64 = 1e-4;
/// Bakes after which the search settles for what it has.
const MOST_BAKES: usize = 40;

/// What the cooling does while the oven's zones stretch.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cooling {
    /// It keeps its time.
    AsGiven,
    /// It stretches with the oven: a conveyor whose time is told as a multiple of the bake.
    WithTheOven,
}

/// The same bake with the oven's zones, and the cooling if it follows, stretched to a total time in
/// the oven \[s\].
pub fn stretched(input: &BakeInput, time_s: f64, cooling: Cooling) -> BakeInput {
    let mut out = input.clone();
    stretch(&mut out, input.oven_time_s(), time_s, input, cooling);
    out
}

fn stretch(out: &mut BakeInput, total_s: f64, time_s: f64, original: &BakeInput, cooling: Cooling) {
    for (stage, was) in out.stages.iter_mut().zip(&original.stages) {
        let follows = match was.kind {
            StageKind::Oven => true,
            StageKind::Cooling => cooling == Cooling::WithTheOven,
            StageKind::Drying | StageKind::Pack => false,
        };
        if follows {
            stage.duration_s = was.duration_s * (time_s / total_s);
        }
    }
}

fn moisture_at(result: &BakeResult, at: TargetAt) -> Option<WetBasis> {
    result
        .end_of(at.stage())
        .map(|end| end.mean_moisture.to_wet())
}

/// The band time at which a moisture is reached: all oven zones stretch together.
///
/// A bracketed secant search; `allowed_s` bounds the total oven time, `guess_s` is where it starts (the
/// oven's own time if none). If the target isn't reached within the range, the answer is the bake at the
/// nearest end with the reason. Where quick bakes jump over the target, tight ones look for it.
///
/// Check: the 8 mm reference piece needs 1057.3 s to 8 % at the oven's exit on 80 cells (an earlier
/// independent program of the same equations).
///
/// ```
/// use baking::bake::{TargetAt, Workspace, band_time_for_target, case::Benchmark};
/// use measure::{Range, WetBasis};
/// let mut input = Benchmark::SteelBand.case().input;
/// input.cells = 80;
/// let allowed = Range::new(60.0, 7200.0);
/// let found = band_time_for_target(
///     &input, WetBasis(0.08), TargetAt::OvenExit, allowed, None, &mut Workspace::new(),
/// )?;
/// assert!((found.time_s - 1057.3).abs() < 1.0);
/// # Ok::<(), baking::bake::BakeError>(())
/// ```
///
/// # Errors
/// A target outside 0 to 1, a range that isn't one, a bake without the stage that the target names, or an
/// error of a bake.
pub fn band_time_for_target(
    input: &BakeInput,
    target: WetBasis,
    at: TargetAt,
    allowed_s: Range,
    guess_s: Option<f64>,
    w: &mut Workspace,
) -> Result<BandTime, BakeError> {
    band_time_with_cooling(input, target, at, allowed_s, guess_s, Cooling::AsGiven, w)
}

/// The same, with a cooling that may stretch with the oven.
///
/// # Errors
/// As [`band_time_for_target`].
pub fn band_time_with_cooling(
    input: &BakeInput,
    target: WetBasis,
    at: TargetAt,
    allowed_s: Range,
    guess_s: Option<f64>,
    cooling: Cooling,
    w: &mut Workspace,
) -> Result<BandTime, BakeError> {
    input.check()?;
    if !(target.0 > 0.0 && target.0 < 1.0) {
        return Err(InputError::new(
            "target moisture",
            target.0,
            "above 0 and below 1 (wet basis)",
        )
        .into());
    }
    if !(allowed_s.low > 0.0 && allowed_s.high >= allowed_s.low && allowed_s.high < 1e7) {
        let text = "a range of oven times in seconds, above 0 and below 1e7";
        return Err(InputError::new("allowed oven time", allowed_s.low, text).into());
    }
    let total_s = input.oven_time_s();
    let Some(last) = input.stages.iter().rposition(|s| s.kind == at.stage()) else {
        let text = format!(
            "told {}, so a stage of kind {} is needed",
            at.word(),
            at.stage().word()
        );
        return Err(InputError::new("target moisture", target.0, text).into());
    };
    if total_s <= 0.0 {
        return Err(
            InputError::new("oven time", total_s, "above 0: at least one oven stage").into(),
        );
    }
    // On the way only the stages that decide are computed: a closed pack keeps the mean moisture.
    let decides = input.stages[..=last]
        .iter()
        .rposition(|s| s.vapour_exchange > 0.0)
        .unwrap_or(last);
    let mut short = input.clone();
    short.stages.truncate(decides + 1);
    let decisive = input.stages[decides].kind;
    let mut bakes = 0;
    let on_the_way = Ask {
        without_kill: true,
        ..Ask::default()
    };
    let mut wetness = |time_s: f64, w: &mut Workspace| -> Result<f64, BakeError> {
        stretch(&mut short, total_s, time_s, input, cooling);
        bakes += 1;
        let result = bake(&short, &on_the_way, w)?;
        let end = result
            .end_of(decisive)
            .map_or(f64::NAN, |e| e.mean_moisture.to_wet().0);
        Ok(end)
    };
    let (mut low, mut high) = (None::<f64>, None::<f64>);
    let mut t = allowed_s.clamp(guess_s.filter(|g| g.is_finite()).unwrap_or(total_s));
    let mut found = Found::Met;
    let (mut too_wet, mut met) = (false, false);
    let (mut before, mut width) = (None::<(f64, f64)>, f64::INFINITY);
    let mut driest = (f64::INFINITY, t);
    if target.0 >= input.initial_moisture.to_wet().0 {
        found = Found::DoughTooDry;
        t = allowed_s.low;
    }
    for _ in 0..MOST_BAKES {
        if found == Found::DoughTooDry {
            break;
        }
        let wet = wetness(t, w)?;
        let miss = wet - target.0;
        if wet < driest.0 {
            driest = (wet, t);
        }
        met = miss.abs() <= TOLERANCE;
        if met {
            break;
        }
        if miss > 0.0 {
            if t >= allowed_s.high {
                // Moist air may have wetted it again: was it dry enough at an earlier time?
                match drier_before(driest, target, allowed_s, |t| wetness(t, w))? {
                    Some(earlier) => {
                        high = Some(earlier);
                        low = None;
                        before = None;
                        t = allowed_s.clamp(0.7 * earlier);
                        continue;
                    }
                    None => {
                        too_wet = true;
                        break;
                    }
                }
            }
            low = Some(t);
        } else {
            if t <= allowed_s.low {
                found = Found::TooDry;
                break;
            }
            high = Some(t);
            // It was wetter at a longer time: it took moisture up again, and the first crossing is what counts.
            low = low.filter(|low| *low < t);
        }
        // Moisture falls about with the power −2.5 of time in the second half of a bake; from the second
        // bake on the last two tell better.
        let power = (wet.max(1e-4) / target.0).powf(0.42).clamp(0.4, 2.5);
        let secant = before
            .map(|(other, other_miss): (f64, f64)| t - miss * (t - other) / (miss - other_miss))
            .filter(|s| s.is_finite());
        before = Some((t, miss));
        t = match (low, high) {
            (Some(a), Some(b)) => {
                if b - a < 1e-6 * b {
                    break;
                }
                let inside = secant.filter(|s| *s > a && *s < b && b - a < 0.999 * width);
                width = b - a;
                inside.unwrap_or(0.5 * (a + b))
            }
            (Some(_), None) => {
                let next = secant.filter(|s| *s > t).unwrap_or(t * power);
                allowed_s.clamp(next.clamp(1.001 * t, 2.5 * t))
            }
            _ => {
                let next = secant.filter(|s| *s < t).unwrap_or(t * power);
                allowed_s.clamp(next.clamp(0.4 * t, 0.999 * t))
            }
        };
    }
    let lost = !met && !too_wet && found == Found::Met;
    if lost && input.accuracy == Accuracy::Quick {
        // The true answer is continuous: the steps of the quick bake fall differently on both sides of this time.
        let finer = BakeInput {
            accuracy: Accuracy::Tight,
            ..input.clone()
        };
        let mut answer =
            band_time_with_cooling(&finer, target, at, allowed_s, Some(t), cooling, w)?;
        answer.bakes += bakes;
        return Ok(answer);
    }
    let full = stretched(input, t, cooling);
    let result = bake(&full, &Ask::default(), w)?;
    if too_wet || lost {
        found = Found::TooWet(limit(input, &result, target));
    }
    Ok(BandTime {
        time_s: t,
        factor: t / total_s,
        found,
        moisture: moisture_at(&result, at).unwrap_or(WetBasis(f64::NAN)),
        bake: result,
        accuracy: input.accuracy,
        bakes: bakes + 1,
    })
}

/// A time before that of the least moisture seen at which the piece is drier than the target, looked for as long as
/// earlier is no wetter.
fn drier_before(
    driest: (f64, f64),
    target: WetBasis,
    allowed_s: Range,
    mut wetness: impl FnMut(f64) -> Result<f64, BakeError>,
) -> Result<Option<f64>, BakeError> {
    let (mut least, mut t) = driest;
    while t > allowed_s.low {
        t = allowed_s.clamp(0.6 * t);
        let wet = wetness(t)?;
        if wet < target.0 - TOLERANCE {
            return Ok(Some(t));
        }
        if wet > least + TOLERANCE {
            break;
        }
        least = least.min(wet);
    }
    Ok(None)
}

/// What keeps the piece wet, from its state at the oven's exit.
fn limit(input: &BakeInput, result: &BakeResult, target: WetBasis) -> Limit {
    let stages = input.stages.iter().zip(&result.stages);
    let Some((stage, end)) = stages.rev().find(|(s, _)| s.kind == StageKind::Oven) else {
        return Limit::Heat;
    };
    if end.mean_moisture.to_wet().0 <= target.0 {
        return Limit::Rewetted;
    }
    let saturation = &input.closures.saturation;
    let surface_pa = end.top.water_activity * saturation.pascal(end.top.temperature_k);
    if surface_pa < 1.25 * stage.air_vapour_pa.max(1e-3 * PRESSURE_PA) {
        return Limit::Humidity;
    }
    let centre_pa = end.centre.water_activity * saturation.pascal(end.centre.temperature_k);
    let wet_centre = centre_pa > 0.5 * PRESSURE_PA || celsius(end.centre.temperature_k) < 95.0;
    if wet_centre && end.centre.moisture.0 > end.top.moisture.0 {
        Limit::Heat
    } else {
        Limit::Movement
    }
}

/// What the number of cells does to the mean moisture at a place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SpatialError {
    /// Mean X with half the cells \[kg/kg\].
    pub coarse: f64,
    /// Mean X with the cells asked for \[kg/kg\].
    pub fine: f64,
    /// Extrapolated to cells of no width (Richardson, second order).
    pub extrapolated: f64,
    /// fine − extrapolated.
    pub error: f64,
}

/// Richardson's estimate of the spatial error from the bake and one with half the cells.
///
/// # Errors
/// Cells that can't be halved to an even number, no stage of that kind, or an error of a bake.
pub fn spatial_error(
    input: &BakeInput,
    at: TargetAt,
    w: &mut Workspace,
) -> Result<SpatialError, BakeError> {
    if !input.cells.is_multiple_of(4) {
        return Err(
            InputError::new("cells", input.cells as f64, "a multiple of 4 to be halved").into(),
        );
    }
    let mean = |input: &BakeInput, w: &mut Workspace| -> Result<f64, BakeError> {
        let result = bake(input, &Ask::default(), w)?;
        let end = result.end_of(at.stage()).ok_or_else(|| {
            InputError::new(
                "stages",
                input.stages.len() as f64,
                format!("with one of kind {}", at.stage().word()),
            )
        })?;
        Ok(end.mean_moisture.0)
    };
    let fine = mean(input, w)?;
    let mut half = input.clone();
    half.cells /= 2;
    let coarse = mean(&half, w)?;
    let extrapolated = (4.0 * fine - coarse) / 3.0;
    Ok(SpatialError {
        coarse,
        fine,
        extrapolated,
        error: fine - extrapolated,
    })
}
