//! What only the tablets' door has: pairing, trust, and signing in by name and code.

use super::{Switch, Told, fingerprint};
use crate::error::Failure;
use crate::fields::Fields;
use crate::sent::Sent;
use crate::wants::Wants;
use crate::{asset, assets, error, pages, shell};
use app::{App, Device, Devices};
use axum::extract::{DefaultBodyLimit, Query, State};
use axum::http::StatusCode;
use axum::http::header::{CONTENT_DISPOSITION, CONTENT_TYPE, SET_COOKIE};
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::{get, post};
use axum::{Extension, Json, Router};
use maud::html;
use serde_json::json;

/// Bytes of the forms here.
const MOST_BYTES: usize = 16 * 1024;
/// Pages that a device sees before it is paired.
pub(crate) const OPEN_TO_ALL: [&str; 3] = ["/bench/pair", "/bench/trust", "/bench/authority.crt"];

/// All that the door has; anything else isn't there.
#[rustfmt::skip] // a list reads best as a list
pub(crate) fn routes() -> Router<App> {
    Router::new()
        .route("/bench/pair",                get(pair_form).post(pair))
        .route("/bench/trust",               get(trust))
        .route("/bench/authority.crt",       get(authority))
        .route("/bench/sign",                get(signing).post(sign_in))
        .route("/bench/sign/out",            post(sign_out))
        .layer(DefaultBodyLimit::max(MOST_BYTES))
        .merge(pages::bench::routes())
        .route("/assets/{tag}/{name}",       get(asset::asset))
        .route("/favicon.svg",               get(assets::favicon))
        .fallback(error::not_found)
}

async fn pair_form(Query(query): Query<Fields>) -> Response {
    let digits = query.maybe("digits").unwrap_or_default();
    let digits: String = digits
        .chars()
        .filter(char::is_ascii_digit)
        .take(6)
        .collect();
    let body = html! {
        h1 { "Pair this device" }
        p { "At the desk, open Settings, then Devices, and ask for six digits. They last two minutes and let one device in." }
        form .stack method="post" action="/bench/pair" {
            label { "Six digits" input name="digits" value=(digits) inputmode="numeric" autocomplete="one-time-code" maxlength="11" required autofocus; }
            label { "Name of this device" input name="name" maxlength="100" placeholder="tablet by the oven" required; }
            button .main { "Pair" }
        }
        p { a .way href="/bench/trust" { "How this device comes to trust the door" } }
    };
    shell::alone("Pair this device", &body).into_response()
}

async fn pair(
    State(app): State<App>,
    Extension(cookie): Extension<Cookie>,
    wants: Wants,
    Sent(fields): Sent,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, wants);
    let digits = fields.text("digits").map_err(told)?;
    let name = fields.text("name").map_err(told)?;
    let (device, token) = app.pair(digits, name).await.map_err(told)?;
    let shown = [(SET_COOKIE, cookie.with(&token))];
    Ok(match wants {
        Wants::Json => {
            (shown, Json(json!({ "id": device.id, "name": device.name }))).into_response()
        }
        _ => (shown, Redirect::to("/bench/sign")).into_response(),
    })
}

/// The name of the cookie that a paired device shows.
#[derive(Clone, Debug)]
pub(crate) struct Cookie(pub(crate) std::sync::Arc<str>);

impl Cookie {
    /// Kept as long as browsers keep one, 400 days, and sent to this door alone.
    fn with(&self, token: &str) -> String {
        format!(
            "{}={token}; Path=/; Max-Age=34560000; HttpOnly; Secure; SameSite=Strict",
            self.0
        )
    }
}

