//! `hardtack study`: check, report, schema.

use super::find::find;
use crate::args::{Curve as CurveArgs, Report, Study, StudyFile};
use crate::table::{Row, Side, WIDTH, cut, table, wrap};
use crate::{End, files, progress, tell};
use measure::rounding::{decimals_for, signed};
use measure::{Finding, Severity};
use rayon::prelude::*;
use report::{Curve, Options, Per};
use serde_json::{Value, json};
use study::compare;
use study::compare::Drawing;
use study::compare::sheet::{self, Change, RowKind, Shown};
use study::{BakeOptions, Compared, Figure, Treatment, Workspace};
use unicode_width::UnicodeWidthStr;

/// Does what was asked.
pub fn run(args: Study) -> anyhow::Result<End> {
    match args {
        Study::Check(args) => check(&args),
        Study::Report(args) => report(&args),
        Study::Why(args) => super::why::run(&args),
        Study::Curve(args) => curve(&args),
        Study::Batch(args) => super::batch::run(&args),
        Study::Schema { report, markdown } => {
            match (report, markdown) {
                (false, true) => tell::out(&study::written::fields_markdown())?,
                (false, false) => tell::json(&study::written::schema())?,
                (true, true) => tell::out(&compare::report_markdown())?,
                (true, false) => tell::json(&compare::report_schema())?,
            }
            Ok(End::Fine)
        }
    }
}

fn check(args: &StudyFile) -> anyhow::Result<End> {
    let shown = args.file.display().to_string();
    match files::study(&args.file)? {
        Err((text, problems)) => {
            if args.json {
                let list: Vec<Value> = problems.iter().map(|p| problem_json(&text, p)).collect();
                tell::json(
                    &json!({ "ok": false, "file": shown, "problems": list, "findings": [] }),
                )?;
            } else {
                tell::problems(&shown, &text, &problems);
            }
            Ok(End::Bad)
        }
        Ok(study) => {
            let findings = first_findings(&study);
            let end = worst(findings.iter().map(|(_, f)| f.as_slice()));
            if args.json {
                let list: Vec<Value> = findings
                    .iter()
                    .flat_map(|(id, all)| {
                        all.iter()
                            .map(move |f| json!({ "treatment": id, "finding": f }))
                    })
                    .collect();
                tell::json(
                    &json!({ "ok": end == End::Fine, "file": shown, "problems": [], "findings": list }),
                )?;
            } else {
                let n = study.treatments.len();
                let ids: Vec<&str> = study.treatments.iter().map(|t| t.id.as_str()).collect();
                let plural = if n == 1 { "" } else { "s" };
                let words = format!(
                    "{shown} is a study of {n} treatment{plural}: {}",
                    ids.join(", ")
                );
                tell::out(&wrap(&words, WIDTH, ""))?;
                let all: Vec<(&str, &[Finding])> =
                    findings.iter().map(|(id, f)| (*id, f.as_slice())).collect();
                tell::out(&tell::findings(&all, true))?;
            }
            Ok(end)
        }
    }
}

/// What can be said before the oven: materials that don't close, dangers to the species.
fn first_findings(study: &study::Study) -> Vec<(&str, Vec<Finding>)> {
    study
        .treatments
        .iter()
        .map(|t| {
            let mut all: Vec<Finding> = t
                .formula
                .lines()
                .iter()
                .flat_map(|l| l.material.findings())
                .collect();
            all.extend(formula::cautions::cautions(&t.formula, study.species));
            (t.id.as_str(), all)
        })
        .collect()
}

fn problem_json(text: &str, p: &study::written::Problem) -> Value {
    let words = p.words(measure::Units::Metric);
    let start = p.span.as_ref().map_or(0, |span| span.start);
    let before = &text[..start.min(text.len())];
    let line = before.matches('\n').count() + 1;
    let column = before
        .rsplit('\n')
        .next()
        .unwrap_or_default()
        .chars()
        .count()
        + 1;
    json!({
        "code": p.code().word(), "line": line, "column": column, "key": p.path.to_string(),
        "message": words.message, "allowed": words.allowed, "suggestion": words.way_out,
    })
}

fn worst<'a>(all: impl Iterator<Item = &'a [Finding]>) -> End {
    let stops = all.flatten().any(|f| f.severity == Severity::Stop);
    if stops { End::Stop } else { End::Fine }
}

