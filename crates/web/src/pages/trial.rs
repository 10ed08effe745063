//! A trial of the book: what it says, its run sheet, and what of its plan is changed after the start.

use super::study::encoded;
use super::who;
use crate::error::Failure;
use crate::fields::Fields;
use crate::sent::Sent;
use crate::shell::{self, Room};
use crate::wants::Wants;
use app::{App, AppError, ModelOf, ResponseResult, TableFormat, TrialView};
use axum::Json;
use axum::extract::{Path, Query, State};
use axum::http::header::{CONTENT_DISPOSITION, CONTENT_TYPE};
use axum::response::{IntoResponse, Redirect, Response};
use bench::{Asked, Made, More, is_measured};
use maud::{Markup, html};
use paper::number;
use paper::parts::findings;
use serde_json::json;

mod asked;
mod question;
mod side;

use asked::Own;
use question::Question;

/// The word in an address for all responses side by side.
const ALL: &str = "all";

/// The address of a trial.
pub(crate) fn address(trial: &str) -> String {
    format!("/trial/{trial}")
}

/// What the trial says: pictures first, then the sentence, then the tables; one response after another.
pub(crate) async fn results(
    State(app): State<App>,
    Path(trial): Path<String>,
    Query(query): Query<Fields>,
    wants: Wants,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, wants);
    let view = app.trial(&trial).await.map_err(told)?;
    let own = Own::read(&query).map_err(told)?;
    if let (Wants::Json, Some(own)) = (wants, own) {
        let answer = asked::as_json(&app, &view, own, &query).await;
        return Ok(Json(answer.map_err(told)?).into_response());
    }
    if wants == Wants::Json {
        let all = app.results(&view).await.map_err(told)?;
        let responses: Vec<_> = all
            .iter()
            .map(|r| match &r.outcome {
                Ok(found) => json!({ "response": r.asked, "analysis": found }),
                Err(findings) => json!({ "response": r.asked, "findings": findings }),
            })
            .collect();
        return Ok(
            Json(json!({ "trial": view.trial, "done": view.done, "responses": responses }))
                .into_response(),
        );
    }
    let asked = &view.trial.responses;
    let side = query.maybe("response") == Some(ALL);
    let chosen = query
        .maybe("response")
        .and_then(|id| asked.iter().find(|a| a.id == id))
        .or_else(|| asked.iter().find(|a| is_measured(&view.made, a)))
        .or(asked.first());
    let chosen = chosen.filter(|_| !side && own.is_none());
    let more = Question::read(&view, &query).map_err(told)?;
    let said = match chosen {
        None => None,
        Some(chosen) if more.is_usual() => Some(app.result(&view, chosen).await.map_err(told)?),
        Some(chosen) => {
            let more = more.clone();
            let found = app.result_with(&view, chosen, move |r| more.asked_of(r));
            Some(found.await.map_err(told)?)
        }
    };
    let all = match side {
        true => app.results(&view).await.map_err(told)?,
        false => Vec::new(),
    };
    let asked_of_all = match own {
        Some(own) => Some(asked::part(&app, &view, own, &query).await.map_err(told)?),
        None => None,
    };
    let title = view.trial.name.clone();
    let body = html! {
        (head(&trial, &view))
        (ways(&trial, &view, chosen, side, own))
        @if let Some(said) = &said { (response(&trial, &view, said, &more)) }
        @if let Some(part) = &asked_of_all { (part) }
        @if side { (side::by_side(&view, &all)) }
        (findings(&view.done.findings()))
        (changes(&trial, &view))
    };
    Ok(shell::page_of("results", &title, &body).into_response())
}

fn head(trial: &str, view: &TrialView) -> Markup {
    let t = &view.trial;
    html! {
        p .line .no-print {
            a .way href=(Room::Trials.address(&t.study)) { "To the trials of the study" } " "
            a href=(super::measure::address(trial, None)) { "Enter measurements" } " "
            a href=(format!("{}/sheet", address(trial))) { "Run sheet" } " "
            a href=(format!("{}/measurements?format=xlsx", address(trial))) { "Measurements as a workbook" } " "
            a href=(format!("{}/measurements?format=csv", address(trial))) { "as CSV" }
        }
        h1 { (t.name) }
        @if !t.question.is_empty() { p .question { em { (t.question) } } }
        p .second {
            (t.design().word()) ", seed " (t.seed) ". " (view.done.sentence())
            @if t.invented { " All of its data are invented." }
        }
    }
}

