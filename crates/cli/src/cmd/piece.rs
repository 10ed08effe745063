//! `hardtack piece`: measures, holes and layouts of one treatment's piece, and its drawing.

use super::find::find;
use crate::table::{Row, Side, table};
use crate::{End, files, tell};
use clap::Args;
use measure::Severity;
use paper::chart::piece::{LayoutDrawing, PieceDrawing, as_file, layout_drawing, piece_drawing};
use serde_json::{Value, json};
use std::fmt::Write as _;
use std::path::PathBuf;
use study::views::piece::{PieceAsked, PieceTold, piece_told};

/// Which piece, and on what it is cut.
#[derive(Debug, Args)]
pub struct PieceArgs {
    /// Study file (TOML).
    pub file: PathBuf,
    /// The treatment; the control if none is named.
    #[arg(long, value_name = "ID")]
    pub treatment: Option<String>,
    /// Gap between cuts.
    #[arg(long, value_name = "MM", default_value_t = 3.0)]
    pub gap_mm: f64,
    /// Width of the sheet, and of the roll's face.
    #[arg(long, value_name = "MM", default_value_t = 1000.0)]
    pub sheet_mm: f64,
    /// Diameter of the roll.
    #[arg(long, value_name = "MM", default_value_t = 250.0)]
    pub roll_mm: f64,
    /// Write the piece as SVG at its true size.
    #[arg(long, value_name = "OUT")]
    pub svg: Option<PathBuf>,
    /// Draw a layout instead of the piece, with --svg.
    #[arg(long, value_name = "LAYOUT", requires = "svg", value_parser = ["rectangular", "staggered", "turned-pairs"])]
    pub layout: Option<String>,
    /// Write measures and layouts as tidy CSV: what, of, value, unit.
    #[arg(long, value_name = "OUT")]
    pub csv: Option<PathBuf>,
    /// One JSON document on standard output.
    #[arg(long)]
    pub json: bool,
    /// Overwrite an existing file.
    #[arg(long)]
    pub force: bool,
}

/// Does what was asked.
pub fn run(args: &PieceArgs) -> anyhow::Result<End> {
    let Some(study) = files::study_or_tell(&args.file)? else {
        return Ok(End::Bad);
    };
    let treatment = match &args.treatment {
        Some(id) => find(&study, id)?,
        None => study.control(),
    };
    let asked = PieceAsked {
        gap_m: args.gap_mm / 1e3,
        sheet_width_m: args.sheet_mm / 1e3,
        roll_diameter_m: args.roll_mm / 1e3,
    };
    let told = piece_told(treatment, &asked)?;
    if let Some(out) = &args.svg {
        files::write(out, &svg(&told, args.layout.as_deref()), args.force)?;
    }
    if let Some(out) = &args.csv {
        files::write(out, &csv(&told), args.force)?;
    }
    if args.json {
        let mut document = json!({ "hardtack": env!("CARGO_PKG_VERSION") });
        if let (Value::Object(all), Value::Object(rest)) =
            (&mut document, serde_json::to_value(&told)?)
        {
            all.extend(rest);
        }
        tell::json(&document)?;
    } else {
        tell::out(&terminal(&told, args))?;
    }
    let stops = told.findings.iter().any(|f| f.severity == Severity::Stop);
    Ok(if stops { End::Stop } else { End::Fine })
}

/// Measures of the piece, then of every layout, as tidy rows.
fn csv(p: &PieceTold) -> String {
    let mut text = "what,of,value,unit\n".to_owned();
    let mut row = |what: &str, of: &str, value: f64, unit: &str| {
        // Writing into a text never fails.
        let _ = writeln!(text, "{what},{of},{value},{unit}");
    };
    row("length", "piece", p.length_mm, "mm");
    row("width", "piece", p.width_mm, "mm");
    row("thickness", "piece", p.thickness_mm, "mm");
    row("outline_area", "piece", p.outline_area_cm2, "cm2");
    row("perimeter", "piece", p.perimeter_mm, "mm");
    row("green_mass", "piece", p.green_mass_g, "g");
    row("surface_per_mass", "piece", p.surface_cm2_per_g, "cm2/g");
    row("docker_holes", "piece", p.docker.centres_m.len() as f64, "");
    row("docker_diameter", "piece", 1e3 * p.docker.diameter_m, "mm");
    row("docker_depth", "piece", 1e3 * p.docker.depth_m, "mm");
    for sheet in &p.on_sheet {
        let layout = sheet.layout.arrangement.word();
        row("trim_share", layout, 100.0 * sheet.layout.trim_share, "%");
        row("pieces_per_m", layout, sheet.pieces_per_m, "1/m");
    }
    text
}

