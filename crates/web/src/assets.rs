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

/// Every script of the pages, as it is written. They import each other by name, so they stand beside each other under one
/// tag, which tells what is in all of them.
pub(crate) const SCRIPTS: [(&str, &str); 22] = [
    ("bake.js", include_str!("../assets/bake.js")),
    ("bench.js", include_str!("../assets/bench.js")),
    ("bench-camera.js", include_str!("../assets/bench-camera.js")),
    ("bench-clocks.js", include_str!("../assets/bench-clocks.js")),
    ("bench-over.js", include_str!("../assets/bench-over.js")),
    ("bench-send.js", include_str!("../assets/bench-send.js")),
    ("bench-show.js", include_str!("../assets/bench-show.js")),
    ("bench-store.js", include_str!("../assets/bench-store.js")),
    ("dom.js", include_str!("../assets/dom.js")),
    ("film.js", include_str!("../assets/film.js")),
    ("live.js", include_str!("../assets/live.js")),
    ("oven.js", include_str!("../assets/oven.js")),
    ("own-oven.js", include_str!("../assets/own-oven.js")),
    ("picture.js", include_str!("../assets/picture.js")),
    ("section.js", include_str!("../assets/section.js")),
    ("sheet.js", include_str!("../assets/sheet.js")),
    ("sheet-keys.js", include_str!("../assets/sheet-keys.js")),
    ("sheet-lots.js", include_str!("../assets/sheet-lots.js")),
    ("sheet-paste.js", include_str!("../assets/sheet-paste.js")),
    ("sheet-patch.js", include_str!("../assets/sheet-patch.js")),
    ("trials.js", include_str!("../assets/trials.js")),
    ("whole.js", include_str!("../assets/whole.js")),
];

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
    assets.extend([
        Asset::new("style.css", STYLE, style),
        Asset::new(
            "favicon.svg",
            "image/svg+xml",
            include_str!("../assets/favicon.svg"),
        ),
    ]);
    let all: Vec<&str> = SCRIPTS.iter().map(|(_, content)| *content).collect();
    let tag = tag(all.concat().as_bytes());
    assets.extend(SCRIPTS.map(|(name, content)| Asset {
        name,
        kind: SCRIPT,
        content: content.into(),
        tag: tag.clone(),
    }));
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

/// The scripts that a script imports itself.
fn imports(name: &str) -> Vec<&'static str> {
    let content = SCRIPTS.iter().find(|(known, _)| *known == name);
    let lines = content.map_or("", |(_, content)| *content).lines();
    lines
        .filter(|line| line.starts_with("import "))
        .filter_map(|line| line.split("\"./").nth(1)?.strip_suffix("\";"))
        .collect()
}

/// A script and all that it imports, each once.
pub(crate) fn with_imports(name: &'static str) -> Vec<&'static str> {
    let mut all = vec![name];
    let mut next = 0;
    while let Some(script) = all.get(next) {
        for other in imports(script) {
            if !all.contains(&other) {
                all.push(other);
            }
        }
        next += 1;
    }
    all
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

    /// A script that another one imports is shipped, and every script is imported or asked for by a page.
    #[test]
    fn scripts_find_what_they_import() {
        for (name, _) in SCRIPTS {
            for other in imports(name) {
                let there = SCRIPTS.iter().any(|(known, _)| *known == other);
                assert!(there, "{name} imports {other}");
            }
        }
        assert!(with_imports("bake.js").contains(&"picture.js"));
        let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/assets");
        for file in std::fs::read_dir(folder).unwrap() {
            let file = file.unwrap().file_name().into_string().unwrap();
            // The worker is no script of a page: it is given out with its own head.
            let script = file.ends_with(".js") && file != "bench-worker.js";
            let shipped = SCRIPTS.iter().any(|(name, _)| *name == file);
            assert_eq!(script, shipped, "{file}");
        }
    }
}