/// `study report`.
pub fn report(args: &Report) -> anyhow::Result<End> {
    if let Some(draws) = args.spread {
        let most = compare::uncertainty::MOST_DRAWS;
        anyhow::ensure!(
            (20..=most).contains(&draws),
            "--spread {draws}: give 20 to {most} draws; 200 tells 95 % limits to about a tenth of their width"
        );
    }
    if let Some(out) = args.html.as_ref().filter(|o| o.exists() && !args.force) {
        anyhow::bail!(
            "{} exists and stays as it is; --force overwrites it",
            out.display()
        );
    }
    let Some(study) = files::study_or_tell(&args.file)? else {
        return Ok(End::Bad);
    };
    let wanted: Vec<&Treatment> = match &args.treatment {
        Some(id) => vec![find(&study, id)?],
        None => study.treatments.iter().collect(),
    };
    let mut compared = compare(&study, &wanted, &BakeOptions::QUICK)?;
    if let Some(draws) = args.spread {
        spread_told(&study, &mut compared, draws, args.seed);
    }
    if let Some(out) = &args.html {
        let options = Options {
            per: Per::Mix,
            version: env!("CARGO_PKG_VERSION").to_owned(),
        };
        let html = report::document(&study, &compared, &curves(&study, &compared)?, &options);
        files::write(out, &html, args.force)?;
    }
    if args.json {
        tell::json(&compare::report(
            &study,
            &compared,
            env!("CARGO_PKG_VERSION"),
        ))?;
    } else {
        tell::out(&terminal(&study, &compared))?;
        if let Some(out) = &args.html {
            tell::out(&format!("\nThe report is {}.\n", out.display()))?;
        }
    }
    Ok(worst(compared.iter().map(|c| c.answer.findings.as_slice())))
}

/// Adds the spread to a comparison, telling how far it is.
fn spread_told(study: &study::Study, compared: &mut [Compared], draws: usize, seed: u64) {
    let drawing = Drawing::of(study, compared, &BakeOptions::QUICK, draws, seed);
    let bar = progress::bar("drawing");
    bar.set_length(drawing.draws as u64);
    let rows: Vec<_> = (0..drawing.draws)
        .into_par_iter()
        .map_init(Workspace::new, |w, number| {
            let row = drawing.one(number, w);
            bar.inc(1);
            row
        })
        .collect();
    bar.finish_and_clear();
    drawing.tell(&rows, compared);
}

fn curves(study: &study::Study, compared: &[Compared]) -> anyhow::Result<Vec<Curve>> {
    compared
        .iter()
        .map(|c| {
            let treatment = find(study, &c.answer.id)?;
            let points = study::water_curve(treatment, &BakeOptions::QUICK, 9)?;
            Ok(Curve {
                id: c.answer.id.clone(),
                points,
            })
        })
        .collect()
}

fn curve(args: &CurveArgs) -> anyhow::Result<End> {
    anyhow::ensure!(
        (9..=99).contains(&args.points),
        "--points {}: give 9 to 99",
        args.points
    );
    let Some(study) = files::study_or_tell(&args.file)? else {
        return Ok(End::Bad);
    };
    let treatment = match &args.treatment {
        Some(id) => find(&study, id)?,
        None => study.control(),
    };
    let points = study::water_curve(treatment, &BakeOptions::QUICK, args.points)?;
    if args.json {
        tell::json(
            &json!({ "hardtack": env!("CARGO_PKG_VERSION"), "treatment": treatment.id, "points": points }),
        )?;
        return Ok(End::Fine);
    }
    let least = points.iter().map(|p| {
        p.oven_kg_per_h
            .map_or(p.output_kg_per_h, |o| o.min(p.output_kg_per_h))
    });
    let places = decimals_for(least.fold(f64::INFINITY, f64::min), 0);
    let rows: Vec<Row> = points
        .iter()
        .map(|p| {
            let numbers = [
                (Some(p.water_kg_per_100kg_dry_mix), 1),
                (Some(p.dough_moisture_pct), 1),
                (Some(p.bake_min), 1),
                (p.oven_kg_per_h, places),
                (Some(p.output_kg_per_h), places),
            ];
            let told = |(v, d): &(Option<f64>, usize)| v.map_or("–".to_owned(), |v| fixed(v, *d));
            let mut cells: Vec<String> = numbers.iter().map(told).collect();
            cells.push(if p.reached {
                String::new()
            } else {
                "target not reached".to_owned()
            });
            Row::Cells(cells)
        })
        .collect();
    let mut sides = vec![Side::Right; 5];
    sides.push(Side::Left);
    tell::out(&format!("{}\n", tell::styled(tell::BOLD, &treatment.name)))?;
    let head = [
        "water, kg/100 kg dry mix",
        "dough moisture, %",
        "bake, min",
        "oven, kg/h",
        "line, kg/h",
        "",
    ];
    tell::out(&table(&head, &sides, &rows))?;
    Ok(End::Fine)
}

