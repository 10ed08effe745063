//! All responses of a trial side by side: a table of means, and every batch of each.

use super::{address, name_of};
use crate::pages::study::encoded;
use app::{ResponseResult, TrialView};
use maud::{Markup, html};
use paper::number;
use std::sync::Arc;
use trials::analyse::{Analysis, MeanLine, Scale};

/// The part of the page.
pub(super) fn by_side(view: &TrialView, all: &[Arc<ResponseResult>]) -> Markup {
    let told: Vec<(&ResponseResult, Option<&Analysis>)> = all
        .iter()
        .filter(|r| !r.is_empty())
        .map(|r| (r.as_ref(), r.outcome.as_ref().ok()))
        .collect();
    let names = view.trial.names();
    let mut rows: Vec<&str> = view
        .trial
        .treatments
        .iter()
        .map(|p| p.label.as_str())
        .collect();
    rows.sort_by_key(|label| view.trial.control.as_deref() != Some(*label));
    html! {
        section .part #side {
            h2 { "All side by side" }
            @if told.is_empty() { p { "Nothing is measured yet." } }
            @else {
                p .second { "Means with 95 % intervals; treatments that share a letter are not shown to differ in that response. Each response stands for itself: with many of them one in twenty shows a difference by chance." }
                div .scroll role="region" aria-label="All responses" tabindex="0" { table .list {
                    thead { tr { th scope="col" { "treatment" } @for (r, _) in &told { th .n scope="col" {
                        a href=(format!("{}?response={}#response", address(&view.entry.thing), encoded(&r.asked.id))) { (r.asked.name) }
                        @let unit = unit_of(r); @if !unit.is_empty() { span .unit { ", " (unit) } }
                    } } } }
                    tbody { @for label in rows { tr {
                        th scope="row" { (name_of(view, label)) }
                        @for (_, found) in &told { td .n { (mean(*found, label)) } }
                    } } }
                } }
                div .trial-pictures { @for (r, found) in &told {
                    @if let Some(picture) = report::trial::batches(&view.trial, &view.made, &r.asked, *found, &names) { div { h3 { (r.asked.name) } (picture) } }
                } }
            }
        }
    }
}

/// Shares are shown in per cent.
fn unit_of(r: &ResponseResult) -> &str {
    match &r.outcome {
        Ok(found) if found.measure == "share" => "%",
        _ => &r.asked.unit,
    }
}

fn mean(found: Option<&Analysis>, label: &str) -> String {
    let Some(found) = found else {
        return "not analysed".to_owned();
    };
    let other = found
        .comparisons
        .iter()
        .any(|c| c.scale == Scale::LogOddsOfHigher);
    let line = found.means.iter().find(|m| m.level == label);
    let times = if found.measure == "share" { 100.0 } else { 1.0 };
    let told = |m: &MeanLine| {
        let value = times * m.mean?;
        let words = match m.low95.zip(m.high95) {
            Some((low, high)) => {
                let (low, high) = (times * low, times * high);
                number::interval_to(value, low, high, number::places_for(low, high))
            }
            None => number::three(value),
        };
        Some(format!("{words} {}", m.letters))
    };
    let words = line.and_then(told).unwrap_or_else(|| "–".to_owned());
    // Means of scores stand on a scale of their own.
    if other {
        format!("{words} (score)")
    } else {
        words
    }
}
