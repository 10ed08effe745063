//! The whole batch sheet on paper: every station with all that was entered there, what was struck through, and the signature.

use super::batch::writer;
use super::field::Page;
use super::rows::{station_of, words};
use super::stations::At;
use super::{ADDRESS, batch};
use crate::error::Failure;
use crate::pages::study::encoded;
use crate::shell;
use crate::wants::Wants;
use app::{App, AtBench, Device};
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Response};
use axum::{Extension, Json};
use bench::{Mark, Station, What};
use book::BenchEntry;
use maud::{Markup, html};
use paper::number;
use paper::parts::findings;

/// The address of a batch on paper.
pub(super) fn address(batch: &str) -> String {
    format!("{ADDRESS}/{}/paper", encoded(batch))
}

/// The page.
pub(crate) async fn page(
    State(app): State<App>,
    device: Option<Extension<Device>>,
    Path(thing): Path<String>,
    wants: Wants,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, wants);
    let here = app.at_bench(&thing).await.map_err(told)?;
    if wants == Wants::Json {
        return Ok(Json(here).into_response());
    }
    let settings = app.settings().await.map_err(told)?;
    let batch = &here.made.batch;
    // A list that can't be told is no reason to print nothing of what was done.
    let weigh = app.weigh_list(batch).await.unwrap_or_default();
    let who = writer(device.as_deref(), &settings, None);
    let at = At {
        page: Page {
            to: batch::address(&thing, Station::Sheet),
            who: &who,
            settings: &settings,
            wrong: None,
        },
        here: &here,
        weigh: &weigh,
        chosen: None,
        planned_min: None,
    };
    let called = here
        .of
        .as_ref()
        .map_or(batch.label.as_str(), |of| &of.called);
    let title = format!("Batch sheet: {called}, {}", batch.code);
    let body = html! {
        p .line .no-print { a .way href=(batch::address(&thing, Station::Sheet)) { "Back to the batch" } " " button type="button" data-print hidden { "Print" } }
        h1 { (title) }
        (facts(&here))
        @for station in Station::ALL { (part(&at, station)) }
        (findings(&here.made.state.findings))
        (closing(&at))
        p .second { "Raw dough and raw flour can carry germs; flour dust explodes and sensitises; ovens burn. Local codes decide." }
    };
    Ok(shell::bench(wants, &title, &body).into_response())
}

/// What the batch is: by which trial and which revision of the study, where it stands, how much it is.
fn facts(here: &AtBench) -> Markup {
    let batch = &here.made.batch;
    let kg = |kg: f64| number::fixed(kg, 3);
    html! {
        p .second {
            @if let Some(of) = &here.of { (of.name) ", batch " (of.nth) " of " (of.batches) ". " }
            @else { "A batch of no trial. " }
            @for place in &batch.places { (place.name) " " (place.value) ". " }
            @for s in &batch.settings { (s.name) " " (s.value) @if !s.unit.is_empty() { " " (s.unit) } ". " }
            "By the study as of revision " (batch.revision) ", " (batch.hash.chars().take(12).collect::<String>()) "."
            @if let Some(n) = batch.pieces { " " (n) " pieces" }
            @if let Some(dough) = batch.dough_kg { ", " (kg(dough)) " kg of dough" }
            @if let Some(mix) = batch.dry_mix_kg { ", " (kg(mix)) " kg of dry mix" }
            @if batch.pieces.is_some() { "." }
        }
        @if let Some(given_up) = &here.made.state.abandoned { p .wrong { "This batch was given up: " (given_up.words) } }
    }
}

/// A station with all its entries, in the order of the book; room to write where there are none.
fn part(at: &At<'_>, station: Station) -> Markup {
    let all = at.here.rows.iter();
    let rows: Vec<&BenchEntry> = all.filter(|r| station_of(r) == station).collect();
    html! {
        section .part .on-paper {
            h2 { (station.word()) }
            (summary(at, station))
            @if rows.is_empty() {
                p .second { "Nothing is entered. " (station.task()) }
                div .to-fill { div { span .rule {} } div { span .rule {} } }
            } @else {
                table .list .long {
                    thead { tr { th scope="col" { "entered" } th scope="col" { "when" } th scope="col" { "by" } th scope="col" { "to know" } } }
                    tbody { @for row in rows { (one(at, row)) } }
                }
            }
        }
    }
}