/// The study's own limits, each with the treatments that don't keep it.
fn limits_told(study: &study::Study, compared: &[Compared]) -> String {
    let mut text = String::new();
    for (limit, stands) in compare::limits(study, compared) {
        let of = |kept: Option<bool>| {
            let with = stands.iter().zip(compared).filter(|(s, _)| s.kept == kept);
            let ids: Vec<&str> = with.map(|(_, c)| c.answer.id.as_str()).collect();
            ids.join(", ")
        };
        let mut told = report::limit_in_words(limit, measure::Units::Metric);
        for (kept, word) in [
            (Some(false), "not kept by"),
            (None, "not known of"),
            (Some(true), "kept by"),
        ] {
            let ids = of(kept);
            if !ids.is_empty() {
                told.push_str(&format!("; {word} {ids}"));
            }
        }
        text.push_str(&wrap(&format!("Limit: {told}."), WIDTH, ""));
    }
    if !text.is_empty() {
        text.push('\n');
    }
    text
}

fn terminal(study: &study::Study, compared: &[Compared]) -> String {
    let mut text = tell::styled(tell::BOLD, &study.name);
    text.push('\n');
    text.push_str(&wrap(&study.question, WIDTH, ""));
    if study.invented {
        text.push_str("All data of this study are invented.\n");
    }
    text.push_str(&format!(
        "For {}s; target {:.1} % moisture {}.\n\n",
        study.species.word(),
        study.target.moisture.percent(),
        study.target.at.written()
    ));
    let ids: usize = compared
        .iter()
        .map(|c| c.answer.id.width())
        .max()
        .unwrap_or(0);
    for c in compared {
        let water = match c.answer.dough.water_from {
            "need" => "water left to the need",
            _ => "water given",
        };
        let pad = " ".repeat(ids - c.answer.id.width());
        text.push_str(&format!(
            "  {}{pad}  {} ({water})\n",
            c.answer.id, c.answer.name
        ));
    }
    text.push('\n');
    if let [control, others @ ..] = compared {
        let per_block = columns_that_fit(study, control, others);
        let blocks: Vec<&[Compared]> = if others.is_empty() {
            vec![&[]]
        } else {
            others.chunks(per_block).collect()
        };
        for block in blocks {
            text.push_str(&beside(study, control, block));
            text.push('\n');
        }
        text.push_str(&widest(compared));
        text.push_str(&limits_told(study, compared));
        let b = &control.answer.bake;
        text.push_str(&wrap(
            &format!(
                "Bake of the control: {}; {} at the oven's exit. Kill: {}; a process authority has to \
                 validate it.",
                tell::edge_correction(b.edge_correction_pct), tell::grid_error(b.grid_error_points), b.kill_shown
            ),
            WIDTH,
            "",
        ));
    }
    text.push('\n');
    let all: Vec<(&str, &[Finding])> = compared
        .iter()
        .map(|c| (c.answer.id.as_str(), c.answer.findings.as_slice()))
        .collect();
    text.push_str(&tell::findings(&all, false));
    text
}

/// The most treatments beside the control whose table still fits the terminal.
fn columns_that_fit(study: &study::Study, control: &Compared, others: &[Compared]) -> usize {
    (1..=others.len())
        .rev()
        .find(|n| {
            others.chunks(*n).all(|block| {
                beside(study, control, block)
                    .lines()
                    .all(|l| l.width() <= WIDTH)
            })
        })
        .unwrap_or(1)
}

