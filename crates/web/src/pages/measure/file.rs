//! Measurements of a file or of a pasted table: looked at first, each problem by row and column, then read in.

use super::address;
use crate::error::Failure;
use crate::fields::Fields;
use crate::pages::exchange::upload;
use crate::pages::{trial, who};
use crate::sent::Sent;
use crate::shell;
use crate::wants::Wants;
use app::{App, AppError, MeasurementsFile, Settings, TrialView};
use axum::Json;
use axum::extract::{Multipart, Path, State};
use axum::response::{IntoResponse, Redirect, Response};
use bench::observe::{Column, Observed, Told};
use book::exchange::Decimal;
use maud::{Markup, html};
use serde_json::json;

/// Rows of problems that are shown.
const SHOWN: usize = 100;

/// Where a file is chosen or a table pasted.
pub(super) fn form(view: &TrialView, settings: &Settings) -> Markup {
    let at = format!("{}/measure/file", trial::address(&view.entry.thing));
    html! {
        section .part #file .no-print {
            h2 { "From a file or a spreadsheet" }
            p { "One column names the batch, such as B01; columns for the piece, bag or day tell values apart; every other column that bears the name of a response is read. Units may stand in the heads. You see what it comes to before anything is kept." }
            form .from-file method="post" action=(at) enctype="multipart/form-data" {
                label { "CSV or workbook " input type="file" name="file" accept=".csv,.tsv,.txt,.xlsx"; }
                label { "sheet of the workbook " input name="sheet" maxlength="100" autocomplete="off" placeholder="the first"; }
                (decimal(settings.decimal))
                label .wide { "or paste a table with its heads" textarea name="pasted" rows="4" spellcheck="false" {} }
                button { "Look at it" }
            }
        }
    }
}

pub(super) fn decimal(chosen: Decimal) -> Markup {
    html! {
        label { "decimal mark " select name="decimal" {
            @for (word, shown, mark) in [("point", "12.5", Decimal::Point), ("comma", "12,5", Decimal::Comma)] {
                option value=(word) selected[mark == chosen] { (shown) }
            }
        } }
    }
}

pub(super) fn decimal_of(fields: &Fields, settings: &Settings) -> Decimal {
    match fields.maybe("decimal") {
        Some("comma") => Decimal::Comma,
        Some("point") => Decimal::Point,
        _ => settings.decimal,
    }
}

/// Holds a file and shows what it comes to.
pub(crate) async fn hold(
    State(app): State<App>,
    Path(trial): Path<String>,
    wants: Wants,
    parts: Multipart,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, wants);
    let mut sent = upload(parts, wants, Some("pasted")).await?;
    let view = app.trial(&trial).await.map_err(told)?;
    let held = app.hold(sent.bytes);
    sent.fields.0.insert("file".to_owned(), held);
    looked(&app, &view, &sent.fields, wants).await
}

/// Shows again what a held file comes to, with other columns; or reads it in.
pub(crate) async fn look(
    State(app): State<App>,
    Path(trial): Path<String>,
    wants: Wants,
    Sent(fields): Sent,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, wants);
    let view = app.trial(&trial).await.map_err(told)?;
    if fields.maybe("enter").is_none() {
        return looked(&app, &view, &fields, wants).await;
    }
    let observed = come_to(&app, &view, &fields).await.map_err(told)?;
    // What is read in is what was looked at: another window may have written meanwhile.
    let as_looked_at = fields
        .maybe("new")
        .is_some_and(|n| n == observed.new.len().to_string());
    let whole = observed.problems.is_empty() || fields.maybe("enter") == Some("rest");
    if !as_looked_at || !whole {
        return looked(&app, &view, &fields, wants).await;
    }
    let who = who(&app).await.map_err(told)?;
    let correct = fields.maybe("correct");
    let entered = app
        .enter_measurements(&who, observed.new, correct)
        .await
        .map_err(told)?;
    if wants == Wants::Json {
        return Ok(Json(entered).into_response());
    }
    if let Some(refused) = entered.refused.first() {
        return Err(told(AppError::Value {
            field: "file".to_owned(),
            why: refused.clone(),
        }));
    }
    Ok(Redirect::to(&address(&trial, None)).into_response())
}

/// The columns that a person has named.
fn named(fields: &Fields) -> Vec<(String, String)> {
    let each = fields.0.iter().filter_map(|(name, to)| {
        let n = name.strip_prefix("to.")?;
        let head = fields.0.get(&format!("head.{n}"))?;
        (!to.is_empty()).then(|| (head.clone(), to.clone()))
    });
    each.collect()
}

async fn come_to(app: &App, view: &TrialView, fields: &Fields) -> Result<Observed, AppError> {
    let settings = app.settings().await?;
    let bytes = app.held(fields.text("file")?)?;
    let named = named(fields);
    let file = MeasurementsFile {
        bytes: &bytes,
        sheet: fields.maybe("sheet").map(str::trim),
        decimal: decimal_of(fields, &settings),
        named: &named,
        correct: fields.maybe("correct"),
    };
    app.measurements(view, &file)
}

