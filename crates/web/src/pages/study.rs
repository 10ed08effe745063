//! What is done to a study: edits, undo, redo, save, and what becomes of the whole.
//!
//! A form without script is answered by going back to the room it came from. A script that asks for
//! the part gets the room made anew at once; one that asks for JSON gets its numbers.

use super::history::change_list;
use super::{room, who};
use crate::error::Failure;
use crate::fields::Fields;
use crate::sent::{Sent, unread};
use crate::shell::Room;
use crate::wants::Wants;
use ::study::edit::Edit;
use app::{App, AppError, SaveOutcome, Seen, StudyView};
use axum::Json;
use axum::extract::{FromRequest, Path, Query, Request, State};
use axum::http::header::CONTENT_TYPE;
use axum::response::{IntoResponse, Redirect, Response};
use maud::html;

type Answer = Result<Response, Failure>;

/// Edits as a script sends them.
#[derive(serde::Deserialize)]
struct Edits {
    base: u64,
    #[serde(default)]
    counter: Option<u64>,
    #[serde(default)]
    window: Option<String>,
    #[serde(default)]
    room: String,
    #[serde(default)]
    query: Fields,
    edits: Vec<Edit>,
}

/// Most edits in one request: a paste of a whole table.
const MOST_EDITS: usize = 5_000;

/// One edit from a form, or several as JSON.
pub(crate) async fn edit(
    State(app): State<App>,
    Path(thing): Path<String>,
    wants: Wants,
    request: Request,
) -> Answer {
    let told = |e: AppError| Failure::of(e, wants);
    let is_json = request
        .headers()
        .get(CONTENT_TYPE)
        .and_then(|v| v.to_str().ok())
        .is_some_and(|kind| kind.starts_with("application/json"));
    let edits = if is_json {
        let Json(edits) = Json::<Edits>::from_request(request, &())
            .await
            .map_err(|e| unread(e.status(), e.body_text(), wants))?;
        edits
    } else {
        let Sent(fields) = Sent::from_request(request, &()).await?;
        let settings = app.settings().await.map_err(told)?;
        let seen = fields.seen().map_err(told)?;
        Edits {
            base: seen.base,
            counter: seen.counter,
            window: seen.window,
            room: fields.maybe("room").unwrap_or_default().to_owned(),
            edits: vec![fields.edit(&settings).map_err(told)?],
            query: looked_at(&fields),
        }
    };
    if edits.edits.is_empty() || edits.edits.len() > MOST_EDITS {
        let why = format!(
            "{} were sent; allowed are 1 to {MOST_EDITS} at a time",
            edits.edits.len()
        );
        return Err(told(AppError::Value {
            field: "edits".to_owned(),
            why,
        }));
    }
    let who = who(&app).await.map_err(told)?;
    let seen = Seen {
        base: edits.base,
        counter: edits.counter,
        window: edits.window,
    };
    let view = app
        .edit(&who, &thing, seen, &edits.edits)
        .await
        .map_err(told)?;
    back(&app, &view, Room::of(&edits.room), &edits.query, wants).await
}

/// What the page that a form stands on was about, which the form carries as `q.…`.
fn looked_at(fields: &Fields) -> Fields {
    let own = |(k, v): (&String, &String)| Some((k.strip_prefix("q.")?.to_owned(), v.clone()));
    Fields(fields.0.iter().filter_map(own).collect())
}

/// Back to the room that the form came from, or the room itself for a script.
pub(crate) async fn back(
    app: &App,
    view: &StudyView,
    at: Room,
    query: &Fields,
    wants: Wants,
) -> Answer {
    if wants != Wants::Page {
        return room(app, view, at, query, wants).await;
    }
    let mut to = at.address(&view.thing);
    let asked: Vec<String> = query
        .0
        .iter()
        .map(|(k, v)| format!("{}={}", encoded(k), encoded(v)))
        .collect();
    if !asked.is_empty() {
        to.push('?');
        to.push_str(&asked.join("&"));
    }
    Ok(Redirect::to(&to).into_response())
}