fn ways(
    trial: &str,
    view: &TrialView,
    chosen: Option<&Asked>,
    side: bool,
    own: Option<Own>,
) -> Markup {
    html! {
        nav .responses aria-label="Responses" {
            @for asked in &view.trial.responses {
                a href=(format!("{}?response={}#response", address(trial), encoded(&asked.id)))
                    aria-current=[chosen.is_some_and(|c| c.id == asked.id).then_some("true")] {
                    (asked.name) @if !is_measured(&view.made, asked) { span .second { ", not measured yet" } }
                }
            }
            @if view.trial.responses.len() > 1 {
                a href=(format!("{}?response={ALL}#side", address(trial))) aria-current=[side.then_some("true")] { "all side by side" }
            }
            (asked::ways(trial, view, own))
        }
    }
}

fn response(trial: &str, view: &TrialView, r: &ResponseResult, more: &Question) -> Markup {
    let id = encoded(&r.asked.id);
    html! {
        section .part #response {
            h2 { (r.asked.name) @if !r.asked.unit.is_empty() { ", " (r.asked.unit) } }
            @if !r.asked.method.is_empty() { p .second { (r.asked.method) } }
            @if r.is_empty() {
                p { "Nothing is measured of it yet. Enter it at the bench, or " a href=(super::measure::address(trial, None)) { "on the page Measurements" } ", by hand or from a file." }
            } @else {
                @match &r.outcome {
                    Ok(found) => {
                        @let told = told(view, r, found);
                        (told.part())
                        (question::form(trial, view, &r.asked.id, more))
                        @if let Some(model) = modelled(r) { h3 { (model.title) } (model.part()) }
                        p .no-print { a href=(format!("{}/measurements?format=csv&response={id}", address(trial))) { "These rows as a file" } ", which " code { "hardtack trial analyse" } " reads to the same answer." }
                    }
                    Err(wrong) => {
                        @if let Some(model) = modelled(r) { (model.part()) }
                        @if let Some(picture) = report::trial::batches(&view.trial, &view.made, &r.asked, None, &view.trial.names()) { (picture) }
                        p { @if more.is_usual() { "It can’t be analysed yet:" } @else { "This can’t be asked of it:" } }
                        (findings(wrong))
                        @if !more.is_usual() { (question::form(trial, view, &r.asked.id, more)) }
                    }
                }
            }
        }
    }
}

fn told(
    view: &TrialView,
    r: &ResponseResult,
    found: &trials::analyse::Analysis,
) -> report::trial::Told {
    let names = view.trial.names();
    let called = |level: &String| {
        let name = names.iter().find(|(short, _)| short == level);
        name.map_or_else(|| level.clone(), |(_, name)| name.clone())
    };
    let control = r.control.as_ref().map(called);
    let mut told =
        report::trial::analysis(&report::trial::named(found, &names), control.as_deref());
    let picture = report::trial::batches(&view.trial, &view.made, &r.asked, Some(found), &names);
    if let Some(picture) = picture {
        told.pictures.insert(0, picture);
    }
    told
}

/// The response over what was varied as numbers, told as `trial surface` and `trial mixture` do.
fn modelled(r: &ResponseResult) -> Option<report::trial::Told> {
    Some(match r.model.as_ref()? {
        ModelOf::Surface { model, variables } => report::trial::surface(model, variables, &[]),
        ModelOf::Mixture {
            model,
            parts,
            blends,
        } => report::trial::mixture(model, parts, blends, &[]),
    })
}

