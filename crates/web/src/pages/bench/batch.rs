//! A batch at one of its stations: what is shown there, and what is entered without the script.

use super::field::{Field, Page, Wrong};
use super::list::{outbox, who_is_here};
use super::stations::{At, body, fields};
use super::{ADDRESS, rows};
use crate::error::Failure;
use crate::fields::Fields;
use crate::pages::study::encoded;
use crate::sent::Sent;
use crate::shell;
use crate::wants::Wants;
use app::{App, AppError, AtBench, Device, Settings, Taken, new_key, now};
use axum::extract::{Path, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use axum::{Extension, Json};
use bench::{Doubt, Nature, Station, What, doubts, in_unit};
use book::{Entered, Kind};
use maud::{Markup, html};
use paper::parts::findings;

/// The address of a batch at a station.
pub(super) fn address(batch: &str, station: Station) -> String {
    format!("{ADDRESS}/{}/{}", encoded(batch), station.word())
}

/// Leads to the station that a batch stands at.
pub(crate) async fn stand(
    State(app): State<App>,
    Path(batch): Path<String>,
    wants: Wants,
) -> Result<Response, Failure> {
    let view = app.batch(&batch).await.map_err(|e| Failure::of(e, wants))?;
    Ok(Redirect::to(&address(&batch, view.made.state.station())).into_response())
}

fn station(word: &str, wants: Wants) -> Result<Station, Failure> {
    let found = Station::ALL.into_iter().find(|s| s.word() == word);
    found.ok_or_else(|| {
        let all = Station::ALL.map(Station::word).join(", ");
        Failure::new(
            StatusCode::NOT_FOUND,
            "There is no such station",
            format!("The stations of a batch are {all}."),
            "Choose one of them.",
        )
        .told_as(wants)
    })
}

/// Who writes: at the desk whose name stands on changes; on a tablet who signed in, the last one unless another is named.
pub(super) fn writer(device: Option<&Device>, settings: &Settings, asked: Option<&str>) -> String {
    match device {
        None => settings.who.clone(),
        Some(device) => {
            let named = device.signed_in.iter().find(|name| asked == Some(name));
            named
                .or(device.signed_in.last())
                .cloned()
                .unwrap_or_default()
        }
    }
}

/// The page.
pub(crate) async fn page(
    State(app): State<App>,
    device: Option<Extension<Device>>,
    Path((batch, word)): Path<(String, String)>,
    Query(query): Query<Fields>,
    wants: Wants,
) -> Result<Response, Failure> {
    let station = station(&word, wants)?;
    let here = app
        .at_bench(&batch)
        .await
        .map_err(|e| Failure::of(e, wants))?;
    if wants == Wants::Json {
        return Ok(Json(here).into_response());
    }
    shown(&app, device.as_deref(), &here, station, &query, None, wants)
        .await
        .map_err(|e| Failure::of(e, wants))
}

async fn shown(
    app: &App,
    device: Option<&Device>,
    here: &AtBench,
    station: Station,
    query: &Fields,
    wrong: Option<&Wrong>,
    wants: Wants,
) -> Result<Response, AppError> {
    let settings = app.settings().await?;
    let who = writer(device, &settings, query.maybe("who"));
    let batch = &here.made.batch;
    let (weigh, untold) = match station {
        Station::Weigh => match app.weigh_list(batch).await {
            Ok(lines) => (lines, None),
            Err(error) => (Vec::new(), Some(error)),
        },
        _ => (Vec::new(), None),
    };
    let planned_min = match station {
        // A plan that can't be worked out holds nobody up at the oven.
        Station::Oven => app.planned_bake_min(batch).await.unwrap_or_default(),
        _ => None,
    };
    let at = At {
        page: Page {
            to: address(&here.made.id, station),
            who: &who,
            settings: &settings,
            wrong,
        },
        here,
        weigh: &weigh,
        chosen: query
            .maybe("of")
            .or(wrong.map(|w| w.of.as_str()).filter(|of| !of.is_empty())),
        planned_min,
    };
    let called = here
        .of
        .as_ref()
        .map_or(batch.label.as_str(), |of| &of.called);
    let title = match &here.of {
        Some(of) => format!("{called}, batch {} of {}", of.nth, of.batches),
        None => format!("{called}, {}", batch.code),
    };
    let body = html! {
        div .bench #bench data-thing=(here.made.id) data-who=(who) data-decimal=(settings.decimal.mark()) data-last=(here.made.state.last_id)
            data-doubts=(serde_json::json!(std::collections::BTreeMap::from(Doubt::WORDS)).to_string()) {
            (outbox())
            p .of-batch { a .way href=(ADDRESS) { "Bench" } " " b { (title) } " " span .second { (batch.code) @for place in &batch.places { ", " (place.name) " " (place.value) } } }
            nav .stations aria-label="Stations" { @for s in Station::ALL {
                a href=(address(&here.made.id, s)) aria-current=[(s == station).then_some("step")] { (s.word()) }
            } }
            @if let Some(device) = device { (who_is_here(device)) (turn(device, &who, &at.page.to)) }
            @if let Some(given_up) = &here.made.state.abandoned { p .wrong { "This batch was given up: " (given_up.words) } }
            h1 .unseen { (title) ", " (station.word()) }
            p .task { (station.task()) }
            (settings_of(here, station))
            @if let Some(error) = untold { p .wrong { "What to weigh can’t be told: " (error) } }
            @if let Some(wrong) = wrong.filter(|w| !is_beside(&at, station, w)) { p .wrong role="alert" { (wrong.told) } }
            section .station #station { @if device.is_none_or(|d| !d.signed_in.is_empty()) { (body(&at, station)) } @else { p { a .way href="/bench/sign" { "Sign in to enter something." } } } }
            (findings(&rows::findings(here, station)))
            (rows::list(&at, station, query.maybe("all").is_some()))
        }
    };
    let mut response = shell::bench(wants, &title, &body).into_response();
    if wrong.is_some() {
        *response.status_mut() = StatusCode::UNPROCESSABLE_ENTITY;
    }
    Ok(response)
}

/// Whether what is wrong stands beside a field of the station or beside a row.
fn is_beside(at: &At<'_>, station: Station, wrong: &Wrong) -> bool {
    let on_its_own = [What::Dose, What::Feel, What::DoughRight, What::StandBegun];
    !wrong.strikes.is_empty()
        || wrong.what == What::SetAside
        || wrong.what.about().nature == Nature::Count
        || on_its_own.contains(&wrong.what)
        || fields(at, station)
            .iter()
            .any(|f| f.is_about(wrong.what, &wrong.of))
}

/// Several people on one tablet: whose turn it is.
fn turn(device: &Device, who: &str, to: &str) -> Markup {
    html! {
        @if device.signed_in.len() > 1 { p .turn {
            @for name in &device.signed_in { a .way href=(format!("{to}?who={}", encoded(name))) aria-current=[(name == who).then_some("true")] { (name) } " " }
        } }
    }
}

/// What the trial sets beside the treatment, where the oven stands.
fn settings_of(here: &AtBench, station: Station) -> Markup {
    let all = &here.made.batch.settings;
    html! {
        @if station == Station::Oven && !all.is_empty() {
            p .total { @for (i, s) in all.iter().enumerate() { @if i > 0 { ", " } (s.name) " " (s.value) @if !s.unit.is_empty() { " " (s.unit) } } }
        }
    }
}

/// Takes one row in from a form.
pub(crate) async fn enter(
    State(app): State<App>,
    device: Option<Extension<Device>>,
    Path((batch, word)): Path<(String, String)>,
    wants: Wants,
    Sent(fields): Sent,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, wants);
    let station = station(&word, wants)?;
    let here = app.at_bench(&batch).await.map_err(told)?;
    let device = device.as_deref();
    let settings = app.settings().await.map_err(told)?;
    let read = read(&app, &here, station, &fields, &settings)
        .await
        .map_err(told)?;
    let wrong = match read {
        Err(wrong) => wrong,
        Ok(sent) => {
            let sent = app::Sent {
                who: Some(writer(device, &settings, fields.maybe("who"))),
                ..sent
            };
            let what = (sent.what.clone(), sent.value.clone());
            let taken = app.enter(vec![sent], device).await.map_err(told)?.pop();
            let why_not = match taken {
                Some(Taken::Entered(entered)) => match *entered {
                    Entered::Kept(_) | Entered::KeptAlready(_) => {
                        let to = address(&batch, station);
                        let who = fields
                            .maybe("who")
                            .filter(|_| device.is_some_and(|d| d.signed_in.len() > 1));
                        let who =
                            who.map_or_else(String::new, |who| format!("?who={}", encoded(who)));
                        return Ok(Redirect::to(&format!("{to}{who}")).into_response());
                    }
                    Entered::Refused(refused) => refused.to_string(),
                },
                Some(Taken::NotSignedIn { .. }) => {
                    "Nobody of this name has signed in on this device; sign in, then enter it again"
                        .to_owned()
                }
                None => "It wasn’t kept; enter it again".to_owned(),
            };
            let what = What::from_word(&what.0).unwrap_or(What::Note);
            typed(what, &fields, format!("{why_not}."), false)
        }
    };
    let query = Fields::default();
    shown(&app, device, &here, station, &query, Some(&wrong), wants)
        .await
        .map_err(told)
}

