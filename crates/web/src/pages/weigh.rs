//! What to weigh, as a page to print: the lines of a batch in the order of addition, with room to write beside them.

use super::study::encoded;
use super::who;
use crate::error::Failure;
use crate::fields::Fields;
use crate::shell::{self, Room};
use crate::wants::Wants;
use app::{App, AppError, Settings, StudyView, Weighing, weighed};
use axum::Json;
use axum::extract::{Path, Query, State};
use axum::response::{IntoResponse, Response};
use formula::batch::Batch;
use maud::{Markup, html};
use paper::number;
use paper::parts::findings;

/// What is asked unless the address says otherwise: pieces, what is lost, the scale's division.
const PIECES: f64 = 400.0;
const LOSS_PCT: f64 = 5.0;
const SCALE_G: f64 = 1.0;

fn asked(query: &Fields, settings: &Settings) -> Result<Weighing, AppError> {
    let number = |name: &str, usual: f64| match query.maybe(name) {
        Some(_) => query.number(name, settings),
        None => Ok(usual),
    };
    Ok(Weighing {
        pieces: number("pieces", PIECES)?,
        loss_pct: number("loss", LOSS_PCT)?,
        scale_g: number("scale", SCALE_G)?,
    })
}

/// The address of the page for a treatment.
pub(crate) fn address(thing: &str, treatment: &str) -> String {
    format!("/study/{thing}/weigh?treatment={}", encoded(treatment))
}

/// The page.
pub(crate) async fn page(
    State(app): State<App>,
    Path(thing): Path<String>,
    Query(query): Query<Fields>,
    wants: Wants,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, wants);
    let settings = app.settings().await.map_err(told)?;
    let who = who(&app).await.map_err(told)?;
    let view = app.study(&who, &thing).await.map_err(told)?;
    let control = view.answers.worked.first().map(|w| w.answer.id.as_str());
    let treatment = query.maybe("treatment").or(control).unwrap_or_default();
    let asked = asked(&query, &settings).map_err(told)?;
    let batch = weighed(&view, treatment, &asked).map_err(told)?;
    if wants == Wants::Json {
        return Ok(Json(batch).into_response());
    }
    let name = view.worked(treatment).map_err(told)?.answer.name.clone();
    let title = format!("Weigh list: {name}");
    let body = html! {
        (form(&view, &asked, treatment, &settings))
        h1 { (title) }
        p .second {
            (view.newest.title) ", " @if view.draft.is_some() { "draft over " } "revision " (view.base) ": "
            (number::fixed(asked.pieces, 0)) " good pieces, " (number::fixed(asked.loss_pct, 1)) " % lost on the way, weighed to " (asked.scale_g) "\u{a0}g"
        }
        (list(&batch, &asked, &settings))
        (findings(&batch.findings()))
        p { b { "Raw dough and raw flour can carry germs: " } "don’t taste, don’t feed; wash hands. Flour dust explodes and sensitises: keep it down. Local codes decide." }
        div .to-fill { @for what in ["day and batch", "weighed by", "checked by"] { div { span .rule {} (what) } } }
    };
    Ok(shell::page_of("sheet", &title, &body).into_response())
}

fn form(view: &StudyView, asked: &Weighing, treatment: &str, settings: &Settings) -> Markup {
    let field = |name: &str, what: &str, value: f64| {
        let value = value
            .to_string()
            .replace('.', &settings.decimal.mark().to_string());
        html! { label { (what) " " input name=(name) inputmode="decimal" size="6" autocomplete="off" value=(value); } }
    };
    html! {
        form .line .no-print method="get" action=(format!("/study/{}/weigh", view.thing)) {
            a .way href=(Room::Sheet.address(&view.thing)) { "To the sheet" }
            label { "treatment " select name="treatment" {
                @for w in &view.answers.worked { option value=(w.answer.id) selected[w.answer.id == treatment] { (w.answer.name) } }
            } }
            (field("pieces", "good pieces", asked.pieces))
            (field("loss", "lost on the way, %", asked.loss_pct))
            (field("scale", "scale weighs to, g", asked.scale_g))
            button .main { "Work it out" }
            button type="button" data-print hidden { "Print" }
        }
    }
}

fn list(batch: &Batch, asked: &Weighing, settings: &Settings) -> Markup {
    let units = settings.units;
    let places = if asked.scale_g < 0.1 {
        5
    } else if asked.scale_g < 1.0 {
        4
    } else {
        3
    };
    let mass = |kg: f64| {
        let text = number::fixed(units.value(kg, "kg"), units.decimals("kg", places));
        text.replace('.', &settings.decimal.mark().to_string())
    };
    let mut stages = Vec::new();
    for line in &batch.lines {
        if !stages.contains(&line.stage) {
            stages.push(line.stage);
        }
    }
    html! {
        table .weigh-list .long {
            thead { tr {
                th scope="col" { "material" } th scope="col" { "lot" } th .figure scope="col" { "weigh, " (units.unit("kg")) }
                th scope="col" { "weighed" } th scope="col" { "lot used" }
            } }
            @for stage in stages {
                tbody {
                    tr .group { th scope="rowgroup" colspan="5" { (stage.word()) } }
                    @for line in batch.lines.iter().filter(|l| l.stage == stage) {
                        tr {
                            th scope="row" { (line.name) }
                            td { (line.lot) }
                            td .figure { b { (mass(line.weighed_kg)) } }
                            td .to-write {}
                            td .to-write {}
                        }
                    }
                }
            }
            tbody { tr .sum { th scope="row" { "dough" } td {} td .figure { (mass(batch.weighed_kg)) } td .to-write {} td {} } }
        }
    }
}
