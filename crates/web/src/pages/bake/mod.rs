//! The bake: the piece in cross-section, its curves over the zones, the zones to set, what passes
//! last and what would help most.

pub(crate) mod asked;
mod section;
mod side;
mod sure;
mod whole;
mod zones;

use super::chosen::{Chosen, choice, chosen, nothing};
use super::{InStudy, troubles, who};
use crate::error::Failure;
use crate::fields::Fields;
use crate::shell::Room;
use crate::wants::Wants;
use ::study::edit::Edit;
use ::study::views::cross_section::CrossSection;
use ::study::views::knock_on::KnockOn;
use ::study::{Figure, Treatment};
use app::{App, AppError, OvenShown, oven_shown};
use axum::Json;
use axum::extract::{Path, Query, State};
use axum::response::{Html, IntoResponse, Response};
use maud::{Markup, html};
use measure::{Units, rounding};
use paper::number;
use serde_json::{Value, json};
use std::sync::Arc;

/// Frames of a cross-section unless the address asks for another count.
const FRAMES: usize = 120;
/// Frames of one that is only passed on the way to another: the crust's colour and the wettest place need no more.
const FRAMES_ON_THE_WAY: usize = 40;

/// One bake with everything that is shown of it.
struct Shown<'a> {
    answer: &'a KnockOn,
    treatment: &'a Treatment,
    field: Arc<CrossSection>,
    oven: OvenShown,
}

async fn shown<'a>(page: &InStudy<'a>, answer: &'a KnockOn) -> Result<Shown<'a>, AppError> {
    let study = page.view.study.as_deref();
    let treatment = study
        .and_then(|s| s.treatment(&answer.id))
        .ok_or_else(|| AppError::NoTreatment(answer.id.clone()))?;
    let field = page.app.field(page.view, &answer.id, FRAMES).await?;
    Ok(Shown {
        answer,
        treatment,
        field,
        oven: oven_shown(treatment),
    })
}

/// What stands inside `<main>`.
pub(crate) async fn body(page: &InStudy<'_>) -> Result<Markup, AppError> {
    let Some(chosen) = chosen(page)? else {
        return Ok(html! { h1 { "Bake" } (troubles(page)) (nothing(page, "bake")) });
    };
    let here = shown(page, &chosen.here.answer).await?;
    let beside = match chosen.beside {
        Some(b) => Some(shown(page, &b.answer).await?),
        None => None,
    };
    let levers = page.app.sensitivities(page.view, &here.answer.id).await;
    let other = beside.as_ref().map(|b| (b.answer, b.field.as_ref()));
    Ok(html! {
        div #bake data-bake-min=(format!("{:.4}", here.answer.bake.time_min)) data-treatment=(here.answer.id) data-temperature=(scale(page.settings.units, "°C")) data-length=(scale(page.settings.units, "mm")) {
            h1 { "Bake" }
            (troubles(page))
            (choice(page, &chosen, Room::Bake, true))
            (head(&here, &chosen, page.settings.units))
            (side::side(page, &here, beside.as_ref(), zones::whose(page, &here.oven)))
            section .part {
                h2 { "The zones" }
                (zones::zones(page, &here, &chosen))
            }
            div .through-time {
                (section::clock())
                (section::section(page, &here, beside.as_ref()))
                section .part {
                    h2 { "Over the zones" }
                    (report::bake_over_zones((here.answer, &here.field), other, page.settings.units))
                }
            }
            (whole::whole(page, chosen.here, chosen.beside).await?)
            section .part {
                h2 { "What passes last, and what would help" }
                p { (report::passes_last(&here.field, here.answer.bake.exit_moisture_pct, page.settings.units)) " " (zones::way_out(&here.oven)) }
                @match &levers {
                    Ok(levers) => {
                        (report::helps_most(levers, here.answer.bake.time_min))
                        p .second { "Each setting is changed by itself and the time that meets the target is sought again. Air, walls and band of a zone move together." }
                    }
                    Err(error) => p .second { "What would help can’t be told: " (error) }
                }
            }
            (super::measured::beside(page, Some(&here.answer.id)).await?)
            section .part {
                h2 { "How sure this is" }
                (sure::sure(&here))
            }
        }
    })
}

/// How a script turns a metric value into the unit shown: factor, offset, decimals more, and the unit.
fn scale(units: Units, metric: &str) -> String {
    let (factor, offset) = (units.gap(1.0, metric), units.value(0.0, metric));
    let more = units.decimals(metric, 0);
    format!("{factor} {offset} {more} {}", units.unit(metric))
}

