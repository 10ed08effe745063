//! The line: stations in one scale, where the mass goes, and what it costs.

use super::{InStudy, room, troubles, who};
use crate::error::Failure;
use crate::fields::Fields;
use crate::shell::Room;
use crate::wants::Wants;
use app::{App, AppError};
use axum::extract::{Path, Query, State};
use axum::response::Response;
use maud::{Markup, html};
use serde_json::{Value, json};

/// The page.
pub(crate) async fn page(
    State(app): State<App>,
    Path(thing): Path<String>,
    Query(query): Query<Fields>,
    wants: Wants,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, wants);
    let view = app.study(&who(&app).await.map_err(told)?, &thing).await.map_err(told)?;
    room(&app, &view, Room::Line, &query, wants).await
}

/// What stands inside `<main>`.
pub(crate) async fn body(here: &InStudy<'_>) -> Result<Markup, AppError> {
    let compared = &here.view.answers.compared;
    Ok(html! {
        h1 { "Line" }
        (troubles(here.view))
        (report::line_stations(compared))
        (report::cost_build_up(compared))
    })
}

/// The same as JSON.
pub(crate) async fn json(here: &InStudy<'_>) -> Result<Value, AppError> {
    let lines = here.view.answers.compared.iter().map(|c| {
        json!({ "id": c.answer.id, "name": c.answer.name, "line": c.answer.line, "cost": c.answer.cost })
    });
    Ok(json!({ "treatments": lines.collect::<Vec<_>>() }))
}
