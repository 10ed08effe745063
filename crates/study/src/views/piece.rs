//! The piece of a treatment as a person wants it told: measures, mass, holes, and how it lies on sheet and roll.

use crate::Code;
use crate::chain::dough_and_piece::{DoughAndPieceError, dough_and_piece};
use crate::chain::{BakeOptions, Sample};
use crate::model::Treatment;
use baking::piece::{Arrangement, Docked, OnRoll, OnSheet, PatternError, dock, on_roll, on_sheet};
use measure::{Finding, Severity};
use serde::Serialize;

/// How a piece is asked for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PieceAsked {
    /// Gap between cuts \[m\].
    pub gap_m: f64,
    /// Width of the sheet, and of the roll's face \[m\].
    pub sheet_width_m: f64,
    /// Diameter of the roll \[m\].
    pub roll_diameter_m: f64,
}

impl PieceAsked {
    /// A named starting point: 3 mm between cuts, a sheet 1 m wide, a roll of 250 mm.
    pub const USUAL: Self = Self {
        gap_m: 0.003,
        sheet_width_m: 1.0,
        roll_diameter_m: 0.25,
    };

    /// Looks at gap, sheet and roll.
    ///
    /// # Errors
    /// The first that can't be, by name and value.
    pub fn check(&self) -> Result<(), PieceToldError> {
        for (field, value_m, low_mm, high_mm) in [
            ("gap", self.gap_m, 0.0, 200.0),
            ("sheet width", self.sheet_width_m, 10.0, 5000.0),
            ("roll diameter", self.roll_diameter_m, 30.0, 2000.0),
        ] {
            let value_mm = value_m * 1e3;
            if !(low_mm..=high_mm).contains(&value_mm) {
                return Err(PieceToldError::BakeOptions {
                    field,
                    value_mm,
                    low_mm,
                    high_mm,
                });
            }
        }
        Ok(())
    }
}

/// A piece, told.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PieceTold {
    /// Short name of the treatment.
    pub id: String,
    /// Name of the treatment.
    pub name: String,
    /// The outline's word.
    pub outline: &'static str,
    /// Along the band, mm.
    pub length_mm: f64,
    /// Across the band, mm.
    pub width_mm: f64,
    /// Thickness, mm.
    pub thickness_mm: f64,
    /// Area inside the outline, cm².
    pub outline_area_cm2: f64,
    /// Length of the outline, mm.
    pub perimeter_mm: f64,
    /// Mass before the oven with the holes as laid out, g.
    pub green_mass_g: f64,
    /// Top, bottom, rim and hole walls per mass before the oven, cm²/g.
    pub surface_cm2_per_g: f64,
    /// The holes.
    pub docker: Docked,
    /// The word of the holes' pattern.
    pub docker_pattern: &'static str,
    /// Layouts on a sheet, each with its pieces per metre of sheet.
    pub on_sheet: Vec<SheetTold>,
    /// The layout on a roll; none when nothing fits.
    pub on_roll: Option<OnRoll>,
    /// What a person should know.
    pub findings: Vec<Finding>,
    /// Corners of the outline for drawing, mm.
    pub outline_mm: Vec<(f64, f64)>,
}

/// A layout on a sheet.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SheetTold {
    /// The layout.
    #[serde(flatten)]
    pub layout: OnSheet,
    /// Pieces per metre of sheet of the width asked for.
    pub pieces_per_m: f64,
}

