//! The history of a study: who changed what, when and why, and what that did to the numbers.

use super::{InStudy, who};
use crate::error::Failure;
use crate::fields::Fields;
use crate::shell::{Room, page as plain_page};
use crate::wants::Wants;
use app::{App, AppError, Change, Difference};
use axum::Json;
use axum::extract::{Path, Query, State};
use axum::response::{IntoResponse, Response};
use book::Page;
use maud::{Markup, html};
use paper::number;
use serde_json::{Value, json};
use study::Figure;

/// Revisions on a page.
const LENGTH: u64 = 50;

fn asked(query: &Fields) -> Result<Page, AppError> {
    let start = if query.maybe("start").is_some() {
        query.count("start")?
    } else {
        0
    };
    Ok(Page {
        start,
        count: LENGTH,
    })
}

/// What stands inside `<main>`.
pub(crate) async fn body(here: &InStudy<'_>) -> Result<Markup, AppError> {
    let history = here
        .app
        .history(&here.view.thing, asked(here.query)?)
        .await?;
    let thing = &here.view.thing;
    let newest = here.view.newest.number;
    Ok(html! {
        h1 { "History" }
        p .second { (history.total) @if history.total == 1 { " revision" } @else { " revisions" } ", none of which is ever overwritten." }
        form .compare method="get" action=(format!("/study/{thing}/difference")) {
            div .scroll role="region" aria-label="Revisions" tabindex="0" {
                table .list {
                    thead { tr {
                        th scope="col" { "revision" } th scope="col" { "when" } th scope="col" { "who" } th scope="col" { "what" } th scope="col" { "why" }
                        th scope="col" { "compare from" } th scope="col" { "to" } th scope="col" { "hash" }
                    } }
                    tbody {
                        @for (i, e) in history.items.iter().enumerate() {
                            tr {
                                th scope="row" { (e.number) }
                                td { (here.settings.dates.written(&e.when)) }
                                td { (e.who) }
                                td { (e.action.word()) @if let Some(r) = e.restored { " of " (r) } }
                                td .words { (e.why.as_deref().unwrap_or("")) }
                                td { label .pick data-word="from" { input type="radio" name="from" value=(e.number) checked[i == 1] aria-label=(format!("compare from revision {}", e.number)); } }
                                td { label .pick data-word="to" { input type="radio" name="to" value=(e.number) checked[i == 0] aria-label=(format!("compare to revision {}", e.number)); } }
                                td .unit { code title=(e.hash) { (e.hash.chars().take(10).collect::<String>()) } }
                            }
                        }
                    }
                }
            }
            @if history.total > 1 { button { "Show what changed" } }
            @else { p { "There is nothing to compare yet: change a number on the sheet and save it." } }
        }
        (turn(&format!("/study/{thing}/history"), history.start, history.items.len() as u64, history.total))
        @if newest > 1 {
            form .line method="post" action=(format!("/study/{thing}/restore")) {
                input type="hidden" name="base" value=(newest);
                label { "Take up revision " input name="number" inputmode="numeric" size="5" required; }
                label { "why " input name="why" maxlength="2000"; }
                button { "Restore as a new revision" }
            }
        }
        form .line method="post" action=(format!("/study/{thing}/remove")) {
            input type="hidden" name="base" value=(newest);
            label { "Take the study out of use; why " input name="why" maxlength="2000"; }
            button { "Remove" }
        }
    })
}

/// Links to the pages before and after.
pub(crate) fn turn(address: &str, start: u64, shown: u64, total: u64) -> Markup {
    let join = if address.contains('?') { '&' } else { '?' };
    html! {
        @if total > shown {
            nav .turn aria-label="Pages of the list" {
                @if start > 0 { a href=(format!("{address}{join}start={}", start.saturating_sub(LENGTH))) { "newer" } }
                span { (start + 1) " to " (start + shown) " of " (total) }
                @if start + shown < total { a href=(format!("{address}{join}start={}", start + shown)) { "older" } }
            }
        }
    }
}

/// The same as JSON.
pub(crate) async fn json(here: &InStudy<'_>) -> Result<Value, AppError> {
    let history = here
        .app
        .history(&here.view.thing, asked(here.query)?)
        .await?;
    Ok(json!({ "revisions": history }))
}

/// What changed between two revisions.
pub(crate) async fn difference(
    State(app): State<App>,
    Path(thing): Path<String>,
    Query(query): Query<Fields>,
    wants: Wants,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, wants);
    let (from, to) = (
        query.count("from").map_err(told)?,
        query.count("to").map_err(told)?,
    );
    let difference = app
        .difference(&thing, from.min(to), from.max(to))
        .await
        .map_err(told)?;
    if wants == Wants::Json {
        return Ok(Json(difference).into_response());
    }
    let view = app
        .study(&who(&app).await.map_err(told)?, &thing)
        .await
        .map_err(told)?;
    let currency = view.study.as_ref().map_or("¤", |s| s.currency.as_str());
    let body = html! {
        h1 { "From revision " (difference.from) " to " (difference.to) }
        p { a href=(Room::History.address(&thing)) { "To the history" } " · " a href=(Room::Sheet.address(&thing)) { "to the sheet" } }
        h2 { "What was written" }
        (change_list(&difference.changes))
        h2 { "What that did" }
        (figure_list(&difference, currency))
    };
    Ok(plain_page(
        &format!(
            "What changed from revision {} to {}",
            difference.from, difference.to
        ),
        &body,
    )
    .into_response())
}

/// Changes in words.
pub(crate) fn change_list(changes: &[Change]) -> Markup {
    html! {
        @if changes.is_empty() { p { "Nothing: both say the same." } }
        @else {
            div .scroll role="region" aria-label="Changes" tabindex="0" {
                table .list {
                    thead { tr { th scope="col" { "of" } th scope="col" { "what" } th scope="col" { "was" } th scope="col" { "is" } } }
                    tbody {
                        @for c in changes {
                            tr {
                                th scope="row" { (c.about) }
                                td { (c.what) }
                                td .words { (c.was.as_deref().unwrap_or("–")) }
                                td .words { (c.is.as_deref().unwrap_or("–")) }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn figure_list(difference: &Difference, currency: &str) -> Markup {
    html! {
        @if difference.figures.is_empty() { p { "No figure came out differently." } }
        @else {
            div .scroll role="region" aria-label="Figures" tabindex="0" {
                table .list {
                    thead { tr { th scope="col" { "treatment" } th scope="col" { "figure" } th scope="col" { "unit" } th .figure scope="col" { "was" } th .figure scope="col" { "is" } th .figure scope="col" { "difference" } } }
                    tbody {
                        @for (i, f) in difference.figures.iter().enumerate() {
                            @let again = i > 0 && difference.figures[i - 1].treatment == f.treatment;
                            @if let Some(figure) = Figure::with_key(f.figure) {
                                @let about = figure.about();
                                @let decimals = figure.decimals_for(f.was.or(f.is).unwrap_or(0.0));
                                tr {
                                    th scope="row" { span .unseen[again] { (f.treatment) } }
                                    td { (about.name) }
                                    td .unit { (about.unit.replace('¤', currency)) }
                                    td .figure { (number::fixed(f.was.unwrap_or(f64::NAN), decimals)) }
                                    td .figure { (number::fixed(f.is.unwrap_or(f64::NAN), decimals)) }
                                    td .figure { @if let (Some(was), Some(is)) = (f.was, f.is) { (measure::rounding::signed(is - was, decimals)) } }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}
