//! Hands out an asset.

use crate::assets::ASSETS;
use crate::error::Failure;
use axum::extract::Path;
use axum::http::StatusCode;
use axum::http::header::{CACHE_CONTROL, CONTENT_TYPE};
use axum::response::{IntoResponse, Response};

/// An asset by its tag and name.
pub(crate) async fn asset(Path((tag, name)): Path<(String, String)>) -> Response {
    match ASSETS.iter().find(|a| a.name == name && a.tag == tag) {
        Some(asset) => {
            let headers = [
                (CONTENT_TYPE, asset.kind),
                (CACHE_CONTROL, "public, max-age=31536000, immutable"),
            ];
            (headers, asset.content.as_slice()).into_response()
        }
        None => Failure::new(
            StatusCode::NOT_FOUND,
            "There is no such file",
            "The page that asked for it is from another version of the program.",
            "Load the page again.",
        )
        .into_response(),
    }
}
