//! The bake of a whole piece: outline, docker holes, three dimensions.
//!
//! The balances, closures and stages are those of the bake through the thickness; the rim is a real wall
//! here, so an [`Edge`](super::Edge) of the input gives only its exposure, the share of the top's surface law that
//! reaches the outer wall. On a wide plate without exposure both bakes give the same.

mod balance;
mod chessboard;
mod error;
mod footprint;
mod grid;
mod lines;
mod record;
mod result;
mod search;
mod steps;

pub use super::edge::HOLE_SHARE;
pub use error::SolidError;
pub use grid::{MOST_NODES, SolidGrid, USUAL_NODES};
pub use result::{
    GridTold, LAST_PLACE_K, MOST_FRAMES, PlanMap, SolidAsk, SolidEnd, SolidFrames, SolidHistory,
    SolidPlace, SolidResult, SolidWork,
};
pub use search::{SolidBandTime, SolidTime, solid_band_time, solid_time};

use super::kernel::{Material, Surroundings, Totals};
use super::{Accuracy, BakeError, BakeInput, InputError, StageKind};
use crate::numerics::lanes::LANES;
use crate::numerics::step_control::{Limits, StepControl};
use crate::piece::{Docked, Piece};
use balance::Shares;
use grid::Grid;
use record::Record;
use steps::{METHOD, Work};

/// Version of the model, kept with every answer.
pub const MODEL_VERSION: u32 = 4;

/// First step of the bake, from dough that is alike all through, and of a later stage, which finds a crust \[s\].
///
/// - Source: a numerical choice
const FIRST_STEPS_S: [f64; 2] = [0.02, 0.5];
/// When the steps of a stage are given up.
const LIMITS: Limits = Limits {
    most_steps: 3_000,
    least_s: 1e-9,
};

/// Relative tolerance of a step.
fn tolerance(accuracy: Accuracy) -> f64 {
    match accuracy {
        Accuracy::Quick => 3e-3,
        Accuracy::Tight => 1e-5,
        Accuracy::Tolerance(t) => t,
    }
}

/// A piece with its holes laid out.
#[derive(Clone, Copy, Debug)]
pub struct SolidPiece<'a> {
    /// The piece.
    pub piece: &'a Piece,
    /// Its holes.
    pub docked: &'a Docked,
}

