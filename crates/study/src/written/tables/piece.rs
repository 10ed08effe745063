//! The piece as cut.

use super::super::field::{Kind, Table, number, optional, required};
use super::NOTE;
use baking::bake::edge::PATH_SHARE;
use baking::piece::{Places, THICKNESS_MM};
use measure::Range;

/// The piece.
pub static PIECE: Table = Table {
    name: "piece",
    doc: "The piece as cut: its outline, seen from above, its thickness and its docker holes. Each \
          outline wants its own measures: \"round\" diameter_mm; \"bar\" length_mm and width_mm; \
          \"bone\" length_mm and width_mm over its lobes; \"polygon\" points_mm; \"path\" path and \
          unit_mm.",
    fields: &[
        optional(
            "outline",
            Kind::Choice(outlines),
            "the outline; has to be written in the study's piece",
        ),
        optional(
            "diameter_mm",
            number("mm", 4.0, 500.0),
            "diameter of a round piece",
        ),
        optional(
            "length_mm",
            number("mm", 4.0, 500.0),
            "length of a bar or bone, along the band",
        ),
        optional(
            "width_mm",
            number("mm", 4.0, 500.0),
            "width of a bar or bone",
        ),
        optional(
            "corner_radius_mm",
            number("mm", 0.0, 250.0),
            "radius of a bar's corners; sharp unless written",
        ),
        optional(
            "neck_mm",
            number("mm", 0.4, 500.0),
            "width of a bone's neck; half its width unless written",
        ),
        optional(
            "lobe_radius_mm",
            number("mm", 1.0, 125.0),
            "radius of a bone's lobes; 0.28 of its width unless written",
        ),
        optional(
            "points_mm",
            Kind::Text(NOTE),
            "corners of a polygon as x,y pairs in mm, y upwards: \"0,0 60,0 30,40\"; the last joins the first",
        ),
        optional(
            "path",
            Kind::Text(NOTE),
            "one closed path in the text form of SVG (the d of a path), y downwards as on a screen",
        ),
        optional(
            "unit_mm",
            number("mm", 1e-4, 1000.0),
            "length of one unit of the path: 1 when it was drawn in mm, 0.264583 for 96 units an inch",
        ),
        optional(
            "thickness_mm",
            Kind::Number("mm", THICKNESS_MM),
            "thickness as cut; has to be written in the study's piece",
        ),
        optional(
            "docker",
            Kind::Inline(&DOCKER),
            "docker holes; none unless written",
        ),
        optional(
            EDGE_PATH,
            Kind::Number("", PATH_SHARE.range),
            "inner path of the edge as a share of area over perimeter, fitted to a bake of the whole piece or to your \
             own bakes of it; 0.8 unless written, and gone when outline, thickness or holes change",
        ),
    ],
};

/// The field of a fitted edge.
pub(crate) const EDGE_PATH: &str = "edge_path_share";

/// Whether a field of the piece changes its edge, so that one fitted before no longer holds.
pub(crate) fn shapes(key: &str) -> bool {
    key != EDGE_PATH
}

/// Docker holes.
pub static DOCKER: Table = Table {
    name: "docker",
    doc: "Holes pricked or moulded through the piece.",
    fields: &[
        required(
            "count",
            Kind::Whole(Range::new(0.0, 10_000.0)),
            "how many; 0 takes away those it starts from",
        ),
        optional(
            "diameter_mm",
            number("mm", 0.5, 10.0),
            "diameter of each; 2 mm unless written",
        ),
        optional(
            "pattern",
            Kind::Choice(patterns),
            "where they stand: \"grid\" in rows along the piece, \"ring\" on a circle, \"axis\" in one row along the \
             longer axis, \"points\" where points_mm says; \"grid\" unless written",
        ),
        optional(
            "ring_mm",
            number("mm", 1.0, 500.0),
            "diameter of the ring; half of what fits unless written",
        ),
        optional(
            "points_mm",
            Kind::Text(NOTE),
            "middles of the holes as x,y pairs in mm from the middle of the piece, x along the band: \"-10,0 10,0\"",
        ),
        optional(
            "depth_mm",
            number("mm", 0.1, 40.0),
            "depth of each; through to the band unless written",
        ),
    ],
};

/// The measures that each outline takes: its word, those it has to have, those it may have.
pub const OUTLINES: [(&str, &[&str], &[&str]); 5] = [
    ("round", &["diameter_mm"], &[]),
    ("bar", &["length_mm", "width_mm"], &["corner_radius_mm"]),
    (
        "bone",
        &["length_mm", "width_mm"],
        &["neck_mm", "lobe_radius_mm"],
    ),
    ("polygon", &["points_mm"], &[]),
    ("path", &["path", "unit_mm"], &[]),
];

fn patterns() -> Vec<&'static str> {
    Places::WORDS.to_vec()
}

fn outlines() -> Vec<&'static str> {
    OUTLINES.iter().map(|o| o.0).collect()
}
