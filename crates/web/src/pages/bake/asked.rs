//! What is asked of the whole piece over HTTP: set to work, looked at, stopped, and its pictures.

use super::whole::{About, section};
use crate::error::Failure;
use crate::fields::Fields;
use crate::pages::chosen::NONE;
use crate::pages::study::encoded;
use crate::pages::who;
use crate::sent::Sent;
use crate::shell::Room;
use crate::wants::Wants;
use app::{App, AppError, SolidAnswered, SolidState, SolidWhat, StudyView};
use axum::extract::{Path, Query, State};
use axum::response::{Html, IntoResponse, Redirect, Response};
use serde_json::{Value, json};

async fn view(app: &App, thing: &str) -> Result<StudyView, AppError> {
    app.study(&who(app).await?, thing).await
}

/// The part alone, as a script asks for it while it is worked on; the whole page for a person; the state as JSON.
pub(crate) async fn look(
    State(app): State<App>,
    Path(thing): Path<String>,
    Query(query): Query<Fields>,
    wants: Wants,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, wants);
    let treatment = query.text("treatment").map_err(told)?;
    let about = About::of(treatment, query.maybe("beside"));
    answer(&app, &thing, about, wants).await
}

async fn answer(
    app: &App,
    thing: &str,
    about: About<'_>,
    wants: Wants,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, wants);
    let view = view(app, thing).await.map_err(told)?;
    match wants {
        Wants::Json => {
            Ok(axum::Json(state(app, &view, about.treatment).map_err(told)?).into_response())
        }
        Wants::Part => {
            let settings = app.settings().await.map_err(told)?;
            let part = section(app, &view, &settings, about).await.map_err(told)?;
            Ok(Html(part.into_string()).into_response())
        }
        Wants::Page | Wants::Alone => {
            let to = format!(
                "{}?treatment={}&beside={}#whole-piece",
                Room::Bake.address(thing),
                encoded(about.treatment),
                encoded(about.beside.unwrap_or(NONE))
            );
            Ok(Redirect::to(&to).into_response())
        }
    }
}

/// What the part is about that a form stands in: the treatment set to work unless it says otherwise.
fn about<'a>(fields: &'a Fields, treatment: &'a str) -> About<'a> {
    About::of(
        fields.maybe("about").unwrap_or(treatment),
        fields.maybe("beside"),
    )
}

fn state(app: &App, view: &StudyView, treatment: &str) -> Result<Value, AppError> {
    let mut all = json!({});
    for what in SolidWhat::ALL {
        all[what.word()] = match app.solid(view, treatment, what)? {
            SolidState::NotAsked => json!({ "state": "not asked" }),
            SolidState::Running(share) => json!({ "state": "running", "done": share }),
            SolidState::Failed(why) => json!({ "state": "failed", "why": why }),
            SolidState::Done(answered) => match answered.as_ref() {
                SolidAnswered::Bake { answer, .. } => json!({ "state": "done", "answer": answer }),
                SolidAnswered::Dockers(found) => json!({ "state": "done", "answer": found }),
            },
        };
    }
    Ok(all)
}

/// Sets a question to work.
pub(crate) async fn start(
    State(app): State<App>,
    Path(thing): Path<String>,
    wants: Wants,
    Sent(fields): Sent,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, wants);
    let treatment = fields.text("treatment").map_err(told)?;
    let word = fields.text("what").map_err(told)?;
    let what = SolidWhat::of(word).ok_or_else(|| {
        told(AppError::Value {
            field: "what".to_owned(),
            why: format!(
                "‘{}’ can’t be asked; choose {}",
                word.chars().take(40).collect::<String>(),
                SolidWhat::ALL.map(SolidWhat::word).join(", ")
            ),
        })
    })?;
    let view = view(&app, &thing).await.map_err(told)?;
    app.start_solid(&view, treatment, what).map_err(told)?;
    answer(&app, &thing, about(&fields, treatment), wants).await
}

/// Stops what is being worked on.
pub(crate) async fn stop(
    State(app): State<App>,
    Path(thing): Path<String>,
    wants: Wants,
    Sent(fields): Sent,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, wants);
    let treatment = fields.text("treatment").map_err(told)?;
    let view = view(&app, &thing).await.map_err(told)?;
    app.stop_solid(&view, treatment).map_err(told)?;
    answer(&app, &thing, about(&fields, treatment), wants).await
}

/// The pictures of a bake through time, as JSON.
pub(crate) async fn frames(
    State(app): State<App>,
    Path(thing): Path<String>,
    Query(query): Query<Fields>,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, Wants::Json);
    let treatment = query.text("treatment").map_err(told)?;
    let what = query
        .maybe("what")
        .and_then(SolidWhat::of)
        .unwrap_or(SolidWhat::Bake);
    let view = view(&app, &thing).await.map_err(told)?;
    if let SolidState::Done(answered) = app.solid(&view, treatment, what).map_err(told)?
        && let SolidAnswered::Bake { frames, .. } = answered.as_ref()
    {
        return Ok(axum::Json(frames).into_response());
    }
    Err(told(AppError::Value {
        field: "pictures".to_owned(),
        why: "there are none yet: bake the whole piece first".to_owned(),
    }))
}
