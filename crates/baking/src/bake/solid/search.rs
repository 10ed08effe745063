//! How long a whole piece bakes to a moisture: a secant search on a coarse grid, then on the one asked for.

use super::grid::Grid;
use super::{SolidAsk, SolidError, SolidGrid, SolidPiece, SolidResult, solid_bake};
use crate::bake::search::{BandTarget, on_few_cells, stretched};
use crate::bake::seek::{Next, Seek};
use crate::bake::{BakeError, BakeInput, StageKind, Workspace};
use measure::{Range, WetBasis};

/// The answer to "how long" for a whole piece.
#[derive(Clone, Debug, PartialEq)]
pub struct SolidBandTime {
    /// Time in the oven, all zones \[s\].
    pub time_s: f64,
    /// Whether the target was met; otherwise the time is an end of the allowed range.
    pub met: bool,
    /// Moisture reached at the place named.
    pub moisture: WetBasis,
    /// The bake at that time.
    pub bake: SolidResult,
    /// The input at that time.
    pub input: BakeInput,
    /// Bakes on the coarse grid and on the one asked for.
    pub runs: [usize; 2],
}

/// Tolerance of the search in wet-basis moisture.
///
/// - Units: \[kg/kg\]
/// - Source: a numerical tolerance, chosen here
pub(super) const TOLERANCE: f64 = 2e-4;
/// Tolerance on the coarse grid, whose answer is only a start.
///
/// - Units: \[kg/kg\]
/// - Source: a numerical tolerance, chosen here
const ROUGH_TOLERANCE: f64 = 1e-3;
const MOST_RUNS: usize = 14;

/// The time alone.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SolidTime {
    /// Time in the oven, all zones \[s\].
    pub time_s: f64,
    /// Whether the target can be met; otherwise the time is an end of the allowed range.
    pub met: bool,
    /// Bakes on the coarse grid and on the one asked for.
    pub runs: [usize; 2],
}

/// What a search bakes: the piece, its grids and the stages that decide.
struct Baking<'a> {
    input: &'a BakeInput,
    piece: SolidPiece<'a>,
    target: &'a BandTarget,
    coarse: SolidGrid,
    /// The stage after which the moisture of the target no longer changes.
    decides: usize,
}

impl<'a> Baking<'a> {
    fn new(
        input: &'a BakeInput,
        piece: SolidPiece<'a>,
        grid: &'a SolidGrid,
        target: &'a BandTarget,
    ) -> Result<Self, SolidError> {
        let decides = target.decided_by(input).map_err(BakeError::from)?;
        let extent = piece.piece.outline.extent_m();
        // The grid asked for is told by its own numbers, not by those of the coarser one.
        Grid::new(piece.piece, piece.docked, grid)?;
        let coarse = SolidGrid {
            plan_m: (2.0 * grid.plan_m)
                .min(0.45 * extent.0.min(extent.1))
                .max(grid.plan_m),
            cells: ((grid.cells / 2).div_ceil(2) * 2).max(4),
            ..*grid
        };
        Ok(Self {
            input,
            piece,
            target,
            coarse,
            decides,
        })
    }

    /// Moisture of the target after the deciding stages at a time in the oven \[s\].
    fn wetness(
        &self,
        time_s: f64,
        grid: &SolidGrid,
        go_on: &mut dyn FnMut(f64) -> bool,
    ) -> Result<f64, SolidError> {
        let mut short = stretched(self.input, time_s, self.target.cooling);
        short.stages.truncate(self.decides + 1);
        let result = solid_bake(&short, self.piece, grid, &SolidAsk::default(), go_on)?;
        Ok(wet_at(&result, self.decides))
    }

