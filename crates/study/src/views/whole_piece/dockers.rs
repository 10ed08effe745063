//! The docker study: how many holes, and how wide.

use super::{Ready, SolidWhy, ready};
use crate::chain::Run;
use baking::after::{Course, Crumb, checking};
use baking::bake::search::BandTarget;
use baking::bake::solid::{
    SolidBandTime, SolidError, SolidGrid, SolidPiece, USUAL_NODES, solid_band_time,
};
use baking::bake::{Ask, StageKind, Workspace, bake};
use baking::piece::{Docker, DockerPattern, Places, dock};
use measure::units::MINUTE_S;
use measure::{DryBasis, Severity};
use serde::Serialize;

/// What to try.
#[derive(Clone, Debug, PartialEq)]
pub struct DockersAsked {
    /// Numbers of holes; no holes are always tried.
    pub counts: Vec<u32>,
    /// Diameters \[m\].
    pub diameters_m: Vec<f64>,
    /// The grid; it is made coarser for a large piece.
    pub grid: SolidGrid,
}

impl Default for DockersAsked {
    fn default() -> Self {
        Self {
            counts: vec![1, 3, 5, 8, 12],
            diameters_m: vec![2e-3, 3e-3],
            grid: SolidGrid {
                plan_m: 1.2e-3,
                cells: 16,
                ..SolidGrid::USUAL
            },
        }
    }
}

/// One pattern.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct DockersTried {
    /// Holes.
    pub count: u32,
    /// Diameter, mm.
    pub diameter_mm: f64,
    /// Why it can't be made; the numbers below are then missing.
    pub cannot: Option<String>,
    /// Time in the oven to the target, min.
    pub time_min: Option<f64>,
    /// Change of pieces per hour against no holes at a full band, %.
    pub pieces_per_h_change_pct: Option<f64>,
    /// The same by mass; the holes are taken as dough that goes back.
    pub kg_per_h_change_pct: Option<f64>,
    /// Spread of moisture over the volume at the oven's exit, percentage points of dry solid.
    pub moisture_sd_points: Option<f64>,
    /// Wettest less driest place at the oven's exit, percentage points.
    pub unevenness_points: Option<f64>,
    /// Checking index of the means by height.
    pub checking_index: Option<f64>,
    /// Rules of the trade that it breaks or may break.
    pub rules: Vec<String>,
}

/// The docker study.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct DockerStudy {
    /// Short name of the treatment.
    pub id: String,
    /// Everything tried, no holes first.
    pub tried: Vec<DockersTried>,
    /// Which of them is recommended; an index.
    pub recommended: usize,
    /// Why.
    pub reasons: Vec<String>,
}

/// Times closer than this count as alike, as a share: twice what is left of the search and the grid.
const ALIKE: f64 = 0.01;

/// Tries numbers of holes and diameters on a treatment's piece, each at its own time to the study's target.
///
/// # Errors
/// What can't be computed; a pattern that can't be made is told in its row instead.
pub fn docker_study(
    run: &Run,
    asked: &DockersAsked,
    go_on: &mut dyn FnMut(f64) -> bool,
) -> Result<DockerStudy, SolidWhy> {
    let mut ready = ready(run, true)?;
    let mut pattern = run.treatment.setting.docker_pattern.clone();
    if matches!(pattern.places, Places::Points(_)) {
        pattern.places = Places::Grid;
    }
    // Holes may break a symmetry: then it is up to four times as many.
    let asked = &DockersAsked {
        grid: asked
            .grid
            .fitting(&ready.piece, &ready.docked, USUAL_NODES / 4),
        ..asked.clone()
    };
    let mut wanted = vec![(0, 2e-3)];
    for &diameter_m in &asked.diameters_m {
        wanted.extend(
            asked
                .counts
                .iter()
                .filter(|c| **c > 0)
                .map(|c| (*c, diameter_m)),
        );
    }
    let all = wanted.len() as f64;
    let mut tried: Vec<DockersTried> = Vec::with_capacity(wanted.len());
    for (i, (count, diameter_m)) in wanted.into_iter().enumerate() {
        let mut step = |done: f64| go_on((i as f64 + done) / all);
        let row = try_one(
            &mut ready,
            &pattern,
            (count, diameter_m),
            asked,
            &mut step,
            tried.first(),
        )?;
        tried.push(row);
    }
    let (recommended, reasons) = recommend(&tried);
    Ok(DockerStudy {
        id: run.treatment.id.clone(),
        tried,
        recommended,
        reasons,
    })
}

