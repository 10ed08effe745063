//! The form of the piece: outline with its measures, thickness, docker holes. What was typed stays typed until it is
//! taken; a refusal stands beside the field that it is about.

use super::Shown;
use super::typed::Typed;
use crate::pages::InStudy;
use app::Settings;
use book::exchange::Decimal;
use maud::{Markup, html};
use measure::Finding;
use paper::parts::findings;
use std::collections::BTreeMap;
use std::fmt::Write;

/// A field of the form.
pub(super) struct Field {
    /// Its path below `piece`.
    pub path: &'static str,
    /// What it is.
    pub name: &'static str,
    /// Its unit; empty for a text.
    pub unit: &'static str,
    /// The outline or pattern that has it; empty for any.
    pub of: &'static [&'static str],
    /// What holds when it is empty; none where it has to be filled in.
    pub empty: Option<&'static str>,
    /// A word beside it.
    pub hint: &'static str,
}

const fn field(
    path: &'static str,
    name: &'static str,
    unit: &'static str,
    of: &'static [&'static str],
    empty: Option<&'static str>,
) -> Field {
    Field {
        path,
        name,
        unit,
        of,
        empty,
        hint: "",
    }
}

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
        Some("0.28 of the width"),
    ),
    Field {
        hint: "pairs x,y in mm, y upwards, with a decimal point; the last joins the first",
        ..field("points_mm", "corners", "", &["polygon"], None)
    },
    Field {
        hint: "the d of one closed path, as a drawing program writes it; y downwards",
        ..field("path", "path", "", &["path"], None)
    },
    Field {
        hint: "1 when it was drawn in mm; 0.264583 for 96 units an inch",
        ..field("unit_mm", "one unit of the path is", "mm", &["path"], None)
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

/// Whether a field holds a text of several numbers rather than one number.
pub(super) fn is_text(f: &Field) -> bool {
    f.path.ends_with("points_mm") || f.path == "path"
}

/// What every form of this page carries: where the study stands and where to come back to.
pub(super) fn carried(page: &InStudy<'_>, shown: &Shown<'_>) -> Markup {
    html! {
        input type="hidden" name="base" value=(page.view.base);
        input type="hidden" name="room" value="piece";
        input type="hidden" name="treatment" value=(shown.id);
        input type="hidden" name="whose" value=(if shown.own { "own" } else { "study" });
        input type="hidden" name="q.treatment" value=(shown.id);
        @for kept in ["beside", "whose", "gap_mm", "sheet_mm", "roll_mm"] {
            @if let Some(value) = page.query.maybe(kept) { input type="hidden" name={ "q." (kept) } value=(value); }
        }
    }
}

/// The form.
pub(super) fn form(
    page: &InStudy<'_>,
    shown: &Shown<'_>,
    typed: Option<&Typed>,
    found: &[Finding],
) -> Markup {
    let filled = Filled::of(page, shown, typed);
    let about = |docker: bool| -> Vec<Finding> {
        found
            .iter()
            .filter(|f| f.about.starts_with("piece.docker") == docker && f.about != "piece.roll")
            .cloned()
            .collect()
    };
    html! {
        form #piece-form .piece-form method="post" action={ "/study/" (page.view.thing) "/piece" } novalidate {
            (carried(page, shown))
            @if let Some(general) = filled.error("") { p .refused role="alert" { (general) } }
            fieldset {
                legend { "Outline and size" }
                (filled.choice("outline", "outline", &OUTLINES))
                @for f in &MEASURES { (filled.input(f)) }
                (filled.input(&THICKNESS))
                (findings(&about(false)))
            }
            fieldset {
                legend { "Docker holes" }
                (filled.choice("docker.pattern", "pattern", &PATTERNS))
                @for f in &HOLES { (filled.input(f)) }
                (findings(&about(true)))
            }
            p .set { button .main data-without-script { "Set" } }
        }
    }
}

