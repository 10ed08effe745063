//! The bake: curves over the zones, the cross-section, and what would help most.

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
    room(&app, &view, Room::Bake, &query, wants).await
}

/// What stands inside `<main>`.
pub(crate) async fn body(here: &InStudy<'_>) -> Result<Markup, AppError> {
    Ok(html! {
        h1 { "Bake" }
        (troubles(here.view))
        (report::bake_curves(&here.view.answers.compared))
    })
}

/// The same as JSON.
pub(crate) async fn json(here: &InStudy<'_>) -> Result<Value, AppError> {
    let bakes = here.view.answers.compared.iter().map(|c| json!({ "id": c.answer.id, "name": c.answer.name, "bake": c.answer.bake }));
    Ok(json!({ "treatments": bakes.collect::<Vec<_>>() }))
}

/// The cross-section of a treatment through time, as JSON.
pub(crate) async fn field(
    State(app): State<App>,
    Path(thing): Path<String>,
    Query(query): Query<Fields>,
) -> Result<axum::Json<study::field::Field>, Failure> {
    let told = |e| Failure::of(e, Wants::Json);
    let view = app.study(&who(&app).await.map_err(told)?, &thing).await.map_err(told)?;
    let treatment = query.text("treatment").map_err(told)?;
    let frames = if query.maybe("frames").is_some() { query.count("frames").map_err(told)? } else { 80 };
    let frames = usize::try_from(frames).unwrap_or(usize::MAX);
    Ok(axum::Json(app.field(&view, treatment, frames).await.map_err(told)?))
}
