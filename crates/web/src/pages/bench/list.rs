//! The batches that wait at the bench, and those that were closed.

use super::ADDRESS;
use crate::error::Failure;
use crate::pages::trial;
use crate::shell;
use crate::wants::Wants;
use app::{App, AppError, Device, TrialView, called, now};
use axum::extract::State;
use axum::response::{IntoResponse, Response};
use axum::{Extension, Json};
use bench::Made;
use maud::{Markup, html};
use serde_json::json;

/// The page.
pub(crate) async fn page(
    State(app): State<App>,
    device: Option<Extension<Device>>,
    wants: Wants,
) -> Result<Response, Failure> {
    let day = app.day().await.map_err(|e| Failure::of(e, wants))?;
    if wants == Wants::Json {
        let all = day.iter().filter_map(|d| d.as_ref().ok());
        let all: Vec<_> = all
            .map(|v| json!({ "trial": v.entry.thing, "name": v.trial.name, "batches": v.made }))
            .collect();
        return Ok(Json(all).into_response());
    }
    let today: String = now().chars().take(10).collect();
    let on_view = |one: &Made| {
        let signed = one.state.signed.as_ref();
        !one.state.is_closed() || signed.is_some_and(|s| s.told.at.starts_with(&today))
    };
    let waits = day
        .iter()
        .filter_map(|d| d.as_ref().ok())
        .any(|v| v.made.iter().any(on_view));
    let body = html! {
        div .bench #bench data-stations=(bench::Station::ALL.map(bench::Station::word).join(" ")) {
            (outbox())
            h1 { "Bench" }
            @if let Some(Extension(device)) = &device { (who_is_here(device)) }
            @if !waits { p { "No batch is open. Batches are made where a trial is planned, on the page Trials of a study." } }
            @for one in &day { @match one {
                Ok(view) => (trial_part(view, wants, &on_view)),
                Err((name, error)) => (unread(name, error)),
            } }
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

fn unread(name: &str, error: &AppError) -> Markup {
    html! { section .of-trial { h2 { (name) } p .wrong role="alert" { "Its batches can’t be shown: " (error) } } }
}

fn trial_part(view: &TrialView, wants: Wants, on_view: &impl Fn(&Made) -> bool) -> Markup {
    let (open, closed): (Vec<&Made>, Vec<&Made>) = view.made.iter().partition(|m| on_view(m));
    let total = view.made.len();
    html! {
        section .of-trial {
            h2 { (view.trial.name) }
            @if wants != Wants::Alone { p .second { a .way href=(trial::address(&view.entry.thing)) { "Results" } } }
            @if !open.is_empty() { ul .batches { @for one in open { (row(view, one, total)) } } }
            @if !closed.is_empty() {
                details { summary { (closed.len()) " closed" } ul .batches { @for one in closed { (row(view, one, total)) } } }
            }
        }
    }
}

fn row(view: &TrialView, one: &Made, total: usize) -> Markup {
    let state = &one.state;
    let nth = view.made.iter().position(|m| m.id == one.id).unwrap_or(0) + 1;
    html! {
        li { a href=(format!("{ADDRESS}/{}", one.id)) {
            b { (called(&view.trial, &one.batch)) }
            span { "batch " (one.batch.order.unwrap_or(nth)) " of " (total) ", " (one.batch.code) @for place in &one.batch.places { ", " (place.name) " " (place.value) } }
            span .stands { @match (&state.abandoned, &state.signed) {
                (Some(why), _) => { "given up: " (why.words) }
                (_, Some(signed)) => { "signed by " (signed.told.who) }
                _ if state.is_begun() => { "at " (state.station().word()) ", " (state.rows) @if state.rows == 1 { " entry" } @else { " entries" } }
                _ => "to do",
            } }
        } }
    }
}
