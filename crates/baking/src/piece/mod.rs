//! The piece: outline, thickness, docker holes, mass, and how many fit on a square metre.

pub mod arrange;
pub mod docker;
pub mod layout;
pub mod outline;
pub mod path;
pub mod pattern;

pub use arrange::{Arrangement, OnRoll, OnSheet, Placed, on_roll, on_sheet};
pub use docker::Docker;
pub use layout::Layout;
pub use outline::{Outline, OutlineError, OutlineMeasure};
pub use path::{ClosedPath, PathError};
pub use pattern::{Docked, DockerPattern, PatternError, Places, dock};

use crate::Code;
use crate::bake::{Edge, HoleWalls};
use measure::{Apart, Constant, Finding, Grade, Range, Severity, Units};
use serde::{Deserialize, Serialize};

/// A piece as it is formed.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Piece {
    /// Shape seen from above.
    pub outline: Outline,
    /// Thickness \[m\].
    pub thickness_m: f64,
    /// Docker holes, if any.
    pub docker: Option<Docker>,
}

/// Why a piece can't be formed.
#[derive(Clone, Debug, PartialEq)]
pub enum PieceError {
    /// The outline.
    Outline(OutlineError),
    /// The thickness.
    Thickness {
        /// What was given \[mm\].
        value_mm: f64,
        /// What is allowed \[mm\].
        allowed: Range,
    },
    /// The docker holes.
    Docker {
        /// How many.
        count: u32,
        /// Diameter \[mm\].
        diameter_mm: f64,
        /// Share of the outline's area \[%\].
        share_pct: f64,
        /// Allowed share \[%\].
        most_pct: f64,
    },
}

impl Apart for PieceError {
    fn apart(&self, units: Units) -> (String, String) {
        match self {
            Self::Outline(error) => error.apart(units),
            Self::Thickness { value_mm, allowed } => (
                format!(
                    "thickness is {value_mm} mm{}",
                    units.also(&[*value_mm], "mm")
                ),
                format!(
                    "a piece may be {allowed} mm{} thick",
                    units.also(&[allowed.low, allowed.high], "mm")
                ),
            ),
            Self::Docker {
                count,
                diameter_mm,
                share_pct,
                most_pct,
            } => (
                format!(
                    "{count} docker holes of {diameter_mm} mm{} take {share_pct:.0} % of the piece's area",
                    units.also(&[*diameter_mm], "mm")
                ),
                format!(
                    "they may take up to {most_pct} %, with a diameter of 0.5 to 10 mm{}",
                    units.also(&[0.5, 10.0], "mm")
                ),
            ),
        }
    }
}

measure::error_apart!(PieceError);

impl From<OutlineError> for PieceError {
    fn from(error: OutlineError) -> Self {
        Self::Outline(error)
    }
}

/// Thickness a piece may have \[mm\].
pub const THICKNESS_MM: Range = Range::new(1.0, 40.0);
/// Thickness that sheeted or moulded pet biscuits usually have \[mm\] (common practice, from memory).
pub const USUAL_THICKNESS_MM: Range = Range::new(4.0, 20.0);
/// Share of the full surface transfer that reaches the rim of a piece among neighbours.
pub const EDGE_EXPOSURE: Constant = Constant {
    name: "share of the surface transfer that reaches the rim",
    value: 0.5,
    unit: "1",
    range: Range::new(0.0, 1.0),
    source: "working value for pieces a finger apart: neighbours shield air and radiation; 1 for a piece alone",
    grade: Grade::Assumed,
};
/// Largest share of the area that docker holes may take \[%\].
const DOCKER_SHARE_PCT: Constant = Constant {
    name: "largest share of the area that docker holes may take",
    value: 25.0,
    unit: "%",
    range: Range::new(5.0, 50.0),
    source: "limit of what is sensible, assumed",
    grade: Grade::Assumed,
};

impl Piece {
    /// Looks at outline, thickness and holes.
    ///
    /// # Errors
    /// The first thing that can't be formed, by name.
    pub fn check(&self) -> Result<(), PieceError> {
        self.outline.check()?;
        let value_mm = self.thickness_m * 1000.0;
        if !THICKNESS_MM.contains(value_mm) {
            return Err(PieceError::Thickness {
                value_mm,
                allowed: THICKNESS_MM,
            });
        }
        if let Some(Docker { count, diameter_m }) = self.docker.filter(|d| d.count > 0) {
            let share_pct = 100.0 * self.docker_area_m2() / self.outline.area_m2();
            if !(Range::new(0.5e-3, 10e-3).contains(diameter_m)
                && share_pct <= DOCKER_SHARE_PCT.value)
            {
                return Err(PieceError::Docker {
                    count,
                    diameter_mm: diameter_m * 1000.0,
                    share_pct,
                    most_pct: DOCKER_SHARE_PCT.value,
                });
            }
        }
        Ok(())
    }

    /// Area of the docker holes \[m²\].
    pub(crate) fn docker_area_m2(&self) -> f64 {
        self.docker.map_or(0.0, |d| d.area_m2())
    }

