//! Two people changed the same revision: what both wrote, cell by cell, and the ways out.

use super::history::change_list;
use super::study::back;
use super::who;
use crate::error::Failure;
use crate::fields::Fields;
use crate::sent::Sent;
use crate::shell::{self, Room};
use crate::wants::Wants;
use app::{App, BothWrote, Choices, SaveOutcome, Settling, Side, settling};
use axum::Json;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use maud::{Markup, html};
use serde_json::json;

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
    let settling = settling(from, &theirs.form, yours);
    let e = &theirs.entry;
    // Whoever works in two windows, or is stopped between two requests, meets what they did themselves.
    let own = e.who == settings.who;
    let who = if own {
        format!("{} (in another window)", e.who)
    } else {
        e.who.clone()
    };
    if wants != Wants::Page {
        return Ok((
            StatusCode::CONFLICT,
            Json(json!({
                "error": if own { "You saved in another window" } else { "Somebody saved in between" },
                "what": format!("{who} saved revision {} while you were working. Nothing of yours was saved or lost.", e.number),
                "way_out": "Look at both and choose.",
                "look": format!("/study/{thing}/conflict"),
                "stands": { "entry": e, "form": theirs.form },
                "typed": { "form": yours },
                "settling": settling.ok(),
            })),
        )
            .into_response());
    }
    let body = html! {
        h1 { "Both wrote here" }
        p {
            (who) " saved revision " (e.number) " on " (settings.dates.written(&e.when))
            @if let Some(why) = &e.why { " (" (why) ")" }
            ", while you worked"
            @if let Some(base) = base { " from revision " (base.entry.number) }
            ". Nothing of yours was saved, and nothing is lost: what you typed is kept in pencil."
        }
        @match &settling {
            Ok(settling) => (settle(thing, e.number, settling)),
            Err(error) => p { "What touches what can’t be told: " (error) },
        }
        h2 { "Or all of one" }
        form .line method="post" action=(format!("/study/{thing}/save-over")) {
            input type="hidden" name="theirs" value=(e.number);
            label { "why " input name="why" maxlength="2000"; }
            button { "Save all as you typed it, over revision " (e.number) }
        }
        form .line method="post" action=(format!("/study/{thing}/discard")) { (shell::looked_at(seen)) button { "Take all as it stands in revision " (e.number) ", and drop what you typed" } }
        p { a href=(Room::Sheet.address(thing)) { "Back to what you typed" } " · " a href=(format!("/study/{thing}/export")) { "keep it as a file" } }
    };
    Ok((
        StatusCode::CONFLICT,
        shell::page_of("history", "Both wrote here", &body),
    )
        .into_response())
}

/// What both wrote, to be chosen cell by cell, and what comes together by itself.
fn settle(thing: &str, number: u64, settling: &Settling) -> Markup {
    let value = |v: &Option<String>| html! { @match v { Some(v) => (v), None => span .second { "nothing" } } };
    let choice = |i: usize, cell: &BothWrote, side: Side| {
        let of = match side {
            Side::Stands => &cell.stands,
            Side::Typed => &cell.typed,
        };
        let words = match side {
            Side::Stands => "what stands here now",
            Side::Typed => "what you typed",
        };
        html! {
            td .words { label .tick {
                input type="radio" name=(format!("side.{i}")) value=(side.word()) required aria-label=(format!("{}: {words}", cell.what));
                " " (value(of))
            } }
        }
    };
    html! {
        form .settle method="post" action=(format!("/study/{thing}/settle")) {
            input type="hidden" name="seen" value=(number);
            @if settling.both.is_empty() {
                p { "Nothing that you typed touches the same: both come together as they are." }
            } @else {
                div .scroll role="region" aria-label="What both wrote" tabindex="0" {
                    table .list .both {
                        thead { tr { th scope="col" { "both wrote" } th scope="col" { "was" } th scope="col" { "what stands here now" } th scope="col" { "what you typed" } } }
                        tbody {
                            @for (i, cell) in settling.both.iter().enumerate() {
                                tr {
                                    th scope="row" { (cell.what) input type="hidden" name=(format!("way.{i}")) value=(cell.way); }
                                    td .words { (value(&cell.was)) }
                                    @for side in Side::ALL { (choice(i, cell, side)) }
                                }
                            }
                        }
                    }
                }
            }
            button .main { @if settling.both.is_empty() { "Put both together" } @else { "Put both together as chosen" } }
            p .second { "It stays in pencil until you save it." }
        }
        @if !settling.comes_in.is_empty() { h2 { "Comes in from revision " (number) } (change_list(&settling.comes_in)) }
        @if !settling.stays.is_empty() { h2 { "Stays as you typed it" } (change_list(&settling.stays)) }
    }
}

/// Puts both together as it was chosen.
pub(crate) async fn put_together(
    State(app): State<App>,
    Path(thing): Path<String>,
    wants: Wants,
    Sent(fields): Sent,
) -> Result<Response, Failure> {
    let failed = |e| Failure::of(e, wants);
    let who = who(&app).await.map_err(failed)?;
    let seen = fields.count("seen").map_err(failed)?;
    let mut choices = Choices::new();
    for (name, way) in &fields.0 {
        if let Some(n) = name.strip_prefix("way.") {
            let word = fields.maybe(&format!("side.{n}"));
            if let Some(side) = Side::ALL.into_iter().find(|s| Some(s.word()) == word) {
                choices.insert(way.clone(), side);
            }
        }
    }
    let view = app
        .settle(&who, &thing, seen, &choices)
        .await
        .map_err(failed)?;
    back(&app, &view, Room::Sheet, &Fields::default(), wants).await
}