/// Why a piece can't be told.
#[derive(Debug, thiserror::Error)]
pub enum PieceToldError {
    /// Up to the oven's mouth.
    #[error(transparent)]
    DoughAndPiece(#[from] DoughAndPieceError),
    /// The holes.
    #[error(transparent)]
    Pattern(#[from] PatternError),
    /// What was asked.
    #[error("{field} is {value_mm} mm; it must lie within {low_mm} to {high_mm} mm")]
    BakeOptions {
        /// Which number.
        field: &'static str,
        /// What was given, mm.
        value_mm: f64,
        /// Least, mm.
        low_mm: f64,
        /// Most, mm.
        high_mm: f64,
    },
}

/// Tells a treatment's piece.
///
/// # Errors
/// What can't be formed, by name and place.
pub fn piece_told(treatment: &Treatment, asked: &PieceAsked) -> Result<PieceTold, PieceToldError> {
    asked.check()?;
    let made = dough_and_piece(treatment, &BakeOptions::QUICK, Sample::Centre)?;
    let (piece, pattern) = (&treatment.setting.piece, &treatment.setting.docker_pattern);
    let outline = &piece.outline;
    let docked = dock(piece, pattern)?;
    let density = made.dough.density.dough_kg_per_m3;
    let (length, width) = outline.extent_m();
    let sheets = Arrangement::ALL
        .into_iter()
        .map(|a| {
            let layout = on_sheet(outline, a, asked.gap_m);
            SheetTold {
                pieces_per_m: layout.pieces_per_metre(outline, asked.sheet_width_m),
                layout,
            }
        })
        .collect();
    let roll = on_roll(
        outline,
        asked.roll_diameter_m,
        asked.sheet_width_m,
        asked.gap_m,
    );
    let mut findings = piece.findings();
    // Where the holes stand is known here: the guess from their number alone is left out.
    findings.retain(|f| f.code != baking::Code::DockerHolesFarApart);
    findings.extend(docked.findings.iter().cloned());
    if roll.is_none() {
        findings.push(
            Finding::new(
                Severity::Note,
                Code::FitsNoRoll,
                "piece.roll",
                "not one piece fits on a roll of that diameter and width",
            )
            .help("a larger roll, or a smaller piece"),
        );
    }
    Ok(PieceTold {
        id: treatment.id.clone(),
        name: treatment.name.clone(),
        outline: outline.word(),
        length_mm: length * 1e3,
        width_mm: width * 1e3,
        thickness_mm: piece.thickness_m * 1e3,
        outline_area_cm2: outline.area_m2() * 1e4,
        perimeter_mm: piece.perimeter_m() * 1e3,
        green_mass_g: piece.docked_mass_kg(&docked, density) * 1e3,
        surface_cm2_per_g: piece.surface_m2_per_kg(&docked, density) * 10.0,
        docker: docked,
        docker_pattern: pattern.places.word(),
        on_sheet: sheets,
        on_roll: roll,
        findings,
        outline_mm: outline
            .polygon(2e-5)
            .into_iter()
            .map(|(x, y)| (x * 1e3, y * 1e3))
            .collect(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::Study;

    /// The demonstration with another piece.
    fn with(piece: &str) -> Result<Study, String> {
        let text = include_str!("../../../../examples/spent-grain.toml");
        let start = text.find("\n[piece]").unwrap() + 1;
        let end = start + 7 + text[start + 7..].find("\n[").unwrap();
        let written = format!("{}[piece]\n{piece}\n{}", &text[..start], &text[end..]);
        crate::written::read(&written).map_err(|problems| {
            let told: Vec<String> = problems.iter().map(ToString::to_string).collect();
            told.join("\n")
        })
    }

    fn told(piece: &str) -> PieceTold {
        let study = with(piece).unwrap();
        piece_told(study.control(), &PieceAsked::USUAL).unwrap()
    }

    #[test]
    fn a_triangle_as_polygon_and_as_path_is_the_same_piece() {
        let polygon =
            told("outline = \"polygon\"\npoints_mm = \"0,0 60,0; 30 40\"\nthickness_mm = 8");
        // Drawn in centimetres, upside down as on a screen.
        let path =
            told("outline = \"path\"\npath = \"M0 4 h6 L3 0 z\"\nunit_mm = 10\nthickness_mm = 8");
        assert_eq!((polygon.outline, path.outline), ("polygon", "path"));
        for (a, b) in [
            (polygon.outline_area_cm2, 12.0),
            (polygon.perimeter_mm, 160.0),
            (path.outline_area_cm2, 12.0),
            (path.green_mass_g, polygon.green_mass_g),
        ] {
            assert!((a / b - 1.0).abs() < 1e-9, "{a} {b}");
        }
        let pairs = &polygon.on_sheet[2].layout;
        assert!(pairs.trim_share < polygon.on_sheet[0].layout.trim_share - 0.2);
    }

    #[test]
    fn holes_stand_where_the_file_says() {
        let bar = "outline = \"bar\"\nlength_mm = 60\nwidth_mm = 30\nthickness_mm = 8\n";
        let points = told(&format!(
            "{bar}docker = {{ count = 2, pattern = \"points\", points_mm = \"-6,0 6,0\", depth_mm = 5 }}"
        ));
        assert_eq!(points.docker.centres_m, [(-0.006, 0.0), (0.006, 0.0)]);
        assert!(!points.docker.through);
        let ring = told(&format!(
            "{bar}docker = {{ count = 6, pattern = \"ring\", ring_mm = 12 }}"
        ));
        for (x, y) in ring.docker.centres_m {
            assert!((x.hypot(y) - 0.006).abs() < 1e-6);
        }
    }

    #[test]
    fn what_cannot_be_drawn_is_told_with_its_place() {
        let bar = "outline = \"bar\"\nlength_mm = 60\nwidth_mm = 30\nthickness_mm = 8\n";
        let cases = [
            (
                "outline = \"path\"\npath = \"M0 0 L6 0 L6 4\"\nunit_mm = 10\nthickness_mm = 8",
                "piece.path: the path is open",
            ),
            (
                "outline = \"path\"\npath = \"M0 0 L60 0 L60 40 z\"\nthickness_mm = 8",
                "`unit_mm` is missing",
            ),
            (
                "outline = \"polygon\"\npoints_mm = \"0,0 60,40 60,0 0,40\"\nthickness_mm = 8",
                "crosses or touches itself near (30.000, 20.000)",
            ),
            (
                "outline = \"polygon\"\npoints_mm = \"0,0 60,4O 60,0\"\nthickness_mm = 8",
                "\"4O\" in points_mm isn't a number",
            ),
            (
                &format!(
                    "{bar}docker = {{ count = 1, pattern = \"points\", points_mm = \"40,0\" }}"
                ),
                "docker hole 1 at (40.00, 0.00) mm lies outside the outline",
            ),
            (
                &format!("{bar}docker = {{ count = 2, depth_mm = 12 }}"),
                "12 mm depth in a piece of 8 mm",
            ),
            (
                &format!("{bar}docker = {{ count = 2, pattern = \"grid\", ring_mm = 12 }}"),
                "a grid of docker holes has no ring_mm",
            ),
        ];
        for (piece, wanted) in cases {
            let told = with(piece).unwrap_err();
            assert!(told.contains(wanted), "{wanted}\n{told}");
        }
    }
}
