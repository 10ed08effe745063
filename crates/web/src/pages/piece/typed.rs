//! From what was typed in the form to edits, and from problems back to the fields they are about.

use super::form::{Field, HOLES, MEASURES, THICKNESS, is_text};
use crate::fields::Fields;
use app::{PieceWritten, Settings, StudyView};
use std::collections::BTreeMap;
use study::edit::{Edit, Put, apply};
use study::written::{Problem, StudyWritten};

/// What was typed, the edits that follow, and what was refused, by the path of the field; the empty path is the form.
#[derive(Debug, Default)]
pub(super) struct Typed {
    pub texts: BTreeMap<String, String>,
    pub edits: Vec<Edit>,
    pub errors: BTreeMap<String, String>,
}

/// Makes edits one by one on a copy of the study, so that what can't be is told at its field.
struct Maker<'a> {
    treatment: Option<&'a str>,
    written: StudyWritten,
    typed: Typed,
}

impl Maker<'_> {
    fn set(&mut self, path: &str, value: Option<Put>) {
        let edit = Edit::SetField {
            treatment: self.treatment.map(str::to_owned),
            path: format!("piece.{path}"),
            value,
        };
        match apply(&self.written, &edit) {
            Ok(after) => {
                self.written = after;
                self.typed.edits.push(edit);
            }
            Err(error) => self.refuse(path, &error.to_string()),
        }
    }

    fn refuse(&mut self, path: &str, why: &str) {
        self.typed
            .errors
            .entry(path.to_owned())
            .or_insert_with(|| plain(why));
    }
}

/// Edits for what differs from what is written. `now` is what holds for the treatment, or for the study.
pub(super) fn typed(
    view: &StudyView,
    treatment: Option<&str>,
    now: &PieceWritten,
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
    let all = || MEASURES.iter().chain([&THICKNESS]).chain(&HOLES);
    let mut maker = Maker {
        treatment,
        written: view.written.clone(),
        typed: Typed::default(),
    };
    for path in all().map(|f| f.path).chain(["outline", "docker.pattern"]) {
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

/// A measure: set where it differs, taken away where it was emptied.
fn one(
    maker: &mut Maker<'_>,
    f: &Field,
    text: &str,
    was: Option<&str>,
    anew: bool,
    settings: &Settings,
) {
    if text.is_empty() {
        match f.empty {
            None => maker.refuse(f.path, "nothing was given; fill it in"),
            Some(_) if was.is_some() => maker.set(f.path, None),
            Some(_) => {}
        }
        return;
    }
    if is_text(f) {
        if anew || was != Some(text) {
            maker.set(f.path, Some(Put::Text(text.to_owned())));
        }
        return;
    }
    match settings.number(f.name, text) {
        Ok(value) => {
            if anew || was.and_then(|w| w.parse::<f64>().ok()) != Some(value) {
                maker.set(f.path, Some(Put::Number(value)));
            }
        }
        Err(error) => {
            let words = error.to_string();
            let head = format!("{}: ", f.name);
            maker.refuse(f.path, words.strip_prefix(&head).unwrap_or(&words));
        }
    }
}

/// Docker holes are written as a whole, so that a treatment's own never lean on another pattern's places.
fn holes(
    maker: &mut Maker<'_>,
    now: &PieceWritten,
    text: &dyn Fn(&str) -> String,
    settings: &Settings,
) {
    let was = |path: &str| now.values.get(path).cloned().unwrap_or_default();
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
            here && text(f.path).replace(',', ".") != was(f.path).replace(',', ".")
        })
        || pattern != or(was("docker.pattern"), "grid");
    if !differs {
        return;
    }
    let had_any = now.values.keys().any(|k| k.starts_with("docker."));
    if or(count.clone(), "0") == "0" && !had_any {
        return;
    }
    let number = |maker: &mut Maker<'_>, path: &str, name: &str, text: &str| match settings
        .number(name, text)
    {
        Ok(value) => maker.set(path, Some(Put::Number(value))),
        Err(error) => maker.refuse(
            path,
            error.to_string().trim_start_matches(&format!("{name}: ")),
        ),
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

/// Puts problems of a piece at the fields they are about.
pub(super) fn place(problems: &[Problem], treatment: Option<&str>, typed: &mut Typed) {
    for p in problems {
        let own = treatment.map(|id| format!("treatment[{id}].piece"));
        let key = match own.as_deref().and_then(|own| p.key_path.strip_prefix(own)) {
            Some(rest) => Some(rest),
            None => p.key_path.strip_prefix("piece"),
        };
        let known = |k: &str| {
            let fields = MEASURES.iter().chain([&THICKNESS]).chain(&HOLES);
            k == "outline" || k == "docker.pattern" || fields.into_iter().any(|f| f.path == k)
        };
        let said = if p.allowed.is_empty() || p.message.contains(&p.allowed) {
            p.message.clone()
        } else {
            format!("{}; allowed: {}", p.message, p.allowed)
        };
        let (field, said) = match key.map(|k| k.trim_start_matches('.')) {
            Some("docker") => (at_hole(&p.message), said),
            Some(k) if known(k) => (k, said),
            _ if p.key_path.contains("piece") => ("", format!("{}: {said}", p.key_path)),
            _ => continue,
        };
        typed
            .errors
            .entry(field.to_owned())
            .or_insert_with(|| plain(&said));
    }
}

/// Which field of the docker holes a message is about.
fn at_hole(message: &str) -> &'static str {
    if message.contains("depth") {
        "docker.depth_mm"
    } else if message.contains("points are given") {
        "docker.points_mm"
    } else {
        "docker.pattern"
    }
}

/// An error in the words of the form: without the path that stands beside it anyway.
fn plain(why: &str) -> String {
    let rest = why.strip_prefix("piece.").and_then(|r| r.split_once(' '));
    let text = rest.map_or(why, |(_, rest)| rest);
    let mut chars = text.chars();
    let first: String = chars
        .next()
        .map_or_else(String::new, |c| c.to_uppercase().collect());
    let text = format!("{first}{}", chars.as_str());
    if text.ends_with(['.', '?', '!']) {
        text
    } else {
        format!("{text}.")
    }
}