/// How a device comes to trust the local authority.
async fn trust(Extension(told): Extension<Told>) -> Response {
    let body = html! {
        h1 { "Trust this door" }
        @match told.authority() {
            None => p { "This door shows a certificate of your own; a device trusts it if it trusts who gave it." },
            Some(certificate) => {
                p { "What goes between this device and the book is sealed. That the other end is your own computer, its authority vouches for: take its certificate once, and the browser warns no more." }
                ol {
                    li { a .way href="/bench/authority.crt" download { "Take the certificate" } ", or carry it over from the desk: Settings, Devices." }
                    li { "Compare what the device shows as its SHA-256 fingerprint with the one on the desk’s page Devices. If they differ, don’t trust it." }
                    li { "On a tablet or telephone: search its settings for ‘certificate’ and install a CA certificate from the file. Some want it switched on in a second place as well, under the trust of certificates." }
                    li { "On a computer: open the file and put it among the authorities that are trusted for websites." }
                    li { "Close the browser and open it again." }
                }
                p .second { "Where this stands differs from make to make." }
                p { "Fingerprint as this door tells it: " code { (fingerprint(certificate)) } }
            }
        }
    };
    shell::alone("Trust this door", &body).into_response()
}

/// The local authority's certificate, to be put in.
pub(crate) async fn authority(
    told: Option<Extension<Told>>,
    switch: Option<Extension<Switch>>,
    wants: Wants,
) -> Result<Response, Failure> {
    // The door knows its own; the desk asks the switch.
    let told = told.map(|Extension(told)| told);
    let told = told.or_else(|| switch.and_then(|Extension(switch)| switch.told()));
    let certificate = told
        .as_ref()
        .and_then(|told| told.authority().map(<[u8]>::to_vec));
    let Some(certificate) = certificate else {
        return Err(error::not_found(wants).await);
    };
    let head = [
        (CONTENT_TYPE, "application/x-x509-ca-cert"),
        (
            CONTENT_DISPOSITION,
            "attachment; filename=\"hardtack-bench.crt\"",
        ),
    ];
    Ok((head, certificate).into_response())
}

/// Who may sign on this device, and who has signed in.
async fn signing(
    State(app): State<App>,
    Extension(device): Extension<Device>,
    wants: Wants,
) -> Result<Response, Failure> {
    let Devices { people, .. } = app.devices().await.map_err(|e| Failure::of(e, wants))?;
    let names: Vec<&str> = people.iter().map(|signer| signer.name.as_str()).collect();
    if wants == Wants::Json {
        let told = json!({ "device": device.name, "people": names, "signed_in": device.signed_in });
        return Ok(Json(told).into_response());
    }
    let body = html! {
        h1 { "Who is at the bench?" }
        p { "This is ‘" (device.name) "’." }
        @for name in &device.signed_in {
            form .line method="post" action="/bench/sign/out" {
                input type="hidden" name="name" value=(name);
                (name) " has signed in " button { "Leave" }
            }
        }
        @if names.is_empty() { p { "Nobody has a code yet. One is given at the desk: Settings, Devices." } }
        @else {
            form .stack method="post" action="/bench/sign" {
                label { "Name" select name="name" { @for name in &names { option { (name) } } } }
                label { "Code" input name="code" type="password" inputmode="numeric" autocomplete="off" maxlength="20" required; }
                button .main { "Sign in" }
            }
        }
        p { a .way href="/bench" { "To the bench" } }
    };
    Ok(shell::alone("Who is at the bench?", &body).into_response())
}

async fn sign_in(
    State(app): State<App>,
    Extension(device): Extension<Device>,
    wants: Wants,
    Sent(fields): Sent,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, wants);
    let name = fields.text("name").map_err(told)?;
    let code = fields.text("code").map_err(told)?;
    app.sign_in(&device, name, code).await.map_err(told)?;
    Ok(done(wants))
}

async fn sign_out(
    State(app): State<App>,
    Extension(device): Extension<Device>,
    wants: Wants,
    Sent(fields): Sent,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, wants);
    let name = fields.text("name").map_err(told)?;
    app.sign_out(&device, name).await.map_err(told)?;
    Ok(done(wants))
}

fn done(wants: Wants) -> Response {
    match wants {
        Wants::Json => StatusCode::NO_CONTENT.into_response(),
        _ => Redirect::to("/bench/sign").into_response(),
    }
}
