//! From what was typed in the form of the piece to edits.

use super::form::{HOLES, MEASURES, THICKNESS, WORDS, all};
use crate::fields::Fields;
use crate::pages::section::{Maker, Typed, one, shown_as};
use app::{SectionWritten, Settings, StudyView};

use study::edit::Put;
use study::written::problem::PatternError;
use study::written::tables::{PieceRow, RootRow};
use study::written::{Path, What};

/// Edits for what differs from what is written. `now` is what holds for the treatment, or for the study.
pub(super) fn typed(
    view: &StudyView,
    treatment: Option<&str>,
    now: &SectionWritten,
    fields: &Fields,
    settings: &Settings,
) -> Typed {
    let text = |path: &str| {
        fields
            .maybe(path)
            .unwrap_or_default()
            .replace("\r\n", "\n")
            .trim()
            .to_owned()
    };
    let was = |path: &str| now.values.get(path).map(String::as_str);
    let mut maker = Maker::of(view, RootRow::piece.name, treatment, settings.units);
    for path in all().map(|f| f.path).chain(WORDS) {
        maker.typed.texts.insert(path.to_owned(), text(path));
    }
    let outline = text("outline");
    let other = was("outline") != Some(&outline);
    if other {
        maker.set("outline", Some(Put::Text(outline.clone())));
    }
    for f in MEASURES
        .iter()
        .filter(|f| f.of.contains(&outline.as_str()))
        .chain([&THICKNESS])
    {
        one(
            &mut maker,
            f,
            &text(f.path),
            was(f.path),
            other && !f.of.is_empty(),
            settings,
        );
    }
    holes(&mut maker, now, &text, settings);
    maker.typed
}

/// Docker holes are written as a whole, so that a treatment's own never lean on another pattern's places.
fn holes(
    maker: &mut Maker<'_>,
    now: &SectionWritten,
    text: &dyn Fn(&str) -> String,
    settings: &Settings,
) {
    let was = |path: &str| now.values.get(path).cloned().unwrap_or_default();
    let unit = |path: &str| all().find(|f| f.path == path).map_or("", |f| f.unit);
    let shown_was = |path: &str| shown_as(&was(path), unit(path), settings);
    let pattern = text("docker.pattern");
    let points = text("docker.points_mm");
    let count = if pattern == "points" {
        let numbers = points.split(|c: char| c.is_whitespace() || c == ',' || c == ';');
        (numbers.filter(|n| !n.is_empty()).count() / 2).to_string()
    } else {
        text("docker.count")
    };
    let or = |text: String, otherwise: &str| {
        if text.is_empty() {
            otherwise.to_owned()
        } else {
            text
        }
    };
    let differs = or(count.clone(), "0") != or(was("docker.count"), "0")
        || HOLES.iter().skip(1).any(|f| {
            let here = f.of.is_empty() || f.of.contains(&pattern.as_str());
            let was = if f.text {
                was(f.path)
            } else {
                shown_was(f.path)
            };
            here && text(f.path) != was
        })
        || pattern != or(was("docker.pattern"), "grid");
    if !differs {
        return;
    }
    let had_any = now.values.keys().any(|k| k.starts_with("docker."));
    if or(count.clone(), "0") == "0" && !had_any {
        return;
    }
    let number = |maker: &mut Maker<'_>, path: &str, name: &str, text: &str| {
        let as_was = was(path).parse().ok().filter(|_| shown_was(path) == text);
        let typed = |maker: &mut Maker<'_>| maker.number(path, (name, unit(path)), text, settings);
        if let Some(value) = as_was.or_else(|| typed(maker)) {
            maker.set(path, Some(Put::Number(value)));
        }
    };
    number(maker, "docker.count", "holes", &or(count, "0"));
    let diameter = text("docker.diameter_mm");
    if diameter.is_empty() {
        maker.set("docker.diameter_mm", None);
    } else {
        number(maker, "docker.diameter_mm", "diameter", &diameter);
    }
    maker.set("docker.pattern", Some(Put::Text(pattern.clone())));
    if pattern == "ring" {
        match text("docker.ring_mm") {
            empty if empty.is_empty() => maker.set("docker.ring_mm", None),
            ring => number(maker, "docker.ring_mm", "diameter of the ring", &ring),
        }
    }
    if pattern == "points" {
        if points.is_empty() {
            maker.refuse("docker.points_mm", "nothing was given; fill it in");
        } else {
            maker.set("docker.points_mm", Some(Put::Text(points)));
        }
    }
    match text("docker.depth_mm") {
        // Over another's partial holes "through" has to be written out.
        empty
            if empty.is_empty()
                && maker.treatment.is_some()
                && !was("docker.depth_mm").is_empty() =>
        {
            let thickness = text("thickness_mm");
            number(maker, "docker.depth_mm", "depth", &thickness);
        }
        empty if empty.is_empty() => maker.set("docker.depth_mm", None),
        depth => number(maker, "docker.depth_mm", "depth", &depth),
    }
}

/// The field that a problem of the piece is about.
pub(super) fn field_of(below: &Path, what: &What) -> Option<&'static str> {
    let key = below.to_string();
    if key == PieceRow::docker.name {
        return Some(match what {
            What::Holes(PatternError::Depth { .. }) => "docker.depth_mm",
            What::Holes(PatternError::Count { .. }) => "docker.points_mm",
            _ => "docker.pattern",
        });
    }
    all().map(|f| f.path).chain(WORDS).find(|path| *path == key)
}

/// The same where every hole stands where a person says: then a hole that can't be is about its place.
pub(super) fn field_of_points(below: &Path, what: &What) -> Option<&'static str> {
    match field_of(below, what) {
        Some("docker.pattern") => Some("docker.points_mm"),
        other => other,
    }
}
