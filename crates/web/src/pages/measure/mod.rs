//! Measurements of a trial: typed into a grid of a batch, pasted from a spreadsheet, or read in from a file.

mod curves;
mod file;
mod grid;
mod log;

pub(crate) use curves::draw;
pub(crate) use file::{hold, look};
pub(crate) use log::{hold_log, look_log};

use super::study::encoded;
use super::{trial, who};
use crate::error::Failure;
use crate::fields::Fields;
use crate::sent::Sent;
use crate::shell;
use crate::wants::Wants;
use app::{App, AppError, Settings, TrialView};
use axum::Json;
use axum::extract::{Path, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use bench::Made;
use maud::{Markup, html};
use serde_json::json;
use std::collections::BTreeMap;

/// The address of the page, of a batch where one is named.
pub(crate) fn address(trial: &str, batch: Option<&str>) -> String {
    let page = format!("{}/measure", trial::address(trial));
    batch.map_or_else(|| page.clone(), |b| format!("{page}?batch={}", encoded(b)))
}

/// What was typed and not taken, and why.
#[derive(Default)]
struct Typed {
    /// Texts by the names of their fields.
    fields: Fields,
    /// What is wrong, by the names of the fields.
    wrong: BTreeMap<String, String>,
    /// What lies beyond what is plausible, by the names of the fields.
    beyond: BTreeMap<String, String>,
    /// What there is to say of it all.
    said: Option<String>,
}

/// The batch that is looked at: the one named, else the first that wants something.
fn chosen<'a>(view: &'a TrialView, named: Option<&str>) -> Result<Option<&'a Made>, AppError> {
    let open = |m: &&Made| m.state.abandoned.is_none();
    if let Some(named) = named {
        let found = view
            .made
            .iter()
            .find(|m| m.id == named || m.batch.code == named);
        let found = found.ok_or_else(|| AppError::NoBatch(named.chars().take(80).collect()))?;
        return Ok(Some(found));
    }
    let wants = |m: &&Made| grid::missing(&view.trial, m) > 0;
    let all = || view.made.iter().filter(open);
    Ok(all().find(wants).or_else(|| all().next()))
}

/// The page.
pub(crate) async fn page(
    State(app): State<App>,
    Path(trial): Path<String>,
    Query(query): Query<Fields>,
    wants: Wants,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, wants);
    let view = app.trial(&trial).await.map_err(told)?;
    let made = chosen(&view, query.maybe("batch")).map_err(told)?;
    if wants == Wants::Json {
        let rows = made.map(|m| bench::grid(&view.trial, m));
        let asked = &view.trial.responses;
        return Ok(
            Json(json!({ "batch": made.map(|m| &m.id), "responses": asked, "rows": rows }))
                .into_response(),
        );
    }
    let settings = app.settings().await.map_err(told)?;
    Ok(shown(&view, made, &settings, &Typed::default()).into_response())
}

fn shown(view: &TrialView, made: Option<&Made>, settings: &Settings, typed: &Typed) -> Response {
    let trial = &view.entry.thing;
    let title = format!("Measurements: {}", view.trial.name);
    let body = html! {
        p .line .no-print {
            a .way href=(trial::address(trial)) { "To the results" } " "
            a href=(format!("{}/sheet", trial::address(trial))) { "Run sheet" }
        }
        h1 { "Measurements" }
        p .second { (view.trial.name) ": " (view.done.sentence()) }
        @match made {
            None => p { "The trial has no batch that values could belong to." },
            Some(made) => {
                (batches(view, made))
                (grid::form(view, made, settings, typed))
                (aside(view, made, settings))
                (log::inside(made))
            }
        }
        (file::form(view, settings))
        (curves::form(view, made, settings))
        (log::form(view, made, settings))
    };
    shell::page_with("results", &title, Some("trials.js"), &body).into_response()
}

/// The way to each batch, with what it still wants.
fn batches(view: &TrialView, made: &Made) -> Markup {
    html! {
        nav .responses aria-label="Batches" { @for one in view.made.iter() {
            @let missing = grid::missing(&view.trial, one);
            a href=(address(&view.entry.thing, Some(&one.id))) aria-current=[(one.id == made.id).then_some("true")] {
                (one.batch.code)
                span .second {
                    @if one.state.abandoned.is_some() { ", given up" }
                    @else if missing > 0 { ", " (missing) " to come" }
                }
            }
        } }
    }
}

