//! Two people changed the same revision: both versions, and the ways out.

use super::history::change_list;
use super::who;
use crate::error::Failure;
use crate::shell::{self, Room};
use crate::wants::Wants;
use app::{App, Change, SaveOutcome, diff};
use axum::Json;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use maud::html;
use serde_json::json;
use study::written::read_written;

/// The conflict that the person's draft would meet.
pub(crate) async fn page(
    State(app): State<App>,
    Path(thing): Path<String>,
    wants: Wants,
) -> Result<Response, Failure> {
    let failed = |e| Failure::of(e, wants);
    let who = who(&app).await.map_err(failed)?;
    match app.conflict(&who, &thing).await.map_err(failed)? {
        Some(conflict) => told(&app, &thing, &conflict, wants).await,
        None => Ok(Redirect::to(&Room::Sheet.address(&thing)).into_response()),
    }
}

fn between(from: &str, to: &str) -> Vec<Change> {
    match (read_written(from), read_written(to)) {
        (Ok(from), Ok(to)) => diff(&from, &to),
        _ => Vec::new(),
    }
}

/// A conflict, told with both versions.
pub(crate) async fn told(
    app: &App,
    thing: &str,
    outcome: &SaveOutcome,
    wants: Wants,
) -> Result<Response, Failure> {
    let SaveOutcome::Conflict {
        theirs,
        base,
        yours,
        seen,
    } = outcome
    else {
        return Ok(Redirect::to(&Room::Sheet.address(thing)).into_response());
    };
    let settings = app.settings().await.map_err(|e| Failure::of(e, wants))?;
    let from = base.as_ref().map_or("", |b| b.form.as_str());
    let (mine, other) = (between(from, yours), between(from, &theirs.form));
    let e = &theirs.entry;
    // Whoever works in two windows, or is stopped between two requests, meets what they did themselves.
    let who = if e.who == settings.who {
        format!("{} (in another window)", e.who)
    } else {
        e.who.clone()
    };
    if wants != Wants::Page {
        return Ok((
            StatusCode::CONFLICT,
            Json(json!({
                "error": if e.who == settings.who { "You saved in another window" } else { "Somebody saved in between" },
                "what": format!("{who} saved revision {} while you were working. Nothing of yours was saved or lost.", e.number),
                "way_out": "Look at both and choose.",
                "look": format!("/study/{thing}/conflict"),
                "theirs": { "entry": e, "changes": other, "form": theirs.form },
                "yours": { "changes": mine, "form": yours },
            })),
        )
            .into_response());
    }
    let body = html! {
        h1 { "Two changes of the same revision" }
        p {
            (who) " saved revision " (e.number) " on " (settings.dates.written(&e.when))
            @if let Some(why) = &e.why { " (" (why) ")" }
            ", while you worked"
            @if let Some(base) = base { " from revision " (base.entry.number) }
            ". Nothing of yours was saved, and nothing is lost: your changes are kept as a draft."
        }
        div .two {
            section { h2 { "Yours" } (change_list(&mine)) }
            section { h2 { "Theirs, revision " (e.number) } (change_list(&other)) }
        }
        h2 { "What now?" }
        form .line method="post" action=(format!("/study/{thing}/save-over")) {
            input type="hidden" name="theirs" value=(e.number);
            label { "why " input name="why" maxlength="2000"; }
            button { "Save yours over theirs, as a new revision" }
        }
        form .line method="post" action=(format!("/study/{thing}/discard")) { (shell::looked_at(seen)) button { "Take theirs and drop yours" } }
        p { a href=(Room::Sheet.address(thing)) { "Back to your draft" } " · " a href=(format!("/study/{thing}/export")) { "keep yours as a file" } }
    };
    Ok((
        StatusCode::CONFLICT,
        shell::page("Two changes of the same revision", &body),
    )
        .into_response())
}
