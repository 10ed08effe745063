//! Study files out and in; what reading one in will change is shown before it does.

use super::history::change_list;
use super::who;
use crate::error::{Failure, problem_list};
use crate::fields::Fields;
use crate::sent::Sent;
use crate::shell::{self, Room};
use crate::wants::Wants;
use app::{App, AppError};
use axum::Json;
use axum::extract::{Multipart, Path, Query, State};
use axum::http::StatusCode;
use axum::http::header::{CONTENT_DISPOSITION, CONTENT_TYPE};
use axum::response::{IntoResponse, Redirect, Response};
use maud::html;
use serde_json::json;

/// The file that a form sent, and the other fields.
pub(crate) struct Upload {
    pub name: String,
    pub bytes: Vec<u8>,
    pub fields: Fields,
}

/// Reads an upload.
pub(crate) async fn upload(
    mut parts: Multipart,
    wants: Wants,
    pasted: Option<&str>,
) -> Result<Upload, Failure> {
    let unread = |e: axum::extract::multipart::MultipartError| {
        let (status, way_out) = if e.status() == StatusCode::PAYLOAD_TOO_LARGE {
            (
                StatusCode::PAYLOAD_TOO_LARGE,
                "At most 50 MB are read; is this the right file?",
            )
        } else {
            (StatusCode::BAD_REQUEST, "Choose the file again.")
        };
        Failure::new(status, "The file couldn't be read", e.body_text(), way_out).told_as(wants)
    };
    let mut upload = Upload {
        name: String::new(),
        bytes: Vec::new(),
        fields: Fields::default(),
    };
    while let Some(part) = parts.next_field().await.map_err(unread)? {
        let field = part.name().unwrap_or_default().to_owned();
        if field == "file" {
            upload.name = part.file_name().unwrap_or_default().to_owned();
            upload.bytes = part.bytes().await.map_err(unread)?.to_vec();
        } else {
            let text = part.text().await.map_err(unread)?;
            upload.fields.0.insert(field, text);
        }
    }
    if upload.bytes.is_empty()
        && let Some(text) = pasted.and_then(|p| upload.fields.0.remove(p))
    {
        upload.bytes = text.into_bytes();
    }
    if upload.bytes.is_empty() {
        let none = AppError::Value {
            field: "file".to_owned(),
            why: "no file was chosen, or it is empty".to_owned(),
        };
        return Err(Failure::of(none, wants));
    }
    Ok(upload)
}

fn text_of(bytes: Vec<u8>, wants: Wants) -> Result<String, Failure> {
    let bytes = match bytes.strip_prefix(b"\xef\xbb\xbf") {
        Some(rest) => rest.to_vec(),
        None => bytes,
    };
    String::from_utf8(bytes).map_err(|_| {
        let why = "it is not text in UTF-8; is this a study file?".to_owned();
        Failure::of(
            AppError::Value {
                field: "file".to_owned(),
                why,
            },
            wants,
        )
    })
}

/// The study as a text file.
pub(crate) async fn export(
    State(app): State<App>,
    Path(thing): Path<String>,
    Query(query): Query<Fields>,
    wants: Wants,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, wants);
    let number = if query.maybe("revision").is_some() {
        Some(query.count("revision").map_err(told)?)
    } else {
        None
    };
    let who = who(&app).await.map_err(told)?;
    let text = app.export(&who, &thing, number).await.map_err(told)?;
    let plain: String = thing
        .chars()
        .filter(|c| c.is_ascii_alphanumeric() || *c == '-' || *c == '_')
        .collect();
    let disposition = format!("attachment; filename=\"{plain}.toml\"");
    Ok((
        [
            (CONTENT_TYPE, "application/toml; charset=utf-8".to_owned()),
            (CONTENT_DISPOSITION, disposition),
        ],
        text,
    )
        .into_response())
}

async fn preview(
    app: &App,
    into: Option<(&str, u64)>,
    text: &str,
    wants: Wants,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, wants);
    let who = who(app).await.map_err(told)?;
    let found = app
        .preview_import(&who, into.map(|i| i.0), text)
        .await
        .map_err(told)?;
    let units = app.settings().await.map_err(told)?.units;
    if wants == Wants::Json {
        return Ok(Json(json!({
            "title": found.title,
            "treatments": found.treatments,
            "changes": found.changes,
            "problems": found.problems.iter().map(ToString::to_string).collect::<Vec<_>>(),
        }))
        .into_response());
    }
    let action = match into {
        None => "/studies/import/confirm".to_owned(),
        Some((thing, _)) => format!("/study/{thing}/import/confirm"),
    };
    let body = html! {
        h1 { "Before it is read in: " (found.title) }
        p { (found.treatments.len()) " treatments: " (found.treatments.iter().map(|t| t.name.as_str()).collect::<Vec<_>>().join(", ")) "." }
        @if into.is_some() { h2 { "What will change" } (change_list(&found.changes)) }
        @if !found.problems.is_empty() { h2 { "What has to be put right afterwards" } (problem_list(text, &found.problems, units)) }
        form method="post" action=(action) {
            @if let Some((_, base)) = into { input type="hidden" name="base" value=(base); }
            @if let Some(counter) = found.counter { input type="hidden" name="counter" value=(counter); }
            textarea name="text" .unseen tabindex="-1" aria-hidden="true" readonly { "\n" (text) }
            button .main { @if into.is_some() { "Put it in as a draft" } @else { "Make the study" } }
            " " a href=(into.map_or_else(|| "/".to_owned(), |i| Room::Sheet.address(i.0))) { "Leave it" }
        }
    };
    Ok(shell::page("Before it is read in", &body).into_response())
}

