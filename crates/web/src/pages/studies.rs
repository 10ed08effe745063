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
use app::{App, AppError, Shelf, Start, StudyView, seen_from_above};
use axum::Json;
use axum::extract::{Path, Query, State};
use axum::response::{Html, IntoResponse, Redirect, Response};
use book::{Order, Page};
use maud::{Markup, html};
use paper::chart::small_piece;

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
    let shelf = if query.maybe("away").is_some() {
        Shelf::Away
    } else {
        Shelf::Out
    };
    let who = who(&app).await.map_err(told)?;
    let list = app
        .studies(&who, search, order, shelf, asked(&query).map_err(told)?)
        .await
        .map_err(told)?;
    if wants == Wants::Json {
        return Ok(Json(list).into_response());
    }
    let settings = app.settings().await.map_err(told)?;
    let notices = app.notices().await.map_err(told)?;
    let body = html! {
        h1 { @match shelf { Shelf::Out => "Studies", Shelf::Away => "Studies put away" } }
        p .lead { "A study asks one question of a dough: a control and its rivals side by side, worked out from formula to price." }
        @for notice in &notices { p .said role="alert" { (notice) } }
        form .line method="get" action="/" role="search" {
            @if shelf == Shelf::Away { input type="hidden" name="away" value="yes"; }
            label { span .unseen { "search" } input type="search" name="q" value=(search.unwrap_or("")) placeholder="words of the name"; }
            label { "order " select name="by" { option value="recent" { "latest first" } option value="title" selected[order == Order::Title] { "by name" } } }
            button { "Search" }
        }
        @if list.studies.items.is_empty() {
            @if search.is_some() { p { "No study has these words. " a href="/" { "Show all" } } }
            @else if shelf == Shelf::Away { p { "No study is put away. " a href="/" { "To the studies" } } }
            @else if list.put_away > 0 { p { "Every study is put away." } }
            @else { p { "The book has no study yet. Make one below, or read one in from a file: it starts with a control, and every change of it is a treatment beside it." } }
        } @else {
            ul .studies {
                @for line in &list.studies.items {
                    li {
                        div .picture data-so-far=(format!("/study/{}/picture", line.entry.thing)) {}
                        div .told {
                            h2 { a .title href=(Room::Sheet.address(&line.entry.thing)) { (line.entry.title) } @if line.draft_since.is_some() { " " span .unsaved { "with a draft" } } }
                            @if !line.question.is_empty() { p .asked { (line.question) } }
                            p .so-far data-so-far=(format!("/study/{}/so-far", line.entry.thing)) {}
                            p .second .saved {
                                "revision " (line.entry.number) ", " (settings.dates.written(&line.entry.when)) ", " (line.entry.who)
                                @if let Some(why) = line.entry.why.as_deref().filter(|w| !w.is_empty()) { ": " (why) }
                            }
                        }
                        form .away method="post" action=(format!("/study/{}/away", line.entry.thing)) {
                            @match shelf {
                                Shelf::Out => button .quiet name="to" value="away" { "Put away" span .unseen { ": " (line.entry.title) } },
                                Shelf::Away => button .quiet name="to" value="out" { "Take out again" span .unseen { ": " (line.entry.title) } },
                            }
                        }
                    }
                }
            }
            (turn(&address(search, order, shelf), list.studies.start, list.studies.items.len() as u64, list.studies.total))
        }
        @if shelf == Shelf::Away { p { a href="/" { "To the studies" } } } @else { (new(list.put_away, list.removed)) }
    };
    Ok(shell::page("Studies", &body).into_response())
}

fn address(search: Option<&str>, order: Order, shelf: Shelf) -> String {
    let by = if order == Order::Title {
        "&by=title"
    } else {
        ""
    };
    let away = if shelf == Shelf::Away {
        "&away=yes"
    } else {
        ""
    };
    format!("/studies?q={}{by}{away}", encoded(search.unwrap_or("")))
}

/// Ways to a new study, and to those that aren't in the list.
fn new(put_away: u64, removed: u64) -> Markup {
    html! {
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
        form .line method="post" action="/studies/from-book" enctype="multipart/form-data" {
            label { "or copied from another book " input type="file" name="file"; }
            button { "Look into it" }
        }
        p .elsewhere {
            @if put_away > 0 { a .way href="/?away=yes" { (put_away) " put away" } }
            @if removed > 0 { a .way href="/removed" { (removed) " removed" } }
        }
    }
}

/// Puts a study away, or out again.
pub(crate) async fn away(
    State(app): State<App>,
    Path(thing): Path<String>,
    wants: Wants,
    Sent(fields): Sent,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, wants);
    let (to, back) = match fields.text("to").map_err(told)? {
        "away" => (Shelf::Away, "/"),
        "out" => (Shelf::Out, "/?away=yes"),
        _ => {
            return Err(told(AppError::Value {
                field: "to".to_owned(),
                why: "a study is put away or taken out".to_owned(),
            }));
        }
    };
    app.put_away(&thing, to).await.map_err(told)?;
    Ok(Redirect::to(back).into_response())
}

async fn view(app: &App, thing: &str) -> Result<(StudyView, app::Settings), AppError> {
    let settings = app.settings().await?;
    Ok((app.study(&settings.who, thing).await?, settings))
}

/// The control's piece as a small picture.
pub(crate) async fn picture(
    State(app): State<App>,
    Path(thing): Path<String>,
    wants: Wants,
) -> Result<Response, Failure> {
    let (view, _) = view(&app, &thing)
        .await
        .map_err(|e| Failure::of(e, wants))?;
    let drawn = view.study.as_deref().map(|study| {
        let piece = seen_from_above(study.control());
        let said = format!("the piece of {}", study.control().name);
        small_piece(
            &said,
            &piece.outline_mm,
            &piece.holes_mm,
            piece.hole_radius_mm,
        )
    });
    Ok(Html(drawn.unwrap_or_default().into_string()).into_response())
}

/// The answer so far of a study, worked out when somebody looks at the list. Who asks how sure it is as well sets that to
/// work, and is told to ask again until it is known.
pub(crate) async fn so_far(
    State(app): State<App>,
    Path(thing): Path<String>,
    Query(query): Query<Fields>,
    wants: Wants,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, wants);
    let (view, settings) = view(&app, &thing).await.map_err(told)?;
    let Some(study) = view.study.as_deref() else {
        return Ok(Html(String::new()).into_response());
    };
    let sure = match query.maybe("sure") {
        Some(_) => Some(sheet::how_sure(&app, &view).map_err(told)?),
        None => None,
    };
    let spreads = sure.as_ref().and_then(|s| s.spreads.as_deref());
    let words = sheet::so_far(&view, study, &settings, spreads.map(Vec::as_slice));
    let again = sure.is_some_and(|s| s.done < 1.0);
    let body = html! { span data-again[again] { (words) } };
    Ok(Html(body.into_string()).into_response())
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
