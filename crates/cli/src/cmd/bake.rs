//! `hardtack bake`: the course of one treatment's bake, or a model case.

use super::find::find;
use crate::args::{Bake, BakeCase, BakeRun};
use crate::table::{Row, Side, WIDTH, table, wrap};
use crate::{End, files, tell};
use anyhow::{Context, bail};
use baking::bake::{Accuracy, bake, case};
use measure::Severity;
use serde_json::json;
use std::fmt::Write;
use study::chain::timed_bake::OVEN_TIME_S;
use study::knock_on;
use study::views::knock_on::KnockOn;
use study::{BakeOptions, Sample, Workspace};

/// Does what was asked.
pub fn run(args: Bake) -> anyhow::Result<End> {
    match args {
        Bake::Run(args) => run_treatment(&args),
        Bake::Case(args) => run_case(&args),
        Bake::Solid(args) => super::solid::run(&args),
    }
}

fn run_treatment(args: &BakeRun) -> anyhow::Result<End> {
    for out in [&args.csv, &args.svg].into_iter().flatten() {
        if out.exists() && !args.force {
            bail!(
                "{} exists and stays as it is; --force overwrites it",
                out.display()
            );
        }
    }
    let mut asked = BakeOptions::QUICK;
    if let Some(cells) = args.cells {
        let allowed = baking::bake::input::CELLS;
        anyhow::ensure!(
            allowed.contains(cells as f64),
            "--cells {cells}: give {allowed}"
        );
        asked.cells = cells;
    }
    if args.tight {
        asked.accuracy = Accuracy::Tight;
    }
    if let Some(tolerance) = args.tolerance {
        anyhow::ensure!(
            (1e-12..=0.1).contains(&tolerance),
            "--tolerance {tolerance}: give 1e-12 to 0.1; quick steps at 5e-3, tight at 3e-7"
        );
        asked.accuracy = Accuracy::Tolerance(tolerance);
    }
    if let Some(minutes) = args.minutes {
        let allowed = OVEN_TIME_S;
        anyhow::ensure!(
            allowed.contains(minutes * 60.0),
            "--minutes {minutes}: give {} to {} minutes",
            allowed.low / 60.0,
            allowed.high / 60.0
        );
        asked.bake_time_s = Some(minutes * 60.0);
    }
    let Some(study) = files::study_or_tell(&args.file)? else {
        return Ok(End::Bad);
    };
    let treatment = match &args.treatment {
        Some(id) => find(&study, id)?,
        None => study.control(),
    };
    let mut workspace = Workspace::new();
    let k = knock_on(&study::run(
        treatment,
        &asked,
        Sample::Centre,
        &mut workspace,
    )?);
    if let Some(out) = &args.csv {
        files::write(out, &csv(&k), args.force)?;
    }
    if let Some(out) = &args.svg {
        files::write(out, &report::bake_svg(&k), args.force)?;
    }
    if args.json {
        tell::json(&json!({
            "hardtack": env!("CARGO_PKG_VERSION"),
            "treatment": k.id, "name": k.name, "dough": k.dough, "piece": k.piece, "bake": k.bake,
            "findings": k.findings,
        }))?;
    } else {
        tell::out(&terminal(&k))?;
    }
    let stops = k.findings.iter().any(|f| f.severity == Severity::Stop);
    Ok(if stops { End::Stop } else { End::Fine })
}

fn csv(k: &KnockOn) -> String {
    let c = &k.bake.curve;
    let mut text =
        String::from("time_min,moisture_pct,top_c,centre_c,bottom_c,colour_delta_e,zone\n");
    for i in 0..c.time_min.len() {
        let zone = c
            .zones
            .iter()
            .find(|(_, end)| c.time_min[i] <= end + 1e-9)
            .map_or("", |(n, _)| n.as_str());
        // Writing into a string cannot fail.
        let _ = writeln!(
            text,
            "{:.4},{:.4},{:.3},{:.3},{:.3},{:.3},{}",
            c.time_min[i],
            c.moisture_pct[i],
            c.top_c[i],
            c.centre_c[i],
            c.bottom_c[i],
            c.colour_delta_e[i],
            quoted(zone)
        );
    }
    text
}