/// A look at a study file before it becomes a new study.
pub(crate) async fn import_new(
    State(app): State<App>,
    wants: Wants,
    parts: Multipart,
) -> Result<Response, Failure> {
    let text = text_of(upload(parts, wants, None).await?.bytes, wants)?;
    preview(&app, None, &text, wants).await
}

/// A look at a study file before it changes a study.
pub(crate) async fn import_into(
    State(app): State<App>,
    Path(thing): Path<String>,
    wants: Wants,
    parts: Multipart,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, wants);
    let upload = upload(parts, wants, None).await?;
    let base = upload.fields.count("base").map_err(told)?;
    let text = text_of(upload.bytes, wants)?;
    preview(&app, Some((&thing, base)), &text, wants).await
}

/// Makes the study that was looked at.
pub(crate) async fn confirm_new(
    State(app): State<App>,
    wants: Wants,
    Sent(fields): Sent,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, wants);
    let who = who(&app).await.map_err(told)?;
    let text = fields.text("text").map_err(told)?.replace("\r\n", "\n");
    let thing = app
        .create_from_text(&who, &text, Some("read in from a file".to_owned()))
        .await
        .map_err(told)?;
    Ok(Redirect::to(&Room::Sheet.address(&thing)).into_response())
}

/// Puts the text that was looked at into the draft.
pub(crate) async fn confirm_into(
    State(app): State<App>,
    Path(thing): Path<String>,
    wants: Wants,
    Sent(fields): Sent,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, wants);
    let who = who(&app).await.map_err(told)?;
    let text = fields.text("text").map_err(told)?.replace("\r\n", "\n");
    app.put_text(&who, &thing, fields.seen().map_err(told)?, &text)
        .await
        .map_err(told)?;
    Ok(Redirect::to(&Room::Sheet.address(&thing)).into_response())
}

/// The studies of another book, to be copied from.
pub(crate) async fn from_book(
    State(app): State<App>,
    wants: Wants,
    parts: Multipart,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, wants);
    let upload = upload(parts, wants, None).await?;
    let kept = tempfile::Builder::new().prefix("hardtack-other-").tempdir();
    let kept = kept.map_err(|e| unkept(&e, wants))?;
    let path = kept.path().join("other.book");
    tokio::fs::write(&path, &upload.bytes)
        .await
        .map_err(|e| unkept(&e, wants))?;
    let studies = app.of_another_book(&path).await.map_err(told)?;
    let settings = app.settings().await.map_err(told)?;
    let body = html! {
        h1 { "Studies of " (upload.name) }
        p { "Each can be looked at and copied into this book. The other book stays as it is." }
        @if studies.is_empty() { p { "It has no study in use." } }
        ul .studies {
            @for (entry, text) in &studies {
                li {
                    div .told {
                        h2 { (entry.title) }
                        p .second .saved { "revision " (entry.number) ", " (settings.dates.written(&entry.when)) ", " (entry.who) }
                    }
                    form method="post" action="/studies/import/text" {
                        textarea name="text" .unseen tabindex="-1" aria-hidden="true" readonly { "\n" (text) }
                        button { "Look at it" span .unseen { ": " (entry.title) } }
                    }
                }
            }
        }
        p { a href="/" { "Leave it" } }
    };
    Ok(shell::page("Studies of another book", &body).into_response())
}

fn unkept(error: &std::io::Error, wants: Wants) -> Failure {
    Failure::new(
        StatusCode::INSUFFICIENT_STORAGE,
        "The other book couldn't be looked into",
        format!("There is no place to lay it meanwhile: {error}."),
        "Make room on the disk and choose the file again.",
    )
    .told_as(wants)
}

/// A look at a text before it becomes a new study.
pub(crate) async fn import_text(
    State(app): State<App>,
    wants: Wants,
    Sent(fields): Sent,
) -> Result<Response, Failure> {
    let text = fields.text("text").map_err(|e| Failure::of(e, wants))?;
    preview(&app, None, &text.replace("\r\n", "\n"), wants).await
}