/// What the bake comes to, in one line and one sentence.
fn head(here: &Shown<'_>, chosen: &Chosen<'_>, units: Units) -> Markup {
    let b = &here.answer.bake;
    let gap = chosen.beside.and_then(|c| {
        let told = |k: &KnockOn| Figure::BakeTime.told(k).ok();
        let gap = rounding::shown_gap(told(here.answer)?, told(&c.answer)?, 1);
        Some((gap, &c.answer.name))
    });
    html! {
        p .bake-time {
            span .name { (here.answer.name) } " "
            b { (number::fixed(b.time_min, 1)) " min" }
            @if let Some((minutes, name)) = gap {
                " " span .second { (signed(minutes)) " min against " (name) }
            }
            " " span .before #before {}
        }
        @if let Some(limit) = &b.limit {
            ul .findings { li .finding .warn { span .weight { "caution" } div {
                p { "The target isn’t reached: " (limit) "." }
                p .help { "The table of settings below tells what would help most; a drier dough or a thinner piece helps as well." }
            } } }
        }
        p .words { (report::bake_in_words(here.answer, units)) }
    }
}

fn signed(minutes: f64) -> String {
    let text = number::fixed(minutes, 1);
    if text != "0.0" && minutes > 0.0 {
        format!("+{text}")
    } else {
        text
    }
}

/// The same as JSON.
pub(crate) async fn json(page: &InStudy<'_>) -> Result<Value, AppError> {
    let bakes = page.view.answers.compared.iter().map(|c| {
        json!({ "id": c.answer.id, "name": c.answer.name, "piece": c.answer.piece, "bake": c.answer.bake })
    });
    let mut value = json!({ "treatments": bakes.collect::<Vec<_>>() });
    if let Some(chosen) = chosen(page)? {
        let here = shown(page, &chosen.here.answer).await?;
        let levers = page.app.sensitivities(page.view, &here.answer.id).await?;
        value["shown"] = json!({
            "id": here.answer.id,
            "beside": chosen.beside.map(|b| &b.answer.id),
            "oven": here.oven,
            "wettest_at_exit_mm": here.field.wettest_at_exit_mm,
            "wettest_at_exit_pct": here.field.wettest_at_exit_pct,
            "what_would_help": *levers,
        });
    }
    Ok(value)
}

/// What edits would make of a bake, as a script asks while a border is moved.
#[derive(serde::Deserialize)]
pub(crate) struct Would {
    treatment: String,
    edits: Vec<Edit>,
}

/// Most edits of a zone's border: the lengths on both sides of it, with room to spare.
const MOST_EDITS: usize = 40;

/// The oven of a treatment as edits would leave it; nothing is kept.
pub(crate) async fn would(
    State(app): State<App>,
    Path(thing): Path<String>,
    Json(would): Json<Would>,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, Wants::Json);
    if would.edits.is_empty() || would.edits.len() > MOST_EDITS {
        return Err(told(AppError::Value {
            field: "edits".to_owned(),
            why: format!("1 to {MOST_EDITS} can be looked at before they are made"),
        }));
    }
    let settings = app.settings().await.map_err(told)?;
    let id = &would.treatment;
    let after = app
        .would_bake(&settings.who, &thing, id, FRAMES_ON_THE_WAY, &would.edits)
        .await
        .map_err(told)?;
    let was = app.study(&settings.who, &thing).await.map_err(told)?;
    let was = was.worked(id).ok().map(|w| Arc::clone(&w.answer));
    let shown = Shown {
        answer: &after.worked.answer,
        treatment: &after.treatment,
        field: Arc::new(after.field),
        oven: oven_shown(&after.treatment),
    };
    let figure = side::figure(&shown, settings.units, Some(false), was.as_deref());
    Ok(Html(figure.into_string()).into_response())
}

/// The cross-section of a treatment through time, as JSON.
pub(crate) async fn field(
    State(app): State<App>,
    Path(thing): Path<String>,
    Query(query): Query<Fields>,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, Wants::Json);
    let view = app
        .study(&who(&app).await.map_err(told)?, &thing)
        .await
        .map_err(told)?;
    let id = query.text("treatment").map_err(told)?;
    let frames = match query.maybe("frames") {
        Some(_) => usize::try_from(query.count("frames").map_err(told)?).unwrap_or(FRAMES),
        None => FRAMES,
    };
    let field = app.field(&view, id, frames).await.map_err(told)?;
    Ok(Json(section::compact(&field)).into_response())
}
