//! What was entered at a station, the newest first: who, when, and what was struck through and why.

use super::field::{Page, hidden};
use super::stations::At;
use crate::pages::study::encoded;
use app::AtBench;
use bench::{Nature, On, Station, Struck, Value, What, read_curve};
use book::BenchEntry;
use maud::{Markup, html};
use measure::Finding;
use paper::number;
use trials::response::Response;

/// Rows shown before somebody asks for all.
const SHOWN: usize = 60;

/// Where a row is written.
pub(super) fn station_of(row: &BenchEntry) -> Station {
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
pub(crate) fn list(at: &At<'_>, station: Station, all: bool) -> Markup {
    let rows: Vec<&BenchEntry> = at
        .here
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
            template #a-strike { (strike(&at.page, &StruckRow::default())) }
            ol {
                @for row in rows.iter().take(rows.len() - hidden) { (one(at, row)) }
            }
            @if hidden > 0 { p { a .way href=(format!("{}?all=yes", at.page.to)) { "and " (hidden) " earlier" } } }
            @if rows.is_empty() { p .second { "Nothing is entered here yet." } }
        }
    }
}

fn one(at: &At<'_>, row: &BenchEntry) -> Markup {
    let (page, state) = (&at.page, &at.here.made.state);
    let key = row.row.key.as_str();
    let struck = state.struck.iter().find(|s| s.told.key == key);
    let after = state.after_signing.iter().any(|k| k == key);
    let beside = state.findings.iter().filter(|f| is_of_row(&f.about, key));
    let value = state.values.iter().find(|v| v.told.key == key);
    let curve = state.curves.iter().find(|c| c.told.key == key);
    let aside = value
        .and_then(Value::set_aside)
        .or(curve.and_then(|c| c.set_aside.as_deref()));
    let by = &row.row;
    html! {
        li #(format!("row-{key}")) .struck[struck.is_some()] data-row=(key) data-what=(by.what) data-amount=[value.map(|v| v.value)] {
            @match struck {
                Some(struck) => { s { (words(at, row)) } (by_whom(page, struck)) }
                None => { b { (words(at, row)) } }
            }
            span .told { " " (page.settings.dates.written(&by.at)) ", " (by.who) @if let Some(device) = &by.device { ", " (device) }
                @if after { ", after signing" }
                @if let Some(why) = by.why.as_deref().filter(|_| by.strikes.is_none()) { ", confirmed: " (why) }
                @if let Some(struck) = by.strikes.as_ref().and_then(|key| state.struck.iter().find(|s| s.told.key == *key)) { ", strikes ‘" (short(struck)) "’ through: " (by.why.as_deref().unwrap_or_default()) }
                @if let Some(why) = aside { ", set aside: " (why) }
            }
            @for finding in beside { p .wrong { (finding.message) " " (finding.help) } }
            @if struck.is_none() && !(by.strikes.is_some() && by.value.is_empty()) {
                @let amount = value.is_some() && What::from_word(&by.what).is_some_and(|w| w.about().nature == Nature::Amount && w != What::Dose);
                @let measured = aside.is_none() && (amount || curve.is_some());
                @let wrong = page.wrong.is_some_and(|w| w.strikes == key || w.what == What::SetAside && w.of == key);
                details open[wrong] {
                    summary { @if measured { "Strike through, set aside" } @else { "Strike through" } }
                    (strike(page, &StruckRow { what: &by.what, key, of: by.of.as_deref(), on: by.on.as_deref(), unit: by.unit.as_deref(), value: &by.value }))
                    @if measured { (set_aside(page, key)) }
                }
            }
        }
    }
}

/// What a row is of, by its name.
fn named(at: &At<'_>, what: Option<What>, of: &str) -> String {
    let here = at.here;
    let name = match what.and_then(|w| w.about().of) {
        Some("material") => at
            .weigh
            .iter()
            .find(|l| l.material == of)
            .map(|l| l.name.clone()),
        Some("response") => here.made.batch.response(of).map(|a| a.name.clone()),
        Some("method") => Response::find(of).map(|r| r.about().name.to_owned()),
        Some("row") => here.rows.iter().find(|r| r.row.key == of).map(|row| {
            let what = What::from_word(&row.row.what);
            let label = what.map_or(row.row.what.as_str(), |w| w.about().label);
            match what.map(|w| w.about().nature) {
                Some(Nature::Curve) => {
                    format!("{label} {}", row.row.of.as_deref().unwrap_or_default())
                }
                _ => format!("{label} {}", row.row.value),
            }
        }),
        Some(which) => Some(format!("{which} {of}")),
        None => None,
    };
    name.unwrap_or_else(|| of.to_owned())
}

