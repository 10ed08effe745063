//! `hardtack bake solid`: the whole piece of a treatment in the oven, and the docker study.

use super::find::find;
use crate::table::{Row, Side, WIDTH, table, wrap};
use crate::{End, files, progress, tell};
use anyhow::{Context, bail};
use baking::bake::solid::{SolidFrames, SolidGrid};
use clap::Args;
use measure::Severity;
use paper::Ramp;
use paper::chart::piece::as_file;
use paper::chart::solid::{HeatPicture, heat_pictures, pixels};
use serde_json::{Value, json};
use std::fmt::Write;
use std::path::{Path, PathBuf};
use study::chain::timed_bake::OVEN_TIME_S;
use study::views::whole_piece::dockers::{DockerStudy, DockersAsked, docker_study};
use study::views::whole_piece::{SolidAnswer, SolidAsked, frames_told, whole_piece};
use study::{BakeOptions, Run, RunError, Sample, Treatment, Workspace};

/// How to bake a whole piece.
#[derive(Debug, Args)]
pub struct BakeSolid {
    /// Study file (TOML).
    pub file: PathBuf,
    /// The treatment; the control if none is named.
    #[arg(long, value_name = "ID")]
    pub treatment: Option<String>,
    /// Time in the oven instead of the study's target.
    #[arg(long, value_name = "MINUTES")]
    pub minutes: Option<f64>,
    /// A coarse grid, for a first look.
    #[arg(long, conflicts_with_all = ["grid_mm", "cells"])]
    pub preview: bool,
    /// Largest distance between columns of the grid.
    #[arg(long, value_name = "MM")]
    pub grid_mm: Option<f64>,
    /// Cells through the thickness, an even number.
    #[arg(long, value_name = "N")]
    pub cells: Option<usize>,
    /// Share of the surface transfer that reaches the wall of a docker hole.
    #[arg(long, value_name = "PERCENT")]
    pub hole_share_pct: Option<f64>,
    /// Leave the docker holes out.
    #[arg(long)]
    pub no_dockers: bool,
    /// Try numbers of docker holes and diameters instead.
    #[arg(long, conflicts_with_all = ["minutes", "no_dockers", "csv", "svg", "png", "frames"])]
    pub docker_study: bool,
    /// Numbers of holes to try, with --docker-study.
    #[arg(
        long,
        value_name = "N",
        value_delimiter = ',',
        requires = "docker_study"
    )]
    pub counts: Vec<u32>,
    /// Diameters to try, with --docker-study.
    #[arg(
        long,
        value_name = "MM",
        value_delimiter = ',',
        requires = "docker_study"
    )]
    pub diameters_mm: Vec<f64>,
    /// One JSON document on standard output.
    #[arg(long)]
    pub json: bool,
    /// Put so many pictures through time into the JSON, at most 60.
    #[arg(long, value_name = "N", requires = "json")]
    pub frames: Option<usize>,
    /// Write the course of the bake as CSV.
    #[arg(long, value_name = "OUT")]
    pub csv: Option<PathBuf>,
    /// Write plan and section at the oven's exit as SVG to scale.
    #[arg(long, value_name = "OUT")]
    pub svg: Option<PathBuf>,
    /// Write plan and section at the oven's exit as PNG.
    #[arg(long, value_name = "OUT")]
    pub png: Option<PathBuf>,
    /// Overwrite existing files.
    #[arg(long)]
    pub force: bool,
}

/// Pixels per mm of the piece.
const PIXELS_PER_MM: f64 = 12.0;
/// Pictures that are followed so that one lies at the oven's exit.
const LEAST_FRAMES: usize = 40;

/// The quick bake that the whole piece stands beside.
fn baked(treatment: &Treatment) -> Result<Run, RunError> {
    let options = BakeOptions::BAKE_ONLY;
    study::run(treatment, &options, Sample::Centre, &mut Workspace::new())
}

