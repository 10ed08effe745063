//! Rows from the outbox of a device, and rows that others sent since.

use crate::error::Failure;
use crate::fields::Fields;
use crate::sent::unread;
use crate::wants::Wants;
use app::{App, AppError, Device, Taken};
use axum::body::Bytes;
use axum::extract::rejection::BytesRejection;
use axum::extract::{Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use axum::{Extension, Json};
use book::{Entered, Kind};
use serde::Serialize;
use serde_json::Value;

/// Rows taken at once.
const MOST_ROWS: usize = 2_000;

/// What became of one row, in the order they were sent.
#[derive(Debug, Serialize)]
#[serde(tag = "state", rename_all = "kebab-case")]
pub(super) enum Told {
    Kept(Place),
    KeptAlready(Place),
    Refused {
        key: String,
        field: String,
        found: String,
        reason: &'static str,
        /// What is wrong and what to do, as a sentence.
        way_out: String,
    },
}

#[derive(Debug, Serialize)]
pub(super) struct Place {
    key: String,
    id: u64,
    number: u64,
    arrived: String,
}

/// Takes rows in: a list, each answered by itself. Every row that is answered as kept is on the disk.
pub(crate) async fn enter(
    State(app): State<App>,
    device: Option<Extension<Device>>,
    body: Result<Bytes, BytesRejection>,
) -> Result<Response, Failure> {
    let bytes = body.map_err(|rejection| too_much(rejection.status(), rejection.body_text()))?;
    let rows: Vec<Value> = serde_json::from_slice(&bytes)
        .map_err(|error| refused(format!("What was sent is no list of entries: {error}.")))?;
    if rows.len() > MOST_ROWS {
        let many = rows.len();
        return Err(refused(format!(
            "{many} entries were sent at once, and {MOST_ROWS} are taken."
        )));
    }
    let mut told: Vec<Option<Told>> = Vec::with_capacity(rows.len());
    let mut sent = Vec::with_capacity(rows.len());
    for row in rows {
        match serde_json::from_value::<app::Sent>(row.clone()) {
            Ok(row) => {
                told.push(None);
                sent.push(row);
            }
            Err(error) => told.push(Some(unreadable(&row, &error.to_string()))),
        }
    }
    let entered = app
        .enter(sent, device.as_deref())
        .await
        .map_err(|e| Failure::of(e, Wants::Json))?;
    let mut entered = entered.into_iter().map(told_of);
    let told: Vec<Told> = told
        .into_iter()
        .filter_map(|told| told.or_else(|| entered.next()))
        .collect();
    Ok(Json(told).into_response())
}

pub(super) fn told_of(taken: Taken) -> Told {
    let place = |entry: book::BenchEntry| Place {
        key: entry.row.key,
        id: entry.id,
        number: entry.number,
        arrived: entry.row.arrived,
    };
    let entered = match taken {
        Taken::Entered(entered) => *entered,
        Taken::NotSignedIn { key, who } => {
            return Told::Refused {
                key,
                field: "who".to_owned(),
                way_out: format!(
                    "‘{who}’ hasn’t signed in on this device; sign in with name and code, and it is sent again"
                ),
                found: who,
                reason: "not-signed-in",
            };
        }
    };
    match entered {
        Entered::Kept(entry) => Told::Kept(place(entry)),
        Entered::KeptAlready(entry) => Told::KeptAlready(place(entry)),
        Entered::Refused(refused) => Told::Refused {
            way_out: refused.to_string(),
            key: refused.key,
            field: refused.field.to_owned(),
            found: refused.found,
            reason: refused.reason.word(),
        },
    }
}

/// A row that has other fields or other kinds of value than rows have.
pub(super) fn unreadable(row: &Value, why: &str) -> Told {
    let shown = |value: &Value| {
        value
            .as_str()
            .map(|s| s.chars().take(64).collect::<String>())
    };
    Told::Refused {
        key: row.get("key").and_then(shown).unwrap_or_default(),
        field: String::new(),
        found: row.to_string().chars().take(40).collect(),
        reason: "unreadable",
        way_out: format!("{why}; load the page again, so that page and book are of one version"),
    }
}

fn refused(what: String) -> Failure {
    Failure::new(
        StatusCode::UNPROCESSABLE_ENTITY,
        "That couldn't be read",
        what,
        "Nothing was kept. Send fewer, as a list of entries; they wait on the device meanwhile.",
    )
    .told_as(Wants::Json)
}

pub(super) fn too_much(status: StatusCode, what: String) -> Failure {
    if status == StatusCode::PAYLOAD_TOO_LARGE {
        return Failure::new(
            status,
            "That is too large",
            "Entries are taken up to 1 MB at once, a photograph up to 400 kB.",
            "Send fewer entries, or make the photograph smaller. Nothing was kept.",
        )
        .told_as(Wants::Json);
    }
    unread(status, what, Wants::Json)
}

/// The rows of a batch or trial after a place of the book.
pub(crate) async fn since(
    State(app): State<App>,
    Query(query): Query<Fields>,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, Wants::Json);
    let kind = query.text("kind").map_err(told)?;
    let kind = Kind::from_word(kind)
        .filter(|kind| matches!(kind, Kind::Batch | Kind::Trial))
        .ok_or_else(|| AppError::Value {
            field: "kind".to_owned(),
            why: format!(
                "‘{}’ has no entries; ask for a batch or a trial",
                kind.chars().take(40).collect::<String>()
            ),
        })
        .map_err(told)?;
    let after = match query.maybe("after") {
        Some(_) => query.count("after").map_err(told)?,
        None => 0,
    };
    let thing = query.text("thing").map_err(told)?;
    let since = app.entries_since(kind, thing, after).await.map_err(told)?;
    Ok(Json(since).into_response())
}
