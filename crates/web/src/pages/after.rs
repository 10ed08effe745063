//! After the oven.

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
    let who = who(&app).await.map_err(told)?;
    let view = app.study(&who, &thing).await.map_err(told)?;
    room(&app, &view, Room::After, &query, wants).await
}

pub(crate) async fn body(page: &InStudy<'_>) -> Result<Markup, AppError> {
    Ok(html! { h1 { "After the oven" } (troubles(page.view)) })
}

pub(crate) async fn json(_: &InStudy<'_>) -> Result<Value, AppError> {
    Ok(json!({}))
}