/// Does what was asked.
pub fn run(args: &BakeSolid) -> anyhow::Result<End> {
    for out in [&args.csv, &args.svg, &args.png].into_iter().flatten() {
        if out.exists() && !args.force {
            bail!(
                "{} exists and stays as it is; --force overwrites it",
                out.display()
            );
        }
    }
    if let Some(minutes) = args.minutes {
        let (low, high) = (OVEN_TIME_S.low / 60.0, OVEN_TIME_S.high / 60.0);
        anyhow::ensure!(
            (low..=high).contains(&minutes),
            "--minutes {minutes}: give {low} to {high} minutes"
        );
    }
    let Some(study) = files::study_or_tell(&args.file)? else {
        return Ok(End::Bad);
    };
    let treatment = match &args.treatment {
        Some(id) => find(&study, id)?,
        None => study.control(),
    };
    let bar = progress::bar(if args.docker_study {
        "baking with other holes"
    } else {
        "baking the whole piece"
    });
    let mut go_on = |done: f64| {
        progress::to_share(&bar, done);
        true
    };
    if args.docker_study {
        let mut asked = DockersAsked::default();
        asked.grid = grid(args, asked.grid).unwrap_or(asked.grid);
        asked.grid.hole_share = hole_share(args).unwrap_or(asked.grid.hole_share);
        if !args.counts.is_empty() {
            asked.counts.clone_from(&args.counts);
        }
        if !args.diameters_mm.is_empty() {
            asked.diameters_m = args.diameters_mm.iter().map(|d| d / 1e3).collect();
        }
        let tried = docker_study(&baked(treatment)?, &asked, &mut go_on)?;
        bar.finish_and_clear();
        if args.json {
            tell::json(&with_version(serde_json::to_value(&tried)?))?;
        } else {
            tell::out(&study_terminal(&tried, &treatment.name))?;
        }
        return Ok(End::Fine);
    }
    let asked = SolidAsked {
        grid: grid(args, SolidGrid::USUAL),
        hole_share: hole_share(args),
        no_dockers: args.no_dockers,
        compare: !args.preview,
        frames: args.frames.unwrap_or(0).max(LEAST_FRAMES),
        bake_time_s: args.minutes.map(|m| m * 60.0),
    };
    let (answer, frames) = whole_piece(&baked(treatment)?, &asked, &mut go_on)?;
    bar.finish_and_clear();
    if let Some(out) = &args.csv {
        files::write(out, &csv(&answer), args.force)?;
    }
    let pictures = pictures(&answer, frames.as_ref());
    if let Some(out) = &args.svg {
        let title = format!("{} at the oven's exit", answer.name);
        files::write(out, &as_file(&heat_pictures(&title, &pictures)), args.force)?;
    }
    if let Some(out) = &args.png {
        write_png(out, &pictures)?;
    }
    if args.json {
        let mut document = with_version(serde_json::to_value(&answer)?);
        if let (Some(_), Some(frames), Value::Object(all)) = (args.frames, &frames, &mut document) {
            all.insert("frames".into(), serde_json::to_value(frames_told(frames))?);
        }
        tell::json(&document)?;
    } else {
        tell::out(&terminal(&answer))?;
    }
    let stops = answer.findings.iter().any(|f| f.severity == Severity::Stop);
    Ok(if stops { End::Stop } else { End::Fine })
}

/// The grid asked for; none when nothing was asked.
fn grid(args: &BakeSolid, usual: SolidGrid) -> Option<SolidGrid> {
    if args.preview {
        return Some(SolidGrid::PREVIEW);
    }
    (args.grid_mm.is_some() || args.cells.is_some()).then(|| SolidGrid {
        plan_m: args.grid_mm.map_or(usual.plan_m, |mm| mm / 1e3),
        cells: args.cells.unwrap_or(usual.cells),
        ..usual
    })
}

fn hole_share(args: &BakeSolid) -> Option<f64> {
    args.hole_share_pct.map(|p| p / 100.0)
}

fn with_version(value: Value) -> Value {
    let mut document = json!({ "hardtack": env!("CARGO_PKG_VERSION") });
    if let (Value::Object(all), Value::Object(rest)) = (&mut document, value) {
        all.extend(rest);
    }
    document
}

fn csv(a: &SolidAnswer) -> String {
    let mut text = String::from("time_min,moisture_pct,wettest_place_pct\n");
    let rows = a.time_history_min.iter().zip(&a.moisture_history_pct);
    for ((t, mean), wettest) in rows.zip(&a.wettest_history_pct) {
        // Writing into a string cannot fail.
        let _ = writeln!(text, "{t:.4},{mean:.4},{wettest:.4}");
    }
    text
}

