//! The whole piece of a treatment in the oven: outline, docker holes, three dimensions.
//!
//! The bake through the thickness answers while one types; this one answers what it can't see: edges, holes, the
//! last place to pass, and how good the edge correction of the quick answer is for this piece.

mod both;
pub mod dockers;

use crate::Code;
use crate::chain::timed_bake::wanted;
use crate::chain::{Key, Run, RunError};
use baking::bake::edge::PATH_SHARE;
use baking::bake::search::{BandTarget, band_time, stretched};
use baking::bake::solid::{
    GridTold, HOLE_SHARE, MODEL_VERSION, PlanMap, SolidAsk, SolidEnd, SolidError, SolidFrames,
    SolidGrid, SolidPiece, SolidPlace, SolidResult, USUAL_NODES, solid_bake, solid_band_time,
    solid_time,
};
use baking::bake::{Ask, BakeError, BakeInput, Edge, StageKind, Workspace};
use baking::piece::{Docked, Piece, dock};
use both::Both;
use measure::temperature::celsius;
use measure::units::MINUTE_S;
use measure::{DryBasis, Finding, Given, Range, Severity};
use serde::Serialize;

/// How the solid bake is asked for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SolidAsked {
    /// The grid; none for the usual one, coarser for a large piece.
    pub grid: Option<SolidGrid>,
    /// Share of the surface transfer at the walls of holes, 0 to 1; none for the grid's own.
    pub hole_share: Option<f64>,
    /// Whether the docker holes are left out.
    pub no_dockers: bool,
    /// Whether the same piece without holes is baked beside it.
    pub compare: bool,
    /// Pictures over oven and cooling.
    pub frames: usize,
    /// Time in the oven instead of the target \[s\].
    pub bake_time_s: Option<f64>,
}

impl Default for SolidAsked {
    fn default() -> Self {
        Self {
            grid: None,
            hole_share: None,
            no_dockers: false,
            compare: true,
            frames: 40,
            bake_time_s: None,
        }
    }
}

/// A place in the piece, told.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct PlaceTold {
    /// From the middle along the band, mm.
    pub x_mm: f64,
    /// Across the band, mm.
    pub y_mm: f64,
    /// Over the band, mm.
    pub z_mm: f64,
    /// Moisture, % wet basis.
    pub moisture_pct: f64,
    /// Temperature, °C.
    pub temperature_c: f64,
}

/// The piece at the end of a stage.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct EndTold {
    /// Name of the stage.
    pub name: String,
    /// Whether it is a zone of the oven.
    pub oven: bool,
    /// When, min from the oven's mouth.
    pub time_min: f64,
    /// Mean moisture, % wet basis.
    pub moisture_pct: f64,
    /// Place farthest from all walls, half way up.
    pub centre: PlaceTold,
    /// Centre less outer wall, percentage points.
    pub centre_edge_points: f64,
    /// Half way up less top and bottom, percentage points.
    pub middle_surface_points: f64,
    /// Wettest place.
    pub wettest: PlaceTold,
    /// Driest place.
    pub driest: PlaceTold,
    /// Spread of moisture over the volume, standard deviation, percentage points of dry solid.
    pub moisture_sd_points: f64,
    /// Log reduction at the least treated place, as told.
    pub kill_shown: String,
    /// The same in decades; only what the tested range supports.
    pub kill_log10: f64,
    /// Where that is.
    pub kill_least_at: PlaceTold,
    /// Browning of the top, mean and most, ΔE.
    pub colour_mean_delta_e: f64,
    /// Most browned place of the top, ΔE.
    pub colour_most_delta_e: f64,
    /// Mean moisture through the thickness over the plan, % wet basis.
    pub moisture_map: MapTold,
    /// Browning of the top over the plan, ΔE.
    pub colour_map: MapTold,
}

/// A number for every grid point of the plan; null outside the piece.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct MapTold {
    /// Grid points along x and y.
    pub points: [usize; 2],
    /// Distance between them, mm.
    pub step_mm: [f64; 2],
    /// Place of the first, mm.
    pub first_mm: [f64; 2],
    /// The numbers, x running fastest.
    pub values: Vec<f32>,
}

