//! What the one who asks wants: a page, the part of a page that a script puts in, or JSON.

use crate::tablets::Cookie;
use axum::extract::FromRequestParts;
use axum::http::header::ACCEPT;
use axum::http::request::Parts;
use axum::http::{Extensions, HeaderMap};
use std::convert::Infallible;

/// In which form an answer is wanted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Wants {
    /// A whole page.
    Page,
    /// A whole page of the tablets' door, where there are no other rooms.
    Alone,
    /// What stands inside `<main>`, for a script that puts it in place of what is there.
    Part,
    /// JSON.
    Json,
}

impl Wants {
    /// As a request says, and the door that it came through.
    pub(crate) fn of(headers: &HeaderMap, extensions: &Extensions) -> Self {
        match Self::said(headers) {
            Self::Page if extensions.get::<Cookie>().is_some() => Self::Alone,
            said => said,
        }
    }

    fn said(headers: &HeaderMap) -> Self {
        if headers.contains_key("hardtack-part") {
            return Self::Part;
        }
        let accept = headers
            .get(ACCEPT)
            .and_then(|v| v.to_str().ok())
            .unwrap_or_default();
        let at = |kind: &str| accept.find(kind);
        match (at("application/json"), at("text/html")) {
            (Some(json), Some(html)) if json < html => Self::Json,
            (Some(_), None) => Self::Json,
            _ => Self::Page,
        }
    }
}

impl<S: Sync> FromRequestParts<S> for Wants {
    type Rejection = Infallible;

    async fn from_request_parts(parts: &mut Parts, _: &S) -> Result<Self, Infallible> {
        Ok(Self::of(&parts.headers, &parts.extensions))
    }
}
