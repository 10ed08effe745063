//! The two questions: given a band time, the state; given a target moisture, the band time.

use super::error::{BakeError, InputError};
use super::input::{Accuracy, BakeInput, StageKind};
use super::result::{Ask, BakeResult};
use super::seek::{Next, Seek};
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
///
/// - Units: \[kg/kg\]
/// - Source: a numerical tolerance, chosen here
pub const TOLERANCE: f64 = 1e-4;
/// What the first bake on all cells has to come within, so that a second one, which nearly always comes closer still, is
/// saved only where nothing would be gained.
///
/// - Units: \[kg/kg\]
/// - Source: a numerical tolerance, chosen here
const FIRST_TOLERANCE: f64 = 2e-5;
/// Cells on which a search begins, and its tolerance there: the answer is only a start.
const ROUGH_CELLS: usize = 8;
/// Tolerance of the search on few cells, whose answer is only a start.
///
/// - Units: \[kg/kg\]
/// - Source: a numerical tolerance, chosen here
const ROUGH_TOLERANCE: f64 = 2e-4;
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
///
/// - Equation: every zone's time × (wanted time/time of all zones)
/// - Units: time in the oven \[s\]
/// - Valid: a time above 0
/// - Source: definition of a band's speed: the zones keep their shares
///
/// ```
/// use baking::bake::case::Benchmark;
/// use baking::bake::search::{Cooling, stretched};
/// let input = Benchmark::SteelBand.case().input;
/// let longer = stretched(&input, 2.0 * input.oven_time_s(), Cooling::AsGiven);
/// assert!((longer.stages[0].duration_s / input.stages[0].duration_s - 2.0).abs() < 1e-12);
/// ```
pub fn stretched(input: &BakeInput, time_s: f64, cooling: Cooling) -> BakeInput {
    let mut out = input.clone();
    let factor = time_s / input.oven_time_s();
    for stage in &mut out.stages {
        let follows = match stage.kind {
            StageKind::Oven => true,
            StageKind::Cooling => cooling == Cooling::WithTheOven,
            StageKind::Drying | StageKind::Pack => false,
        };
        if follows {
            stage.duration_s *= factor;
        }
    }
    out
}

/// What a band time is sought for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BandTarget {
    /// Moisture.
    pub moisture: WetBasis,
    /// Where it is told.
    pub at: TargetAt,
    /// Allowed oven times \[s\].
    pub allowed_s: Range,
    /// Where the search starts \[s\]; the oven's own time if none.
    pub guess_s: Option<f64>,
    /// What the cooling does while the zones stretch.
    pub cooling: Cooling,
}

impl BandTarget {
    /// The stage after which the moisture of the target no longer changes.
    ///
    /// # Errors
    /// A target outside 0 to 1, a range that isn't one, a bake without an oven or without the stage that the target names.
    pub(super) fn decided_by(&self, input: &BakeInput) -> Result<usize, InputError> {
        let wrong = |field: &'static str, value: f64, allowed: String| {
            Err(InputError::new(field, value, allowed))
        };
        if !(self.moisture.0 > 0.0 && self.moisture.0 < 1.0) {
            let text = "above 0 and below 1 (wet basis)".to_owned();
            return wrong("target moisture", self.moisture.0, text);
        }
        let Range { low, high } = self.allowed_s;
        if !(low > 0.0 && high >= low && high < 1e7) {
            let text = "a range of oven times in seconds, above 0 and below 1e7".to_owned();
            return wrong("allowed oven time", low, text);
        }
        let kind = self.at.stage();
        let Some(last) = input.stages.iter().rposition(|s| s.kind == kind) else {
            let (at, kind) = (self.at.word(), kind.word());
            let text = format!("told {at}, so a stage of kind {kind} is needed");
            return wrong("target moisture", self.moisture.0, text);
        };
        let oven_s = input.oven_time_s();
        if oven_s <= 0.0 {
            return wrong(
                "oven time",
                oven_s,
                "above 0: at least one oven stage".to_owned(),
            );
        }
        // A closed pack keeps the mean moisture.
        let up_to = input.stages[..=last].iter();
        Ok(up_to
            .clone()
            .rposition(|s| s.vapour_exchange > 0.0)
            .unwrap_or(last))
    }

    /// Where a search starts \[s\].
    pub(super) fn start_s(&self, input: &BakeInput) -> f64 {
        let guess = self.guess_s.filter(|g| g.is_finite());
        self.allowed_s
            .clamp(guess.unwrap_or_else(|| input.oven_time_s()))
    }
}

