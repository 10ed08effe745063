//! The batches that wait at the bench, and those that were closed.

use super::ADDRESS;
use crate::error::Failure;
use crate::pages::trial;
use crate::shell;
use crate::wants::Wants;
use app::{App, DayBatch, DayTrial, Device, now};
use axum::extract::State;
use axum::response::{IntoResponse, Response};
use axum::{Extension, Json};
use maud::{Markup, html};

/// The page.
pub(crate) async fn page(
    State(app): State<App>,
    device: Option<Extension<Device>>,
    wants: Wants,
) -> Result<Response, Failure> {
    let day = app.day().await.map_err(|e| Failure::of(e, wants))?;
    if wants == Wants::Json {
        return Ok(Json(day).into_response());
    }
    let today: String = now().chars().take(10).collect();
    let on_view = |one: &DayBatch| {
        let signed = one.stands.signed.as_ref();
        !one.stands.is_closed() || signed.is_some_and(|s| s.told.at.starts_with(&today))
    };
    let waits = day.iter().any(|t| t.batches.iter().any(on_view));
    let body = html! {
        div .bench #bench data-stations=(bench::Station::ALL.map(bench::Station::word).join(" ")) {
            (outbox())
            h1 { "Bench" }
            @if let Some(Extension(device)) = &device { (who_is_here(device)) }
            @if !waits { p { "No batch is open. Batches are made where a trial is planned, on the page Trials of a study; one on its own is begun there as well." } }
            @for one in &day { (trial_part(one, wants, &on_view)) }
            p .second { a .way href=(format!("{ADDRESS}/file")) { "Entries from a file" } }
        }
    };
    Ok(shell::bench(wants, "Bench", &body).into_response())
}

/// What waits on the device, told by the script.
pub(super) fn outbox() -> Markup {
    html! {
        div .outbox {
            p #as-it-was role="status" hidden {}
            p #waits role="status" {}
            button #again type="button" hidden { "Send again" }
            button #as-file type="button" hidden { "Save them as a file" }
            a #bring .way href=(format!("{ADDRESS}/file")) hidden { "Read a file in" }
            ul #refused {}
        }
    }
}

/// Who may write on this device.
pub(super) fn who_is_here(device: &Device) -> Markup {
    html! {
        p .second {
            @if device.signed_in.is_empty() { "Nobody has signed in on ‘" (device.name) "’. " } @else { (device.signed_in.join(", ")) " on ‘" (device.name) "’. " }
            a .way href="/bench/sign" { "Who is at the bench?" }
        }
    }
}

fn trial_part(of: &DayTrial, wants: Wants, on_view: &impl Fn(&DayBatch) -> bool) -> Markup {
    let all = of.batches.iter().enumerate();
    let (open, closed): (Vec<_>, Vec<_>) = all.partition(|(_, b)| on_view(b));
    let total = of.batches.len();
    html! {
        section .of-trial {
            h2 { (of.name) }
            @if let Some(id) = of.id.as_ref().filter(|_| wants != Wants::Alone) { p .second { a .way href=(trial::address(id)) { "Results" } } }
            @if !open.is_empty() { ul .batches { @for (i, one) in open { (row(one, i, total)) } } }
            @if !closed.is_empty() {
                details { summary { (closed.len()) " closed" } ul .batches { @for (i, one) in closed { (row(one, i, total)) } } }
            }
        }
    }
}

fn row(one: &DayBatch, at: usize, total: usize) -> Markup {
    let stands = &one.stands;
    html! {
        li { a href=(format!("{ADDRESS}/{}", one.id)) {
            b { (one.called) }
            span { "batch " (one.order.unwrap_or(at + 1)) " of " (total) ", " (one.code) @for place in &one.places { ", " (place.name) " " (place.value) } }
            span .stands { @match (&stands.abandoned, &stands.signed, stands.station) {
                (Some(why), _, _) => { "given up: " (why.words) }
                (_, Some(signed), _) => { "signed by " (signed.told.who) }
                (_, _, station) if stands.is_begun() => { @if let Some(station) = station { "at " (station.word()) ", " } (stands.rows) @if stands.rows == 1 { " entry" } @else { " entries" } }
                _ => "to do",
            } }
        } }
    }
}