/// Setting a value aside, and taking it back.
fn aside(view: &TrialView, made: &Made, settings: &Settings) -> Markup {
    let all: Vec<grid::Standing> = grid::standing(view, made, settings);
    let (out, within): (Vec<_>, Vec<_>) = all.into_iter().partition(|s| s.set_aside.is_some());
    let at = format!("{}/measure/aside", trial::address(&view.entry.thing));
    html! {
        @if !within.is_empty() || !out.is_empty() {
            details .no-print open[!out.is_empty()] {
                summary { "Set a value aside" @if !out.is_empty() { ", or take one back" } }
                p .second { "It stays in the book and on the results, as an open dot; the analysis is told with it and without it." }
                @if !within.is_empty() {
                    form .line method="post" action=(at) {
                        input type="hidden" name="batch" value=(made.id);
                        label { "value " select name="key" { @for s in &within { option value=(s.key) { (s.name) } } } }
                        label { "because " input name="why" required maxlength="500" autocomplete="off"; }
                        button { "Set it aside" }
                    }
                }
                @for s in &out {
                    form .line method="post" action=(at) {
                        input type="hidden" name="batch" value=(made.id);
                        input type="hidden" name="key" value=(s.key);
                        input type="hidden" name="back" value="yes";
                        span { "○ " (s.name) ": " (s.set_aside.as_deref().unwrap_or_default()) }
                        label { "because " input name="why" required maxlength="500" autocomplete="off"; }
                        button { "Take it back" }
                    }
                }
            }
        }
    }
}

/// Keeps what was typed into the grid.
pub(crate) async fn keep(
    State(app): State<App>,
    Path(trial): Path<String>,
    wants: Wants,
    Sent(fields): Sent,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, wants);
    let settings = app.settings().await.map_err(told)?;
    let view = app.trial(&trial).await.map_err(told)?;
    let batch = fields.text("batch").map_err(told)?;
    let Some(made) = chosen(&view, Some(batch)).map_err(told)? else {
        return Err(told(AppError::NoBatch(batch.to_owned())));
    };
    let (names, typed) = grid::changed(&view.trial, made, &settings, &fields);
    let why = fields.maybe("why");
    let found = app.typed_measurements(&view, &typed, settings.decimal, why);
    let at = |told: &bench::observe::Told| {
        let (value, out_of) = names.get(told.row.saturating_sub(2))?;
        let of = told.column.ends_with("_of") && !out_of.is_empty();
        Some(if of { out_of } else { value }.clone())
    };
    let by_field = |list: &[bench::observe::Told]| {
        let each = list.iter().filter_map(|t| Some((at(t)?, t.why.clone())));
        each.collect::<BTreeMap<String, String>>()
    };
    let mut wrong = by_field(&found.problems);
    wrong.extend(grid::emptied(&view.trial, made, &fields));
    let beyond = by_field(&found.marked);
    let asked = beyond.is_empty() || fields.maybe("sure").is_some();
    if !wrong.is_empty() || !asked {
        if wants == Wants::Json {
            return Ok((
                StatusCode::UNPROCESSABLE_ENTITY,
                Json(json!({ "wrong": wrong, "beyond": beyond })),
            )
                .into_response());
        }
        let said = match wrong.len() {
            0 => {
                "Nothing is written yet: some values lie beyond what is plausible. Look once more."
                    .to_owned()
            }
            1 => "Nothing is written yet: one value can’t be taken.".to_owned(),
            n => format!("Nothing is written yet: {n} values can’t be taken."),
        };
        let typed = Typed {
            said: Some(said),
            fields,
            wrong,
            beyond,
        };
        let page = shown(&view, Some(made), &settings, &typed);
        return Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response());
    }
    let who = who(&app).await.map_err(told)?;
    let entered = app
        .enter_measurements(&who, found.new, why)
        .await
        .map_err(told)?;
    if let Some(refused) = entered.refused.first() {
        return Err(told(AppError::Value {
            field: "grid".to_owned(),
            why: refused.clone(),
        }));
    }
    if wants == Wants::Json {
        return Ok(Json(entered).into_response());
    }
    Ok(Redirect::to(&format!("{}#grid", address(&trial, Some(&made.id)))).into_response())
}

/// Sets a value aside, or takes it back.
pub(crate) async fn set_aside(
    State(app): State<App>,
    Path(trial): Path<String>,
    wants: Wants,
    Sent(fields): Sent,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, wants);
    let who = who(&app).await.map_err(told)?;
    let view = app.trial(&trial).await.map_err(told)?;
    let word = |name: &str| fields.text(name).map_err(told);
    let (batch, key, why) = (word("batch")?, word("key")?, word("why")?);
    chosen(&view, Some(batch)).map_err(told)?;
    match fields.maybe("back") {
        Some(_) => app.take_back(&who, batch, key, why).await,
        None => app.set_aside(&who, batch, key, why).await,
    }
    .map_err(told)?;
    Ok(Redirect::to(&format!("{}#grid", address(&trial, Some(batch)))).into_response())
}
