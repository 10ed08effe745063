//! The page itself: one document that carries its own style and asks nobody for anything.

use crate::fonts::WITHIN;
use maud::{DOCTYPE, Markup, PreEscaped, html};

/// The style sheet; tokens of colour, space and type stand at its top, once.
pub const STYLE: &str = include_str!("style.css");

/// A whole HTML document with the style inside and no outside request.
///
/// `running_head` (study, revision, hash) stands at the top of every printed page, with the page
/// number and count at the foot.
///
/// ```
/// use maud::html;
/// let page = paper::self_contained("Study", "Spent-grain bars · draft", &html! { p { "…" } });
/// assert!(page.starts_with("<!DOCTYPE html>") && page.contains("lang=\"en\""));
/// ```
pub fn self_contained(title: &str, running_head: &str, body: &Markup) -> String {
    html! {
        (DOCTYPE)
        html lang="en" {
            // Void elements are closed the XML way, so that the page reads as XML too.
            head {
                (PreEscaped(r#"<meta charset="utf-8"/>"#))
                (PreEscaped(r#"<meta name="viewport" content="width=device-width, initial-scale=1"/>"#))
                (PreEscaped(r#"<meta name="color-scheme" content="light dark"/>"#))
                title { (title) }
                style { (PreEscaped(WITHIN.as_str())) (PreEscaped(STYLE)) (PreEscaped(page_margins(running_head))) }
            }
            body {
                header .print-head { (running_head) }
                main .sheet { (body) }
            }
        }
    }
    .into_string()
}

/// Running head and page number in the printed margins; the first page has its own header block.
fn page_margins(running_head: &str) -> String {
    format!(
        "@page{{@top-left{{content:{};font:9pt var(--data);color:var(--ink-2)}}}}@page:first{{@top-left{{content:none}}}}",
        css_string(running_head)
    )
}

/// A text as a CSS string; everything but letters, digits and spaces is written as its code, so
/// that nothing can end the string or the style element.
fn css_string(text: &str) -> String {
    let mut css = String::from("\"");
    for c in text.chars() {
        if c.is_ascii_alphanumeric() || c == ' ' {
            css.push(c);
        } else {
            css.push_str(&format!("\\{:x} ", c as u32));
        }
    }
    css.push('"');
    css
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The same face everywhere: what is on screen, on paper and in a file that was sent to somebody.
    #[test]
    fn a_page_carries_its_type_and_asks_nobody_for_it() {
        let page = self_contained("Study", "", &html! { p { "…" } });
        assert_eq!(page.matches("@font-face").count(), crate::FONTS.len());
        assert_eq!(
            page.matches("url(\"data:font/woff2;base64,d09GM").count(),
            crate::FONTS.len()
        );
        assert_eq!(page.matches("url(").count(), crate::FONTS.len());
        for font in crate::FONTS {
            assert!(
                STYLE.contains(&format!(": {}, ", font.family)),
                "{} isn’t used",
                font.family
            );
        }
    }

    #[test]
    fn a_running_head_cannot_leave_its_string() {
        let css = css_string("a\"}</style><script>");
        assert_eq!(css.matches('"').count(), 2);
        assert!(!css.contains('<') && !css.contains('}'));
    }
}
