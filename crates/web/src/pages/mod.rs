//! The pages, one file each. A page of a study is handed an [`InStudy`] and gives back what stands
//! inside `<main>` and its JSON; everything around it is the same for all.

pub(crate) mod after;
pub(crate) mod bake;
pub(crate) mod bench;
pub(crate) mod chosen;
pub(crate) mod conflict;
pub(crate) mod devices;
pub(crate) mod exchange;
pub(crate) mod history;
pub(crate) mod label;
pub(crate) mod learned_figures;
pub(crate) mod line;
pub(crate) mod lots;
pub(crate) mod materials;
pub(crate) mod measure;
pub(crate) mod measured;
pub(crate) mod next;
pub(crate) mod own_oven;
pub(crate) mod piece;
pub(crate) mod section;
pub(crate) mod settings;
pub(crate) mod sheet;
pub(crate) mod studies;
pub(crate) mod study;
pub(crate) mod trial;
pub(crate) mod trials;
pub(crate) mod using;
pub(crate) mod weigh;

use crate::error::Failure;
use crate::fields::Fields;
use crate::shell::{self, Room};
use crate::wants::Wants;
use app::{App, Settings, StudyView, Units};
use axum::Json;
use axum::extract::{Path, Query, State};
use axum::response::{Html, IntoResponse, Response};
use axum::routing::{MethodRouter, get};
use maud::Markup;
use serde_json::{Value, json};

/// What a page of a study is made from.
pub(crate) struct InStudy<'a> {
    /// For what is worked out only when it is looked at.
    pub app: &'a App,
    /// The study as this person sees it, with every treatment's answer.
    pub view: &'a StudyView,
    /// Units, dates, decimal mark.
    pub settings: &'a Settings,
    /// What stands behind `?` in the address, e.g. `per`, `treatment`.
    pub query: &'a Fields,
}

/// Whose name stands on changes.
pub(crate) async fn who(app: &App) -> Result<String, app::AppError> {
    Ok(app.settings().await?.who)
}

/// The way to a room of a study.
pub(crate) fn look(at: Room) -> MethodRouter<App> {
    let look = async move |State(app): State<App>,
                           Path(thing): Path<String>,
                           Query(query): Query<Fields>,
                           wants: Wants| {
        let told = |e| Failure::of(e, wants);
        let who = who(&app).await.map_err(told)?;
        let mut view = app.study(&who, &thing).await;
        let mut unsaved = None;
        if matches!(view, Err(app::AppError::Unreadable { .. })) {
            // Looked at after the counter was, so that what is dropped is what was shown.
            unsaved = app.unsaved_at(&who, &thing).await.map_err(told)?;
            view = app.study(&who, &thing).await;
        }
        let view = view.map_err(|e| Failure::in_study(e, &thing, unsaved.as_ref(), wants))?;
        room(&app, &view, at, &query, wants).await
    };
    get(look)
}

/// A room of a study, as a page, a part of one, or JSON.
pub(crate) async fn room(
    app: &App,
    view: &StudyView,
    room: Room,
    query: &Fields,
    wants: Wants,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, wants);
    let settings = app.settings().await.map_err(told)?;
    let here = InStudy {
        app,
        view,
        settings: &settings,
        query,
    };
    if wants == Wants::Json {
        let value = match room {
            Room::Sheet => sheet::json(&here).await,
            Room::Piece => piece::json(&here).await,
            Room::Bake => bake::json(&here).await,
            Room::After => after::json(&here).await,
            Room::Line => line::json(&here).await,
            Room::Label => label::json(&here).await,
            Room::Trials => trials::json(&here).await,
            Room::OwnOven => own_oven::json(&here).await,
            Room::Next => next::json(&here).await,
            Room::History => history::json(&here).await,
        };
        return Ok(Json(with_state(value.map_err(told)?, &here)).into_response());
    }
    let body = match room {
        Room::Sheet => sheet::body(&here).await,
        Room::Piece => piece::body(&here).await,
        Room::Bake => bake::body(&here).await,
        Room::After => after::body(&here).await,
        Room::Line => line::body(&here).await,
        Room::Label => label::body(&here).await,
        Room::Trials => trials::body(&here).await,
        Room::OwnOven => own_oven::body(&here).await,
        Room::Next => next::body(&here).await,
        Room::History => history::body(&here).await,
    }
    .map_err(told)?;
    Ok(match wants {
        Wants::Part => Html(shell::study_main(view, room, &settings, query, &body).into_string())
            .into_response(),
        _ => shell::study_page(view, room, &settings, query, &body).into_response(),
    })
}

/// Where a study stands, beside what a page has to say.
fn with_state(mut value: Value, page: &InStudy<'_>) -> Value {
    let view = page.view;
    if let Value::Object(map) = &mut value {
        map.insert(
            "state".to_owned(),
            json!({
                "thing": view.thing,
                "base": view.base,
                "counter": view.counter,
                "newest": view.newest,
                "draft": view.draft,
                "can_undo": view.can_undo,
                "can_redo": view.can_redo,
                "in_proportion": view.in_proportion,
                "problems": problems(view, page.settings.units),
            }),
        );
    }
    value
}

fn problems(view: &StudyView, units: Units) -> Vec<Value> {
    let told = |p: &::study::written::Problem| {
        let words = p.words(units);
        json!({ "code": p.code().word(), "about": p.path.to_string(), "message": words.message, "allowed": words.allowed, "help": words.way_out })
    };
    view.problems.iter().map(told).collect()
}

/// What is wrong with the study as it stands, and which treatments have no answer.
pub(crate) fn troubles(page: &InStudy<'_>) -> Markup {
    let view = page.view;
    maud::html! {
        @if !view.problems.is_empty() {
            section .troubles aria-label="What has to be put right" {
                @if view.study.is_none() { p { "Nothing can be worked out before this is put right:" } }
                @else { p { "Worked out in proportion until this is put right:" } }
                (crate::error::problem_list(&view.text, &view.problems, page.settings.units))
            }
        }
        @if !view.answers.failed.is_empty() {
            ul .findings {
                @for f in &view.answers.failed {
                    li .finding .stop { span .weight { "stop" } div { p { (f.name) ": " (f.why) "." } } }
                }
            }
        }
    }
}
