//! Photographs in and out.

use super::entries::too_much;
use crate::error::Failure;
use crate::wants::Wants;
use app::App;
use axum::Json;
use axum::body::Bytes;
use axum::extract::rejection::BytesRejection;
use axum::extract::{Path, State};
use axum::http::header::{CACHE_CONTROL, CONTENT_TYPE};
use axum::response::{IntoResponse, Response};
use serde_json::json;

/// Keeps one; the same again is kept once.
pub(crate) async fn keep(
    State(app): State<App>,
    body: Result<Bytes, BytesRejection>,
) -> Result<Response, Failure> {
    let bytes = body.map_err(|rejection| too_much(rejection.status(), rejection.body_text()))?;
    let (hash, picture) = app
        .keep_picture(&bytes)
        .await
        .map_err(|e| Failure::of(e, Wants::Json))?;
    Ok(Json(json!({ "hash": hash, "picture": picture })).into_response())
}

/// Shows one. It never changes, so a browser may keep it.
pub(crate) async fn show(
    State(app): State<App>,
    Path(hash): Path<String>,
    wants: Wants,
) -> Result<Response, Failure> {
    let (bytes, picture) = app
        .picture(&hash)
        .await
        .map_err(|e| Failure::of(e, wants))?;
    let head = [
        (CONTENT_TYPE, picture.of.media_type()),
        (CACHE_CONTROL, "private, max-age=31536000, immutable"),
    ];
    Ok((head, bytes).into_response())
}
