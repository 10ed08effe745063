//! The form of the piece: outline with its measures, thickness, docker holes.

use super::Shown;
use crate::pages::InStudy;
use crate::pages::section::{Field, Filled, Set, Typed, field, shown_as};
use app::Settings;
use maud::{Markup, html};
use measure::Finding;
use paper::parts::findings;
use std::collections::BTreeMap;

/// The measures of an outline.
pub(super) const MEASURES: [Field; 9] = [
    field("diameter_mm", "diameter", "mm", &["round"], None),
    field(
        "length_mm",
        "length, along the band",
        "mm",
        &["bar", "bone"],
        None,
    ),
    field("width_mm", "width", "mm", &["bar", "bone"], None),
    field(
        "corner_radius_mm",
        "radius of the corners",
        "mm",
        &["bar"],
        Some("sharp"),
    ),
    field(
        "neck_mm",
        "width of the neck",
        "mm",
        &["bone"],
        Some("half the width"),
    ),
    field(
        "lobe_radius_mm",
        "radius of the lobes",
        "mm",
        &["bone"],
        Some("0.28 × width"),
    ),
    Field {
        text: true,
        hint: "pairs x,y in mm, y upwards, with a decimal point; the last joins the first",
        ..field("points_mm", "corners", "", &["polygon"], None)
    },
    Field {
        text: true,
        hint: "the d of one closed path, as a drawing program writes it; y downwards",
        ..field("path", "path", "", &["path"], None)
    },
    Field {
        hint: "1 when it was drawn in mm; 0.264583 for 96 units an inch",
        ..field(
            "unit_mm",
            "one unit of the path is",
            "mm of the piece",
            &["path"],
            None,
        )
    },
];

pub(super) const THICKNESS: Field = field("thickness_mm", "thickness as cut", "mm", &[], None);

/// What docker holes have.
pub(super) const HOLES: [Field; 5] = [
    field(
        "docker.count",
        "holes",
        "",
        &["grid", "ring", "axis"],
        Some("0"),
    ),
    field("docker.diameter_mm", "diameter", "mm", &[], Some("2")),
    field(
        "docker.ring_mm",
        "diameter of the ring",
        "mm",
        &["ring"],
        Some("half of what fits"),
    ),
    Field {
        text: true,
        hint: "pairs x,y in mm from the middle of the piece, x along the band",
        ..field(
            "docker.points_mm",
            "middles of the holes",
            "",
            &["points"],
            None,
        )
    },
    field("docker.depth_mm", "depth", "mm", &[], Some("through")),
];

const OUTLINES: [(&str, &str); 5] = [
    ("round", "round"),
    ("bar", "bar"),
    ("bone", "bone-like"),
    ("polygon", "polygon"),
    ("path", "path of a drawing"),
];
const PATTERNS: [(&str, &str); 4] = [
    ("grid", "grid"),
    ("ring", "ring"),
    ("axis", "one row along the axis"),
    ("points", "where I say"),
];

/// Every field.
pub(super) fn all() -> impl Iterator<Item = &'static Field> {
    MEASURES.iter().chain([&THICKNESS]).chain(&HOLES)
}

/// Fields that take one of some words.
pub(super) const WORDS: [&str; 2] = ["outline", "docker.pattern"];

/// The form.
pub(super) fn form(
    page: &InStudy<'_>,
    shown: &Shown<'_>,
    set: &Set<'_>,
    typed: Option<&Typed>,
    found: &[Finding],
) -> Markup {
    let ideas = ideas(shown, page.settings);
    let filled = Filled::of(all(), &WORDS, &shown.written, &ideas, typed, page.settings);
    let about = |docker: bool| -> Vec<Finding> {
        found
            .iter()
            .filter(|f| f.about.starts_with("piece.docker") == docker && f.about != "piece.roll")
            .cloned()
            .collect()
    };
    html! {
        form #section-form .piece-form .section-form method="post" action={ "/study/" (page.view.thing) "/piece" } novalidate {
            (set.carried(page))
            @if let Some(general) = filled.error("") { p .refused role="alert" { (general) } }
            fieldset {
                legend { "Outline and size" }
                (filled.choice("outline", "outline", &OUTLINES))
                @for f in &MEASURES { (filled.input(f, page.settings)) }
                (filled.input(&THICKNESS, page.settings))
                (findings(&about(false)))
            }
            fieldset {
                legend { "Docker holes" }
                (filled.choice("docker.pattern", "pattern", &PATTERNS))
                @for f in &HOLES { (filled.input(f, page.settings)) }
                (findings(&about(true)))
            }
            p .set { button .main data-without-script { "Set" } }
        }
    }
}