fn one(at: &At<'_>, row: &BenchEntry) -> Markup {
    let state = &at.here.made.state;
    let by = &row.row;
    let struck = state.struck.iter().find(|s| s.told.key == by.key);
    let value = state.values.iter().find(|v| v.told.key == by.key);
    let curve = state.curves.iter().find(|c| c.told.key == by.key);
    let beyond = value.is_some_and(|v| v.marks.iter().any(|m| matches!(m, Mark::Beyond { .. })));
    let aside = value
        .and_then(bench::Value::set_aside)
        .or(curve.and_then(|c| c.set_aside.as_deref()));
    let strikes = by.strikes.is_some() && by.value.is_empty();
    let mut know: Vec<String> = Vec::new();
    if let Some(struck) = struck {
        know.push(format!(
            "struck through by {}: {}",
            struck.by.who, struck.why
        ));
    }
    if strikes {
        know.push(by.why.clone().unwrap_or_default());
    } else if let Some(why) = &by.why {
        know.push(why.clone());
    }
    if beyond {
        know.push("beyond what is plausible".to_owned());
    }
    know.extend(aside.map(|why| format!("set aside: {why}")));
    if state.after_signing.contains(&by.key) {
        know.push("after signing".to_owned());
    }
    let device = by.device.as_deref().map(|d| format!(", {d}"));
    html! {
        tr {
            td .words { @if struck.is_some() { s { (words(at, row)) } } @else { (words(at, row)) } }
            td { (at.page.settings.dates.written(&by.at)) }
            td { (by.who) (device.unwrap_or_default()) }
            td .words { (know.join("; ")) }
        }
    }
}

/// What the entries of a station come to.
fn summary(at: &At<'_>, station: Station) -> Markup {
    let state = &at.here.made.state;
    let kg = |kg: f64| number::fixed(kg, 3);
    match station {
        Station::Weigh if !at.weigh.is_empty() => {
            let weighed = |material: &str| {
                let of = |v: &&bench::Value| v.of.as_deref() == Some(material);
                state.of(What::Weighed).filter(of).last().map(|v| v.value)
            };
            html! {
                table .list .long {
                    thead { tr { th scope="col" { "material" } th .n scope="col" { "to weigh, kg" } th .n scope="col" { "weighed, kg" } } }
                    tbody { @for line in at.weigh { tr {
                        th scope="row" { (line.name) } td .n { (kg(line.weighed_kg)) }
                        td .n { @match weighed(&line.material) { Some(v) => (kg(v)), None => "–" } }
                    } } }
                }
            }
        }
        Station::Water if !state.water.doses.is_empty() => html! {
            p { (kg(state.water.total_kg)) " kg of water in all"
                @if let Some(per) = state.water.per_100kg { ", " (number::fixed(per, 1)) " kg per 100 kg of dry mix" }
                @if let Some(right) = &state.water.right { "; called right by " (right.who) } "." }
        },
        Station::Cut if state.counts.out_of() > 0 => html! {
            p { (state.counts.left_whole()) " of " (state.counts.out_of()) " pieces left whole; " (state.counts.broken) " broken, " (state.counts.stuck) " stuck." }
        },
        Station::Oven if !state.loads.is_empty() => html! {
            p { @for (i, load) in state.loads.iter().enumerate() {
                @if i > 0 { "; " } "tray " (load.tray) ": "
                @match load.minutes { Some(min) => { (number::fixed(min, 1)) " min" }, None => "no time" }
            } "." }
        },
        _ => html! {},
    }
}

/// The signature, or room for it.
fn closing(at: &At<'_>) -> Markup {
    let state = &at.here.made.state;
    html! {
        section .part {
            h2 { "Signed" }
            @match &state.signed {
                Some(signed) => { p { "By " (signed.told.who) ", " (at.page.settings.dates.written(&signed.told.at)) ", at the entry with the hash " code { (signed.hash) } "." } }
                None => { div .to-fill { @for what in ["day", "made by", "checked by"] { div { span .rule {} (what) } } } }
            }
        }
    }
}
