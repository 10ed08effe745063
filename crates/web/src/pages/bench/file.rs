//! Entries that a device saved as a file, read in by hand: each is kept once, however often the file is read.

use super::ADDRESS;
use super::entries::{Told, told_of, unreadable};
use crate::error::Failure;
use crate::pages::exchange::upload;
use crate::shell;
use crate::wants::Wants;
use app::{App, AppError, Device};
use axum::extract::{Multipart, State};
use axum::response::{IntoResponse, Response};
use axum::{Extension, Json};
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use maud::{Markup, html};
use serde_json::Value;

/// Rows in one file.
const MOST_ROWS: usize = 20_000;
/// Rows told one by one.
const MOST_TOLD: usize = 200;

/// Asks for the file.
pub(crate) async fn page(wants: Wants) -> Response {
    around(wants, &html! {})
}

fn around(wants: Wants, told: &Markup) -> Response {
    let title = "Entries from a file";
    match wants {
        Wants::Alone => shell::alone(title, &asked(told)).into_response(),
        _ => shell::page_of("bench", title, &asked(told)).into_response(),
    }
}

fn asked(told: &Markup) -> Markup {
    html! {
        div .bench {
            h1 { "Entries from a file" }
            p { "A device that can’t send its entries saves them as a file. Read it in here: each entry is kept once, however often the file is read, and what the book had already is told." }
            (told)
            form .stack method="post" action=(format!("{ADDRESS}/file")) enctype="multipart/form-data" {
                label { "The file" input type="file" name="file" accept=".json,application/json" required; }
                button .main { "Read it in" }
            }
            p { a .way href=(ADDRESS) { "Bench" } }
        }
    }
}

/// Reads a file in.
pub(crate) async fn read_in(
    State(app): State<App>,
    device: Option<Extension<Device>>,
    wants: Wants,
    parts: Multipart,
) -> Result<Response, Failure> {
    let failed = |e| Failure::of(e, wants);
    let upload = upload(parts, wants, None).await?;
    let wrong = |why: String| AppError::Value {
        field: "file".to_owned(),
        why,
    };
    let rows: Vec<Value> = serde_json::from_slice(&upload.bytes).map_err(|error| {
        failed(wrong(format!(
            "it is no list of entries ({error}); choose the file that a device saved"
        )))
    })?;
    if rows.len() > MOST_ROWS {
        let many = rows.len();
        return Err(failed(wrong(format!(
            "it has {many} entries, and {MOST_ROWS} are read at once; split it"
        ))));
    }
    let mut told: Vec<Option<Told>> = Vec::with_capacity(rows.len());
    let mut sent = Vec::with_capacity(rows.len());
    for row in rows {
        match row_of(&app, row).await.map_err(failed)? {
            Ok(row) => {
                told.push(None);
                sent.push(row);
            }
            Err(no) => told.push(Some(no)),
        }
    }
    let entered = app.enter(sent, device.as_deref()).await.map_err(failed)?;
    let mut entered = entered.into_iter().map(told_of);
    let told: Vec<Told> = told
        .into_iter()
        .filter_map(|told| told.or_else(|| entered.next()))
        .collect();
    if wants == Wants::Json {
        return Ok(Json(told).into_response());
    }
    Ok(around(wants, &outcome(&told)))
}

/// A row of the file, with its photograph kept where it carries one.
async fn row_of(app: &App, mut row: Value) -> Result<Result<app::Sent, Told>, AppError> {
    let carried = row.as_object_mut().and_then(|row| row.remove("picture"));
    if let Some(carried) = carried {
        let bytes = carried.as_str().and_then(|text| STANDARD.decode(text).ok());
        let Some(bytes) = bytes else {
            return Ok(Err(unreadable(
                &row,
                "its photograph isn’t written as base 64",
            )));
        };
        match app.keep_picture(&bytes).await {
            Ok((hash, _)) => row["value"] = Value::String(hash),
            Err(
                error @ (AppError::Value { .. } | AppError::Book(book::BookError::Refused { .. })),
            ) => {
                return Ok(Err(unreadable(&row, &error.to_string())));
            }
            Err(error) => return Err(error),
        }
    }
    Ok(serde_json::from_value(row.clone()).map_err(|error| unreadable(&row, &error.to_string())))
}

fn outcome(told: &[Told]) -> Markup {
    let count = |is: fn(&Told) -> bool| told.iter().filter(|t| is(t)).count();
    let kept = count(|t| matches!(t, Told::Kept(_)));
    let already = count(|t| matches!(t, Told::KeptAlready(_)));
    let refused: Vec<(&str, &str)> = told
        .iter()
        .filter_map(|t| match t {
            Told::Refused { key, way_out, .. } => Some((key.as_str(), way_out.as_str())),
            _ => None,
        })
        .collect();
    html! {
        section role="status" {
            p .total { (kept) " kept" @if already > 0 { ", " (already) " had the book already" } @if !refused.is_empty() { ", " (refused.len()) " not taken" } "." }
            @if !refused.is_empty() {
                ul { @for (key, way_out) in refused.iter().take(MOST_TOLD) { li { code { (key) } ": " (way_out) } } }
                @if refused.len() > MOST_TOLD { p { "and " (refused.len() - MOST_TOLD) " more" } }
            }
        }
    }
}