/// Pictures through time, told: temperature to a degree, moisture to a tenth of a point, which is more than is seen.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct FramesTold {
    /// Time of each, min.
    pub time_min: Vec<f64>,
    /// Grid points of the plan half way up, and their distances, mm.
    pub plan_points: [usize; 2],
    /// Distances in plan, mm.
    pub plan_step_mm: [f64; 2],
    /// Whether the middle of x, of y is a mirror: then only the half beyond it is here.
    pub mirrored: [bool; 2],
    /// Grid points of the section along x and up.
    pub section_points: [usize; 2],
    /// Distances in section, mm.
    pub section_step_mm: [f64; 2],
    /// Place of the section across the band, mm.
    pub section_y_mm: f64,
    /// Temperature in plan, °C; null outside the piece.
    pub plan_c: Vec<Vec<f32>>,
    /// Moisture in plan, % wet basis.
    pub plan_moisture_pct: Vec<Vec<f32>>,
    /// Temperature in section, °C.
    pub section_c: Vec<Vec<f32>>,
    /// Moisture in section, % wet basis.
    pub section_moisture_pct: Vec<Vec<f32>>,
}

/// Tells the pictures.
pub fn frames_told(f: &SolidFrames) -> FramesTold {
    let rows = |rows: &[Vec<f32>], value: fn(f32) -> f32| -> Vec<Vec<f32>> {
        rows.iter()
            .map(|r| r.iter().map(|v| value(*v)).collect())
            .collect()
    };
    let degree = f32::round;
    let tenth = |x: f32| (10.0 * wet_pct(x)).round() / 10.0;
    FramesTold {
        time_min: f.time_s.iter().map(|t| t / MINUTE_S).collect(),
        plan_points: f.plan_points,
        plan_step_mm: f.plan_step_m.map(|m| m * 1e3),
        mirrored: f.mirrored,
        section_points: f.section_points,
        section_step_mm: f.section_step_m.map(|m| m * 1e3),
        section_y_mm: f.section_y_m * 1e3,
        plan_c: rows(&f.plan_c, degree),
        plan_moisture_pct: rows(&f.plan_moisture, tenth),
        section_c: rows(&f.section_c, degree),
        section_moisture_pct: rows(&f.section_moisture, tenth),
    }
}

/// Moisture on dry solid as % wet basis, outside the piece not a number.
fn wet_pct(x: f32) -> f32 {
    100.0 * x / (1.0 + x)
}

/// The grid, told.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct GridAnswer {
    /// Nodes followed.
    pub nodes: usize,
    /// Nodes of the whole piece.
    pub nodes_in_full: usize,
    /// Distance between columns, mm.
    pub step_mm: [f64; 2],
    /// Cells through the thickness.
    pub cells: usize,
    /// Whether the middle of x, of y is a mirror.
    pub mirrored: [bool; 2],
}

/// The solid bake beside the bake through the thickness.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Correction {
    /// Time of the whole piece, min.
    pub solid_min: f64,
    /// Time through the thickness with its edge correction, min.
    pub corrected_min: f64,
    /// Time of an endless slab, min.
    pub slab_min: f64,
    /// Whole piece over the corrected answer.
    pub ratio: f64,
    /// Whole piece over slab: what edges and holes do.
    pub edge_and_docker: f64,
    /// Inner path of the edge, as a share of area over perimeter, with which the bake through the thickness takes as
    /// long as the whole piece; none when no share does.
    pub edge_path_share: Option<f64>,
}

impl Correction {
    /// How much longer the whole piece takes than `minutes`, %.
    pub fn longer_pct(&self, minutes: f64) -> f64 {
        100.0 * (self.solid_min / minutes - 1.0)
    }

    /// How far the quick answer with its edge correction is off the whole piece, %.
    pub fn quick_off_pct(&self) -> f64 {
        100.0 * (self.corrected_min / self.solid_min - 1.0)
    }
}

