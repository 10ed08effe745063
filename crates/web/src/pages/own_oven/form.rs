//! Asking for a fit: which treatment was baked, what was read, what is to be learned.

use super::super::InStudy;
use crate::error::Failure;
use crate::fields::Fields;
use crate::shell::{self, Room};
use crate::wants::Wants;
use app::{App, AppError, FitAsked, StudyView};
use axum::Json;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use learning::Parameter;
use maud::{Markup, html};
use measure::Finding;
use paper::parts::findings;
use serde_json::json;

/// What was typed and not taken, and why.
#[derive(Default)]
pub(super) struct Typed {
    /// What was typed.
    pub fields: Fields,
    /// What there is to say of it.
    pub said: Option<String>,
    /// Readings that can't be so, by row.
    pub found: Vec<Finding>,
}

const HEAD: &str = "bake,what,minutes,value,before_g,height_mm";

pub(super) fn form(page: &InStudy<'_>, typed: &Typed, first: bool) -> Markup {
    let treatments = page.view.study.as_deref().map(|s| &s.treatments[..]);
    let was = |name: &str| typed.fields.maybe(name);
    let asked = was("do").is_some();
    let learns = |p: Parameter| {
        if asked {
            was(&format!("learn-{}", p.word())).is_some()
        } else {
            Parameter::USUAL.contains(&p)
        }
    };
    let open = first || typed.said.is_some() || !typed.found.is_empty();
    html! {
        details .part .no-print open[open] #new-fit {
            summary { "Fit the oven to bakes" }
            @if let Some(said) = &typed.said { p .said role="alert" { (said) } }
            @if !typed.found.is_empty() { p .said role="alert" { "Some readings can’t be so, and nothing was fitted. What was typed stands below." } (findings(&typed.found)) }
            form .plan-form method="post" action=(Room::OwnOven.address(&page.view.thing)) {
                label { "Name of the fit" input name="name" maxlength="80" required value=(was("name").unwrap_or("own oven")); }
                label { "Treatment that was baked"
                    select name="treatment" { @for t in treatments.unwrap_or_default() {
                        option value=(t.id) selected[was("treatment") == Some(t.id.as_str())] { (t.name) }
                    } }
                }
                label .check .wide { input type="checkbox" name="batches" value="yes" checked[!asked || was("batches").is_some()]; " What the batches of this study’s trials tell of it: pulled pieces, end moistures, probes" }
                label .wide { "Readings beside them, one a line"
                    textarea .readings-typed name="table" rows="7" spellcheck="false" placeholder=(format!("{HEAD}\ntuesday,mass_g,4,11.62,12.40,\ntuesday,end_moisture_pct,14.5,8.2,,\ntuesday,temperature_c,6,98.4,,4")) { (was("table").unwrap_or_default()) }
                }
                p .second .wide { "What is read: mass_g with before_g, moisture_pct of a pulled piece, end_moisture_pct of cooled pieces with their minutes in the oven, temperature_c with height_mm over the band. Minutes count from the moment the piece enters the oven. A logger needs no more than one row for each half minute." }
                fieldset .wide .picks { legend { "To be learned" }
                    @for p in Parameter::ALL { label .check { input type="checkbox" name=(format!("learn-{}", p.word())) value="yes" checked[learns(p)]; " " (p.about().name) } }
                    label .check { input type="checkbox" name="by_zone" value="yes" checked[was("by_zone").is_some()]; " heat from above and from the band in each zone by itself" }
                }
                button name="do" value="fit" { "Fit" }
            }
        }
    }
}

/// What a form asks for.
pub(super) async fn asked(
    app: &App,
    view: &StudyView,
    fields: &Fields,
) -> Result<FitAsked, AppError> {
    let treatment = fields.text("treatment")?.trim().to_owned();
    let mut rows = Vec::new();
    if let Some(table) = fields.maybe("table") {
        rows = learning::read(table).map_err(|e| AppError::Value {
            field: "readings".to_owned(),
            why: e.to_string(),
        })?;
    }
    if fields.maybe("batches").is_some() {
        let told = app.oven_readings(&view.thing, &treatment).await?;
        if !told.rows.is_empty() {
            let table = bench::oven_table(&told.rows);
            let read = learning::read(&table).map_err(|e| AppError::Value {
                field: "readings of the batches".to_owned(),
                why: e.to_string(),
            })?;
            rows.extend(read);
        }
    }
    let learn = Parameter::ALL
        .into_iter()
        .filter(|p| fields.maybe(&format!("learn-{}", p.word())).is_some());
    Ok(FitAsked {
        name: fields.maybe("name").unwrap_or_default().to_owned(),
        treatment,
        rows,
        learn: learn.collect(),
        by_zone: fields.maybe("by_zone").is_some(),
        leave_out: Vec::new(),
    })
}

/// The page once more, with what was typed and what is wrong with it.
pub(super) async fn refused(
    app: &App,
    view: &StudyView,
    typed: &Typed,
    wants: Wants,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, wants);
    if wants == Wants::Json {
        let body = json!({ "what": typed.said, "findings": typed.found });
        return Ok((StatusCode::UNPROCESSABLE_ENTITY, Json(body)).into_response());
    }
    let settings = app.settings().await.map_err(told)?;
    let none = Fields::default();
    let page = InStudy {
        app,
        view,
        settings: &settings,
        query: &none,
    };
    let body = super::drawn(&page, typed).await.map_err(told)?;
    let page = shell::study_page(view, Room::OwnOven, &settings, &none, &body);
    Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response())
}
