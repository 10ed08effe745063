//! How the pages are used: the project's own texts, the same in the program as beside its source.

use crate::error::Failure;
use crate::shell;
use crate::wants::Wants;
use axum::extract::Path;
use axum::http::StatusCode;
use axum::http::header::{CACHE_CONTROL, CONTENT_TYPE};
use axum::response::{IntoResponse, Response};
use maud::{PreEscaped, html};
use pulldown_cmark::{CowStr, Event, Parser, Tag, html::push_html};

macro_rules! texts {
    ($($word:literal),*) => {
        /// Every text: its word in the address, and its words.
        pub(crate) const TEXTS: &[(&str, &str)] = &[
            $(($word, include_str!(concat!("../../../../docs/using/", $word, ".md")))),*
        ];
    };
}
texts!(
    "first-hour",
    "studies",
    "sheet",
    "piece",
    "bake",
    "after",
    "line",
    "label",
    "trials",
    "results",
    "own-oven",
    "next",
    "bench",
    "history",
    "materials",
    "settings"
);

macro_rules! pictures {
    ($($name:literal),*) => {
        /// The pictures of the first hour; a test makes them.
        pub(crate) const PICTURES: &[(&str, &[u8])] = &[
            $(($name, include_bytes!(concat!("../../../../docs/pictures/first-hour/", $name)))),*
        ];
    };
}
pictures!(
    "1-sheet.webp",
    "2-changed.webp",
    "3-why.webp",
    "4-own.webp",
    "5-piece.webp",
    "6-oven.webp",
    "7-label.webp"
);

/// The address of a text.
pub(crate) fn address(word: &str) -> String {
    format!("/using/{word}")
}

/// A text as a page.
pub(crate) async fn text(Path(word): Path<String>, wants: Wants) -> Result<Response, Failure> {
    let Some((_, text)) = TEXTS.iter().find(|(w, _)| *w == word) else {
        let title = "There is no such text";
        let what = "The texts about the pages are listed in the first one.";
        let told = Failure::new(
            StatusCode::NOT_FOUND,
            title,
            what,
            "Begin with A first hour.",
        );
        return Err(told.told_as(wants));
    };
    let title = text.lines().next().unwrap_or_default();
    let title = title.trim_start_matches('#').trim();
    let events = Parser::new(text).map(|event| match event {
        Event::Start(Tag::Link {
            link_type,
            dest_url,
            title,
            id,
        }) => {
            let dest_url = within(&dest_url);
            Event::Start(Tag::Link {
                link_type,
                dest_url,
                title,
                id,
            })
        }
        Event::Start(Tag::Image {
            link_type,
            dest_url,
            title,
            id,
        }) => {
            let name = dest_url.rsplit('/').next().unwrap_or_default().to_owned();
            let dest_url = CowStr::from(format!("/using/picture/{name}"));
            Event::Start(Tag::Image {
                link_type,
                dest_url,
                title,
                id,
            })
        }
        other => other,
    });
    let mut told = String::new();
    push_html(&mut told, events);
    // A picture comes when somebody comes near it.
    let told = told.replace("<img ", "<img loading=\"lazy\" ");
    let body = html! { article .using { (PreEscaped(told)) } };
    Ok(shell::page_of("first-hour", title, &body).into_response())
}

/// A link between the texts, as it is in the program.
fn within(to: &str) -> CowStr<'static> {
    let text = TEXTS
        .iter()
        .find(|(w, _)| to.strip_suffix(".md") == Some(w));
    CowStr::from(text.map_or_else(|| to.to_owned(), |(w, _)| address(w)))
}

/// A picture of a text.
pub(crate) async fn picture(Path(name): Path<String>, wants: Wants) -> Result<Response, Failure> {
    match PICTURES.iter().find(|(n, _)| *n == name) {
        Some((_, content)) => {
            let headers = [
                (CONTENT_TYPE, "image/webp"),
                (CACHE_CONTROL, "public, max-age=86400"),
            ];
            Ok((headers, *content).into_response())
        }
        None => {
            let title = "There is no such picture";
            let what = "The page that asked for it is from another version of the program.";
            let told = Failure::new(StatusCode::NOT_FOUND, title, what, "Load the page again.");
            Err(told.told_as(wants))
        }
    }
}