/// A form for a drawing in a file.
pub(super) fn file_form(page: &InStudy<'_>, shown: &Shown<'_>, typed: Option<&Typed>) -> Markup {
    let error = typed.and_then(|t| t.errors.get("file"));
    html! {
        details .reason .from-file open[error.is_some()] {
            summary { "Take the outline from an SVG file" }
            form .stack method="post" enctype="multipart/form-data" action={ "/study/" (page.view.thing) "/piece/file" } {
                (carried(page, shown))
                label { "file with one shape" input type="file" name="file" accept=".svg,image/svg+xml" required aria-invalid=[error.map(|_| "true")]; }
                label { "one unit of the drawing is, mm" input name="unit_mm" inputmode="decimal" autocomplete="off" placeholder="as the file says"; }
                @if let Some(error) = error { p .refused role="alert" { (error) } }
                p .second { "A path, polygon, rectangle, circle or ellipse. Where the file has a width in mm, cm or inches the scale follows from it; else it is asked for." }
                button { "Take it" }
            }
        }
    }
}

/// What stands in each field, and what was refused.
struct Filled<'a> {
    values: BTreeMap<&'static str, String>,
    typed: Option<&'a Typed>,
}

impl<'a> Filled<'a> {
    fn of(page: &InStudy<'_>, shown: &Shown<'_>, typed: Option<&'a Typed>) -> Self {
        let ideas = ideas(shown, page.settings);
        let mut values = BTreeMap::new();
        let text = |path: &'static str| {
            let number = !(path.ends_with("points_mm") || path == "path");
            let written = shown.written.values.get(path).map(|v| {
                if number {
                    shown_as(v, page.settings)
                } else {
                    v.clone()
                }
            });
            typed
                .and_then(|t| t.texts.get(path).cloned())
                .or(written)
                .or_else(|| ideas.get(path).cloned())
                .unwrap_or_default()
        };
        let fields = MEASURES.iter().chain([&THICKNESS]).chain(&HOLES);
        for path in fields.map(|f| f.path).chain(["outline", "docker.pattern"]) {
            values.insert(path, text(path));
        }
        Self { values, typed }
    }

    fn error(&self, path: &str) -> Option<&str> {
        self.typed?.errors.get(path).map(String::as_str)
    }

    fn choice(&self, path: &'static str, name: &str, words: &[(&str, &str)]) -> Markup {
        let now = &self.values[path];
        html! {
            div .measure {
                label {
                    span .name { (name) }
                    select name=(path) data-set {
                        @for (word, told) in words { option value=(word) selected[now == word] { (told) } }
                    }
                }
                (self.refusal(path))
            }
        }
    }

    fn input(&self, f: &Field) -> Markup {
        let only = f.of.iter().fold(String::new(), |mut all, of| {
            let _ = write!(all, " for-{of}");
            all
        });
        let only = if f.of.is_empty() {
            String::new()
        } else {
            format!(" only{only}")
        };
        let value = &self.values[f.path];
        let bad = self.error(f.path).map(|_| "true");
        let told = bad.map(|_| format!("refused-{}", f.path));
        html! {
            div class={ "measure" (only) @if is_text(f) { " text" } } {
                label {
                    span .name { (f.name) @if !f.unit.is_empty() { " " span .unit { (f.unit) } } }
                    @if is_text(f) {
                        textarea name=(f.path) rows="3" spellcheck="false" autocomplete="off" data-set aria-invalid=[bad] aria-describedby=[told.as_deref()] { (value) }
                    } @else {
                        input name=(f.path) inputmode="decimal" autocomplete="off" size="7" value=(value) data-set placeholder=[f.empty] aria-invalid=[bad] aria-describedby=[told.as_deref()];
                    }
                }
                @if !f.hint.is_empty() { p .second { (f.hint) } }
                (self.refusal(f.path))
            }
        }
    }

    fn refusal(&self, path: &str) -> Markup {
        html! { @if let Some(error) = self.error(path) { p .refused role="alert" id={ "refused-" (path) } { (error) } } }
    }
}

/// A number as this person writes it.
pub(super) fn shown_as(number: &str, settings: &Settings) -> String {
    match settings.decimal {
        Decimal::Point => number.to_owned(),
        Decimal::Comma => number.replace('.', ","),
    }
}

/// What another outline or pattern of about this size would have, so that it can be chosen and then changed.
fn ideas(shown: &Shown<'_>, settings: &Settings) -> BTreeMap<&'static str, String> {
    let (length, width) = shown
        .told
        .map_or((50.0, 30.0), |t| (t.length_mm, t.width_mm));
    let number = |v: f64| {
        let text = format!("{v:.1}");
        shown_as(text.trim_end_matches('0').trim_end_matches('.'), settings)
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
        ("width_mm", number(width)),
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