/// A text as it may stand in an address.
pub(crate) fn encoded(text: &str) -> String {
    let mut out = String::new();
    for byte in text.bytes() {
        if byte.is_ascii_alphanumeric() || b"-._~".contains(&byte) {
            out.push(char::from(byte));
        } else {
            out.push_str(&format!("%{byte:02X}"));
        }
    }
    out
}

/// One step back.
pub(crate) async fn undo(
    State(app): State<App>,
    Path(thing): Path<String>,
    wants: Wants,
    Sent(fields): Sent,
) -> Answer {
    let told = |e| Failure::of(e, wants);
    let who = who(&app).await.map_err(told)?;
    let seen = seen(&fields).map_err(told)?;
    let view = app.undo(&who, &thing, seen).await.map_err(told)?;
    back(
        &app,
        &view,
        Room::of(fields.maybe("room").unwrap_or_default()),
        &looked_at(&fields),
        wants,
    )
    .await
}

/// One step forth again.
pub(crate) async fn redo(
    State(app): State<App>,
    Path(thing): Path<String>,
    wants: Wants,
    Sent(fields): Sent,
) -> Answer {
    let told = |e| Failure::of(e, wants);
    let who = who(&app).await.map_err(told)?;
    let seen = seen(&fields).map_err(told)?;
    let view = app.redo(&who, &thing, seen).await.map_err(told)?;
    back(
        &app,
        &view,
        Room::of(fields.maybe("room").unwrap_or_default()),
        &looked_at(&fields),
        wants,
    )
    .await
}

/// What was looked at, where the form says it; else whatever stands.
fn seen(fields: &Fields) -> Result<Seen, AppError> {
    if fields.maybe("base").or(fields.maybe("counter")).is_none() {
        return Ok(Seen::default());
    }
    fields.seen()
}

fn why(fields: &Fields) -> Option<String> {
    fields.maybe("why").map(str::to_owned)
}

/// What comes after saving: the room, or both versions beside each other.
async fn saved(
    app: &App,
    who: &str,
    thing: &str,
    outcome: SaveOutcome,
    fields: &Fields,
    wants: Wants,
) -> Answer {
    match outcome {
        SaveOutcome::Saved(_) => {
            let view = app
                .study(who, thing)
                .await
                .map_err(|e| Failure::of(e, wants))?;
            let at = Room::of(fields.maybe("room").unwrap_or_default());
            back(app, &view, at, &looked_at(fields), wants).await
        }
        conflict @ SaveOutcome::Conflict { .. } => {
            super::conflict::told(app, thing, &conflict, wants).await
        }
    }
}

/// The draft becomes a revision.
pub(crate) async fn save(
    State(app): State<App>,
    Path(thing): Path<String>,
    wants: Wants,
    Sent(fields): Sent,
) -> Answer {
    let told = |e| Failure::of(e, wants);
    let who = who(&app).await.map_err(told)?;
    let seen = fields.seen().map_err(told)?;
    let outcome = app
        .save(&who, &thing, seen, why(&fields))
        .await
        .map_err(told)?;
    saved(&app, &who, &thing, outcome, &fields, wants).await
}

/// The draft becomes a revision over another's, after both were looked at.
pub(crate) async fn save_over(
    State(app): State<App>,
    Path(thing): Path<String>,
    wants: Wants,
    Sent(fields): Sent,
) -> Answer {
    let told = |e| Failure::of(e, wants);
    let who = who(&app).await.map_err(told)?;
    let theirs = fields.count("theirs").map_err(told)?;
    let outcome = app
        .save_over(&who, &thing, theirs, why(&fields))
        .await
        .map_err(told)?;
    saved(&app, &who, &thing, outcome, &fields, wants).await
}