async fn looked(
    app: &App,
    view: &TrialView,
    fields: &Fields,
    wants: Wants,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, wants);
    let settings = app.settings().await.map_err(told)?;
    let observed = come_to(app, view, fields).await.map_err(told)?;
    if wants == Wants::Json {
        return Ok(
            Json(json!({ "observed": observed, "file": fields.maybe("file") })).into_response(),
        );
    }
    let body = preview(view, fields, &observed, decimal_of(fields, &settings));
    Ok(shell::page_of("results", "Before it is read in", &body).into_response())
}

fn preview(view: &TrialView, fields: &Fields, observed: &Observed, mark: Decimal) -> Markup {
    let thing = &view.entry.thing;
    let new = observed.new.len();
    let rest = !observed.problems.is_empty();
    html! {
        p .line { a .way href=(address(thing, None)) { "Leave it, to the measurements" } }
        h1 { "Before it is read in" }
        p { (view.trial.name) ": " (observed.rows) @if observed.rows == 1 { " row" } @else { " rows" } " under the head, "
            (new) @if new == 1 { " value" } @else { " values" } " to write"
            @if observed.kept_already > 0 { ", " (observed.kept_already) " kept already" } "." }
        form method="post" action=(format!("{}/measure/look", trial::address(thing))) {
            input type="hidden" name="file" value=(fields.maybe("file").unwrap_or_default());
            input type="hidden" name="sheet" value=(fields.maybe("sheet").unwrap_or_default());
            input type="hidden" name="new" value=(new);
            h2 { "What each column is taken for" }
            div .scroll role="region" aria-label="Columns" tabindex="0" { table .list {
                thead { tr { th scope="col" { "column" } th scope="col" { "taken for" } th scope="col" { "is rather" } } }
                tbody { @for (n, matched) in observed.columns.iter().enumerate().filter(|(_, m)| !m.head.is_empty()) { tr {
                    th scope="row" { (matched.head) }
                    td { (taken_for(view, &matched.column)) }
                    td {
                        input type="hidden" name=(format!("head.{n}")) value=(matched.head);
                        (choice(view, n, fields))
                    }
                } } }
            } }
            p .line { (decimal(mark)) label { "where the book has another value: why this one is right " input name="correct" maxlength="500" autocomplete="off" value=(fields.maybe("correct").unwrap_or_default()); } }
            p { button { "Look again" } }
            (list("What can’t be read in", &observed.problems))
            (list("To look at; kept with a mark", &observed.marked))
            @if new > 0 {
                p {
                    @if rest { button name="enter" value="rest" { "Read in the " (new) " that are fine" } }
                    @else { button .main name="enter" value="all" { "Read in " (new) @if new == 1 { " value" } @else { " values" } } }
                }
            } @else if !rest { p { "There is nothing new in it." } }
        }
    }
}

pub(super) fn list(title: &str, all: &[Told]) -> Markup {
    html! {
        @if !all.is_empty() {
            h2 { (title) }
            div .scroll role="region" aria-label=(title) tabindex="0" { table .list {
                thead { tr { th .n scope="col" { "row" } th scope="col" { "column" } th scope="col" { "found" } th scope="col" { "why" } } }
                tbody { @for told in all.iter().take(SHOWN) { tr { td .n { (told.row) } td { (told.column) } td { (told.found) } td .words { (told.why) } } } }
            } }
            @if all.len() > SHOWN { p .second { "and " (all.len() - SHOWN) " more" } }
        }
    }
}

fn taken_for(view: &TrialView, column: &Column) -> String {
    let name = |id: &str| {
        view.trial
            .response(id)
            .map_or_else(|| id.to_owned(), |a| a.name.clone())
    };
    match column {
        Column::Batch => "the batch".to_owned(),
        Column::Treatment => "the treatment, checked against the batch".to_owned(),
        Column::Part(part) => format!("the {}", part.word()),
        Column::Response { id, unit: None } => name(id),
        Column::Response {
            id,
            unit: Some(unit),
        } => format!("{}, typed in {unit}", name(id)),
        Column::OutOf(id) => format!("out of how many, of {}", name(id)),
        Column::Which => "which response the row is about".to_owned(),
        Column::Value => "the value".to_owned(),
        Column::SetAside => "why it is set aside".to_owned(),
        Column::Known => "known from the plan".to_owned(),
        Column::Unknown => "not asked for; left out".to_owned(),
    }
}

fn choice(view: &TrialView, n: usize, fields: &Fields) -> Markup {
    let name = format!("to.{n}");
    let chosen = fields.maybe(&name).unwrap_or_default();
    let fixed = [
        ("batch", "the batch"),
        ("piece", "the piece"),
        ("bag", "the bag"),
        ("day", "the day"),
        ("dog", "the dog"),
        ("order", "nothing that is read"),
    ];
    html! {
        select name=(name) aria-label="is rather" {
            option value="" { "as taken" }
            @for asked in &view.trial.responses { option value=(asked.id) selected[chosen == asked.id] { (asked.name) } }
            @for (word, shown) in fixed { option value=(word) selected[chosen == word] { (shown) } }
        }
    }
}