/// The band time at which a moisture is reached: all oven zones stretch together. As [`band_time`], with a cooling that
/// keeps its time and no histories.
///
/// `allowed_s` bounds the total oven time, `guess_s` is where the search starts (the oven's own time if none).
///
/// Check: the 8 mm reference piece needs 1057.3 s to 8 % at the oven's exit on 80 cells (an earlier
/// independent program of the same equations).
///
/// - Rule: oven zones stretched together until the moisture is met, by a bracketed secant search
/// - Units: moisture \[kg/kg, wet basis\], times \[s\]
/// - Valid: a target between the dough's moisture and that of the longest time
/// - Source: the example: an earlier independent program of the same equations
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
/// As [`band_time`].
pub fn band_time_for_target(
    input: &BakeInput,
    target: WetBasis,
    at: TargetAt,
    allowed_s: Range,
    guess_s: Option<f64>,
    w: &mut Workspace,
) -> Result<BandTime, BakeError> {
    let wanted = BandTarget {
        moisture: target,
        at,
        allowed_s,
        guess_s,
        cooling: Cooling::AsGiven,
    };
    band_time(input, &wanted, &|_| Ask::default(), w)
}

/// The band time at which a moisture is reached, and the bake at that time with what is asked of it: `ask` is
/// given the input at a time.
///
/// A bracketed search along time: on few cells first, then one to three bakes on
/// those asked for, of which only the last goes on beyond the stage that decides. If the target isn't reached within the
/// range, the answer is the bake at the nearest end with the reason. Where quick bakes jump over the target, tight ones
/// look for it.
///
/// # Errors
/// A target outside 0 to 1, a range that isn't one, a bake without the stage that the target names, or an
/// error of a bake.
pub fn band_time(
    input: &BakeInput,
    wanted: &BandTarget,
    ask: &dyn Fn(&BakeInput) -> Ask,
    w: &mut Workspace,
) -> Result<BandTime, BakeError> {
    input.check()?;
    let decides = wanted.decided_by(input)?;
    let target = wanted.moisture.0;
    let dough = input.initial_moisture.to_wet().0;
    let mut search = Seek::new(wanted.allowed_s, target, dough);
    let mut start_s = wanted.start_s(input);
    let mut bakes = 0;
    let mut sought = Sought {
        time_s: wanted.allowed_s.low,
        found: Some(Found::DoughTooDry),
    };
    let mut last: Option<BakeResult> = None;
    if target < dough {
        if input.cells > ROUGH_CELLS {
            let rough = on_few_cells(input, wanted, &mut search, w)?;
            bakes += rough.bakes;
            start_s = rough.time_s;
            search = search.again();
        }
        let near = Range::new(target - TOLERANCE, target + TOLERANCE);
        sought = seek(
            &mut search,
            wanted,
            start_s,
            [FIRST_TOLERANCE, TOLERANCE],
            |time_s| {
                bakes += 1;
                let at = stretched(input, time_s, wanted.cooling);
                let asked = Ask {
                    go_on_if: Some((decides, near)),
                    ..ask(&at)
                };
                let result = bake(&at, &asked, w)?;
                let wet = wet_at(&result, decides);
                last = Some(result);
                Ok(wet)
            },
        )?;
    }
    let time_s = sought.time_s;
    if sought.found.is_none() && input.accuracy == Accuracy::Quick {
        // The true answer is continuous: the steps of the quick bake fall differently on both sides of this time.
        let finer = BakeInput {
            accuracy: Accuracy::Tight,
            ..input.clone()
        };
        let from_here = BandTarget {
            guess_s: Some(time_s),
            ..*wanted
        };
        let mut answer = band_time(&finer, &from_here, ask, w)?;
        answer.bakes += bakes;
        return Ok(answer);
    }
    let whole =
        last.filter(|b| b.stages.len() == input.stages.len() && sought.found == Some(Found::Met));
    let result = match whole {
        Some(result) => result,
        None => {
            bakes += 1;
            let at = stretched(input, time_s, wanted.cooling);
            bake(&at, &ask(&at), w)?
        }
    };
    let found = match sought.found {
        Some(found @ (Found::Met | Found::TooDry | Found::DoughTooDry)) => found,
        Some(Found::TooWet(_)) | None => Found::TooWet(limit(input, &result, wanted.moisture)),
    };
    let moisture = result.end_of(wanted.at.stage());
    Ok(BandTime {
        time_s,
        factor: time_s / input.oven_time_s(),
        found,
        moisture: moisture.map_or(WetBasis(f64::NAN), |e| e.mean_moisture.to_wet()),
        bake: result,
        accuracy: input.accuracy,
        bakes,
    })
}