fn typed(what: What, fields: &Fields, told: String, confirm: bool) -> Wrong {
    let text = |name: &str| fields.0.get(name).cloned().unwrap_or_default();
    Wrong {
        what,
        of: text("of"),
        strikes: text("strikes"),
        value: text("value"),
        unit: text("unit"),
        why: text("why"),
        told,
        confirm,
    }
}

/// Reads a form into a row, or tells beside which field something is wrong.
async fn read(
    app: &App,
    here: &AtBench,
    station: Station,
    sent: &Fields,
    settings: &Settings,
) -> Result<Result<app::Sent, Wrong>, AppError> {
    let word = sent.text("what")?;
    let what = What::from_word(word)
        .filter(|w| !matches!(w.about().nature, Nature::Picture | Nature::Curve))
        .ok_or_else(|| AppError::Value {
            field: "what".to_owned(),
            why: "this isn’t written at the bench; load the page again".to_owned(),
        })?;
    let maybe = |name: &str| sent.maybe(name).map(|t| t.trim().to_owned());
    let strikes = maybe("strikes");
    let (of, unit, why) = (maybe("of"), maybe("unit"), maybe("why"));
    let wrong = |told: String, confirm| Ok(Err(typed(what, sent, told, confirm)));
    if strikes.is_some() && why.is_none() {
        return wrong("Say why it is wrong; both stay readable.".to_owned(), false);
    }
    if let Some(which) = what.about().of
        && of.is_none()
    {
        return wrong(format!("Name the {which} first."), false);
    }
    let typed_value = maybe("value").unwrap_or_default();
    let value = match what.about().nature {
        _ if typed_value.is_empty() && strikes.is_some() => String::new(),
        Nature::Amount | Nature::Count | Nature::Step => {
            let weigh = match station {
                Station::Weigh => app.weigh_list(&here.made.batch).await.unwrap_or_default(),
                _ => Vec::new(),
            };
            let at = At {
                page: Page {
                    to: String::new(),
                    who: "",
                    settings,
                    wrong: None,
                },
                here,
                weigh: &weigh,
                chosen: of.as_deref(),
                planned_min: None,
            };
            let is = |f: &Field| f.is_about(what, of.as_deref().unwrap_or_default());
            let field = fields(&at, what.about().station).into_iter().find(is);
            let field = field.unwrap_or_else(|| Field::new(what));
            let number = match settings.number(field.label(), &typed_value) {
                Ok(number) => number,
                Err(error) => return wrong(error.to_string(), false),
            };
            let given = unit.as_deref().unwrap_or_default();
            if !given.is_empty()
                && given != field.unit()
                && let Err(error) = in_unit(number, given, field.unit())
            {
                return wrong(format!("{}: {error}.", field.label()), false);
            }
            if why.is_none()
                && let Some(beyond) = field.beyond(number, given)
            {
                return wrong(beyond, true);
            }
            // As it was typed, where a point stood in it.
            match typed_value.parse::<f64>() {
                Ok(same) if same == number => typed_value,
                _ => number.to_string(),
            }
        }
        _ if typed_value.is_empty() => {
            return wrong("There is nothing in it yet.".to_owned(), false);
        }
        _ => typed_value,
    };
    let at = now();
    if strikes.is_none() && why.is_none() {
        let lots = of.as_ref().and_then(|of| here.lots.get(of));
        let lots = lots.map(Vec::as_slice).unwrap_or_default();
        if let Some(doubt) = doubts(&here.made.state, what, of.as_deref(), &value, &at, lots) {
            return wrong(doubt.told(), true);
        }
    }
    let unit = unit.filter(|_| !value.is_empty());
    Ok(Ok(app::Sent {
        key: maybe("key").unwrap_or_else(new_key),
        kind: Kind::Batch,
        thing: here.made.id.clone(),
        at,
        who: None,
        what: word.to_owned(),
        of,
        on: maybe("on"),
        value,
        unit,
        strikes,
        why,
    }))
}
