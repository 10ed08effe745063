//! The piece as cut.

use super::NOTE;
use crate::written::typed::table;
use crate::written::word::Word;
use baking::bake::edge::PATH_SHARE;
use baking::piece::{Places, THICKNESS_MM};

table! {
    /// The piece.
    PIECE, PieceRow = "piece",
        "The piece as cut: its outline, seen from above, its thickness and its docker holes. Each \
         outline wants its own measures: \"round\" diameter_mm; \"bar\" length_mm and width_mm; \
         \"bone\" length_mm and width_mm over its lobes; \"polygon\" points_mm; \"path\" path and \
         unit_mm.";
    outline: choice(OutlineWord) optional, "the outline; has to be written in the study's piece";
    diameter_mm: number("mm", 4.0, 500.0) optional, "diameter of a round piece";
    length_mm: number("mm", 4.0, 500.0) optional, "length of a bar or bone, along the band";
    width_mm: number("mm", 4.0, 500.0) optional, "width of a bar or bone";
    corner_radius_mm: number("mm", 0.0, 250.0) optional, "radius of a bar's corners; sharp unless written";
    neck_mm: number("mm", 0.4, 500.0) optional, "width of a bone's neck; half its width unless written";
    lobe_radius_mm: number("mm", 1.0, 125.0) optional,
        "radius of a bone's lobes; 0.28 of its width unless written";
    points_mm: text(NOTE) optional,
        "corners of a polygon as x,y pairs in mm, y upwards: \"0,0 60,0 30,40\"; the last joins the first";
    path: text(NOTE) optional,
        "one closed path in the text form of SVG (the d of a path), y downwards as on a screen";
    unit_mm: number("mm", 1e-4, 1000.0) optional,
        "length of one unit of the path: 1 when it was drawn in mm, 0.264583 for 96 units an inch";
    thickness_mm: number("mm", THICKNESS_MM) optional,
        "thickness as cut; has to be written in the study's piece";
    docker: inline(DOCKER, DockerRow) optional, "docker holes; none unless written";
    edge_path_share: number("", PATH_SHARE.range) optional,
        "inner path of the edge as a share of area over perimeter, fitted to a bake of the whole piece or to your \
         own bakes of it; 0.7 unless written, and gone when outline, thickness or holes change";
}

/// Whether a field of the piece changes its edge, so that one fitted before no longer holds.
pub(crate) fn shapes(key: &str) -> bool {
    key != PieceRow::edge_path_share.name
}

table! {
    /// Docker holes.
    DOCKER, DockerRow = "docker", "Holes pricked or moulded through the piece.";
    count: whole(0.0, 10_000.0) required, "how many; 0 takes away those it starts from";
    diameter_mm: number("mm", 0.5, 10.0) optional, "diameter of each; 2 mm unless written";
    pattern: choice(PatternWord) optional,
        "where they stand: \"grid\" in rows along the piece, \"ring\" on a circle, \"axis\" in one row along the \
         longer axis, \"points\" where points_mm says; \"grid\" unless written";
    ring_mm: number("mm", 1.0, 500.0) optional, "diameter of the ring; half of what fits unless written";
    points_mm: text(NOTE) optional,
        "middles of the holes as x,y pairs in mm from the middle of the piece, x along the band: \"-10,0 10,0\"";
    depth_mm: number("mm", 0.1, 40.0) optional, "depth of each; through to the band unless written";
}

/// An outline as a file names it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum OutlineWord {
    /// A disc.
    Round,
    /// A rectangle with rounded corners.
    Bar,
    /// A bone-like shape.
    Bone,
    /// Through corners.
    Polygon,
    /// A path drawn elsewhere.
    Path,
}

impl OutlineWord {
    /// Every outline.
    pub const ALL: [Self; 5] = [
        Self::Round,
        Self::Bar,
        Self::Bone,
        Self::Polygon,
        Self::Path,
    ];

    /// The measures that it has to have.
    pub const fn wants(self) -> &'static [&'static str] {
        match self {
            Self::Round => &[PieceRow::diameter_mm.name],
            Self::Bar | Self::Bone => &[PieceRow::length_mm.name, PieceRow::width_mm.name],
            Self::Polygon => &[PieceRow::points_mm.name],
            Self::Path => &[PieceRow::path.name, PieceRow::unit_mm.name],
        }
    }

    /// The measures that it may have beside.
    pub const fn may(self) -> &'static [&'static str] {
        match self {
            Self::Bar => &[PieceRow::corner_radius_mm.name],
            Self::Bone => &[PieceRow::neck_mm.name, PieceRow::lobe_radius_mm.name],
            Self::Round | Self::Polygon | Self::Path => &[],
        }
    }

    /// Whether a key is a measure of some other outline and not of this.
    pub fn idle(self, key: &str) -> bool {
        let has = |o: Self| o.wants().contains(&key) || o.may().contains(&key);
        !has(self) && Self::ALL.into_iter().any(has)
    }
}

impl Word for OutlineWord {
    fn all() -> Vec<Self> {
        Self::ALL.to_vec()
    }

    fn written(self) -> &'static str {
        match self {
            Self::Round => "round",
            Self::Bar => "bar",
            Self::Bone => "bone",
            Self::Polygon => "polygon",
            Self::Path => "path",
        }
    }
}

/// A pattern of docker holes as a file names it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PatternWord {
    /// Rows.
    Grid,
    /// A circle.
    Ring,
    /// One row.
    Axis,
    /// Where a person says.
    Points,
}

impl Word for PatternWord {
    fn all() -> Vec<Self> {
        vec![Self::Grid, Self::Ring, Self::Axis, Self::Points]
    }

    fn written(self) -> &'static str {
        Places::WORDS[self as usize]
    }
}