fn try_one(
    ready: &mut Ready,
    pattern: &DockerPattern,
    (count, diameter_m): (u32, f64),
    asked: &DockersAsked,
    go_on: &mut dyn FnMut(f64) -> bool,
    none: Option<&DockersTried>,
) -> Result<DockersTried, SolidWhy> {
    let mut piece = ready.piece.clone();
    piece.docker = (count > 0).then_some(Docker { count, diameter_m });
    let mut row = DockersTried {
        count,
        diameter_mm: if count > 0 { diameter_m * 1e3 } else { 0.0 },
        cannot: None,
        time_min: None,
        pieces_per_h_change_pct: None,
        kg_per_h_change_pct: None,
        moisture_sd_points: None,
        unevenness_points: None,
        checking_index: None,
        rules: Vec::new(),
    };
    let laid = piece
        .check()
        .map_err(|e| e.to_string())
        .and_then(|()| dock(&piece, pattern).map_err(|e| e.to_string()));
    let docked = match laid {
        Ok(docked) => docked,
        Err(why) => {
            row.cannot = Some(why);
            return Ok(row);
        }
    };
    row.rules = docked
        .findings
        .iter()
        .filter(|f| f.severity >= Severity::Warn)
        .map(|f| f.message.clone())
        .collect();
    let solid = SolidPiece {
        piece: &piece,
        docked: &docked,
    };
    let found = solid_band_time(&ready.input, solid, &asked.grid, &ready.target, 0, go_on)?;
    if !found.met {
        row.cannot = Some("it doesn't come to the target within the times that are tried".into());
        return Ok(row);
    }
    ready.target = BandTarget {
        guess_s: Some(found.time_s),
        ..ready.target
    };
    let time_min = found.time_s / MINUTE_S;
    row.time_min = Some(time_min);
    if let Some(before) = none.and_then(|n| n.time_min) {
        let faster = before / time_min;
        let left = 1.0 - docked.volume_m3() / (piece.outline.area_m2() * piece.thickness_m);
        row.pieces_per_h_change_pct = Some(100.0 * (faster - 1.0));
        row.kg_per_h_change_pct = Some(100.0 * (faster * left - 1.0));
    }
    if let Some(exit) = found.bake.end_of(StageKind::Oven) {
        let wet = |x: DryBasis| x.to_wet().percent();
        row.moisture_sd_points = Some(100.0 * exit.moisture_sd);
        row.unevenness_points = Some(wet(exit.wettest.moisture) - wet(exit.driest.moisture));
    }
    row.checking_index = Some(checking_index(&found)?);
    Ok(row)
}

/// Checking index of the means over the plan by height, after the oven.
fn checking_index(found: &SolidBandTime) -> Result<f64, SolidWhy> {
    let input = &found.input;
    let end_of = |kind: StageKind| -> f64 {
        let last = input.stages.iter().rposition(|s| s.kind == kind);
        let stages = last.map_or(&input.stages[..0], |i| &input.stages[..=i]);
        stages.iter().map(|s| s.duration_s).sum()
    };
    let exit_s = end_of(StageKind::Oven).max(end_of(StageKind::Drying));
    // The course carries a bake of its own; the index only looks at the profiles.
    let flat = bake(input, &Ask::default(), &mut Workspace::new())?;
    let course = Course {
        exit_s,
        packed_s: end_of(StageKind::Cooling).max(exit_s),
        thickness_m: input.thickness_m,
        profiles: found.bake.layers.clone(),
        bake: flat,
        draught_w_per_m2_k: baking::after::evening::draught(input),
        isotherm: Some(input.closures.isotherm.clone()),
    };
    if course.profiles.is_empty() {
        return Err(SolidError::Cancelled.into());
    }
    Ok(checking(&course, &Crumb::default()).greatest)
}

/// The fewest and narrowest holes whose time is as good as the best of those that keep the rules.
fn recommend(tried: &[DockersTried]) -> (usize, Vec<String>) {
    let keeps = |t: &&DockersTried| t.rules.is_empty();
    let times = || tried.iter().filter(keeps).filter_map(|t| t.time_min);
    let best = times().fold(f64::INFINITY, f64::min);
    let none = tried.first().and_then(|t| t.time_min);
    let mut choice = 0;
    let mut least = f64::INFINITY;
    for (i, t) in tried.iter().enumerate().filter(|(_, t)| keeps(t)) {
        let removed = f64::from(t.count) * t.diameter_mm * t.diameter_mm;
        if t.time_min.is_some_and(|m| m <= best * (1.0 + ALIKE)) && removed < least {
            (choice, least) = (i, removed);
        }
    }
    let t = &tried[choice];
    let mut reasons = Vec::new();
    if let (Some(time), Some(none)) = (t.time_min, none) {
        reasons.push(if t.count == 0 {
            "No pattern that keeps the rules of the trade bakes more than 1 % sooner.".to_owned()
        } else {
            format!(
                "{} holes of {:.1} mm bake in {time:.1} min, {:.1} % sooner than without: of the patterns tried that keep the rules of the trade it cuts the least away and is within 1 % of the quickest.",
                t.count,
                t.diameter_mm,
                100.0 * (1.0 - time / none)
            )
        });
    }
    let most = tried
        .iter()
        .all(|o| o.count <= t.count && o.diameter_mm <= t.diameter_mm);
    if most && t.count > 0 {
        reasons.push(
            "It is also the most that was tried: more or wider holes may gain more, for a weaker piece and more dough that goes back.".into(),
        );
    }
    if let (Some(a), Some(b)) = (
        t.checking_index,
        tried.first().and_then(|t| t.checking_index),
    ) {
        reasons.push(format!(
            "Checking index {a:.2} against {b:.2} without holes; it looks at the means by height, not at single holes."
        ));
    }
    let broken = tried.iter().filter(|t| !t.rules.is_empty()).count();
    if broken > 0 {
        reasons.push(format!(
            "{broken} of the patterns tried break a rule of the trade and were left aside."
        ));
    }
    let cannot = tried.iter().filter(|t| t.cannot.is_some()).count();
    if cannot > 0 {
        reasons.push(format!("{cannot} of the patterns can't be made."));
    }
    reasons.push(
        "Holes also let gas out and hold the sheet flat, which isn't computed: try it on the line."
            .into(),
    );
    (choice, reasons)
}
