//! The script that keeps the pages of the bench on a device, so that they open without a connection.

use super::ADDRESS;
use crate::assets::{SCRIPT, address, tag, with_imports};
use axum::http::HeaderName;
use axum::http::header::CONTENT_TYPE;
use axum::response::{IntoResponse, Response};
use std::sync::LazyLock;

/// What a page of the bench is drawn with beside its scripts: kept before the first page is.
const DRAWN_WITH: [&str; 4] = ["style.css", "favicon.svg", "vollkorn.woff2", "asap.woff2"];

/// The script, told what pages are drawn with and called after it: with another version come other addresses, and what
/// was kept of the last one is dropped.
static WORKER: LazyLock<String> = LazyLock::new(|| {
    let mut names = DRAWN_WITH.to_vec();
    for script in ["live.js", "bench.js"] {
        let new = |name: &&str| !names.contains(name);
        let more: Vec<&str> = with_imports(script).into_iter().filter(new).collect();
        names.extend(more);
    }
    let drawn_with: Vec<String> = names.into_iter().map(address).collect();
    let own = include_str!("../../../assets/bench-worker.js");
    let version = tag(format!("{}{own}", drawn_with.join("")).as_bytes());
    let drawn_with = serde_json::json!(drawn_with);
    format!("const VERSION = \"{version}\";\nconst DRAWN_WITH = {drawn_with};\n{own}")
});

/// Gives it out. Its place would let it see what is below `/bench/` alone, not the list itself.
pub(crate) async fn script() -> Response {
    let head = [
        (CONTENT_TYPE, SCRIPT),
        (HeaderName::from_static("service-worker-allowed"), ADDRESS),
    ];
    (head, WORKER.as_str()).into_response()
}