    /// A time on the coarse grid, taken the rest of the way along the slope that was found there by one bake on the grid
    /// asked for.
    fn nearly(
        &self,
        grid: &SolidGrid,
        go_on: &mut dyn FnMut(f64) -> bool,
    ) -> Result<Nearly, SolidError> {
        let mut t = self.target.start_s(self.input);
        let dough = self.input.initial_moisture.to_wet().0;
        let target = self.target.moisture.0;
        let mut search = Seek::new(self.target.allowed_s, target, dough);
        // How moisture falls with time is much alike through the thickness alone, and that is told at once.
        let flat = on_few_cells(self.input, self.target, &mut search, &mut Workspace::new())
            .map_err(SolidError::from)?;
        if self.target.guess_s.is_none() {
            t = flat.time_s;
        }
        let mut search = search.again();
        let mut rough = 0;
        while rough < MOST_RUNS {
            let wet = self.wetness(t, &self.coarse, &mut |done| go_on(0.4 * done))?;
            rough += 1;
            match search.next(t, wet, ROUGH_TOLERANCE) {
                Next::Try(next) => t = next,
                Next::Met | Next::TooWet | Next::TooDry | Next::Lost => break,
            }
        }
        let mut search = search.again();
        let wet = self.wetness(t, grid, &mut |done| go_on(0.4 + 0.6 * done))?;
        let (time_s, met) = match search.next(t, wet, 0.1 * TOLERANCE) {
            Next::Met => (t, true),
            Next::TooWet | Next::TooDry | Next::Lost => (t, false),
            Next::Try(next) => (next, true),
        };
        Ok(Nearly {
            time: SolidTime {
                time_s,
                met,
                runs: [rough, 1],
            },
            search,
        })
    }
}

/// A time near the answer, and the search that found it.
struct Nearly {
    time: SolidTime,
    search: Seek,
}

fn wet_at(result: &SolidResult, stage: usize) -> f64 {
    let end = result.stages.get(stage).or(result.stages.last());
    end.map_or(f64::NAN, |e| e.mean_moisture.to_wet().0)
}

/// The band time at which a whole piece reaches a moisture; `frames` pictures are kept over oven and cooling.
///
/// The zones stretch together. The search is done on columns and cells twice as wide; then two or three bakes on the
/// grid asked for take its answer the rest of the way. Only the last of them goes into the pack.
///
/// - Rule: zones stretched together until the piece's mean moisture is met, first on a coarse grid
/// - Units: moisture \[kg/kg, wet basis\], times \[s\], shares done \[1\]
/// - Valid: a target between the dough's moisture and that of the longest time
/// - Source: an identity: baked for the time found, the piece has the moisture asked for
///
/// ```
/// use baking::bake::{StageKind, TargetAt, case::Benchmark};
/// use baking::bake::search::{BandTarget, Cooling};
/// use baking::bake::solid::{SolidGrid, SolidPiece, solid_band_time};
/// use baking::piece::{DockerPattern, Outline, Piece, dock};
/// use measure::{Range, WetBasis};
/// let piece = Piece { outline: Outline::Round { diameter_m: 0.050 }, thickness_m: 0.008, docker: None };
/// let docked = dock(&piece, &DockerPattern::default())?;
/// let mut input = Benchmark::SteelBand.case().input;
/// (input.thickness_m, input.edge) = (0.008, Some(piece.edge(0.3)));
/// input.stages.retain(|s| s.kind == StageKind::Oven);
/// let target = BandTarget {
///     moisture: WetBasis(0.15), at: TargetAt::OvenExit, allowed_s: Range::new(60.0, 3600.0), guess_s: Some(700.0),
///     cooling: Cooling::AsGiven,
/// };
/// let solid = SolidPiece { piece: &piece, docked: &docked };
/// let found = solid_band_time(&input, solid, &SolidGrid::PREVIEW, &target, 0, &mut |_| true)?;
/// assert!(found.met && (found.moisture.0 - 0.15).abs() < 1e-3);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// A target outside 0 to 1, a bake without the stage that the target names, or an error of a bake.
pub fn solid_band_time(
    input: &BakeInput,
    piece: SolidPiece<'_>,
    grid: &SolidGrid,
    target: &BandTarget,
    frames: usize,
    go_on: &mut dyn FnMut(f64) -> bool,
) -> Result<SolidBandTime, SolidError> {
    let baking = Baking::new(input, piece, grid, target)?;
    let Nearly { time, search } = baking.nearly(grid, &mut |done| go_on(0.5 * done))?;
    let (mut t, mut search) = (time.time_s, search.again());
    let [rough, mut fine] = time.runs;
    let mut to_the_end = false;
    loop {
        let at = stretched(input, t, target.cooling);
        let end_of_range = t <= target.allowed_s.low || t >= target.allowed_s.high;
        let wanted = Range::new(target.moisture.0 - TOLERANCE, target.moisture.0 + TOLERANCE);
        let last_try = to_the_end || end_of_range || fine + 1 >= MOST_RUNS;
        let ask = SolidAsk {
            go_on_if: (!last_try).then_some((baking.decides, wanted)),
            ..pictures(&at, frames)
        };
        let bake = solid_bake(&at, piece, grid, &ask, &mut |done| go_on(0.5 + 0.5 * done))?;
        fine += 1;
        let wet = wet_at(&bake, baking.decides);
        let next = search.next(t, wet, TOLERANCE);
        match next {
            Next::Try(next) if fine < MOST_RUNS => t = next,
            // Nothing is left between two times: this one is baked to its end.
            _ if bake.stages.len() < at.stages.len() => to_the_end = true,
            _ => {
                return Ok(SolidBandTime {
                    time_s: t,
                    met: matches!(next, Next::Met),
                    moisture: WetBasis(wet),
                    bake,
                    input: at,
                    runs: [rough, fine],
                });
            }
        }
    }
}

