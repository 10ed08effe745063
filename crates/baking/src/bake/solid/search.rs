//! How long a whole piece bakes to a moisture: a secant search on a coarse grid, then on the one asked for.

use super::grid::Grid;
use super::{SolidAsk, SolidError, SolidGrid, SolidPiece, SolidResult, solid_bake};
use crate::bake::search::{Cooling, TargetAt, stretched};
use crate::bake::{BakeError, BakeInput, InputError, StageKind};
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
pub const TOLERANCE: f64 = 2e-4;
/// Tolerance on the coarse grid, whose answer is only a start.
const ROUGH_TOLERANCE: f64 = 1e-3;
const MOST_RUNS: usize = 14;

/// What the search is for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SolidTarget {
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

/// A search along time with what is known so far.
struct Search {
    allowed_s: Range,
    target: f64,
    low: Option<f64>,
    high: Option<f64>,
    before: Option<(f64, f64)>,
    slope: Option<f64>,
}

enum Next {
    Met,
    /// The end of the range, or nothing left between two times, and still not there.
    End,
    Try(f64),
}

impl Search {
    fn new(target: &SolidTarget, slope: Option<f64>) -> Self {
        Self {
            allowed_s: target.allowed_s,
            target: target.moisture.0,
            low: None,
            high: None,
            before: None,
            slope,
        }
    }

    /// Where to look after `wet` was found at `t`.
    fn next(&mut self, t: f64, wet: f64, tolerance: f64) -> Next {
        let miss = wet - self.target;
        // Two bakes close by tell the noise of their steps, not a slope.
        if let Some((other, other_miss)) = self.before
            && (t - other).abs() > 5e-3 * t
        {
            self.slope = Some((miss - other_miss) / (t - other));
        }
        self.before = Some((t, miss));
        if miss.abs() <= tolerance {
            return Next::Met;
        }
        let wall = if miss > 0.0 {
            self.low = Some(self.low.map_or(t, |l: f64| l.max(t)));
            t >= self.allowed_s.high
        } else {
            self.high = Some(self.high.map_or(t, |h: f64| h.min(t)));
            t <= self.allowed_s.low
        };
        if wall {
            return Next::End;
        }
        // Moisture falls about with the power −2.5 of time in the second half of a bake.
        let power = t * (wet.max(1e-4) / self.target).powf(0.42).clamp(0.5, 2.0);
        let secant = self.slope.filter(|s| *s < 0.0).map(|s| t - miss / s);
        let wish = secant.map_or(power, |s| s.clamp(0.5 * t, 2.0 * t));
        let next = match (self.low, self.high) {
            (Some(a), Some(b)) if !(wish > a && wish < b) => 0.5 * (a + b),
            _ => wish,
        };
        let next = self.allowed_s.clamp(next);
        if (next - t).abs() < 1e-7 * t {
            Next::End
        } else {
            Next::Try(next)
        }
    }
}

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
    target: &'a SolidTarget,
    coarse: SolidGrid,
    /// The stage after which the moisture of the target no longer changes.
    decides: usize,
}