/// Batches as they stand, with what can be changed of the plan after its start.
fn changes(trial: &str, view: &TrialView) -> Markup {
    html! {
        section .part #batches {
            h2 { "Batches" }
            div .scroll role="region" aria-label="Batches" tabindex="0" { table .list {
                thead { tr { th scope="col" { "batch" } @for p in &view.trial.place_names { th scope="col" { (p) } } th scope="col" { "treatment" } th scope="col" { "water, kg per 100 kg dry mix" } th scope="col" { "whole" } th scope="col" { "state" } } }
                tbody { @for one in view.made.iter() { (batch_row(view, one)) } }
            } }
            @for change in &view.trial.changes {
                p .second { (change.unit) " was put in by " (change.who) ": " (change.why) }
            }
            details .no-print {
                summary { "A batch failed, or another is wanted" }
                form .line method="post" action=(format!("{}/abandon", address(trial))) {
                    label { "give up batch " select name="batch" { @for one in view.made.iter().filter(|m| m.state.abandoned.is_none()) { option value=(one.id) { (one.batch.code) ", " (name_of(view, &one.batch.label)) } } } }
                    label { "because " input name="why" required maxlength="500" autocomplete="off"; }
                    button { "Give it up" }
                }
                form .line method="post" action=(format!("{}/more", address(trial))) {
                    label { "make again " select name="unit" { @for run in &view.trial.runs { option value=(run.unit) { (run.unit) ", " (name_of(view, &run.treatment)) } } } }
                    label { "because " input name="why" required maxlength="500" autocomplete="off"; }
                    button { "Put it into the trial" }
                }
                form .line method="post" action=(format!("{}/more", address(trial))) {
                    label { "one more of " select name="treatment" { @for t in &view.trial.treatments { option value=(t.label) { (name_of(view, &t.label)) } } } }
                    @for (i, place) in view.trial.place_names.iter().enumerate() {
                        label { (place) " " input name=(format!("place{i}")) required maxlength="100" size="10" autocomplete="off"; }
                    }
                    label { "because " input name="why" required maxlength="500" autocomplete="off"; }
                    button { "Put it into the trial" }
                }
            }
        }
    }
}

/// What people call a treatment.
fn name_of(view: &TrialView, label: &str) -> String {
    let pinned = view.trial.pinned(label);
    let title = pinned.and_then(|p| p.title.clone());
    title.unwrap_or_else(|| label.to_owned())
}

fn batch_row(view: &TrialView, one: &Made) -> Markup {
    let state = &one.state;
    let run = view.trial.runs.iter().find(|r| r.batch == one.id);
    let places = run.map_or(&[][..], |r| &r.places);
    html! {
        tr {
            th scope="row" { (one.batch.code) }
            @for (i, _) in view.trial.place_names.iter().enumerate() { td { (places.get(i).map_or("", String::as_str)) } }
            td { (name_of(view, &one.batch.label)) }
            td .n { @match state.water.per_100kg { Some(w) => (number::fixed(w, 1)), None => "–" } }
            td .n { @if state.counts.out_of() > 0 { (state.counts.left_whole()) " of " (state.counts.out_of()) } @else { "–" } }
            td {
                @match (&state.abandoned, &state.signed) {
                    (Some(why), _) => { "given up: " (why.words) }
                    (_, Some(signed)) => { "signed by " (signed.told.who) @if !state.after_signing.is_empty() { ", " (state.after_signing.len()) " rows after that" } }
                    _ if state.is_begun() => "begun",
                    _ => "to do",
                }
                @if !state.struck.is_empty() { ", " (state.struck.len()) " struck through" }
            }
        }
    }
}

/// The run sheet, to print and write on.
pub(crate) async fn sheet(
    State(app): State<App>,
    Path(trial): Path<String>,
    wants: Wants,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, wants);
    let view = app.trial(&trial).await.map_err(told)?;
    if wants == Wants::Json {
        return Ok(Json(json!({ "trial": view.trial, "batches": view.made })).into_response());
    }
    let t = &view.trial;
    let title = format!("Run sheet: {}", t.name);
    let name = |label: &str| {
        let pinned = t.pinned(label);
        pinned
            .and_then(|p| p.blind.clone().or_else(|| p.title.clone()))
            .unwrap_or_else(|| label.to_owned())
    };
    let blind = t.treatments.iter().any(|p| p.blind.is_some());
    let pinned = t.treatments.first();
    let body = html! {
        p .line .no-print { a .way href=(address(&trial)) { "To the results" } " " button type="button" data-print hidden { "Print" } }
        h1 { (title) }
        @if !t.question.is_empty() { p .question { em { (t.question) } } }
        p .second {
            (t.design().unit_statement(t.unit)) " Order drawn from seed " (t.seed) " (" (t.algorithm) ")."
            @if let Some(p) = pinned { " By the study as of revision " (p.revision) ", " (p.hash.chars().take(12).collect::<String>()) "." }
        }
        table .list .run-sheet {
            thead { tr {
                th scope="col" { "order" } th scope="col" { (t.unit.word()) }
                @for p in &t.place_names { th scope="col" { (p) } }
                th scope="col" { @if blind { "code" } @else { "treatment" } }
                @for f in &t.factors { th scope="col" { (f.name) @if !f.unit.is_empty() { ", " (f.unit) } } }
                th scope="col" { "dry mix, kg" } th scope="col" { "done" } th scope="col" { "remarks" }
            } }
            tbody { @for run in &t.runs {
                @let one = view.made.iter().find(|m| m.id == run.batch);
                tr {
                    th scope="row" { (run.order) } td { (run.unit) @if run.added { " (put in later)" } }
                    @for p in &run.places { td { (p) } }
                    td { (name(&run.treatment)) }
                    @for l in &run.levels { td { (l) } }
                    td .n { @if let Some(kg) = one.and_then(|m| m.batch.dry_mix_kg) { (number::fixed(kg, 3)) } }
                    td {} td { span .rule {} }
                }
            } }
        }
        h2 { "What is measured" }
        ul { @for r in &t.responses { li { (r.name) @if !r.unit.is_empty() { ", " (r.unit) } ": " (r.repeats) " of each " (t.unit.word()) @if !r.method.is_empty() { "; " (r.method) } @if let Some(m) = r.margin { "; less than " (m) " " (r.unit) " is too small to matter" } } } }
        div .to-fill { @for what in ["day", "baked by", "checked by"] { div { span .rule {} (what) } } }
        @if blind { p .second .no-print { "Which code is which stands in the results." } }
    };
    Ok(shell::page_of("trials", &title, &body).into_response())
}

