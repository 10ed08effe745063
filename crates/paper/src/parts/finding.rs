//! Findings: what a person should know beside a result.

use maud::{Markup, html};
use measure::{Finding, Severity};

/// Draws findings, those that weigh most first; nothing when there is none.
pub fn findings(findings: &[Finding]) -> Markup {
    let mut order: Vec<&Finding> = findings.iter().collect();
    order.sort_by_key(|f| std::cmp::Reverse(f.severity));
    html! {
        @if !order.is_empty() {
            ul .findings {
                @for finding in order {
                    li .finding .(class(finding.severity)) {
                        span .weight { (finding.severity.word()) }
                        div {
                            p { (finding.message) }
                            @if !finding.help.is_empty() { p .help { (finding.help) } }
                            @if !finding.source.is_empty() { p .source { (finding.source) } }
                        }
                    }
                }
            }
        }
    }
}

const fn class(severity: Severity) -> &'static str {
    match severity {
        Severity::Note => "note",
        Severity::Warn => "warn",
        Severity::Stop => "stop",
    }
}
