//! The whole report: one document that carries everything in it.

use crate::answer::answer;
use crate::water::Curve;
use crate::{
    Per, bake_curves, cost_build_up, findings, how_all_dry, how_it_comes_about, labels_beside,
    limits_kept, limits_of_validity, line_stations, mass_ribbon, sheet, target_words, water_curve,
};
use maud::{Markup, PreEscaped, html};
use measure::Units;
use study::{Compared, Study};

/// What a report is told besides its answers.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Options {
    /// What amounts in the sheet are told per.
    pub per: Per,
    /// Version of the program that worked it out.
    pub version: String,
}

/// The self-contained report, from cause to effect. The first of `compared` is the control;
/// `curves` may be empty or hold some of the treatments only.
pub fn document(
    study: &Study,
    compared: &[Compared],
    curves: &[Curve],
    options: &Options,
) -> String {
    let running_head = format!("{}, hardtack {}", study.name, options.version);
    let sections: [(&str, &str, Markup); 9] = [
        (
            "sheet",
            "What changes, and what it does",
            sheet(study, compared, options.per),
        ),
        (
            "kept",
            "Limits",
            limits_kept(study, compared, Units::Metric),
        ),
        ("bake", "The bake", bake_curves(compared)),
        (
            "water",
            "Dough water and the oven",
            water_curve(compared, curves),
        ),
        ("line", "Line and cost", line(compared)),
        ("label", "Label drafts", labels_beside(compared)),
        ("findings", "Findings", findings(compared)),
        ("limits", "What this report can’t say", limits_of_validity()),
        ("how", "How it comes about", how_it_comes_about(compared)),
    ];
    let told: Vec<_> = sections.iter().filter(|s| !s.2.0.is_empty()).collect();
    let body = html! {
        style { (PreEscaped(crate::STYLE)) }
        (head(study, compared, options))
        nav .contents aria-label="Contents" {
            @for (id, title, _) in &told { a href={ "#" (id) } { (title) } }
        }
        (findings::stops(compared))
        @for (id, title, part) in &told {
            section .part id=(id) { h2 { (title) } (part) }
        }
    };
    paper::self_contained(&study.name, &running_head, &body)
}

fn head(study: &Study, compared: &[Compared], options: &Options) -> Markup {
    html! {
        header .report-head {
            p .second { "Study report" }
            h1 { (study.name) }
            @if !study.question.is_empty() { p .lead { (study.question) } }
            (answer(study, compared))
            (how_all_dry(compared))
            @for paragraph in study.note.split("\n\n").filter(|p| !p.trim().is_empty()) { p { (paragraph) } }
            p .facts {
                span { "For " (study.species.word()) "s" }
                span { "Target: " (target_words(study)) }
                span { "Prices in " (study.currency) }
                span { "Worked out by hardtack " (options.version) }
                @if study.invented { span .invented { "Invented data" } }
            }
            dl .treatments {
                @for c in compared {
                    @let note = study.treatment(&c.answer.id).map_or("", |t| t.note.as_str());
                    dt { (c.answer.name) }
                    dd { @if note.is_empty() { span .empty { "–" } } @else { (note) } }
                }
            }
        }
    }
}

fn line(compared: &[Compared]) -> Markup {
    html! {
        (line_stations(compared))
        (cost_build_up(compared, Units::Metric))
        @if let Some(control) = compared.first() { (mass_ribbon(&control.answer, Units::Metric)) }
    }
}