/// Moisture map, and moisture and temperature in section, at the oven's exit.
fn pictures(a: &SolidAnswer, frames: Option<&SolidFrames>) -> Vec<HeatPicture> {
    let exit = a.ends.iter().rfind(|e| e.time_min <= a.time_min + 1e-6);
    let mut all: Vec<HeatPicture> = exit
        .map(|e| HeatPicture {
            title: "Moisture through the thickness, plan, oven exit".into(),
            points: e.moisture_map.points,
            step_mm: e.moisture_map.step_mm,
            values: e.moisture_map.values.clone(),
            ramp: Ramp::Moisture,
            range: None,
            unit: "%",
        })
        .into_iter()
        .collect();
    let Some(f) = frames else {
        return all;
    };
    let gap = |t: f64| (t / 60.0 - a.time_min).abs();
    let nearest =
        (0..f.time_s.len()).min_by(|x, y| gap(f.time_s[*x]).total_cmp(&gap(f.time_s[*y])));
    let Some(at) = nearest else {
        return all;
    };
    let when = format!("{:.1} min", f.time_s[at] / 60.0);
    let wet = |v: &[f32]| -> Vec<f32> { v.iter().map(|x| 100.0 * x / (1.0 + x)).collect() };
    let mm = |step: [f64; 2]| step.map(|m| m * 1e3);
    let (points, values) = f.whole_plan(&f.plan_c[at]);
    all.push(HeatPicture {
        title: format!("Temperature half way up, {when}"),
        points,
        step_mm: mm(f.plan_step_m),
        values,
        ramp: Ramp::Temperature,
        range: None,
        unit: "°C",
    });
    for (title, rows, ramp, unit) in [
        (
            "Moisture in section",
            wet(&f.section_moisture[at]),
            Ramp::Moisture,
            "%",
        ),
        (
            "Temperature in section",
            f.section_c[at].clone(),
            Ramp::Temperature,
            "°C",
        ),
    ] {
        let (points, values) = f.whole_section(&rows);
        all.push(HeatPicture {
            title: format!("{title}, {when}"),
            points,
            step_mm: mm(f.section_step_m),
            values,
            ramp,
            range: None,
            unit,
        });
    }
    all
}

/// Writes a whole picture or nothing.
fn write_png(path: &Path, pictures: &[HeatPicture]) -> anyhow::Result<()> {
    let shown = path.display();
    anyhow::ensure!(!path.is_dir(), "{shown} is a folder; name a file");
    let (width, height, bytes) = pixels(pictures, PIXELS_PER_MM);
    let mut file = Vec::new();
    let mut encoder = png::Encoder::new(&mut file, u32::try_from(width)?, u32::try_from(height)?);
    encoder.set_color(png::ColorType::Rgb);
    encoder.set_depth(png::BitDepth::Eight);
    let mut writer = encoder.write_header()?;
    writer.write_image_data(&bytes)?;
    writer.finish()?;
    let mut name = path.file_name().context("name a file to write")?.to_owned();
    name.push(".part");
    let part = path.with_file_name(name);
    let written = std::fs::write(&part, &file).and_then(|()| std::fs::rename(&part, path));
    if written.is_err() {
        let _ = std::fs::remove_file(&part);
    }
    written.with_context(|| format!("cannot write {shown}; nothing there was changed"))
}

