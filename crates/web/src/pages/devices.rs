//! Devices that are let in at the bench, and the people who sign there.

use crate::error::Failure;
use crate::sent::Sent;
use crate::serve::ServeError;
use crate::shell;
use crate::tablets::{Switch, Told, fingerprint};
use crate::wants::Wants;
use app::{App, AppError, PAIRING_LASTS, Pairing};
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};
use axum::{Extension, Json};
use fast_qr::qr::QRBuilder;
use maud::{Markup, html};
use serde_json::json;
use std::net::{IpAddr, SocketAddr};

/// The page.
pub(crate) async fn page(
    State(app): State<App>,
    switch: Option<Extension<Switch>>,
    wants: Wants,
) -> Result<Response, Failure> {
    let told = told_by(switch.as_deref());
    let failed = |e| Failure::of(e, wants);
    let devices = app.devices().await.map_err(failed)?;
    let dates = app.settings().await.map_err(failed)?.dates;
    let places = told.as_ref().map(|told| told.places()).unwrap_or_default();
    let authority = told.as_ref().and_then(|told| told.authority());
    if wants == Wants::Json {
        let all: Vec<_> = devices
            .devices
            .iter()
            .map(|d| json!({ "id": d.id, "name": d.name, "paired": d.paired, "signed_in": d.signed_in }))
            .collect();
        let people: Vec<_> = devices
            .people
            .iter()
            .map(|p| json!({ "name": p.name, "since": p.since }))
            .collect();
        let fingerprint = authority.map(fingerprint);
        return Ok(Json(json!({ "places": places, "fingerprint": fingerprint, "devices": all, "people": people })).into_response());
    }
    let body = html! {
        h1 { "Devices at the bench" }
        @if places.is_empty() {
            p { "No tablet is let in now. A second door, over TLS, has the pages of the bench alone and lets in the devices that are paired here." }
        } @else {
            (pairing_of(app.pairing().as_ref(), &places))
        }
        (door(switch.is_some(), &places))
        h2 { "Paired" }
        @if devices.devices.is_empty() { p .second { "None yet." } }
        @else {
            table .plain {
                thead { tr { th scope="col" { "name" } th scope="col" { "paired" } th scope="col" { "signed in" } th scope="col" { span .unseen { "end it" } } } }
                tbody { @for d in &devices.devices {
                    tr {
                        th scope="row" { (d.name) }
                        td { (dates.written(&d.paired)) }
                        td { (d.signed_in.join(", ")) }
                        td { (one_button("end", "id", &d.id, "End", &d.name)) }
                    }
                } }
            }
        }
        h2 { "Who signs at the bench" }
        @if devices.people.is_empty() { p .second { "Nobody yet. Who works at a paired device signs there with the name and code given here." } }
        @else {
            table .plain {
                thead { tr { th scope="col" { "name" } th scope="col" { "code since" } th scope="col" { span .unseen { "take it away" } } } }
                tbody { @for p in &devices.people {
                    tr {
                        th scope="row" { (p.name) }
                        td { (dates.written(&p.since)) }
                        td { (one_button("no-code", "name", &p.name, "Take away", &p.name)) }
                    }
                } }
            }
        }
        form .stack method="post" action="/settings/devices/code" {
            label { "Name" input name="name" maxlength="100" required; }
            label { "Code, 4 to 20 characters" input name="code" type="password" autocomplete="new-password" minlength="4" maxlength="20" required; }
            button { "Give a code" }
        }
        @if let Some(certificate) = authority {
            h2 { "Trust" }
            p { "A browser warns of the door until the device trusts this computer’s own authority. " a href="/settings/devices/authority.crt" download { "Take its certificate" } " and put it in on the device; the page " code { "/bench/trust" } " of the door tells how." }
            p { "SHA-256 fingerprint, to compare: " code { (fingerprint(certificate)) } }
        }
    };
    Ok(shell::page_of("settings", "Devices", &body).into_response())
}

/// Where the door is opened and closed.
fn door(can: bool, places: &[String]) -> Markup {
    html! {
        @if can {
            h2 { "The door" }
            @if places.is_empty() {
                form .line method="post" action="/settings/devices/door" {
                    label { "address " input name="address" maxlength="60" autocomplete="off" value=(USUAL_DOOR.0); }
                    " " label { "port " input name="port" inputmode="numeric" size="6" maxlength="5" autocomplete="off" value=(USUAL_DOOR.1); }
                    " " button .main { "Open the door" }
                }
                p .second { code { (USUAL_DOOR.0) } " is every address of this computer; another one lets in by that alone. The door is closed again when the program ends; " code { "hardtack open --bench-listen" } " opens it with the program." }
            } @else {
                p { "It is open" @if let Some(place) = places.first() { " at " code { (place) } } "." }
                form .line method="post" action="/settings/devices/door" {
                    input type="hidden" name="close" value="yes";
                    button { "Close the door" }
                }
                p .second { "Devices stay paired; what they enter waits on them until the door is open." }
            }
        }
    }
}

/// Where the door is opened unless somebody says otherwise: every address of this computer, and a port beside the program's.
const USUAL_DOOR: (&str, &str) = ("0.0.0.0", "7412");