    /// Area of the piece seen from above, holes taken out \[m²\].
    ///
    /// - Equation: A = A_outline − A_holes
    /// - Units: areas \[m²\]
    /// - Valid: holes that go through and don't overlap
    /// - Source: geometry
    ///
    /// ```
    /// use baking::piece::{Docker, Outline, Piece};
    /// let docker = Some(Docker { count: 25, diameter_m: 0.002 });
    /// let piece = Piece { outline: Outline::Round { diameter_m: 0.050 }, thickness_m: 0.008, docker };
    /// // A disc of 50 mm less 25 holes of 2 mm: π (625 − 25) mm².
    /// assert!((piece.area_m2() * 1e6 - 600.0 * std::f64::consts::PI).abs() < 1e-9);
    /// ```
    pub fn area_m2(&self) -> f64 {
        self.outline.area_m2() - self.docker_area_m2()
    }

    /// Length of the outer edge \[m\]; the holes' edges are not in it.
    ///
    /// - Rule: that of the outline
    /// - Units: length \[m\]
    /// - Valid: any outline
    /// - Source: geometry: π d
    ///
    /// ```
    /// use baking::piece::{Outline, Piece};
    /// let piece = Piece { outline: Outline::Round { diameter_m: 0.050 }, thickness_m: 0.008, docker: None };
    /// assert!((piece.perimeter_m() - 0.157_079_633).abs() < 1e-9);
    /// ```
    pub fn perimeter_m(&self) -> f64 {
        self.outline.perimeter_m()
    }

    /// Outer edge per area \[1/m\]: the extra way out for heat and water.
    ///
    /// - Equation: perimeter/area
    /// - Units: \[1/m\]
    /// - Valid: any outline
    /// - Source: geometry: 4/d of a disc
    ///
    /// ```
    /// use baking::piece::{Outline, Piece};
    /// let piece = Piece { outline: Outline::Round { diameter_m: 0.050 }, thickness_m: 0.008, docker: None };
    /// assert!((piece.perimeter_per_area_per_m() - 80.0).abs() < 1e-9);
    /// ```
    pub fn perimeter_per_area_per_m(&self) -> f64 {
        self.perimeter_m() / self.area_m2()
    }

    /// The rim as the bake takes it, with a share of the full surface transfer that reaches it, and docker holes that go
    /// all the way through.
    ///
    /// - Rule: the outline's perimeter over area with an exposure, and holes through the whole thickness
    /// - Units: exposure \[share\], perimeter over area \[1/m\]
    /// - Valid: exposures of 0 to 1
    /// - Source: geometry: 4/d of a disc
    ///
    /// ```
    /// use baking::piece::{Outline, Piece};
    /// let piece = Piece { outline: Outline::Round { diameter_m: 0.050 }, thickness_m: 0.008, docker: None };
    /// let edge = piece.edge(0.5);
    /// assert!((edge.perimeter_per_area_per_m - 80.0).abs() < 1e-9 && edge.holes.is_none());
    /// ```
    pub fn edge(&self, exposure: f64) -> Edge {
        let holes = self
            .docker
            .filter(|d| d.count > 0)
            .map(|d| HoleWalls::of(d.count, d.diameter_m, self.area_m2(), 1.0));
        Edge {
            holes,
            ..Edge::of(self.perimeter_per_area_per_m(), exposure)
        }
    }

    /// Volume \[m³\].
    pub(crate) fn volume_m3(&self) -> f64 {
        self.area_m2() * self.thickness_m
    }

    /// Mass of the piece before the oven \[kg\] from the dough's density.
    ///
    /// - Equation: m = V ρ
    /// - Units: ρ \[kg/m³\], m \[kg\]
    /// - Valid: flat faces, holes through the whole thickness
    /// - Source: geometry, worked out in the example
    ///
    /// ```
    /// use baking::piece::{Outline, Piece};
    /// let piece = Piece { outline: Outline::Round { diameter_m: 0.050 }, thickness_m: 0.008, docker: None };
    /// // π/4 · 5² · 0.8 = 15.708 cm³ at 1.25 g/cm³
    /// assert!((piece.green_mass_kg(1250.0) * 1000.0 - 19.635).abs() < 1e-3);
    /// ```
    pub fn green_mass_kg(&self, dough_kg_per_m3: f64) -> f64 {
        self.volume_m3() * dough_kg_per_m3
    }