/// Where a search on few cells ended, and how often it baked.
pub(super) struct Rough {
    pub time_s: f64,
    bakes: usize,
}

/// Looks on few cells through the thickness where the target may be met; `search` then knows how moisture falls there.
pub(super) fn on_few_cells(
    input: &BakeInput,
    wanted: &BandTarget,
    search: &mut Seek,
    w: &mut Workspace,
) -> Result<Rough, BakeError> {
    let decides = wanted.decided_by(input)?;
    let mut short = input.clone();
    short.stages.truncate(decides + 1);
    short.cells = ROUGH_CELLS;
    short.accuracy = Accuracy::Quick;
    let on_the_way = Ask::without_kill();
    let mut bakes = 0;
    let tolerances = [ROUGH_TOLERANCE; 2];
    let sought = seek(
        search,
        wanted,
        wanted.start_s(input),
        tolerances,
        |time_s| {
            bakes += 1;
            let at = stretched(&short, time_s, wanted.cooling);
            Ok(wet_at(&bake(&at, &on_the_way, w)?, decides))
        },
    )?;
    Ok(Rough {
        time_s: sought.time_s,
        bakes,
    })
}

/// Where a search ended; `found` is none where bakes jump over the target.
struct Sought {
    time_s: f64,
    found: Option<Found>,
}

fn wet_at(result: &BakeResult, stage: usize) -> f64 {
    result
        .stages
        .get(stage)
        .map_or(f64::NAN, |e| e.mean_moisture.to_wet().0)
}

/// Looks along time with a bake that tells the moisture at the deciding stage's end; the tolerance is that of the first
/// bake, and of all later ones.
fn seek(
    search: &mut Seek,
    wanted: &BandTarget,
    start_s: f64,
    [mut tolerance, later]: [f64; 2],
    mut wetness: impl FnMut(f64) -> Result<f64, BakeError>,
) -> Result<Sought, BakeError> {
    let mut t = start_s;
    let mut driest = (f64::INFINITY, t);
    let mut found = None;
    for _ in 0..MOST_BAKES {
        let wet = wetness(t)?;
        if wet < driest.0 {
            driest = (wet, t);
        }
        let next = search.next(t, wet, tolerance);
        tolerance = later;
        match next {
            Next::Try(next) => t = next,
            // Moist air may have wetted it again: was it dry enough at an earlier time?
            Next::TooWet => match drier_before(driest, wanted, &mut wetness)? {
                Some(earlier) => {
                    search.before(earlier);
                    t = wanted.allowed_s.clamp(0.7 * earlier);
                }
                None => {
                    found = Some(Found::TooWet(Limit::Heat));
                    break;
                }
            },
            Next::Met => {
                found = Some(Found::Met);
                break;
            }
            Next::TooDry => {
                found = Some(Found::TooDry);
                break;
            }
            Next::Lost => break,
        }
    }
    Ok(Sought { time_s: t, found })
}

/// A time before that of the least moisture seen at which the piece is drier than the target, looked for as long as
/// earlier is no wetter.
fn drier_before(
    driest: (f64, f64),
    wanted: &BandTarget,
    wetness: &mut impl FnMut(f64) -> Result<f64, BakeError>,
) -> Result<Option<f64>, BakeError> {
    let (mut least, mut t) = driest;
    while t > wanted.allowed_s.low {
        t = wanted.allowed_s.clamp(0.6 * t);
        let wet = wetness(t)?;
        if wet < wanted.moisture.0 - TOLERANCE {
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