fn quoted(text: &str) -> String {
    if text.contains([',', '"', '\n']) {
        format!("\"{}\"", text.replace('"', "\"\""))
    } else {
        text.to_owned()
    }
}

fn terminal(k: &KnockOn) -> String {
    let b = &k.bake;
    let c = &b.curve;
    let mut text = format!("{}\n", tell::styled(tell::BOLD, &k.name));
    text.push_str(&wrap(&format!(
        "{:.1} min in the oven; moisture {:.1} % at oven exit, {:.1} % cooled; water activity {} at 25 °C when cooled",
        b.time_min,
        b.exit_moisture_pct,
        b.cooled_moisture_pct,
        b.cooled_water_activity.map_or_else(|| "unknown".to_owned(), |a| format!("{a:.2}"))
    ), WIDTH, ""));
    let mut rows = Vec::new();
    for (zone, end) in &c.zones {
        let i = c
            .time_min
            .iter()
            .rposition(|t| *t <= end + 1e-6)
            .unwrap_or(0);
        rows.push(Row::Cells(vec![
            zone.clone(),
            format!("{end:.1}"),
            format!("{:.1}", c.moisture_pct[i]),
            format!("{:.0}", c.top_c[i]),
            format!("{:.0}", c.centre_c[i]),
            format!("{:.0}", c.bottom_c[i]),
            format!("{:.1}", c.colour_delta_e[i]),
        ]));
    }
    let mut sides = vec![Side::Left];
    sides.extend([Side::Right; 6]);
    text.push_str(&table(
        &[
            "at the end of",
            "min",
            "moisture %",
            "top °C",
            "centre °C",
            "bottom °C",
            "ΔE",
        ],
        &sides,
        &rows,
    ));
    text.push_str(&wrap(
        &format!(
            "How sure: {}; {}. Kill at the least treated place: {}. {}",
            tell::edge_correction(b.edge_correction_pct),
            tell::grid_error(b.grid_error_points),
            b.kill_shown,
            baking::bake::kill::CAUTION
        ),
        WIDTH,
        "",
    ));
    text.push_str(&tell::findings(
        &[(k.id.as_str(), k.findings.as_slice())],
        false,
    ));
    text
}

fn run_case(args: &BakeCase) -> anyhow::Result<End> {
    let shown = args.file.display();
    let text = files::any_text(&args.file)?;
    let mut value: serde_json::Value =
        serde_json::from_str(&text).with_context(|| format!("{shown} isn't JSON"))?;
    // A reference file carries its case beside the answers.
    if let Some(inner) = value.get_mut("case") {
        value = inner.take();
    }
    let file: case::CaseFile =
        serde_json::from_value(value).with_context(|| format!("{shown} isn't a model case"))?;
    let case = file.read().with_context(|| format!("in {shown}"))?;
    let result = bake(&case.input, &case.ask, &mut Workspace::new())?;
    let output = case::output(&result);
    if args.json {
        tell::json(&output)?;
        return Ok(End::Fine);
    }
    let rows: Vec<Row> = result
        .stages
        .iter()
        .map(|s| {
            Row::Cells(vec![
                s.name.clone(),
                format!("{:.0}", s.time_s),
                format!("{:.5}", s.mean_moisture.0),
                format!("{:.2}", measure::temperature::celsius(s.top.temperature_k)),
                format!(
                    "{:.2}",
                    measure::temperature::celsius(s.centre.temperature_k)
                ),
                format!(
                    "{:.2}",
                    measure::temperature::celsius(s.bottom.temperature_k)
                ),
            ])
        })
        .collect();
    let mut sides = vec![Side::Left];
    sides.extend([Side::Right; 5]);
    tell::out(&table(
        &[
            "at the end of",
            "s",
            "X kg/kg",
            "top °C",
            "middle °C",
            "bottom °C",
        ],
        &sides,
        &rows,
    ))?;
    tell::out(&format!(
        "{} steps, {} rejected, {} Jacobians; water closes to {:.1e}, energy to {:.1e}\n",
        output.work.steps,
        output.work.rejected,
        output.work.jacobians,
        output.account.water_rel_error,
        output.account.energy_rel_error
    ))?;
    Ok(End::Fine)
}
