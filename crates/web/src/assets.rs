//! Style, scripts and pictures, built into the program and named after their content, so that a
//! browser may keep them for ever.

use axum::http::header::{CACHE_CONTROL, CONTENT_TYPE};
use axum::response::{IntoResponse, Response};
use sha2::{Digest, Sha256};
use std::sync::LazyLock;

pub(crate) const SCRIPT: &str = "text/javascript; charset=utf-8";
const STYLE: &str = "text/css; charset=utf-8";
const FONT: &str = "font/woff2";

/// An asset.
pub(crate) struct Asset {
    /// The name of its file.
    pub name: &'static str,
    /// Its media type.
    pub kind: &'static str,
    /// What is in it.
    pub content: Vec<u8>,
    /// Says what is in it, in its address.
    pub tag: String,
}

impl Asset {
    fn new(name: &'static str, kind: &'static str, content: impl Into<Vec<u8>>) -> Self {
        let content = content.into();
        Self {
            name,
            kind,
            tag: tag(&content),
            content,
        }
    }
}

/// The fonts that every page needs at once.
pub(crate) const FIRST_FONTS: [&str; 2] = ["vollkorn.woff2", "asap.woff2"];

/// Every asset.
pub(crate) static ASSETS: LazyLock<Vec<Asset>> = LazyLock::new(|| {
    let mut assets: Vec<Asset> = Vec::new();
    let mut style = String::new();
    for font in paper::FONTS {
        let asset = Asset::new(font.name, FONT, font.content);
        style.push_str(&font.face(&format!("/assets/{}/{}", asset.tag, asset.name)));
        assets.push(asset);
    }
    let sheets = [
        paper::STYLE,
        report::STYLE,
        include_str!("../assets/pages.css"),
        include_str!("../assets/sheet.css"),
        include_str!("../assets/bake.css"),
        include_str!("../assets/piece.css"),
        include_str!("../assets/after.css"),
        include_str!("../assets/trials.css"),
        include_str!("../assets/bench.css"),
    ];
    style.push_str(&sheets.join("\n"));
    let sheet = [
        include_str!("../assets/sheet-patch.js"),
        include_str!("../assets/sheet-keys.js"),
        include_str!("../assets/sheet-paste.js"),
        include_str!("../assets/sheet.js"),
        include_str!("../assets/sheet-lots.js"),
    ];
    let bake = [
        include_str!("../assets/oven.js"),
        include_str!("../assets/bake.js"),
        include_str!("../assets/whole.js"),
    ];
    let bench = [
        include_str!("../assets/bench-store.js"),
        include_str!("../assets/bench-over.js"),
        include_str!("../assets/bench-send.js"),
        include_str!("../assets/bench-clocks.js"),
        include_str!("../assets/bench-camera.js"),
        include_str!("../assets/bench.js"),
    ];
    assets.extend([
        Asset::new("style.css", STYLE, style),
        Asset::new("live.js", SCRIPT, include_str!("../assets/live.js")),
        Asset::new("sheet.js", SCRIPT, sheet.join("\n")),
        Asset::new("bake.js", SCRIPT, bake.join("\n")),
        Asset::new("own-oven.js", SCRIPT, include_str!("../assets/own-oven.js")),
        Asset::new("trials.js", SCRIPT, include_str!("../assets/trials.js")),
        Asset::new("bench.js", SCRIPT, bench.join("\n")),
        Asset::new("section.js", SCRIPT, include_str!("../assets/section.js")),
        Asset::new(
            "favicon.svg",
            "image/svg+xml",
            include_str!("../assets/favicon.svg"),
        ),
    ]);
    assets
});

/// Sixteen digits of the content's hash.
pub(crate) fn tag(content: &[u8]) -> String {
    Sha256::digest(content)
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

#[cfg(test)]
mod tests {
    use super::*;

    /// The limit is ours: what a page may weigh before it is read.
    #[test]
    fn the_type_of_the_pages_is_shipped_and_light() {
        let fonts: Vec<&Asset> = ASSETS.iter().filter(|a| a.kind == FONT).collect();
        let bytes: usize = fonts.iter().map(|f| f.content.len()).sum();
        assert!(fonts.len() == 4 && bytes <= 120_000, "{bytes} bytes");
        // A compressed font begins with its signature (W3C, WOFF 2.0, 4.1).
        assert!(fonts.iter().all(|f| f.content.starts_with(b"wOF2")));
        let style = ASSETS.iter().find(|a| a.name == "style.css").unwrap();
        let style = std::str::from_utf8(&style.content).unwrap();
        for font in fonts {
            assert!(style.contains(&address(font.name)), "{}", font.name);
        }
        for family in ["Vollkorn", "Asap"] {
            let token = format!("{family}, ");
            assert!(paper::STYLE.contains(&token), "{family} isn't used");
        }
        assert!(FIRST_FONTS.iter().all(|f| !address(f).is_empty()));
    }
}
