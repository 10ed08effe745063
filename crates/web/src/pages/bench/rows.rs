//! What was entered at a station, the newest first: who, when, and what was struck through and why.

use super::field::{Page, hidden};
use crate::pages::study::encoded;
use app::AtBench;
use bench::{Nature, On, Station, Struck, What};
use book::BenchEntry;
use maud::{Markup, html};
use measure::Finding;

/// Rows shown before somebody asks for all.
const SHOWN: usize = 60;

/// Where a row is written.
fn station_of(row: &BenchEntry) -> Station {
    What::from_word(&row.row.what).map_or(Station::Sheet, |w| w.about().station)
}

/// Whether a finding stands beside a row: it names the key, behind the word of what it says or alone.
fn is_of_row(about: &str, key: &str) -> bool {
    let before = about.strip_suffix(key);
    before.is_some_and(|before| before.is_empty() || before.ends_with(':'))
}

/// What to know of a station, except what stands beside a row.
pub(crate) fn findings(here: &AtBench, station: Station) -> Vec<Finding> {
    let rows = &here.rows;
    let at = |finding: &Finding| {
        let about = finding.about.as_str();
        if rows.iter().any(|r| is_of_row(about, &r.row.key)) {
            return false;
        }
        let word = about.split(':').next().unwrap_or_default();
        let named = Station::ALL.into_iter().find(|s| s.word() == word);
        named
            .or_else(|| What::from_word(word).map(|w| w.about().station))
            .unwrap_or(Station::Sheet)
            == station
    };
    here.made
        .state
        .findings
        .iter()
        .filter(|f| at(f))
        .cloned()
        .collect()
}

/// The list.
pub(crate) fn list(page: &Page<'_>, here: &AtBench, station: Station, all: bool) -> Markup {
    let rows: Vec<&BenchEntry> = here
        .rows
        .iter()
        .rev()
        .filter(|r| station_of(r) == station)
        .collect();
    let hidden = if all {
        0
    } else {
        rows.len().saturating_sub(SHOWN)
    };
    html! {
        section .entered aria-label="Entered here" {
            ol #pending {}
            ol {
                @for row in rows.iter().take(rows.len() - hidden) { (one(page, here, row)) }
            }
            @if hidden > 0 { p { a .way href=(format!("{}?all=yes", page.to)) { "and " (hidden) " earlier" } } }
            @if rows.is_empty() { p .second { "Nothing is entered here yet." } }
        }
    }
}

fn one(page: &Page<'_>, here: &AtBench, row: &BenchEntry) -> Markup {
    let state = &here.made.state;
    let struck = state.struck.iter().find(|s| s.told.key == row.row.key);
    let after = state.after_signing.contains(&row.row.key);
    let beside = state
        .findings
        .iter()
        .filter(|f| is_of_row(&f.about, &row.row.key));
    html! {
        li #(format!("row-{}", row.row.key)) .struck[struck.is_some()] {
            @match struck {
                Some(struck) => { s { (words(row)) } (by(page, struck)) }
                None => { b { (words(row)) } }
            }
            span .told { " " (page.settings.dates.written(&row.row.at)) ", " (row.row.who) @if let Some(device) = &row.row.device { ", " (device) }
                @if after { ", after signing" }
                @if let Some(why) = row.row.why.as_deref().filter(|_| row.row.strikes.is_none()) { ", confirmed: " (why) }
                @if let Some(struck) = row.row.strikes.as_ref().and_then(|key| state.struck.iter().find(|s| s.told.key == *key)) { ", strikes ‘" (struck.value) "’ through: " (row.row.why.as_deref().unwrap_or_default()) }
            }
            @for finding in beside { p .wrong { (finding.message) " " (finding.help) } }
            @if struck.is_none() && !(row.row.strikes.is_some() && row.row.value.is_empty()) { (strike(page, row)) }
        }
    }
}

/// What a row says.
fn words(row: &BenchEntry) -> Markup {
    let what = What::from_word(&row.row.what);
    let label = what.map_or(row.row.what.as_str(), |w| w.about().label);
    let nature = what.map(|w| w.about().nature);
    let unit = row
        .row
        .unit
        .as_deref()
        .or(what.map(|w| w.about().unit))
        .unwrap_or_default();
    let on = row
        .row
        .on
        .as_deref()
        .map(|on| On::read(on).map_or_else(|_| on.to_owned(), |on| on.told()));
    html! {
        (label) @if let Some(of) = &row.row.of { " " (of) } @if let Some(on) = on { ", " (on) }
        @match nature {
            _ if row.row.value.is_empty() => { ": struck through" }
            Some(Nature::Moment) => {}
            Some(Nature::Picture) => { ": " a href=(format!("/bench/picture/{}", encoded(&row.row.value))) { "photograph" } }
            Some(Nature::Words) if what == Some(What::Signed) => { ": " (row.row.value.chars().take(12).collect::<String>()) }
            _ => { ": " (row.row.value) @if !unit.is_empty() && nature != Some(Nature::Words) { "\u{a0}" (unit) } }
        }
    }
}

fn by(page: &Page<'_>, struck: &Struck) -> Markup {
    html! { span .because { " struck through by " (struck.by.who) ", " (page.settings.dates.written(&struck.by.at)) ": " (struck.why) } }
}

/// The way to strike a row through, with the right value in its place where there is one.
fn strike(page: &Page<'_>, row: &BenchEntry) -> Markup {
    let nature = What::from_word(&row.row.what).map(|w| w.about().nature);
    let has_value = matches!(
        nature,
        Some(Nature::Amount | Nature::Count | Nature::Step | Nature::Words)
    ) && row.row.what != What::Signed.about().word;
    let wrong = page.wrong.filter(|w| w.strikes == row.row.key);
    html! {
        details open[wrong.is_some()] {
            summary { "Strike through" }
            form .enter .strike method="post" action=(page.to) data-enter=(row.row.what) data-label=(format!("strikes ‘{}’ through", row.row.value)) {
                (hidden(page, &row.row.what))
                input type="hidden" name="strikes" value=(row.row.key);
                @if let Some(of) = &row.row.of { input type="hidden" name="of" value=(of); }
                @if let Some(on) = &row.row.on { input type="hidden" name="on" value=(on); }
                @if let Some(unit) = &row.row.unit { input type="hidden" name="unit" value=(unit); }
                @if has_value { label { "the right value, if there is one" input name="value" maxlength="1000" autocomplete="off" value=(wrong.map_or("", |w| w.value.as_str())); } }
                label { "why it is wrong" input name="why" maxlength="300" autocomplete="off" required value=(wrong.map_or("", |w| w.why.as_str())); }
                button { "Strike it through" }
                p .wrong role="alert" { @if let Some(wrong) = wrong { (wrong.told) } }
            }
        }
    }
}