/// The whole piece in the oven.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SolidAnswer {
    /// Short name of the treatment.
    pub id: String,
    /// Name of the treatment.
    pub name: String,
    /// Time in the oven, min.
    pub time_min: f64,
    /// Whether that time meets the study's target; none when the time was given.
    pub met: Option<bool>,
    /// Docker holes baked with.
    pub holes: usize,
    /// Their diameter, mm.
    pub hole_diameter_mm: f64,
    /// Time of the same piece without holes, min.
    pub without_holes_min: Option<f64>,
    /// Against the bake through the thickness; none when the time was given.
    pub correction: Option<Correction>,
    /// When the coldest place has reached 90 °C, min.
    pub last_place_hot_min: Option<f64>,
    /// Minutes, mean moisture and moisture of the wettest place, % wet basis, after every step.
    pub time_history_min: Vec<f64>,
    /// Mean moisture, % wet basis.
    pub moisture_history_pct: Vec<f64>,
    /// Moisture of the wettest place, % wet basis.
    pub wettest_history_pct: Vec<f64>,
    /// The ends of the stages.
    pub ends: Vec<EndTold>,
    /// The grid.
    pub grid: GridAnswer,
    /// Gap of the water account over the water at the start.
    pub water_rel_error: f64,
    /// Gap of the energy account over the enthalpy turned over.
    pub energy_rel_error: f64,
    /// Steps taken, of the bake told.
    pub steps: usize,
    /// Version of the model.
    pub model_version: u32,
    /// SHA-256 of everything that went in: the same inputs give the same.
    pub inputs_sha256: String,
    /// What a person should know.
    pub findings: Vec<Finding>,
    /// Every default the answer stands on.
    pub given: Vec<Given>,
}

