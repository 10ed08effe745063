//! Findings of all treatments: what several share is told once.

use maud::{Markup, html};
use measure::{Code, Finding, Severity};
use study::Compared;

/// What a person should know, those that weigh most first, each with the treatments it concerns.
pub fn findings(compared: &[Compared]) -> Markup {
    let shared = gather(compared, |_| true);
    html! {
        @if shared.is_empty() { p { "Nothing was found that a person should be told." } }
        @for severity in [Severity::Stop, Severity::Warn, Severity::Note] {
            @let mine: Vec<&Shared> = shared.iter().filter(|s| s.severity == severity).collect();
            @if !mine.is_empty() { (list(&mine, compared)) }
        }
    }
}

/// Only those that stop: what has to be settled before anything else is read.
pub(crate) fn stops(compared: &[Compared]) -> Markup {
    only(compared, |f| f.severity == Severity::Stop)
}

/// Some of the findings, each told once; nothing where there is none.
pub(crate) fn only(compared: &[Compared], wanted: impl Fn(&Finding) -> bool) -> Markup {
    let shared = gather(compared, wanted);
    let mine: Vec<&Shared> = shared.iter().collect();
    html! { @if !mine.is_empty() { (list(&mine, compared)) } }
}

fn list(shared: &[&Shared], compared: &[Compared]) -> Markup {
    let whose = |of: &[&str]| {
        html! { @if compared.len() > 1 { p .second .concerns { (concerns(of, compared)) } } }
    };
    html! {
        ul .findings .shared {
            @for s in shared {
                li .finding .(class(s.severity)) {
                    span .weight { (s.severity.word()) }
                    div {
                        @for said in &s.said { p { (said.message) } (whose(&said.of)) }
                        @if !s.help.is_empty() { p .help { (s.help) } }
                        @if !s.source.is_empty() { p .source { (s.source) } }
                    }
                }
            }
        }
    }
}

/// What is said of the same thing, with one way out and one source.
struct Shared<'a> {
    code: Code,
    severity: Severity,
    help: &'a str,
    source: &'a str,
    said: Vec<Said<'a>>,
}

/// What is said, and the treatments it concerns.
struct Said<'a> {
    message: &'a str,
    of: Vec<&'a str>,
}

fn gather(compared: &[Compared], wanted: impl Fn(&Finding) -> bool) -> Vec<Shared<'_>> {
    let mut all: Vec<Shared> = Vec::new();
    for c in compared {
        for f in c.answer.findings.iter().filter(|f| wanted(f)) {
            let alike = |s: &Shared| {
                s.code == f.code
                    && s.severity == f.severity
                    && s.help == f.help
                    && s.source == f.source
            };
            let at = all.iter().position(alike).unwrap_or_else(|| {
                all.push(Shared {
                    code: f.code,
                    severity: f.severity,
                    help: &f.help,
                    source: &f.source,
                    said: Vec::new(),
                });
                all.len() - 1
            });
            let name = c.answer.name.as_str();
            let said = &mut all[at].said;
            match said.iter_mut().find(|s| s.message == f.message) {
                Some(said) if said.of.contains(&name) => {}
                Some(said) => said.of.push(name),
                None => said.push(Said {
                    message: &f.message,
                    of: vec![name],
                }),
            }
        }
    }
    // What is said of the same thing stands together, in the order it was first said.
    let mut order: Vec<Code> = Vec::new();
    for s in &all {
        if !order.contains(&s.code) {
            order.push(s.code);
        }
    }
    all.sort_by_key(|s| order.iter().position(|code| *code == s.code));
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