/// What is dropped has to have been looked at, unless the disk left nothing that can be.
async fn dropped(app: &App, who: &str, thing: &str, fields: &Fields) -> Result<Seen, AppError> {
    if fields.maybe("counter").is_some() {
        return fields.seen();
    }
    match app.unsaved_at(who, thing).await {
        Err(AppError::Book(book::BookError::Damaged { .. })) => Ok(Seen::default()),
        _ => Err(AppError::Value {
            field: "counter".to_owned(),
            why: "it isn’t said which unsaved changes were looked at. Load the page again and discard what it shows"
                .to_owned(),
        }),
    }
}

/// Asks before the draft is dropped, and shows what would go.
pub(crate) async fn ask_discard(
    State(app): State<App>,
    Path(thing): Path<String>,
    Query(fields): Query<Fields>,
    wants: Wants,
) -> Answer {
    let told = |e| Failure::of(e, wants);
    let who = who(&app).await.map_err(told)?;
    let view = app.study(&who, &thing).await.map_err(told)?;
    let room = Room::of(fields.maybe("room").unwrap_or_default());
    if view.draft.is_none() {
        return back(&app, &view, room, &looked_at(&fields), wants).await;
    }
    let saved = app.study_at(&who, &thing, view.base).await.map_err(told)?;
    let body = html! {
        h1 { "Discard these changes?" }
        p { "The study goes back to revision " (view.base) ". Undo brings them back as long as the program runs." }
        (change_list(&app::diff(&saved.written, &view.written)))
        form .line method="post" action=(format!("/study/{thing}/discard")) {
            (crate::shell::seen(&view))
            @for (name, value) in &fields.0 { @if name == "room" || name.starts_with("q.") { input type="hidden" name=(name) value=(value); } }
            button .main { "Discard them" }
        }
        p { a href=(room.address(&thing)) { "Keep them" } " · " a href=(format!("/study/{thing}/export")) { "keep them as a file" } }
    };
    Ok(crate::shell::page_of("history", "Discard these changes?", &body).into_response())
}

/// The draft is dropped.
pub(crate) async fn discard(
    State(app): State<App>,
    Path(thing): Path<String>,
    wants: Wants,
    Sent(fields): Sent,
) -> Answer {
    let told = |e| Failure::of(e, wants);
    let who = who(&app).await.map_err(told)?;
    let seen = dropped(&app, &who, &thing, &fields).await.map_err(told)?;
    app.discard(&who, &thing, seen).await.map_err(told)?;
    let view = app.study(&who, &thing).await.map_err(told)?;
    back(
        &app,
        &view,
        Room::of(fields.maybe("room").unwrap_or_default()),
        &looked_at(&fields),
        wants,
    )
    .await
}

/// A copy of the study.
pub(crate) async fn duplicate(
    State(app): State<App>,
    Path(thing): Path<String>,
    wants: Wants,
) -> Answer {
    let told = |e| Failure::of(e, wants);
    let who = who(&app).await.map_err(told)?;
    let copy = app.duplicate(&who, &thing).await.map_err(told)?;
    Ok(Redirect::to(&Room::Sheet.address(&copy)).into_response())
}

/// The study is taken out of use.
pub(crate) async fn remove(
    State(app): State<App>,
    Path(thing): Path<String>,
    wants: Wants,
    Sent(fields): Sent,
) -> Answer {
    let told = |e| Failure::of(e, wants);
    let who = who(&app).await.map_err(told)?;
    let base = fields.count("base").map_err(told)?;
    app.remove_study(&who, &thing, base, why(&fields))
        .await
        .map_err(told)?;
    Ok(Redirect::to("/").into_response())
}

/// An earlier revision is taken up again.
pub(crate) async fn restore(
    State(app): State<App>,
    Path(thing): Path<String>,
    wants: Wants,
    Sent(fields): Sent,
) -> Answer {
    let told = |e| Failure::of(e, wants);
    let who = who(&app).await.map_err(told)?;
    let number = fields.count("number").map_err(told)?;
    let base = fields.count("base").map_err(told)?;
    app.restore(&who, &thing, number, base, why(&fields))
        .await
        .map_err(told)?;
    Ok(Redirect::to(&Room::Sheet.address(&thing)).into_response())
}