/// The band time alone, for comparing pieces: as [`solid_band_time`], but one bake on the grid asked for corrects the
/// time of the coarse one, along the slope that was found there, and isn't repeated.
///
/// - Rule: as `solid_band_time`, the coarse time corrected once along its slope
/// - Units: moisture \[kg/kg, wet basis\], time \[s\], share done \[1\]
/// - Valid: a target between the dough's moisture and that of the longest time
/// - Source: a law: what is to be drier stays longer
///
/// ```
/// use baking::bake::{StageKind, TargetAt, case::Benchmark};
/// use baking::bake::search::{BandTarget, Cooling};
/// use baking::bake::solid::{SolidGrid, SolidPiece, solid_time};
/// use baking::piece::{DockerPattern, Outline, Piece, dock};
/// use measure::{Range, WetBasis};
/// let piece = Piece { outline: Outline::Round { diameter_m: 0.050 }, thickness_m: 0.008, docker: None };
/// let docked = dock(&piece, &DockerPattern::default())?;
/// let mut input = Benchmark::SteelBand.case().input;
/// (input.thickness_m, input.edge) = (0.008, Some(piece.edge(0.3)));
/// input.stages.retain(|s| s.kind == StageKind::Oven);
/// let solid = SolidPiece { piece: &piece, docked: &docked };
/// let time = |wet| {
///     let target = BandTarget {
///         moisture: WetBasis(wet), at: TargetAt::OvenExit, allowed_s: Range::new(60.0, 3600.0), guess_s: Some(700.0),
///         cooling: Cooling::AsGiven,
///     };
///     solid_time(&input, solid, &SolidGrid::PREVIEW, &target, &mut |_| true)
/// };
/// assert!(time(0.12)?.time_s > time(0.16)?.time_s);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// As [`solid_band_time`].
pub fn solid_time(
    input: &BakeInput,
    piece: SolidPiece<'_>,
    grid: &SolidGrid,
    target: &BandTarget,
    go_on: &mut dyn FnMut(f64) -> bool,
) -> Result<SolidTime, SolidError> {
    let baking = Baking::new(input, piece, grid, target)?;
    Ok(baking.nearly(grid, go_on)?.time)
}

/// Pictures evenly over oven and cooling.
fn pictures(input: &BakeInput, frames: usize) -> SolidAsk {
    let end_s: f64 = input
        .stages
        .iter()
        .filter(|s| s.kind != StageKind::Pack)
        .map(|s| s.duration_s)
        .sum();
    SolidAsk {
        frame_times_s: (0..frames)
            .map(|i| end_s * i as f64 / frames.max(2).saturating_sub(1) as f64)
            .collect(),
        ..SolidAsk::default()
    }
}
