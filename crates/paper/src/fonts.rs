//! The type of pages and reports, shipped with the program so that every machine shows the same face.

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use std::sync::LazyLock;

/// A font file of the type.
#[derive(Clone, Copy, Debug)]
pub struct Font {
    /// Name of its family.
    pub family: &'static str,
    /// `normal` or `italic`.
    pub slant: &'static str,
    /// The weights that it holds.
    pub weights: &'static str,
    /// Name of its file.
    pub name: &'static str,
    /// The file, WOFF 2.
    pub content: &'static [u8],
}

/// Made by `tools/subset_fonts.py`; figures are lining and of one width. SIL Open Font License 1.1, whose text stands
/// beside the files.
pub const FONTS: [Font; 4] = [
    Font {
        family: "Vollkorn",
        slant: "normal",
        weights: "400 600",
        name: "vollkorn.woff2",
        content: include_bytes!("../assets/fonts/vollkorn.woff2"),
    },
    Font {
        family: "Vollkorn",
        slant: "italic",
        weights: "400",
        name: "vollkorn-italic.woff2",
        content: include_bytes!("../assets/fonts/vollkorn-italic.woff2"),
    },
    Font {
        family: "Asap",
        slant: "normal",
        weights: "400 600",
        name: "asap.woff2",
        content: include_bytes!("../assets/fonts/asap.woff2"),
    },
    Font {
        family: "Asap",
        slant: "italic",
        weights: "400",
        name: "asap-italic.woff2",
        content: include_bytes!("../assets/fonts/asap-italic.woff2"),
    },
];

impl Font {
    /// The style sheet's rule for it, whose file is found at `address`.
    pub fn face(&self, address: &str) -> String {
        format!(
            "@font-face {{ font-family: {}; font-style: {}; font-weight: {}; font-display: swap; src: url(\"{address}\") format(\"woff2\"); }}\n",
            self.family, self.slant, self.weights
        )
    }
}

/// Rules that carry the files in them, for a page that asks nobody for anything.
pub(crate) static WITHIN: LazyLock<String> = LazyLock::new(|| {
    let face = |font: &Font| {
        let content = STANDARD.encode(font.content);
        font.face(&format!("data:font/woff2;base64,{content}"))
    };
    FONTS.iter().map(face).collect()
});