    /// Surface of top, bottom, rim and hole walls per mass before the oven \[m²/kg\], holes as they are laid out.
    ///
    /// - Equation: (2 A − mouths + perimeter · h + walls)/mass
    /// - Units: ρ \[kg/m³\], result \[m²/kg\]
    /// - Valid: flat faces
    /// - Source: geometry, worked out in the example
    ///
    /// ```
    /// use baking::piece::{DockerPattern, Outline, Piece, dock};
    /// let piece = Piece { outline: Outline::Round { diameter_m: 0.050 }, thickness_m: 0.008, docker: None };
    /// let docked = dock(&piece, &DockerPattern::default())?;
    /// // (2 · 19.635 + π · 5 · 0.8) cm² on 19.635 g.
    /// assert!((piece.surface_m2_per_kg(&docked, 1250.0) - 0.264).abs() < 1e-12);
    /// # Ok::<(), baking::piece::PatternError>(())
    /// ```
    pub fn surface_m2_per_kg(&self, docked: &Docked, dough_kg_per_m3: f64) -> f64 {
        let hole =
            docked.centres_m.len() as f64 * std::f64::consts::FRAC_PI_4 * docked.diameter_m.powi(2);
        // A hole takes its mouth from the top, and from the bottom where it goes through; else it has a floor.
        let faces = 2.0 * self.outline.area_m2() - if docked.through { 2.0 * hole } else { 0.0 };
        let surface = faces + self.perimeter_m() * self.thickness_m + docked.wall_m2();
        surface / self.docked_mass_kg(docked, dough_kg_per_m3)
    }

    /// Mass before the oven \[kg\] with the holes as deep as they are laid out.
    ///
    /// - Equation: m = (A h − V_holes) ρ
    /// - Units: ρ \[kg/m³\], m \[kg\]
    /// - Valid: holes as deep as they are laid out
    /// - Source: geometry
    ///
    /// ```
    /// use baking::piece::{DockerPattern, Outline, Piece, dock};
    /// let piece = Piece { outline: Outline::Round { diameter_m: 0.050 }, thickness_m: 0.008, docker: None };
    /// let docked = dock(&piece, &DockerPattern::default())?;
    /// // Without holes it is 15.708 cm³ at 1.25 g/cm³.
    /// assert!(docked.centres_m.is_empty());
    /// assert!((piece.docked_mass_kg(&docked, 1250.0) * 1000.0 - 19.635).abs() < 1e-3);
    /// # Ok::<(), baking::piece::PatternError>(())
    /// ```
    pub fn docked_mass_kg(&self, docked: &Docked, dough_kg_per_m3: f64) -> f64 {
        (self.outline.area_m2() * self.thickness_m - docked.volume_m3()) * dough_kg_per_m3
    }

    /// What is unusual about the piece.
    pub fn findings(&self) -> Vec<Finding> {
        let mut findings = Vec::new();
        let mm = self.thickness_m * 1000.0;
        if !USUAL_THICKNESS_MM.contains(mm) {
            findings.push(
                Finding::new(
                    Severity::Warn,
                    Code::UnusualThickness,
                    "piece.thickness_m",
                    format!("{mm:.1} mm is outside the usual {USUAL_THICKNESS_MM} mm of sheeted and moulded pet biscuits: time, moisture and colour are beyond what is known"),
                )
                .help(if mm > USUAL_THICKNESS_MM.high { "thick pieces bake slowly and dry unevenly; allow a drying stage" } else { "thin pieces brown and dry fast; shorten the bake" })
                .source("common practice, from memory"),
            );
        }
        if let Some(docker) = self.docker.filter(|d| d.count > 0) {
            let pitch_mm = 1000.0 * (self.outline.area_m2() / f64::from(docker.count)).sqrt();
            if pitch_mm > 20.0 {
                findings.push(
                    Finding::new(
                        Severity::Note,
                        Code::DockerHolesFarApart,
                        "piece.docker",
                        format!("docker holes stand about {pitch_mm:.0} mm apart; 10 to 15 mm is usual, 20 mm the most"),
                    )
                    .help("more holes, or none")
                    .source("common practice, from memory"),
                );
            }
        }
        findings
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn bar() -> Piece {
        Piece {
            outline: Outline::Bar {
                length_m: 0.06,
                width_m: 0.03,
                corner_radius_m: 0.0,
            },
            thickness_m: 0.008,
            docker: Some(Docker {
                count: 5,
                diameter_m: 0.002,
            }),
        }
    }

    #[test]
    fn holes_are_taken_out_of_area_and_mass() {
        let piece = bar();
        let holes = 5.0 * std::f64::consts::PI * 1e-6;
        assert!((piece.area_m2() - (0.0018 - holes)).abs() < 1e-15);
        assert!((piece.green_mass_kg(1200.0) - (0.0018 - holes) * 0.008 * 1200.0).abs() < 1e-15);
    }

    #[test]
    fn what_cannot_be_formed_is_named() {
        let mut piece = bar();
        piece.thickness_m = 8.0;
        assert_eq!(
            piece.check().unwrap_err().to_string(),
            "thickness is 8000 mm; a piece may be 1 to 40 mm thick"
        );
        let mut piece = bar();
        piece.docker = Some(Docker {
            count: 400,
            diameter_m: 0.002,
        });
        assert!(matches!(
            piece.check(),
            Err(PieceError::Docker { count: 400, .. })
        ));
        piece.docker = None;
        piece.check().unwrap();
        assert!(piece.findings().is_empty());
        piece.thickness_m = 0.025;
        assert_eq!(piece.findings()[0].code, Code::UnusualThickness);
    }
}