/// Bakes a whole piece; `go_on` is told the share of the bake that is done after every step, and ends the bake by
/// answering no.
///
/// - Rule: heat and water over columns and cells of the whole piece, with the fluxes of the bake through the
///   thickness
/// - Units: share of the bake that is done \[1\]; lengths \[m\], times \[s\] in what is taken and given
/// - Valid: pieces, grids and times that their checks let pass
/// - Source: a piece without edge is the bake through the thickness, an identity
///
/// ```
/// use baking::bake::{Edge, StageKind, case::Benchmark};
/// use baking::bake::solid::{SolidAsk, SolidGrid, SolidPiece, solid_bake};
/// use baking::piece::{DockerPattern, Outline, Piece, dock};
/// let piece = Piece { outline: Outline::Round { diameter_m: 0.050 }, thickness_m: 0.008, docker: None };
/// let docked = dock(&piece, &DockerPattern::default())?;
/// let mut input = Benchmark::SteelBand.case().input;
/// (input.thickness_m, input.edge) = (0.008, Some(piece.edge(0.3)));
/// input.stages.retain(|s| s.kind == StageKind::Oven);
/// let solid = SolidPiece { piece: &piece, docked: &docked };
/// let baked = solid_bake(&input, solid, &SolidGrid::PREVIEW, &SolidAsk::default(), &mut |_| true)?;
/// // What left through the surfaces is what the piece lacks.
/// assert!(baked.account.water_rel_error < 1e-6);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// An input outside what is allowed, a grid too fine for memory, a bake that can't be followed, or a stop.
pub fn solid_bake(
    input: &BakeInput,
    piece: SolidPiece<'_>,
    grid: &SolidGrid,
    ask: &SolidAsk,
    go_on: &mut dyn FnMut(f64) -> bool,
) -> Result<SolidResult, SolidError> {
    let mut checked = input.clone();
    checked.cells = grid.cells;
    checked.check().map_err(BakeError::from)?;
    piece.piece.check()?;
    if (input.thickness_m - piece.piece.thickness_m).abs() > 1e-9 {
        return Err(BakeError::from(InputError::new(
            "thickness_m",
            input.thickness_m,
            format!("that of the piece, {} m", piece.piece.thickness_m),
        ))
        .into());
    }
    let total_s: f64 = input.stages.iter().map(|s| s.duration_s).sum();
    check_frames(ask, total_s)?;
    let mut m = Material::new(input);
    m.nodes = (grid.cells + 1) * LANES;
    let laid_out = Grid::new(piece.piece, piece.docked, grid)?;
    let x0 = input.initial_moisture.0;
    let start_c = measure::temperature::celsius(input.initial_temperature_k);
    let start = [x0, m.enthalpy(x0, start_c)];
    let mut w = Work::new(m, laid_out, start);
    w.look(Some(0.0));
    let mut record = Record::new(ask, &w);
    let mut begin_s = 0.0;
    for (index, stage) in input.stages.iter().enumerate() {
        let s = Surroundings::new(input, stage);
        let open = stage.kind != StageKind::Pack;
        let exposure = input.edge.map_or(0.0, |e| e.exposure);
        let shares = Shares {
            wall: if open { exposure } else { 0.0 },
            hole: if open { grid.hole_share } else { 0.0 },
        };
        let tolerance = tolerance(input.accuracy);
        let order = METHOD.control_order;
        let first_s = FIRST_STEPS_S[index.min(1)];
        let mut control = StepControl::new(stage.duration_s, first_s, LIMITS, order);
        let mut at_start = Totals::default();
        while let Some(step) = control.next_step() {
            if step.fresh {
                at_start = w.prepare(&s, shares);
            }
            let (t, h) = (begin_s + step.from_s, step.length_s);
            let result = w.attempt(&s, shares, (h, tolerance), at_start);
            if !control.takes(result.error) {
                record.result.work.rejected += 1;
                continue;
            }
            let now = begin_s + control.time_s();
            record.inside(&w, t, control.time_s() - step.from_s);
            std::mem::swap(&mut w.y, &mut w.next);
            w.look(if open { Some(h) } else { None });
            record.arrive(&w, now, h, result.gained);
            if !matches!(stage.kind, StageKind::Oven | StageKind::Drying) {
                record.layers(&w, now);
            }
            if !go_on(now / total_s) {
                return Err(SolidError::Cancelled);
            }
            if ask.stop_there && record.result.reached_s.is_some() {
                record.result.work.iterations = w.iterations;
                record.end_stage(&w, &stage.name, stage.kind, now);
                return Ok(record.result);
            }
        }
        if control.is_lost() {
            return Err(BakeError::lost(index, &stage.name, begin_s, &control).into());
        }
        begin_s += stage.duration_s;
        if matches!(stage.kind, StageKind::Oven | StageKind::Drying) {
            record.result.layers.clear();
            record.layers(&w, begin_s);
        }
        record.end_stage(&w, &stage.name, stage.kind, begin_s);
        if let Some((deciding, wanted)) = ask.go_on_if
            && deciding == index
            && let Some(end) = record.result.stages.last()
            && !wanted.contains(end.mean_moisture.to_wet().0)
        {
            break;
        }
    }
    record.result.work.iterations = w.iterations;
    Ok(record.result)
}

fn check_frames(ask: &SolidAsk, total_s: f64) -> Result<(), BakeError> {
    let mut before = 0.0;
    for &t in &ask.frame_times_s {
        if !(t >= before && t <= total_s * (1.0 + 1e-9)) {
            let allowed = format!("rising from 0 to the end of the last stage at {total_s} s");
            return Err(InputError::new("frame_times_s", t, allowed).into());
        }
        before = t;
    }
    if ask.frame_times_s.len() > MOST_FRAMES {
        let allowed = format!("at most {MOST_FRAMES}");
        return Err(InputError::new("frames", ask.frame_times_s.len() as f64, allowed).into());
    }
    Ok(())
}