fn terminal(a: &SolidAnswer) -> String {
    let mut text = format!("{}\n", tell::styled(tell::BOLD, &a.name));
    let mut words = format!("{:.1} min in the oven, the whole piece", a.time_min);
    if a.holes > 0 {
        let _ = write!(
            words,
            " with {} holes of {:.1} mm",
            a.holes, a.hole_diameter_mm
        );
    }
    if let Some(without) = a.without_holes_min {
        let _ = write!(words, "; {without:.1} min without holes");
    }
    if let Some(c) = &a.correction {
        let _ = write!(
            words,
            "; through the thickness {:.1} min with the edge correction ({:+.1} % off), {:.1} min as an endless slab",
            c.corrected_min,
            c.quick_off_pct(),
            c.slab_min
        );
    }
    if let Some(share) = a.correction.and_then(|c| c.edge_path_share) {
        let _ = write!(
            words,
            "; edge_path_share = {share:.2} under [piece] makes the quick answer agree"
        );
    }
    if let Some(hot) = a.last_place_hot_min {
        let _ = write!(words, ". The last place reaches 90 °C after {hot:.1} min");
    }
    text.push_str(&wrap(&format!("{words}."), WIDTH, ""));
    let rows: Vec<Row> = a
        .ends
        .iter()
        .map(|e| {
            Row::Cells(vec![
                e.name.clone(),
                format!("{:.1}", e.time_min),
                format!("{:.1}", e.moisture_pct),
                format!("{:.1}", e.wettest.moisture_pct),
                format!("{:.1}", e.driest.moisture_pct),
                format!("{:+.1}", e.centre_edge_points),
                format!("{:+.1}", e.middle_surface_points),
                e.kill_shown.clone(),
                format!("{:.1}", e.colour_mean_delta_e),
            ])
        })
        .collect();
    let mut sides = vec![Side::Left];
    sides.extend([Side::Right; 8]);
    let head = [
        "at the end of",
        "min",
        "mean %",
        "wettest %",
        "driest %",
        "centre-edge",
        "middle-surface",
        "kill",
        "ΔE",
    ];
    text.push_str(&table(&head, &sides, &rows));
    if let Some(e) = a.ends.iter().rfind(|e| e.time_min <= a.time_min + 1e-6) {
        let place = |p: &study::views::whole_piece::PlaceTold| {
            format!(
                "({:.0}, {:.0}) mm, {:.1} mm over the band",
                p.x_mm, p.y_mm, p.z_mm
            )
        };
        text.push_str(&wrap(
            &format!(
                "At the oven's exit it is wettest at {}; kill is least at {}. {}",
                place(&e.wettest),
                place(&e.kill_least_at),
                baking::bake::kill::CAUTION
            ),
            WIDTH,
            "",
        ));
    }
    let g = &a.grid;
    text.push_str(&wrap(
        &format!(
            "Grid {:.2} × {:.2} mm and {} cells: {} nodes of {}; {} steps; water closes to {:.0e}, energy to {:.0e}.",
            g.step_mm[0],
            g.step_mm[1],
            g.cells,
            g.nodes,
            g.nodes_in_full,
            a.steps,
            a.water_rel_error,
            a.energy_rel_error
        ),
        WIDTH,
        "",
    ));
    text.push_str(&tell::findings(
        &[(a.id.as_str(), a.findings.as_slice())],
        false,
    ));
    text
}

fn study_terminal(s: &DockerStudy, name: &str) -> String {
    let mut text = format!("{}\n", tell::styled(tell::BOLD, name));
    let number =
        |v: Option<f64>, places: usize| v.map_or("–".into(), |v| format!("{v:.places$}"));
    let rows: Vec<Row> = s
        .tried
        .iter()
        .enumerate()
        .map(|(i, t)| {
            let mark = match (&t.cannot, t.rules.len()) {
                (Some(_), _) => "can't be made or baked",
                (None, 0) if i == s.recommended => "recommended",
                (None, 0) => "",
                (None, _) => "breaks a rule",
            };
            Row::Cells(vec![
                format!("{}", t.count),
                if t.count > 0 {
                    format!("{:.1}", t.diameter_mm)
                } else {
                    String::new()
                },
                number(t.time_min, 2),
                number(t.pieces_per_h_change_pct, 1),
                number(t.kg_per_h_change_pct, 1),
                number(t.moisture_sd_points, 1),
                number(t.unevenness_points, 1),
                number(t.checking_index, 2),
                mark.into(),
            ])
        })
        .collect();
    let mut sides = vec![Side::Right; 8];
    sides.push(Side::Left);
    let head = [
        "holes",
        "mm",
        "min",
        "pieces/h %",
        "kg/h %",
        "sd points",
        "spread",
        "checking",
        "",
    ];
    text.push_str(&table(&head, &sides, &rows));
    for reason in &s.reasons {
        text.push_str(&wrap(reason, WIDTH, ""));
    }
    for t in s.tried.iter() {
        if let Some(why) = &t.cannot {
            text.push_str(&wrap(
                &format!("{} holes of {:.1} mm: {why}", t.count, t.diameter_mm),
                WIDTH,
                "",
            ));
        }
    }
    text
}