/// A form for a drawing in a file.
pub(super) fn file_form(page: &InStudy<'_>, set: &Set<'_>, typed: Option<&Typed>) -> Markup {
    let error = typed.and_then(|t| t.errors.get("file"));
    html! {
        details .reason .from-file open[error.is_some()] {
            summary { "Take the outline from an SVG file" }
            form .stack method="post" enctype="multipart/form-data" action={ "/study/" (page.view.thing) "/piece/file" } {
                (set.carried(page))
                label { "file with one shape" input type="file" name="file" accept=".svg,image/svg+xml" required aria-invalid=[error.map(|_| "true")]; }
                label { "one unit of the drawing is, mm" input name="unit_mm" inputmode="decimal" autocomplete="off" placeholder="as the file says"; }
                @if let Some(error) = error { p .refused role="alert" { (error) } }
                p .second { "A path, polygon, rectangle, circle or ellipse. Where the file has a width in mm, cm or inches the scale follows from it; else it is asked for." }
                button { "Take it" }
            }
        }
    }
}

/// What another outline or pattern of about this size would have, so that it can be chosen and then changed.
fn ideas(shown: &Shown<'_>, settings: &Settings) -> BTreeMap<&'static str, String> {
    let (length, width) = shown
        .told
        .map_or((50.0, 30.0), |t| (t.length_mm, t.width_mm));
    // A bone as wide as it is long can't be made.
    let slim = if width > 0.8 * length {
        0.5 * length
    } else {
        width
    };
    let number = |v: f64| {
        let text = format!("{v:.1}");
        shown_as(
            text.trim_end_matches('0').trim_end_matches('.'),
            "mm",
            settings,
        )
    };
    let pairs = |points: &[(f64, f64)]| {
        let pair = |(x, y): &(f64, f64)| format!("{:.1},{:.1}", x + 0.0, y + 0.0);
        points.iter().map(pair).collect::<Vec<_>>().join(" ")
    };
    let (a, b) = (0.5 * length, 0.5 * width);
    let corners = [
        (-0.6 * a, -b),
        (0.6 * a, -b),
        (a, 0.0),
        (0.6 * a, b),
        (-0.6 * a, b),
        (-a, 0.0),
    ];
    let holes: Vec<(f64, f64)> = match shown.told.map(|t| &t.docker.centres_m) {
        Some(centres) if !centres.is_empty() && centres.len() <= 60 => {
            centres.iter().map(|(x, y)| (x * 1e3, y * 1e3)).collect()
        }
        _ => vec![(-0.2 * length, 0.0), (0.2 * length, 0.0)],
    };
    BTreeMap::from([
        ("diameter_mm", number((length * width).sqrt())),
        ("length_mm", number(length)),
        ("width_mm", number(slim)),
        ("points_mm", pairs(&corners)),
        (
            "path",
            format!(
                "M 0 {b:.1} C 0 {:.1} {length:.1} {:.1} {length:.1} {b:.1} S 0 {:.1} 0 {b:.1} Z",
                -0.16 * width,
                -0.16 * width,
                1.16 * width
            ),
        ),
        ("unit_mm", "1".to_owned()),
        ("docker.points_mm", pairs(&holes)),
        ("docker.pattern", "grid".to_owned()),
    ])
}
