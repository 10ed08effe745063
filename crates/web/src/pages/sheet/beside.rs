//! What stands beside a number: that it isn't known, or the word of a finding.

use super::column::Column;
use super::frame::Frame;
use maud::{Markup, html};
use measure::{Finding, Severity};
use study::Figure;

/// A hollow ring for what is not known, with its reason.
pub fn unknown(why: &str) -> Markup {
    html! { span .unknown tabindex="0" { span .unseen { "not known: " } span .why { (why) } } }
}

/// Where a finding stands in the sheet.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Place {
    /// Beside a figure.
    Of(Figure),
    /// Beside the water need.
    Water,
}

fn place_of(about: &str) -> Option<Place> {
    if let Some(figure) = Figure::with_key(about) {
        return Some(Place::Of(figure));
    }
    let room = about.split(['.', ':']).next().unwrap_or_default();
    match (room, about) {
        ("dough", _) => Some(Place::Water),
        ("piece", _) => Some(Place::Of(Figure::GreenMass)),
        ("bake" | "oven" | "properties", _) => Some(Place::Of(Figure::BakeTime)),
        ("line" | "rework", _) => Some(Place::Of(Figure::Output)),
        (_, "formula.fat") => Some(Place::Of(Figure::Fat)),
        (_, "formula.salt") => Some(Place::Of(Figure::Sodium)),
        ("nutrition", _) => Some(Place::Of(Figure::Energy)),
        ("cost", _) => Some(Place::Of(Figure::CostPerKg)),
        _ => None,
    }
}

/// The word of the weightiest finding at a place of a treatment; notes stand in the list alone.
pub fn beside(c: &Column, places: &[Place]) -> Markup {
    let found = c.compared.map_or(&[][..], |c| &c.answer.findings);
    let here = found
        .iter()
        .filter(|x| place_of(&x.about).is_some_and(|p| places.contains(&p)));
    word_of(here)
}

/// The same for a material of any treatment.
pub fn beside_material(f: &Frame, id: &str) -> Markup {
    let about = format!("material:{id}");
    let of = f
        .columns
        .iter()
        .filter_map(|c| c.compared)
        .flat_map(|c| &c.answer.findings);
    word_of(of.filter(|x| x.about == about))
}

fn word_of<'a>(findings: impl Iterator<Item = &'a Finding>) -> Markup {
    let worst = findings
        .filter(|f| f.severity > Severity::Note)
        .max_by_key(|f| f.severity);
    html! {
        @if let Some(finding) = worst {
            " " a .beside .stop[finding.severity == Severity::Stop] href="#findings" title=(finding.message) { (finding.severity.word()) }
        }
    }
}
