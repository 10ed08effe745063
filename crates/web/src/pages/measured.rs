//! Beside the prediction: what batches of a treatment measured, next to what is computed; and the page that plots one
//! against the other.

use super::{InStudy, who};
use crate::error::Failure;
use crate::shell::{self, Room};
use crate::wants::Wants;
use app::{App, AppError, Predicted, Settings};
use axum::Json;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Response};
use bench::MEASURED;
use maud::{Markup, html};
use measure::rounding;
use paper::chart::{Pair, Pairs, pairs};
use paper::number;
use paper::parts::{Known, known};
use serde_json::json;
use study::Figure;

/// The address of the page.
pub(crate) fn address(thing: &str) -> String {
    format!("/study/{thing}/measured")
}

/// What was measured of the treatments, or of one, with its interval and the number of batches, beside what is computed.
/// Nothing where no batch says anything.
pub(crate) async fn beside(page: &InStudy<'_>, only: Option<&str>) -> Result<Markup, AppError> {
    let (mut all, unread) = page.app.predicted(page.view).await?;
    all.retain(|p| only.is_none_or(|t| p.measured.treatment == t));
    if all.is_empty() {
        return Ok(html! { @if unread > 0 { p .second #measured { (being_read(unread)) } } });
    }
    Ok(html! {
        section .part #measured {
            h2 { "Measured beside computed" }
            (table(&all, page.settings, only.is_none()))
            p .second {
                (how(&all)) " "
                @if unread > 0 { (being_read(unread)) " " }
                a href=(address(&page.view.thing)) { "Predicted and measured" } ", plotted against each other."
            }
        }
    })
}

/// The page.
pub(crate) async fn page(
    State(app): State<App>,
    Path(thing): Path<String>,
    wants: Wants,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, wants);
    let settings = app.settings().await.map_err(told)?;
    let who = who(&app).await.map_err(told)?;
    let view = app.study(&who, &thing).await.map_err(told)?;
    let (all, unread) = app.predicted(&view).await.map_err(told)?;
    if wants == Wants::Json {
        return Ok(Json(json!({ "figures": all, "unread": unread })).into_response());
    }
    let of = |figure: Figure| -> Vec<&Predicted> {
        let key = figure.about().key;
        all.iter().filter(|p| p.measured.figure == key).collect()
    };
    let body = html! {
        p .line .no-print { a .way href=(Room::Sheet.address(&thing)) { "To the sheet" } " " a href=(Room::Trials.address(&thing)) { "Trials" } }
        h1 { "Predicted and measured" }
        p .second { (view.newest.title) }
        @if unread > 0 { p .said { (being_read(unread)) } }
        @if all.is_empty() {
            p { "No batch of this study’s trials has measured anything that the study computes. It compares " (names()) "." }
        } @else {
            (honest(&all))
            div .trial-pictures { @for figure in MEASURED { (plot(figure, &of(figure), &settings)) } }
            (table(&all, &settings, true))
            p .second { (how(&all)) }
        }
    };
    Ok(shell::page_with("results", "Predicted and measured", None, &body).into_response())
}

fn names() -> String {
    let all: Vec<&str> = MEASURED.iter().map(|f| f.about().name).collect();
    all.join(", ")
}

/// How many batches speak, and what they can’t say.
fn honest(all: &[Predicted]) -> Markup {
    let most = |p: &&Predicted| p.measured.batches;
    let treatments: std::collections::BTreeSet<&str> =
        all.iter().map(|p| p.measured.treatment.as_str()).collect();
    let most = all
        .iter()
        .max_by_key(most)
        .map_or(0, |p| p.measured.batches);
    let apart = all.iter().filter(|p| is_apart(p)).count();
    let with = all
        .iter()
        .filter(|p| p.measured.interval.is_some() && p.for_these.is_some())
        .count();
    html! {
        p .says {
            "At most " (most) @if most == 1 { " batch" } @else { " batches" } " of a treatment, "
            (treatments.len()) @if treatments.len() == 1 { " treatment" } @else { " treatments" } ". "
            @if with == 0 { "One batch has no interval, so nothing can be said of how far the model is off." }
            @else if apart == 0 { "No interval lies clear of what was computed: these batches don’t show the model to be wrong, and don’t show it to be right beyond their width." }
            @else { (apart) " of " (with) " intervals don’t reach what was computed: there the model, the oven’s setting or the measurement is off by more than chance among these batches." }
        }
        p .second { "The batches come from the doughs, the oven and the days that were tried; another oven, piece or season isn’t spoken for. An interval tells how batches differ, not whether a balance or a probe is off for all of them alike. With several intervals one in twenty misses by chance. Minutes in the oven are those that were chosen there, not those that the target asked for." }
    }
}

/// Its interval, where the batches differ at all: what is set alike on every batch says nothing of chance.
fn interval(p: &Predicted) -> Option<(f64, f64)> {
    p.measured.interval.filter(|(low, high)| high > low)
}

/// Whether what was computed for these batches lies beyond the interval of what they measured.
fn is_apart(p: &Predicted) -> bool {
    let within = interval(p).zip(p.for_these);
    within.is_some_and(|((low, high), v)| v < low || v > high)
}

fn plot(figure: Figure, of: &[&Predicted], settings: &Settings) -> Markup {
    let about = figure.about();
    let shown = |v: f64| settings.units.value(v, about.unit);
    let both: Vec<Pair> = of
        .iter()
        .filter_map(|p| {
            let batches = p.batches.iter();
            Some(Pair {
                name: p.name.clone(),
                computed: shown(p.for_these.or(p.today)?),
                measured: shown(p.measured.mean),
                limits: p.measured.interval.map(|(a, b)| (shown(a), shown(b))),
                batches: batches
                    .filter_map(|(_, c, m)| Some((shown((*c)?), shown(*m))))
                    .collect(),
            })
        })
        .collect();
    html! {
        @if !both.is_empty() {
            (pairs(&Pairs {
                title: capital(about.name),
                note: "mean of the batches with its 95 % interval; each small dot is a batch.".into(),
                unit: settings.units.unit(about.unit).to_owned(),
                pairs: both,
            }))
        }
    }
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    let first = letters.next().map(|c| c.to_uppercase().to_string());
    first.unwrap_or_default() + letters.as_str()
}

/// What the columns stand on.
fn how(all: &[Predicted]) -> String {
    let revisions = all.iter().map(|p| p.measured.revisions);
    let (low, high) = revisions.fold((u64::MAX, 0), |a, b| (a.0.min(b.0), a.1.max(b.1)));
    let made = match low == high {
        true => format!("revision {low}"),
        false => format!("revisions {low} to {high}"),
    };
    format!(
        "From the batches of this study’s trials, made by {made}. Computed for them is what those say with today’s model, each as often as it has batches; computed now is the study as it was last saved."
    )
}

fn table(all: &[Predicted], settings: &Settings, named: bool) -> Markup {
    // Where both are the same for all, one column says it.
    let moved = all
        .iter()
        .any(|p| cells(p, settings).is_some_and(|c| c.for_these != c.today));
    html! {
        div .scroll role="region" aria-label="Measured beside computed" tabindex="0" { table .list {
            thead { tr {
                @if named { th scope="col" { "treatment" } }
                th scope="col" { "figure" } th .n scope="col" { "measured, 95 % interval" } th .n scope="col" { "batches" }
                @if moved { th .n scope="col" { "computed for them" } th .n scope="col" { "measured less that" } th .n scope="col" { "computed now" } th .n scope="col" { "measured less that" } }
                @else { th .n scope="col" { "computed" } th .n scope="col" { "measured less computed" } }
            } }
            tbody { @for p in all { @if let Some(c) = cells(p, settings) { tr {
                @if named { th scope="row" { (p.name) } }
                td { (c.figure) @if !c.unit.is_empty() { span .unit { ", " (c.unit) } } }
                td .n { (known(&c.measured, Known::Measured)) }
                td .n { (p.measured.batches) }
                @if moved { td .n { (c.for_these) } td .n { (c.less_these) } }
                td .n { (c.today) } td .n { (c.less_today) }
            } } } }
        } }
    }
}

/// The words of a row.
struct Cells {
    figure: &'static str,
    unit: String,
    measured: String,
    for_these: String,
    less_these: String,
    today: String,
    less_today: String,
}

fn cells(p: &Predicted, settings: &Settings) -> Option<Cells> {
    let figure = Figure::with_key(p.measured.figure)?;
    let (about, units, b) = (figure.about(), settings.units, &p.measured);
    let places = units.decimals(about.unit, figure.decimals_for(b.mean));
    let shown = |v: f64| units.value(v, about.unit);
    let fixed = |v: f64| number::fixed(shown(v), places);
    let or_dash = |v: Option<String>| v.unwrap_or_else(|| "–".to_owned());
    let less = |v: Option<f64>| {
        or_dash(v.map(|v| {
            let gap = rounding::shown_gap(shown(b.mean), shown(v), places);
            rounding::signed(gap, places)
        }))
    };
    Some(Cells {
        figure: about.name,
        unit: units.unit(about.unit).to_owned(),
        measured: match b.interval {
            Some((low, high)) => format!("{} ({} to {})", fixed(b.mean), fixed(low), fixed(high)),
            None => fixed(b.mean),
        },
        for_these: or_dash(p.for_these.map(fixed)),
        less_these: less(p.for_these),
        today: or_dash(p.today.map(fixed)),
        less_today: less(p.today),
    })
}

/// That a large book is still being read.
fn being_read(batches: usize) -> String {
    format!("{batches} more batches are being read; load the page again for them.")
}
