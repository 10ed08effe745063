//! The list of studies.

use super::history::turn;
use super::sheet;
use super::study::encoded;
use super::who;
use crate::error::Failure;
use crate::fields::Fields;
use crate::sent::Sent;
use crate::shell::{self, Room};
use crate::wants::Wants;
use app::{App, AppError, Start};
use axum::Json;
use axum::extract::{Path, Query, State};
use axum::response::{Html, IntoResponse, Redirect, Response};
use book::{Order, Page};
use maud::{Markup, html};

/// Studies on a page.
const LENGTH: u64 = 50;

fn asked(query: &Fields) -> Result<Page, AppError> {
    let start = if query.maybe("start").is_some() {
        query.count("start")?
    } else {
        0
    };
    Ok(Page {
        start,
        count: LENGTH,
    })
}

/// The page.
pub(crate) async fn list(
    State(app): State<App>,
    Query(query): Query<Fields>,
    wants: Wants,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, wants);
    let search = query.maybe("q");
    let order = if query.maybe("by") == Some("title") {
        Order::Title
    } else {
        Order::Recent
    };
    let who = who(&app).await.map_err(told)?;
    let list = app
        .studies(&who, search, order, asked(&query).map_err(told)?)
        .await
        .map_err(told)?;
    if wants == Wants::Json {
        return Ok(Json(list).into_response());
    }
    let settings = app.settings().await.map_err(told)?;
    let notices = app.notices().await.map_err(told)?;
    let body = html! {
        h1 { "Studies" }
        @for notice in &notices { p .said role="alert" { (notice) } }
        form .line method="get" action="/" role="search" {
            label { span .unseen { "search" } input type="search" name="q" value=(search.unwrap_or("")) placeholder="words of the name"; }
            label { "order " select name="by" { option value="recent" { "latest first" } option value="title" selected[order == Order::Title] { "by name" } } }
            button { "Search" }
        }
        @if list.studies.items.is_empty() {
            @if search.is_some() { p { "No study has these words. " a href="/" { "Show all" } } }
            @else { p { "The book has no study yet. Make one below, or read one in from a file: it starts with a control, and every change of it is a treatment beside it." } }
        } @else {
            div .scroll role="region" aria-label="Studies" tabindex="0" {
                table .list {
                    thead { tr { th scope="col" { "study" } th scope="col" { "revision" } th scope="col" { "saved" } th scope="col" { "by" } th scope="col" { "why" } } }
                    tbody {
                        @for line in &list.studies.items {
                            tr {
                                th scope="row" {
                                    a .title href=(Room::Sheet.address(&line.entry.thing)) { (line.entry.title) }
                                    @if line.draft_since.is_some() { " " span .unsaved { "with a draft" } }
                                }
                                td .figure { (line.entry.number) }
                                td { (settings.dates.written(&line.entry.when)) }
                                td { (line.entry.who) }
                                td .words { (line.entry.why.as_deref().unwrap_or("")) }
                            }
                            tr .told {
                                td colspan="5" {
                                    @if !line.question.is_empty() { p .asked { (line.question) } }
                                    p .so-far data-so-far=(format!("/study/{}/so-far", line.entry.thing)) {}
                                }
                            }
                        }
                    }
                }
            }
            (turn(&format!("/studies?q={}", encoded(search.unwrap_or(""))), list.studies.start, list.studies.items.len() as u64, list.studies.total))
        }
        h2 { "A new study" }
        form .line method="post" action="/studies" {
            label { "name " input name="name" required maxlength="200"; }
            label { "starts as " select name="start" { @for start in Start::ALL { option value=(start.word()) { (start.about()) } } } }
            button .main { "Make it" }
        }
        form .line method="post" action="/studies/import" enctype="multipart/form-data" {
            label { "or from a study file " input type="file" name="file" accept=".toml,text/plain"; }
            button { "Look at it first" }
        }
        @if list.removed > 0 { p { a href="/removed" { (list.removed) " removed" } } }
    };
    Ok(shell::page("Studies", &body).into_response())
}

/// The answer so far of a study, worked out when somebody looks at the list.
pub(crate) async fn so_far(
    State(app): State<App>,
    Path(thing): Path<String>,
    wants: Wants,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, wants);
    let settings = app.settings().await.map_err(told)?;
    let view = app.study(&settings.who, &thing).await.map_err(told)?;
    let body = view
        .study
        .as_deref()
        .map(|study| sheet::so_far(&view, study, &settings));
    Ok(Html(body.unwrap_or_default().into_string()).into_response())
}

/// A new study.
pub(crate) async fn create(
    State(app): State<App>,
    wants: Wants,
    Sent(fields): Sent,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, wants);
    let who = who(&app).await.map_err(told)?;
    let start = match fields.maybe("start") {
        None => Start::default(),
        Some(word) => Start::of(word)
            .ok_or_else(|| AppError::Value {
                field: "start".to_owned(),
                why: "choose one of the list".to_owned(),
            })
            .map_err(told)?,
    };
    let thing = app
        .create_started(&who, fields.text("name").map_err(told)?, start)
        .await
        .map_err(told)?;
    Ok(Redirect::to(&Room::Sheet.address(&thing)).into_response())
}

/// The studies that were removed.
pub(crate) async fn removed(
    State(app): State<App>,
    Query(query): Query<Fields>,
    wants: Wants,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, wants);
    let list = app
        .removed_studies(asked(&query).map_err(told)?)
        .await
        .map_err(told)?;
    if wants == Wants::Json {
        return Ok(Json(list).into_response());
    }
    let settings = app.settings().await.map_err(told)?;
    let body: Markup = html! {
        h1 { "Removed studies" }
        @if list.items.is_empty() { p { "No study was removed." } }
        ul {
            @for e in &list.items {
                li {
                    (e.title) ", removed on " (settings.dates.written(&e.when)) " by " (e.who)
                    @if let Some(why) = &e.why { ": " (why) }
                    @if e.number > 1 {
                        form .line method="post" action=(format!("/study/{}/restore", e.thing)) {
                            input type="hidden" name="base" value=(e.number);
                            input type="hidden" name="number" value=(e.number - 1);
                            button { "Take it up again" }
                        }
                    }
                }
            }
        }
        p { a href="/" { "To the studies" } }
    };
    Ok(shell::page("Removed studies", &body).into_response())
}