/// What a row says.
pub(super) fn words(at: &At<'_>, row: &BenchEntry) -> Markup {
    let what = What::from_word(&row.row.what);
    let label = what.map_or(row.row.what.as_str(), |w| w.about().label);
    let nature = what.map(|w| w.about().nature);
    let asked = row
        .row
        .of
        .as_deref()
        .and_then(|of| at.here.made.batch.response(of));
    let unit = row
        .row
        .unit
        .as_deref()
        .or(asked
            .filter(|_| what == Some(What::Observed))
            .map(|a| a.unit.as_str()))
        .or(what.map(|w| w.about().unit))
        .unwrap_or_default();
    let on = row
        .row
        .on
        .as_deref()
        .map(|on| On::read(on).map_or_else(|_| on.to_owned(), |on| on.told()));
    html! {
        (label) @if let Some(of) = &row.row.of { " " (named(at, what, of)) } @if let Some(on) = on { ", " (on) }
        @match nature {
            _ if row.row.value.is_empty() => { ": struck through" }
            Some(Nature::Moment) => {}
            Some(Nature::Curve) => { ": " (curve_told(&row.row.value)) }
            Some(Nature::Picture) => { ": " a href=(format!("/bench/picture/{}", encoded(&row.row.value))) { "photograph" } }
            Some(Nature::Words) if what == Some(What::Signed) => { ": " (row.row.value.chars().take(12).collect::<String>()) }
            _ => { ": " (row.row.value) @if !unit.is_empty() && nature != Some(Nature::Words) { "\u{a0}" (unit) } }
        }
    }
}

/// What a row said that was struck through.
fn short(struck: &Struck) -> String {
    match What::from_word(&struck.what).map(|w| w.about().nature) {
        Some(Nature::Curve) => curve_told(&struck.value),
        _ => struck.value.clone(),
    }
}

/// What a curve says in few words.
fn curve_told(text: &str) -> String {
    let Some(readings) = read_curve(text) else {
        return "readings that can’t be read".to_owned();
    };
    let last_min = readings.last().map_or(0.0, |r| r.0 / 60.0);
    let most = readings.iter().map(|r| r.1).fold(f64::MIN, f64::max);
    format!(
        "{} readings over {} min, up to {} °C",
        readings.len(),
        number::fixed(last_min, 1),
        number::fixed(most, 1)
    )
}

fn by_whom(page: &Page<'_>, struck: &Struck) -> Markup {
    html! { span .because { " struck through by " (struck.by.who) ", " (page.settings.dates.written(&struck.by.at)) ": " (struck.why) } }
}

/// The row that a strike is about; nothing of it where the script fills it in.
#[derive(Default)]
struct StruckRow<'a> {
    what: &'a str,
    key: &'a str,
    of: Option<&'a str>,
    on: Option<&'a str>,
    unit: Option<&'a str>,
    value: &'a str,
}

/// The way to strike a row through, with the right value in its place where there is one.
fn strike(page: &Page<'_>, row: &StruckRow<'_>) -> Markup {
    let nature = What::from_word(row.what).map(|w| w.about().nature);
    let has_value = row.key.is_empty()
        || matches!(
            nature,
            Some(Nature::Amount | Nature::Count | Nature::Step | Nature::Words)
        ) && row.what != What::Signed.about().word;
    let wrong = page
        .wrong
        .filter(|w| !row.key.is_empty() && w.strikes == row.key);
    let shown = match nature {
        Some(Nature::Curve) => curve_told(row.value),
        _ => row.value.to_owned(),
    };
    html! {
        form .enter .strike method="post" action=(page.to) data-enter=(row.what) data-label=(format!("strikes ‘{}’ through", shown)) {
            (hidden(page, row.what))
            input type="hidden" name="strikes" value=(row.key);
            @for (name, value) in [("of", row.of), ("on", row.on), ("unit", row.unit)] {
                @if value.is_some() || row.key.is_empty() { input type="hidden" name=(name) value=(value.unwrap_or_default()); }
            }
            @if has_value { label .right-value { "the right value, if there is one" input name="value" maxlength="1000" autocomplete="off" value=(wrong.map_or("", |w| w.value.as_str())); } }
            label { "why it is wrong" input name="why" maxlength="300" autocomplete="off" required value=(wrong.map_or("", |w| w.why.as_str())); }
            button { "Strike it through" }
            p .wrong role="alert" { @if let Some(wrong) = wrong { (wrong.told) } }
        }
    }
}

/// The way to set a value aside: it stays readable, and nothing is worked out from it.
fn set_aside(page: &Page<'_>, key: &str) -> Markup {
    let about = What::SetAside.about();
    let wrong = page
        .wrong
        .filter(|w| w.what == What::SetAside && w.of == key);
    html! {
        form .enter method="post" action=(page.to) data-enter=(about.word) data-label=(about.label) {
            (hidden(page, about.word))
            input type="hidden" name="of" value=(key);
            label { "why it doesn’t count" input name="value" maxlength="300" autocomplete="off" required value=(wrong.map_or("", |w| w.value.as_str())); }
            button { "Set it aside" }
            p .wrong role="alert" { @if let Some(wrong) = wrong { (wrong.told) } }
        }
    }
}