impl<'a> Baking<'a> {
    fn new(
        input: &'a BakeInput,
        piece: SolidPiece<'a>,
        grid: &'a SolidGrid,
        target: &'a SolidTarget,
    ) -> Result<Self, SolidError> {
        let wrong = |field: &'static str, value: f64, text: &'static str| {
            SolidError::from(BakeError::from(InputError::new(field, value, text)))
        };
        if !(target.moisture.0 > 0.0 && target.moisture.0 < 1.0) {
            return Err(wrong(
                "target moisture",
                target.moisture.0,
                "above 0 and below 1 (wet basis)",
            ));
        }
        if !(target.allowed_s.low > 0.0 && target.allowed_s.high >= target.allowed_s.low) {
            return Err(wrong(
                "allowed oven time",
                target.allowed_s.low,
                "a range of seconds above 0",
            ));
        }
        let kind = target.at.stage();
        let last = input.stages.iter().rposition(|s| s.kind == kind);
        let Some(last) = last.filter(|_| input.oven_time_s() > 0.0) else {
            return Err(wrong(
                "stages",
                input.stages.len() as f64,
                "at least one oven stage, and the one the target is told at",
            ));
        };
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
        // A closed pack keeps the mean moisture.
        let decides = input.stages[..=last]
            .iter()
            .rposition(|s| s.vapour_exchange > 0.0)
            .unwrap_or(last);
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

    /// A first time on the coarse grid, how moisture falls with it \[1/s\], and the bakes that took.
    fn roughly(
        &self,
        go_on: &mut dyn FnMut(f64) -> bool,
    ) -> Result<(f64, Option<f64>, usize), SolidError> {
        let usual = self.input.oven_time_s();
        let mut t = self
            .target
            .allowed_s
            .clamp(self.target.guess_s.unwrap_or(usual));
        let mut search = Search::new(self.target, None);
        let mut runs = 0;
        while runs < MOST_RUNS {
            let wet = self.wetness(t, &self.coarse, go_on)?;
            runs += 1;
            match search.next(t, wet, ROUGH_TOLERANCE) {
                Next::Met | Next::End => break,
                Next::Try(next) => t = next,
            }
        }
        Ok((t, search.slope, runs))
    }
}

fn wet_at(result: &SolidResult, stage: usize) -> f64 {
    let end = result.stages.get(stage).or(result.stages.last());
    end.map_or(f64::NAN, |e| e.mean_moisture.to_wet().0)
}

/// The band time at which a whole piece reaches a moisture; `frames` pictures are kept over oven and cooling.
///
/// The zones stretch together. The search is done on columns and cells twice as wide; then one to three bakes on
/// the grid asked for take its answer the rest of the way. Only the last of them goes into the pack.
///
/// # Errors
/// A target outside 0 to 1, a bake without the stage that the target names, or an error of a bake.
pub fn solid_band_time(
    input: &BakeInput,
    piece: SolidPiece<'_>,
    grid: &SolidGrid,
    target: &SolidTarget,
    frames: usize,
    go_on: &mut dyn FnMut(f64) -> bool,
) -> Result<SolidBandTime, SolidError> {
    let baking = Baking::new(input, piece, grid, target)?;
    let (mut t, slope, rough) = baking.roughly(&mut |done| go_on(0.3 * done))?;
    let mut search = Search::new(target, slope);
    let (mut fine, mut to_the_end) = (0, false);
    loop {
        let at = stretched(input, t, target.cooling);
        let end_of_range = t <= target.allowed_s.low || t >= target.allowed_s.high;
        let wanted = Range::new(target.moisture.0 - TOLERANCE, target.moisture.0 + TOLERANCE);
        let last_try = to_the_end || end_of_range || fine + 1 >= MOST_RUNS;
        let ask = SolidAsk {
            go_on_if: (!last_try).then_some((baking.decides, wanted)),
            ..pictures(&at, frames)
        };
        let bake = solid_bake(&at, piece, grid, &ask, &mut |done| go_on(0.3 + 0.7 * done))?;
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
/// # Errors
/// As [`solid_band_time`].
pub fn solid_time(
    input: &BakeInput,
    piece: SolidPiece<'_>,
    grid: &SolidGrid,
    target: &SolidTarget,
    go_on: &mut dyn FnMut(f64) -> bool,
) -> Result<SolidTime, SolidError> {
    let baking = Baking::new(input, piece, grid, target)?;
    let (t, slope, rough) = baking.roughly(&mut |done| go_on(0.4 * done))?;
    let wet = baking.wetness(t, grid, &mut |done| go_on(0.4 + 0.6 * done))?;
    let (time_s, met) = match Search::new(target, slope).next(t, wet, 0.1 * TOLERANCE) {
        Next::Met => (t, true),
        Next::End => (t, false),
        Next::Try(next) => (next, true),
    };
    Ok(SolidTime {
        time_s,
        met,
        runs: [rough, 1],
    })
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
