//! Force over distance from an instrument: each curve drawn, the force at break of each piece, and from there the same look
//! before it is read in as of any file.

use crate::error::Failure;
use crate::pages::exchange::upload;
use crate::pages::trial;
use crate::shell;
use crate::wants::Wants;
use app::{App, AppError, Settings, TrialView};
use axum::Json;
use axum::extract::{Multipart, Path, State};
use axum::response::{IntoResponse, Response};
use bench::{BendCurve, Made, bend_table};
use maud::{Markup, html};
use paper::chart::{Axis, LineChart, Look, Series, line_chart};
use paper::number;
use serde_json::json;
use trials::measurement::bend::flat_stress_pa;
use trials::response::Response as Measured;

/// Most points of a curve that are drawn.
const MOST_POINTS: usize = 400;
/// Most curves that are drawn.
const MOST_CURVES: usize = 24;

/// Where such a file is chosen; nothing where the trial doesn't ask for a force or stress at break.
pub(super) fn form(view: &TrialView, made: Option<&Made>, settings: &Settings) -> Markup {
    let at = format!("{}/measure/curves", trial::address(&view.entry.thing));
    html! {
        @if let (Some(made), true) = (made, asks(view, Measured::BreakingForce) || asks(view, Measured::BreakingStress)) {
            section .part #curves .no-print {
                h2 { "Force over distance, from the instrument" }
                p { "A CSV file or workbook with a column of force and one of distance, and one that tells the pieces apart where there are several. The highest force of each piece is its force at break." }
                form .from-file method="post" action=(at) enctype="multipart/form-data" {
                    label { "file " input type="file" name="file" accept=".csv,.tsv,.txt,.xlsx"; }
                    label { "of batch " select name="batch" { @for one in view.made.iter().filter(|m| m.state.abandoned.is_none()) { option value=(one.batch.code) selected[one.id == made.id] { (one.batch.code) } } } }
                    (super::file::decimal(settings.decimal))
                    @if asks(view, Measured::BreakingStress) {
                        @for (name, what) in [("span", "span, mm"), ("width", "width, mm"), ("thickness", "thickness, mm")] {
                            label { (what) " " input name=(name) inputmode="decimal" autocomplete="off"; }
                        }
                    }
                    button { "Look at it" }
                }
            }
        }
    }
}

fn asks(view: &TrialView, response: Measured) -> bool {
    view.trial.response(response.about().id).is_some()
}

/// Shows the curves of a file.
pub(crate) async fn draw(
    State(app): State<App>,
    Path(trial): Path<String>,
    wants: Wants,
    parts: Multipart,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, wants);
    let sent = upload(parts, wants, None).await?;
    let settings = app.settings().await.map_err(told)?;
    let view = app.trial(&trial).await.map_err(told)?;
    let batch = sent.fields.text("batch").map_err(told)?.to_owned();
    if !view.made.iter().any(|m| m.batch.code == batch) {
        return Err(told(AppError::NoBatch(batch.chars().take(80).collect())));
    }
    let decimal = super::file::decimal_of(&sent.fields, &settings);
    let (curves, wrong) = app.bend_curves(&sent.bytes, None, decimal).map_err(told)?;
    let metres = |name: &str| -> Result<Option<f64>, AppError> {
        match sent.fields.maybe(name) {
            None => Ok(None),
            Some(_) => Ok(Some(sent.fields.number(name, &settings)? / 1000.0)),
        }
    };
    let lengths =
        (|| Ok((metres("span")?, metres("width")?, metres("thickness")?)))().map_err(told)?;
    let stress = |force_n: f64| -> Result<Option<f64>, AppError> {
        let (Some(span), Some(width), Some(thickness)) = lengths else {
            return Ok(None);
        };
        let stress = flat_stress_pa(force_n, span, width, thickness);
        let stress = stress.map_err(|e| AppError::Value {
            field: "span, width or thickness".to_owned(),
            why: e.to_string(),
        })?;
        Ok(Some(stress / 1e6))
    };
    let mut rows = Vec::with_capacity(curves.len());
    for curve in &curves {
        rows.push((curve, stress(curve.peak.1).map_err(told)?));
    }
    if wants == Wants::Json {
        let all: Vec<_> = rows
            .iter()
            .map(|(c, s)| json!({ "curve": c, "stress_mpa": s }))
            .collect();
        return Ok(Json(json!({ "curves": all, "problems": wrong })).into_response());
    }
    let table = bend_table(&view.trial, &batch, &rows);
    let held = app.hold(table.into_bytes());
    let body = html! {
        p .line { a .way href=(super::address(&trial, None)) { "Leave it, to the measurements" } }
        h1 { "Force over distance" }
        p { (view.trial.name) ", batch " (batch) ": " (curves.len()) @if curves.len() == 1 { " piece" } @else { " pieces" } }
        (super::file::list("What can’t be read", &wrong))
        @if !curves.is_empty() {
            (drawn(&curves))
            (shown(&rows))
            form method="post" action=(format!("{}/measure/look", trial::address(&trial))) {
                input type="hidden" name="file" value=(held);
                input type="hidden" name="decimal" value="point";
                button .main { "Look at these values before they are read in" }
            }
        }
    };
    Ok(shell::page_of("results", "Force over distance", &body).into_response())
}

fn drawn(curves: &[BendCurve]) -> Markup {
    let series = curves.iter().take(MOST_CURVES).map(|curve| {
        let step = curve.points.len() / MOST_POINTS + 1;
        // The highest point is drawn whatever else is passed by.
        let keep = |(i, p): (usize, &(f64, f64))| (i % step == 0 || *p == curve.peak).then_some(*p);
        let points = curve.points.iter().enumerate().filter_map(keep);
        Series::new(curve.piece.clone(), Look::Control, points)
    });
    line_chart(&LineChart {
        title: "Force over distance".into(),
        note: match curves.len() {
            n if n > MOST_CURVES => format!("the first {MOST_CURVES} of {n} pieces"),
            _ => "each line is one piece".into(),
        },
        x: Axis::new("distance", "mm"),
        y: Axis::new("force", "N").with_zero(),
        series: series.collect(),
        ..LineChart::default()
    })
}

fn shown(rows: &[(&BendCurve, Option<f64>)]) -> Markup {
    let with_stress = rows.iter().any(|r| r.1.is_some());
    html! {
        div .scroll role="region" aria-label="Pieces" tabindex="0" { table .list {
            thead { tr { th scope="col" { "piece" } th .n scope="col" { "force at break, N" } th .n scope="col" { "at, mm" } @if with_stress { th .n scope="col" { "stress, MPa" } } th scope="col" { "to look at" } } }
            tbody { @for (curve, stress) in rows { tr {
                th scope="row" { (curve.piece) }
                td .n { (number::three(curve.peak.1)) } td .n { (number::three(curve.peak.0)) }
                @if with_stress { td .n { @match stress { Some(s) => (number::three(*s)), None => "–" } } }
                td .words { @if curve.rises_to_the_end { "The force still rises at the end: the piece may not have broken." } }
            } } }
        } }
    }
}