/// Why there is no solid answer.
#[derive(Debug, thiserror::Error)]
pub enum SolidWhy {
    /// The quick bake that it stands beside.
    #[error(transparent)]
    Run(#[from] RunError),
    /// The bake through the thickness.
    #[error(transparent)]
    Bake(#[from] BakeError),
    /// The solid bake.
    #[error(transparent)]
    Solid(#[from] SolidError),
}

/// A treatment ready for the solid bake.
pub(crate) struct Ready {
    pub input: BakeInput,
    pub piece: Piece,
    pub docked: Docked,
    pub target: BandTarget,
}

pub(crate) fn ready(run: &Run, no_dockers: bool) -> Result<Ready, SolidWhy> {
    let treatment = &run.treatment;
    let mut piece = treatment.setting.piece.clone();
    let mut pattern = treatment.setting.docker_pattern.clone();
    if no_dockers {
        piece.docker = None;
        pattern = baking::piece::DockerPattern::default();
    }
    let docked = dock(&piece, &pattern).map_err(SolidError::from)?;
    let target = wanted(treatment);
    Ok(Ready {
        input: run.made.bake.clone(),
        piece,
        docked,
        target,
    })
}

/// Band time through the thickness, with the edge correction or without \[s\].
fn flat_time_s(input: &BakeInput, target: &BandTarget, rim: bool) -> Result<f64, BakeError> {
    let mut input = input.clone();
    if !rim {
        input.edge = None;
    }
    let found = band_time(
        &input,
        target,
        &|_| Ask::without_kill(),
        &mut Workspace::new(),
    )?;
    Ok(found.time_s)
}

/// The inner path of the edge that gives a time through the thickness: a longer one bakes longer.
fn fitted_path(
    input: &BakeInput,
    target: &BandTarget,
    time_s: f64,
) -> Result<Option<f64>, BakeError> {
    let Some(edge) = input.edge else {
        return Ok(None);
    };
    let target = BandTarget {
        guess_s: Some(time_s),
        ..*target
    };
    let miss = |share: f64| -> Result<f64, BakeError> {
        let mut tried = input.clone();
        tried.edge = Some(Edge {
            path_m: share / edge.perimeter_per_area_per_m,
            // The path is fitted with the holes of the whole piece in it.
            holes: None,
            ..edge
        });
        Ok(flat_time_s(&tried, &target, true)? - time_s)
    };
    let Range { mut low, mut high } = PATH_SHARE.range;
    if miss(low)? > 0.0 || miss(high)? < 0.0 {
        return Ok(None);
    }
    for _ in 0..10 {
        let middle = (low * high).sqrt();
        if miss(middle)? > 0.0 {
            high = middle;
        } else {
            low = middle;
        }
    }
    Ok(Some((low * high).sqrt()))
}

/// How long the piece bakes without its holes \[s\].
fn bare_time_s(
    ready: &Ready,
    grid: &SolidGrid,
    go_on: &mut dyn FnMut(f64) -> bool,
) -> Result<f64, SolidError> {
    let mut piece = ready.piece.clone();
    piece.docker = None;
    let docked = dock(&piece, &baking::piece::DockerPattern::default())?;
    let plain = SolidPiece {
        piece: &piece,
        docked: &docked,
    };
    // Holes let a twentieth of the time go, more or less.
    let target = BandTarget {
        guess_s: ready.target.guess_s.map(|s| s * 1.05),
        ..ready.target
    };
    Ok(solid_time(&ready.input, plain, grid, &target, go_on)?.time_s)
}

/// Bakes the whole piece of a treatment; `go_on` is told the share done and may end it.
///
/// The pictures stand beside the answer, since they are many numbers.
///
/// # Errors
/// What can't be computed, by field and value; [`SolidError::Cancelled`] when told to stop.
pub fn whole_piece(
    run: &Run,
    asked: &SolidAsked,
    go_on: &mut (dyn FnMut(f64) -> bool + Send),
) -> Result<(SolidAnswer, Option<SolidFrames>), SolidWhy> {
    let mut ready = ready(run, asked.no_dockers)?;
    let solid = SolidPiece {
        piece: &ready.piece,
        docked: &ready.docked,
    };
    let mut grid = asked
        .grid
        .unwrap_or_else(|| SolidGrid::USUAL.fitting(&ready.piece, &ready.docked, USUAL_NODES));
    grid.hole_share = asked.hole_share.unwrap_or(grid.hole_share);
    let fixed = asked.bake_time_s.or(run.treatment.setting.bake_time_s);
    let bare = asked.compare && fixed.is_none() && !ready.docked.centres_m.is_empty();
    let mut correction = None;
    let mut without_holes_min = None;
    let (time_s, met, bake, input) = if let Some(time_s) = fixed {
        let input = stretched(&ready.input, time_s, ready.target.cooling);
        let ask = pictures(&input, asked.frames);
        let bake = solid_bake(&input, solid, &grid, &ask, go_on)?;
        (time_s, None, bake, input)
    } else {
        let bake = &ready.input;
        let corrected_s = flat_time_s(bake, &ready.target, true)?;
        let slab_s = flat_time_s(bake, &ready.target, false)?;
        ready.target.guess_s = Some(corrected_s);
        let both = Both::new(go_on, bare);
        let (found, without) = rayon::join(
            || {
                let go_on = &mut |done| both.tell(0, done);
                let found = solid_band_time(bake, solid, &grid, &ready.target, asked.frames, go_on);
                found.inspect_err(|_| both.stop())
            },
            || bare.then(|| bare_time_s(&ready, &grid, &mut |done| both.tell(1, done))),
        );
        let found = found?;
        correction = Some(Correction {
            solid_min: found.time_s / MINUTE_S,
            corrected_min: corrected_s / MINUTE_S,
            slab_min: slab_s / MINUTE_S,
            ratio: found.time_s / corrected_s,
            edge_and_docker: found.time_s / slab_s,
            edge_path_share: fitted_path(bake, &ready.target, found.time_s)?,
        });
        without_holes_min = without.transpose()?.map(|time_s| time_s / MINUTE_S);
        (found.time_s, Some(found.met), found.bake, found.input)
    };
    let findings = findings(&ready.docked, met, &bake, correction.as_ref());
    let mut given = run.made.given.clone();
    given.retain(|g| g.name != PATH_SHARE.name);
    if grid.hole_share == HOLE_SHARE.value && !ready.docked.centres_m.is_empty() {
        given.push(HOLE_SHARE.used());
    }
    let inputs_sha256 =
        Key::of(&(MODEL_VERSION, &input, &ready.piece, &ready.docked, grid)).to_string();
    let wet = |x: &f64| DryBasis(*x).to_wet().percent();
    let history = &bake.history;
    let answer = SolidAnswer {
        id: run.treatment.id.clone(),
        name: run.treatment.name.clone(),
        time_min: time_s / MINUTE_S,
        met,
        holes: ready.docked.centres_m.len(),
        hole_diameter_mm: ready.docked.diameter_m * 1e3,
        without_holes_min,
        correction,
        last_place_hot_min: bake.last_place_hot_s.map(|s| s / MINUTE_S),
        time_history_min: history.time_s.iter().map(|t| t / MINUTE_S).collect(),
        moisture_history_pct: history.mean_moisture.iter().map(wet).collect(),
        wettest_history_pct: history.wettest.iter().map(wet).collect(),
        ends: ends_told(&bake.stages),
        grid: grid_told(&bake.grid),
        water_rel_error: bake.account.water_rel_error,
        energy_rel_error: bake.account.energy_rel_error,
        steps: bake.work.steps,
        model_version: MODEL_VERSION,
        inputs_sha256,
        findings,
        given,
    };
    Ok((answer, bake.frames))
}

/// What the bake of a treatment's whole piece reads, and its model's version: the same question about the same piece
/// has the same key, whatever the treatment is called.
pub fn whole_piece_key(run: &Run) -> Key {
    let t = &run.treatment;
    Key::of(&(
        MODEL_VERSION,
        &run.made.bake,
        &t.setting.piece,
        &t.setting.docker_pattern,
        (&t.target, t.setting.bake_time_s, &t.setting.cooling),
    ))
}

fn pictures(input: &BakeInput, frames: usize) -> SolidAsk {
    let end_s: f64 = input
        .stages
        .iter()
        .filter(|s| s.kind != StageKind::Pack)
        .map(|s| s.duration_s)
        .sum();
    let last = frames.max(2).saturating_sub(1) as f64;
    SolidAsk {
        frame_times_s: (0..frames).map(|i| end_s * i as f64 / last).collect(),
        ..SolidAsk::default()
    }
}

fn grid_told(g: &GridTold) -> GridAnswer {
    GridAnswer {
        nodes: g.nodes,
        nodes_in_full: g.nodes_in_full,
        step_mm: g.step_m.map(|m| m * 1e3),
        cells: g.cells,
        mirrored: g.mirrored,
    }
}

fn place_told(p: &SolidPlace) -> PlaceTold {
    PlaceTold {
        x_mm: p.x_m * 1e3,
        y_mm: p.y_m * 1e3,
        z_mm: p.z_m * 1e3,
        moisture_pct: p.moisture.to_wet().percent(),
        temperature_c: celsius(p.temperature_k),
    }
}

fn map_told(map: &PlanMap, value: impl Fn(f32) -> f32) -> MapTold {
    MapTold {
        points: map.points,
        step_mm: map.step_m.map(|m| m * 1e3),
        first_mm: map.first_m.map(|m| m * 1e3),
        values: map.values.iter().map(|v| value(*v)).collect(),
    }
}

/// The ends of the stages. As in the quick answer colour is that of the cooled piece: what the law of browning, tested
/// from 140 °C, would add in a week in the pack isn't told.
fn ends_told(ends: &[SolidEnd]) -> Vec<EndTold> {
    let baked = ends.iter().rfind(|e| e.kind != StageKind::Pack);
    let told = ends.iter().map(|end| {
        let coloured = baked.filter(|_| end.kind == StageKind::Pack);
        end_told(end, coloured.unwrap_or(end))
    });
    told.collect()
}

fn end_told(end: &SolidEnd, coloured: &SolidEnd) -> EndTold {
    let wet = |x: DryBasis| x.to_wet().percent();
    EndTold {
        name: end.name.clone(),
        oven: end.kind == StageKind::Oven,
        time_min: end.time_s / MINUTE_S,
        moisture_pct: wet(end.mean_moisture),
        centre: place_told(&end.centre),
        centre_edge_points: wet(end.centre.moisture) - wet(end.edge_moisture),
        middle_surface_points: wet(end.middle_moisture) - wet(end.surface_moisture),
        wettest: place_told(&end.wettest),
        driest: place_told(&end.driest),
        moisture_sd_points: 100.0 * end.moisture_sd,
        kill_shown: end.kill.shown(),
        kill_log10: end.kill.log10,
        kill_least_at: place_told(&end.kill_least_at),
        colour_mean_delta_e: coloured.colour_mean_delta_e,
        colour_most_delta_e: coloured.colour_most_delta_e,
        moisture_map: map_told(&end.moisture_map, wet_pct),
        colour_map: map_told(&coloured.colour_map, |x| x),
    }
}

fn findings(
    docked: &Docked,
    met: Option<bool>,
    bake: &SolidResult,
    correction: Option<&Correction>,
) -> Vec<Finding> {
    let mut findings = docked.findings.clone();
    if met == Some(false) {
        findings.push(
            Finding::new(
                Severity::Warn,
                Code::TargetNotReached,
                "solid.time_min",
                "The whole piece doesn't come to the target within the times that are tried.",
            )
            .help("Hotter zones, a thinner piece, more air speed, or another target."),
        );
    }
    if let Some(c) = correction.filter(|c| (c.ratio - 1.0).abs() > 0.03) {
        findings.push(
            Finding::new(
                Severity::Note,
                Code::EdgeCorrectionOff,
                "solid.correction",
                format!(
                    "The quick answer through the thickness gives {:.1} min; the whole piece needs {:.1} min ({:+.1} %).",
                    c.corrected_min,
                    c.solid_min,
                    c.longer_pct(c.corrected_min)
                ),
            )
            .help("Take the time of the whole piece, or correct the quick answer by it; the quick answer knows neither holes nor the shape of the edge."),
        );
    }
    if bake.last_place_hot_s.is_none() {
        findings.push(
            Finding::new(
                Severity::Warn,
                Code::APlaceStaysBelow90,
                "solid.last_place_hot_min",
                "A place in the piece never reaches 90 °C.",
            )
            .help("Look at the section: a thicker place, or a shielded edge, may be underbaked."),
        );
    }
    findings.push(
        Finding::new(
            Severity::Note,
            Code::KillIsAHint,
            "solid.kill",
            baking::bake::kill::CAUTION,
        )
        .help("Have the kill step validated by a process authority."),
    );
    findings.sort_by_key(|f| std::cmp::Reverse(f.severity));
    findings
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chain::{BakeOptions, Sample, run};
    use crate::model::{Study, Treatment};

    fn baked(treatment: &Treatment) -> Run {
        let mut w = Workspace::new();
        run(treatment, &BakeOptions::BAKE_ONLY, Sample::Centre, &mut w).unwrap()
    }

    const COARSE: SolidGrid = SolidGrid {
        plan_m: 3e-3,
        cells: 8,
        ..SolidGrid::USUAL
    };

    fn study() -> Study {
        crate::written::read(include_str!("../../../../examples/spent-grain.toml")).unwrap()
    }

    #[test]
    fn the_whole_piece_meets_the_target_and_freezes_its_inputs() {
        let study = study();
        let asked = SolidAsked {
            grid: Some(COARSE),
            frames: 5,
            ..SolidAsked::default()
        };
        let (a, frames) = whole_piece(&baked(study.control()), &asked, &mut |_| true).unwrap();
        let wanted = study.target.moisture.percent();
        let packed = a.ends.last().unwrap();
        assert_eq!(a.met, Some(true));
        assert!(
            (packed.moisture_pct - wanted).abs() < 0.03,
            "{}",
            packed.moisture_pct
        );
        let c = a.correction.unwrap();
        // Edges make the piece quicker than a slab, holes quicker still.
        assert!(c.edge_and_docker < 1.0 && a.holes > 0);
        // With the fitted path the quick answer takes as long as the whole piece.
        let mut fitted = study.control().clone();
        fitted.setting.edge_path_share = c.edge_path_share;
        let quick = ready(&baked(&fitted), false).unwrap();
        let time_min = flat_time_s(&quick.input, &quick.target, true).unwrap() / MINUTE_S;
        assert!((time_min / a.time_min - 1.0).abs() < 2e-3, "{time_min}");
        assert!(a.without_holes_min.unwrap() > a.time_min);
        assert!(a.water_rel_error < 1e-8 && a.energy_rel_error < 1e-8);
        let told = frames_told(&frames.unwrap());
        assert_eq!(told.time_min.len(), 5);
        assert!(serde_json::to_string(&told).unwrap().len() < 1_000_000);
        let fixed = SolidAsked {
            bake_time_s: Some(a.time_min * MINUTE_S),
            ..asked
        };
        let (again, _) = whole_piece(&baked(study.control()), &fixed, &mut |_| true).unwrap();
        assert_eq!(again.inputs_sha256, a.inputs_sha256);
        let finer = SolidAsked {
            grid: Some(SolidGrid {
                cells: 10,
                ..COARSE
            }),
            ..fixed
        };
        let (other, _) = whole_piece(&baked(study.control()), &finer, &mut |_| true).unwrap();
        assert_ne!(other.inputs_sha256, a.inputs_sha256);
        let stopped = whole_piece(&baked(study.control()), &asked, &mut |_| false).unwrap_err();
        assert!(matches!(stopped, SolidWhy::Solid(SolidError::Cancelled)));
    }

    /// The pack adds no colour to what is told, as in the quick answer.
    #[test]
    fn the_pack_adds_no_colour() {
        let study = study();
        let asked = SolidAsked {
            grid: Some(COARSE),
            frames: 0,
            compare: false,
            bake_time_s: Some(900.0),
            ..SolidAsked::default()
        };
        let (a, _) = whole_piece(&baked(study.control()), &asked, &mut |_| true).unwrap();
        let [.., cooled, packed] = a.ends.as_slice() else {
            panic!("{:?}", a.ends);
        };
        println!(
            "{} {} {}",
            cooled.name, packed.name, cooled.colour_mean_delta_e
        );
        assert!(packed.time_min > cooled.time_min + 1000.0 && !cooled.oven);
        assert!(cooled.colour_mean_delta_e > 0.0);
        assert_eq!(packed.colour_mean_delta_e, cooled.colour_mean_delta_e);
        assert_eq!(packed.colour_most_delta_e, cooled.colour_most_delta_e);
        let least = |e: &EndTold| e.colour_map.values.iter().copied().fold(f32::MAX, f32::min);
        assert_eq!(least(packed), least(cooled));
    }

    /// Sixty pictures of the usual grid are what a page is sent at most: a megabyte of compact JSON.
    #[test]
    fn sixty_pictures_of_the_usual_grid_fit_a_megabyte() {
        let study = study();
        let asked = SolidAsked {
            frames: 60,
            compare: false,
            bake_time_s: Some(900.0),
            ..SolidAsked::default()
        };
        let (a, frames) = whole_piece(&baked(study.control()), &asked, &mut |_| true).unwrap();
        let told = frames_told(&frames.unwrap());
        assert_eq!(told.time_min.len(), 60);
        let bytes = serde_json::to_string(&told).unwrap().len();
        println!("{bytes} bytes, {:?}", a.grid);
        assert!(bytes <= 1_000_000, "{bytes}");
    }

    #[test]
    fn the_docker_study_recommends_what_keeps_the_rules() {
        let study = study();
        let asked = dockers::DockersAsked {
            counts: vec![4, 10, 200],
            diameters_m: vec![2e-3],
            grid: COARSE,
        };
        let s = dockers::docker_study(&baked(study.control()), &asked, &mut |_| true).unwrap();
        assert_eq!(s.tried.len(), 4);
        let time = |i: usize| s.tried[i].time_min.unwrap();
        // Common practice, no source: holes shorten the bake.
        assert!(time(2) < time(1) && time(1) < time(0));
        assert!(
            s.tried[2].pieces_per_h_change_pct.unwrap() > s.tried[2].kg_per_h_change_pct.unwrap()
        );
        assert!(s.tried[3].cannot.is_some());
        assert!(s.tried[s.recommended].rules.is_empty() && s.recommended > 0);
        assert!(s.reasons.len() >= 3, "{:?}", s.reasons);
    }
}
