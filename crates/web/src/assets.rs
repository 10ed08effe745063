//! Style, scripts and pictures, built into the program and named after their content, so that a
//! browser may keep them for ever.

use axum::http::header::{CACHE_CONTROL, CONTENT_TYPE};
use axum::response::{IntoResponse, Response};
use sha2::{Digest, Sha256};
use std::sync::LazyLock;

const SCRIPT: &str = "text/javascript; charset=utf-8";

/// An asset.
pub(crate) struct Asset {
    /// The name of its file.
    pub name: &'static str,
    /// Its media type.
    pub kind: &'static str,
    /// What is in it.
    pub text: String,
    /// Says what is in it, in its address.
    pub tag: String,
}

/// Every asset.
pub(crate) static ASSETS: LazyLock<Vec<Asset>> = LazyLock::new(|| {
    let style = [
        paper::STYLE,
        report::STYLE,
        include_str!("../assets/pages.css"),
        include_str!("../assets/sheet.css"),
        include_str!("../assets/bake.css"),
        include_str!("../assets/piece.css"),
        include_str!("../assets/after.css"),
    ]
    .join("\n");
    [
        ("style.css", "text/css; charset=utf-8", style),
        (
            "live.js",
            SCRIPT,
            include_str!("../assets/live.js").to_owned(),
        ),
        (
            "sheet.js",
            SCRIPT,
            [
                include_str!("../assets/sheet-keys.js"),
                include_str!("../assets/sheet.js"),
            ]
            .join("\n"),
        ),
        (
            "bake.js",
            SCRIPT,
            [
                include_str!("../assets/bake.js"),
                include_str!("../assets/whole.js"),
            ]
            .join("\n"),
        ),
        (
            "section.js",
            SCRIPT,
            include_str!("../assets/section.js").to_owned(),
        ),
        (
            "favicon.svg",
            "image/svg+xml",
            include_str!("../assets/favicon.svg").to_owned(),
        ),
    ]
    .into_iter()
    .map(|(name, kind, text)| Asset {
        name,
        kind,
        tag: tag(&text),
        text,
    })
    .collect()
});

/// Sixteen digits of the content's hash.
fn tag(text: &str) -> String {
    Sha256::digest(text.as_bytes())
        .iter()
        .take(8)
        .map(|byte| format!("{byte:02x}"))
        .collect()
}

/// The address of an asset.
pub(crate) fn address(name: &str) -> String {
    let asset = ASSETS.iter().find(|a| a.name == name);
    debug_assert!(asset.is_some(), "there is no asset {name}");
    asset.map_or_else(String::new, |a| format!("/assets/{}/{}", a.tag, a.name))
}

/// The picture in the browser's tab.
pub(crate) async fn favicon() -> Response {
    let headers = [
        (CONTENT_TYPE, "image/svg+xml"),
        (CACHE_CONTROL, "public, max-age=86400"),
    ];
    (headers, include_str!("../assets/favicon.svg")).into_response()
}