fn svg(p: &PieceTold, layout: Option<&str>) -> String {
    let mm = |m: f64| m * 1e3;
    let wanted = layout.map(|l| l.replace('-', " "));
    let laid = p
        .on_sheet
        .iter()
        .find(|s| wanted.as_deref() == Some(s.layout.arrangement.word()));
    as_file(&match laid {
        Some(sheet) => layout_drawing(&LayoutDrawing {
            title: format!("{}, {}", p.name, sheet.layout.arrangement.word()),
            outline_mm: p.outline_mm.clone(),
            pieces_mm: sheet
                .layout
                .pieces
                .iter()
                .map(|i| (mm(i.x_m), mm(i.y_m), i.turned))
                .collect(),
            cell_mm: (
                mm(sheet.layout.cell_along_m),
                mm(sheet.layout.cell_across_m),
            ),
        }),
        None => piece_drawing(&PieceDrawing {
            title: p.name.clone(),
            outline_mm: p.outline_mm.clone(),
            extent_mm: (p.length_mm, p.width_mm),
            holes_mm: p
                .docker
                .centres_m
                .iter()
                .map(|(x, y)| (mm(*x), mm(*y)))
                .collect(),
            hole_mm: mm(p.docker.diameter_m),
            hole_depth_mm: mm(p.docker.depth_m),
            thickness_mm: p.thickness_mm,
        }),
    })
}

fn terminal(p: &PieceTold, args: &PieceArgs) -> String {
    let mut text = format!("{}\n", tell::styled(tell::BOLD, &p.name));
    let cell = |what: &str, value: String| Row::Cells(vec![what.into(), value]);
    let holes = match p.docker.centres_m.len() {
        0 => "none".to_owned(),
        n => format!(
            "{n} of {} mm, {}, {}",
            p.docker.diameter_m * 1e3,
            p.docker_pattern,
            if p.docker.through {
                "through".into()
            } else {
                format!("{:.1} mm deep", p.docker.depth_m * 1e3)
            }
        ),
    };
    let rows = [
        cell("outline", p.outline.into()),
        cell(
            "length × width × thickness",
            format!(
                "{:.1} × {:.1} × {:.1} mm",
                p.length_mm, p.width_mm, p.thickness_mm
            ),
        ),
        cell(
            "area inside the outline",
            format!("{:.2} cm²", p.outline_area_cm2),
        ),
        cell("perimeter", format!("{:.1} mm", p.perimeter_mm)),
        cell("docker holes", holes),
        cell("mass before the oven", format!("{:.2} g", p.green_mass_g)),
        cell(
            "surface per mass",
            format!("{:.2} cm²/g", p.surface_cm2_per_g),
        ),
    ];
    text.push_str(&table(&["", ""], &[Side::Left, Side::Left], &rows));
    text.push_str(&format!(
        "\nOn a sheet {} mm wide, {} mm between cuts\n",
        args.sheet_mm, args.gap_mm
    ));
    let rows: Vec<Row> = p
        .on_sheet
        .iter()
        .map(|s| {
            Row::Cells(vec![
                s.layout.arrangement.word().into(),
                format!("{:.1} %", 100.0 * s.layout.trim_share),
                format!("{:.0}", s.layout.pieces_per_m2),
                format!("{:.0}", s.pieces_per_m),
            ])
        })
        .collect();
    let sides = [Side::Left, Side::Right, Side::Right, Side::Right];
    text.push_str(&table(
        &["layout", "trim", "per m²", "per m"],
        &sides,
        &rows,
    ));
    if let Some(roll) = &p.on_roll {
        let words = format!(
            "On a roll of {} mm: {} around × {} across = {} a turn, {:.1} mm around and {:.1} mm across from one to the next; \
             {:.0} % of its face is cavity",
            args.roll_mm,
            roll.around,
            roll.across,
            roll.pieces_per_turn,
            roll.pitch_around_m * 1e3,
            roll.pitch_across_m * 1e3,
            100.0 * roll.filled_share
        );
        text.push('\n');
        text.push_str(&crate::table::wrap(&words, crate::table::WIDTH, ""));
    }
    text.push_str(&tell::findings(
        &[(p.id.as_str(), p.findings.as_slice())],
        true,
    ));
    text
}
