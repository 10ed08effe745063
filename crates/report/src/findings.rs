//! Findings of all treatments: what several share is told once.

use maud::{Markup, html};
use measure::{Code, Finding, Severity};
use study::Compared;

/// What a person should know, those that weigh most first, each with the treatments it concerns.
pub fn findings(compared: &[Compared]) -> Markup {
    let shared = gather(compared);
    html! {
        @if shared.is_empty() { p { "Nothing was found that a person should be told." } }
        @for severity in [Severity::Stop, Severity::Warn, Severity::Note] {
            @let mine: Vec<&Shared> = shared.iter().filter(|s| s.finding.severity == severity).collect();
            @if !mine.is_empty() { (list(&mine, compared)) }
        }
    }
}

/// Only those that stop: what has to be settled before anything else is read.
pub(crate) fn stops(compared: &[Compared]) -> Markup {
    let shared = gather(compared);
    let mine: Vec<&Shared> = shared
        .iter()
        .filter(|s| s.finding.severity == Severity::Stop)
        .collect();
    html! { @if !mine.is_empty() { (list(&mine, compared)) } }
}

fn list(shared: &[&Shared], compared: &[Compared]) -> Markup {
    html! {
        ul .findings .shared {
            @for s in shared {
                li .finding .(class(s.finding.severity)) {
                    span .weight { (s.finding.severity.word()) }
                    div {
                        p { (s.finding.message) }
                        @if !s.finding.help.is_empty() { p .help { (s.finding.help) } }
                        @if compared.len() > 1 { p .second .concerns { (concerns(&s.of, compared)) } }
                        @if !s.finding.source.is_empty() { p .source { (s.finding.source) } }
                    }
                }
            }
        }
    }
}

/// A finding and the treatments it concerns.
struct Shared<'a> {
    finding: &'a Finding,
    of: Vec<&'a str>,
}

fn gather(compared: &[Compared]) -> Vec<Shared<'_>> {
    let mut all: Vec<Shared> = Vec::new();
    for c in compared {
        for finding in &c.answer.findings {
            match all.iter_mut().find(|s| s.finding == finding) {
                Some(s) => s.of.push(&c.answer.name),
                None => all.push(Shared {
                    finding,
                    of: vec![&c.answer.name],
                }),
            }
        }
    }
    // What is said of the same thing stands together, in the order it was first said.
    let mut order: Vec<Code> = Vec::new();
    for s in &all {
        if !order.contains(&s.finding.code) {
            order.push(s.finding.code);
        }
    }
    all.sort_by_key(|s| order.iter().position(|code| *code == s.finding.code));
    all
}

fn concerns(of: &[&str], compared: &[Compared]) -> String {
    if of.len() == compared.len() {
        return "all treatments".to_owned();
    }
    let others: Vec<&str> = compared
        .iter()
        .map(|c| c.answer.name.as_str())
        .filter(|n| !of.contains(n))
        .collect();
    if others.len() <= 2 && of.len() > others.len() + 1 {
        return format!("all treatments but {}", others.join(" and "));
    }
    of.join(" · ")
}

pub(crate) const fn class(severity: Severity) -> &'static str {
    match severity {
        Severity::Note => "note",
        Severity::Warn => "warn",
        Severity::Stop => "stop",
    }
}