/// The measurements as a file.
pub(crate) async fn measurements(
    State(app): State<App>,
    Path(trial): Path<String>,
    Query(query): Query<Fields>,
    wants: Wants,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, wants);
    let view = app.trial(&trial).await.map_err(told)?;
    let panel = match Own::read(&query).map_err(told)? {
        Some(own) => asked::panel_of(&view, own, &query).map_err(told)?,
        None => None,
    };
    let response = query.maybe("response");
    let format = match query.maybe("format") {
        Some("xlsx") => TableFormat::Xlsx,
        Some("csv") => TableFormat::Csv,
        _ => {
            let sheet = app.measurements_out(&view, response).map_err(told)?;
            return Ok(Json(sheet).into_response());
        }
    };
    let bytes = match (&panel, format) {
        (Some(panel), TableFormat::Csv) => panel.csv(),
        _ => app.measurements_file(&view, response, format),
    };
    let bytes = bytes.map_err(told)?;
    let kind = match format {
        TableFormat::Csv => "text/csv; charset=utf-8",
        TableFormat::Xlsx => "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
    };
    // A lasting name has small letters, digits and hyphens alone.
    let name = format!(
        "attachment; filename=\"{}.{}\"",
        view.entry.thing,
        format.word()
    );
    Ok((
        [(CONTENT_TYPE, kind.to_owned()), (CONTENT_DISPOSITION, name)],
        bytes,
    )
        .into_response())
}

/// Gives a batch up.
pub(crate) async fn abandon(
    State(app): State<App>,
    Path(trial): Path<String>,
    wants: Wants,
    Sent(fields): Sent,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, wants);
    let who = who(&app).await.map_err(told)?;
    let view = app.trial(&trial).await.map_err(told)?;
    let batch = fields.text("batch").map_err(told)?;
    if !view.made.iter().any(|m| m.id == batch) {
        return Err(told(AppError::NoBatch(batch.chars().take(80).collect())));
    }
    let why = fields.text("why").map_err(told)?;
    app.abandon(&who, batch, why).await.map_err(told)?;
    Ok(Redirect::to(&format!("{}#batches", address(&trial))).into_response())
}

/// Puts a batch in.
pub(crate) async fn more(
    State(app): State<App>,
    Path(trial): Path<String>,
    wants: Wants,
    Sent(fields): Sent,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, wants);
    let who = who(&app).await.map_err(told)?;
    let why = fields.text("why").map_err(told)?;
    let view = app.trial(&trial).await.map_err(told)?;
    let places = view.trial.place_names.iter().enumerate();
    let places: Vec<String> = places
        .map(|(i, _)| {
            fields
                .maybe(&format!("place{i}"))
                .unwrap_or_default()
                .trim()
                .to_owned()
        })
        .collect();
    let what = match fields.maybe("unit") {
        Some(unit) => More::Again(unit),
        None => More::Of {
            treatment: fields.text("treatment").map_err(told)?,
            places: &places,
        },
    };
    app.more_batches(&who, &trial, what, why)
        .await
        .map_err(told)?;
    Ok(Redirect::to(&format!("{}#batches", address(&trial))).into_response())
}