fn beside(study: &study::Study, control: &Compared, others: &[Compared]) -> String {
    let mut head = vec![String::new(), cut(&control.answer.id, 20)];
    let mut sides = vec![Side::Left, Side::Right];
    for c in others {
        head.extend([cut(&c.answer.id, 20), String::new()]);
        sides.extend([Side::Right, Side::Left]);
    }
    let all: Vec<Compared> = std::iter::once(control).chain(others).cloned().collect();
    let told = compare::sheet(study, &all, Per::Mix);
    let figures = told.groups.iter().filter(|g| {
        let first = g.rows.first();
        first.is_some_and(|r| matches!(r.kind, RowKind::Figure(_)))
    });
    let mut rows = Vec::new();
    for group in figures {
        rows.push(Row::Heading(group.name.to_owned()));
        rows.extend(group.rows.iter().map(drawn));
    }
    let head: Vec<&str> = head.iter().map(String::as_str).collect();
    table(&head, &sides, &rows)
}

/// A row of the sheet: under each treatment its number, beside it the difference from the control.
fn drawn(row: &sheet::Row) -> Row {
    let name = match row.kind {
        RowKind::Limits(_) => format!("    {}", row.name),
        _ if row.unit.is_empty() => format!("  {}", cut(&row.name, 42)),
        _ => {
            let unit = row.unit.replace("kg per 100 kg", "kg/100 kg");
            format!("  {}", cut(&format!("{}, {unit}", row.name), 42))
        }
    };
    let mut cells = vec![name];
    for (i, cell) in row.cells.iter().enumerate() {
        cells.push(number(row, cell));
        if i > 0 {
            cells.push(change(row, cell));
        }
    }
    Row::Cells(cells)
}

fn number(row: &sheet::Row, cell: &sheet::Cell) -> String {
    let d = row.decimals;
    match &cell.shown {
        Shown::Empty => String::new(),
        Shown::Unknown(_) if row.kind == RowKind::Figure(Figure::BakeTime) => {
            "not reached".to_owned()
        }
        Shown::Unknown(_) => "unknown".to_owned(),
        // Here is no room for the limits of an interval; --spread tells them.
        Shown::Number(v, bound) | Shown::Interval { mean: v, bound, .. } => {
            let known = match cell.known {
                sheet::Known::Beyond => "?",
                sheet::Known::Learned => "\u{25cb}",
                sheet::Known::Calculated | sheet::Known::Assumed => "",
            };
            format!("{}{}{known}", bound.mark(), fixed(*v, d))
        }
        Shown::MoreThan(v) => format!(">{v}"),
        Shown::Limits { low, high } => paper::number::limits(*low, *high, d).unwrap_or_default(),
        Shown::Count(n) => n.to_string(),
    }
}

fn change(row: &sheet::Row, cell: &sheet::Cell) -> String {
    match cell.change {
        None => String::new(),
        Some(Change::New) => "new".to_owned(),
        Some(Change::By { value, bound, .. }) => {
            format!("{}{}", bound.mark(), signed(value, row.decimals))
        }
        Some(Change::Limits { low, high }) => {
            paper::number::signed_limits(low, high, row.decimals).unwrap_or_default()
        }
    }
}

/// Fixed decimals with a real minus.
fn fixed(value: f64, decimals: usize) -> String {
    format!("{value:.decimals$}").replace('-', "−")
}

/// The inputs that widen the limits most, when a spread was asked for.
fn widest(compared: &[Compared]) -> String {
    let mut text = String::new();
    for c in compared {
        let Some(spread) = &c.spread else { continue };
        for figure in [Figure::BakeTime, Figure::Output, Figure::CostPerKg] {
            let Some(inputs) = spread.widest.get(figure.about().key) else {
                continue;
            };
            let list: Vec<String> = inputs
                .iter()
                .map(|w| format!("{} ({:.0} %)", w.input, 100.0 * w.share))
                .collect();
            text.push_str(&wrap(
                &format!(
                    "{}: {} is widened most by {}.",
                    c.answer.id,
                    figure.about().name,
                    list.join(", ")
                ),
                WIDTH,
                "",
            ));
        }
    }
    if !text.is_empty() {
        let s = compared.iter().find_map(|c| c.spread.as_ref());
        if let Some(s) = s {
            text.push_str(&format!(
                "95 % limits from {} draws, seed {}; shares are squared rank correlations.\n\n",
                s.draws, s.seed
            ));
        }
    }
    text
}