/// Opens or closes the door.
pub(crate) async fn turn(
    switch: Option<Extension<Switch>>,
    wants: Wants,
    Sent(fields): Sent,
) -> Result<Response, Failure> {
    let wrong = |field: &str, why: String| {
        let field = field.to_owned();
        Failure::of(AppError::Value { field, why }, wants)
    };
    let Some(Extension(switch)) = switch else {
        return Err(wrong(
            "door",
            "this program serves no second door".to_owned(),
        ));
    };
    if fields.maybe("close").is_some() {
        switch.close().await;
    } else {
        let text = |name: &str| {
            fields
                .text(name)
                .map(str::trim)
                .map_err(|e| Failure::of(e, wants))
        };
        let (address, port) = (text("address")?, text("port")?);
        let ip: IpAddr = address.parse().map_err(|_| {
            wrong(
                "address",
                format!("‘{address}’ is no address; write it like 0.0.0.0 or 192.168.1.7"),
            )
        })?;
        let port: u16 = port.parse().map_err(|_| {
            wrong(
                "port",
                format!("‘{port}’ is no port; write a number from 1024 to 65535, such as 7412"),
            )
        })?;
        let opened = switch.open(SocketAddr::new(ip, port)).await;
        opened.map_err(|error| match error {
            ServeError::Tablets { what, .. } => {
                wrong("door", format!("it can’t be opened there: {what}"))
            }
            other => wrong("door", other.to_string()),
        })?;
    }
    if wants == Wants::Json {
        return Ok(Json(json!({ "places": switch.places() })).into_response());
    }
    Ok(back())
}

fn told_by(switch: Option<&Switch>) -> Option<Told> {
    switch.and_then(Switch::told)
}

fn pairing_of(pairing: Option<&Pairing>, places: &[String]) -> Markup {
    html! {
        h2 { "Let a device in" }
        @match (pairing, places.first()) {
            (Some(Pairing { digits, left }), Some(place)) => {
                p { "On the device, open " code { (place) } " and type " strong { (digits) } ", or read this:" }
                @let address = format!("{}/pair?digits={digits}", place);
                (code_of(&address))
                p { "They let one device in, within " (left.as_secs()) " seconds." }
                @if places.len() > 1 {
                    p .second { "Where the device can’t reach that address: " @for (n, place) in places.iter().skip(1).enumerate() { @if n > 0 { ", " } code { (place) } } }
                }
            }
            _ => p { "Six digits let one device in; they last two minutes." },
        }
        form .line method="post" action="/settings/devices/pairing" { button .main { "Six digits for a device" } }
    }
}

/// An address as a code that a camera reads (ISO/IEC 18004), with the quiet margin of four modules it asks for.
fn code_of(address: &str) -> Markup {
    let Ok(code) = QRBuilder::new(address).build() else {
        return html! {};
    };
    let mut path = String::new();
    for row in 0..code.size {
        for (column, module) in code[row].iter().enumerate() {
            if module.value() {
                path.push_str(&format!("M{} {}h1v1h-1z", column + 4, row + 4));
            }
        }
    }
    let side = code.size + 8;
    html! {
        svg .code viewBox=(format!("0 0 {side} {side}")) width="240" height="240" role="img" aria-label=(format!("The address {address}")) {
            rect width=(side) height=(side) fill="#fff" {}
            path d=(path) fill="#000" shape-rendering="crispEdges" {}
        }
    }
}

fn one_button(verb: &str, field: &str, value: &str, word: &str, about: &str) -> Markup {
    html! {
        form .line method="post" action=(format!("/settings/devices/{verb}")) {
            input type="hidden" name=(field) value=(value);
            button aria-label=(format!("{word}: {about}")) { (word) }
        }
    }
}

/// Makes six digits.
pub(crate) async fn pairing(
    State(app): State<App>,
    switch: Option<Extension<Switch>>,
    wants: Wants,
) -> Result<Response, Failure> {
    let told = told_by(switch.as_deref());
    let pairing = app
        .offer_pairing(PAIRING_LASTS)
        .map_err(|e| Failure::of(e, wants))?;
    if wants == Wants::Json {
        let places = told.as_ref().map(|told| told.places()).unwrap_or_default();
        return Ok(Json(json!({ "digits": pairing.digits, "seconds": pairing.left.as_secs(), "places": places })).into_response());
    }
    Ok(back())
}

/// Ends a device.
pub(crate) async fn end(
    State(app): State<App>,
    wants: Wants,
    Sent(fields): Sent,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, wants);
    let id = fields.text("id").map_err(told)?;
    app.end_device(id).await.map_err(told)?;
    Ok(back())
}

/// Gives a person a code.
pub(crate) async fn code(
    State(app): State<App>,
    wants: Wants,
    Sent(fields): Sent,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, wants);
    let (name, code) = (fields.text("name"), fields.text("code"));
    app.set_code(name.map_err(told)?, code.map_err(told)?)
        .await
        .map_err(told)?;
    Ok(back())
}

/// Takes a person's code away.
pub(crate) async fn no_code(
    State(app): State<App>,
    wants: Wants,
    Sent(fields): Sent,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, wants);
    let name = fields.text("name").map_err(told)?;
    app.take_code(name).await.map_err(told)?;
    Ok(back())
}

fn back() -> Response {
    Redirect::to("/settings/devices").into_response()
}
