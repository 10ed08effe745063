//! The trials of a study: those that are kept, and one to be planned. A person picks the question; the design follows.

mod choices;
mod form;

use super::study::encoded;
use super::{InStudy, who};
use crate::error::Failure;
use crate::fields::Fields;
use crate::sent::Sent;
use crate::shell::Room;
use crate::wants::Wants;
use app::{App, AppError, BatchAsked, TrialAsked};
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Redirect, Response};
use bench::wish::{Field, Shape, question, takes};
use form::{read, usual, usual_of};
use maud::{Markup, html};
use paper::number;
use serde_json::{Value, json};
use trials::plan::{Design, RunSheet};
use trials::power::{Comparison, batch_mean_sd};

/// The order in which the questions stand: the usual ones first.
const QUESTIONS: [Design; 13] = [
    Design::Blocks,
    Design::CompletelyRandomised,
    Design::LatinSquare,
    Design::SplitPlot,
    Design::Factorial,
    Design::Augmented,
    Design::Fractional,
    Design::CentralComposite,
    Design::BoxBehnken,
    Design::ConstrainedMixture,
    Design::SimplexLattice,
    Design::SimplexCentroid,
    Design::Williams,
];

/// Chance that a trial is wanted to have of finding the difference.
const WANTED: f64 = 0.8;
/// Share of false alarms.
const ALPHA: f64 = 0.05;

/// The design that a question's word in the address names.
fn asked_design(query: &Fields) -> Option<Design> {
    let word = query.maybe("ask")?;
    Design::ALL.into_iter().find(|d| d.code() == word)
}

/// What stands inside `<main>`.
pub(crate) async fn body(page: &InStudy<'_>) -> Result<Markup, AppError> {
    let thing = &page.view.thing;
    let kept = page.app.trials_done(thing).await?;
    let design = asked_design(page.query);
    Ok(html! {
        h1 { "Trials" }
        @if kept.is_empty() {
            p { "No trial of this study yet. Pick a question below, look at what a plan of it can find, and make its batches." }
        } @else {
            div .scroll role="region" aria-label="Trials of this study" tabindex="0" { table .list .trial-list {
                thead { tr { th scope="col" { "trial" } th scope="col" { "question" } th scope="col" { "design" } th scope="col" { "batches" } th scope="col" {} } }
                tbody { @for (line, done) in &kept {
                    tr {
                        th scope="row" { a href=(super::trial::address(&line.entry.thing)) { (line.trial.name) } @if line.trial.invented { span .second { " invented" } } }
                        td .words { (line.trial.question) }
                        td { (line.trial.design().word()) }
                        td { (done.sentence()) }
                        td { a href=(super::trial::address(&line.entry.thing)) { "Results" } " · " a href=(format!("{}/sheet", super::trial::address(&line.entry.thing))) { "Run sheet" } }
                    }
                } }
            } }
        }
        @if !kept.is_empty() { p { a href=(super::measured::address(thing)) { "Predicted and measured" } ": what all batches of this study measured, beside what is computed." } }
        (alone(page))
        section .part #plan {
            h2 { "Plan a trial" }
            @if page.view.draft.is_some() {
                p .said { "There are unsaved changes of this study. Batches are made by the study as it was last saved, revision " (page.view.newest.number) "." }
            }
            p { "What do you want to know?" }
            ul .questions { @for d in QUESTIONS {
                li { a href=(format!("{}?ask={}#plan", Room::Trials.address(thing), d.code())) aria-current=[(Some(d) == design).then_some("true")] { (question(d)) } }
            } }
            @if let Some(design) = design { (plan_form(page, design)) }
        }
    })
}

/// A batch that belongs to no trial, begun today.
fn alone(page: &InStudy<'_>) -> Markup {
    html! {
        @if let Some(study) = page.view.study.as_deref() {
            section .part #alone .no-print {
                h2 { "A batch on its own" }
                p .second { "One mixing of a treatment today, by the study as it was last saved, revision " (page.view.newest.number) ". It goes through the stations of the bench like any batch; what it says of a question is for a trial." }
                form .line method="post" action=(format!("/study/{}/batch", encoded(&page.view.thing))) {
                    label { "treatment " select name="treatment" { @for t in &study.treatments { option value=(t.id) { (t.name) } } } }
                    " " label { "good pieces " input name="pieces" inputmode="numeric" size="6" maxlength="8" autocomplete="off" value="60"; }
                    " " label { "lost on the way, % " input name="loss" inputmode="decimal" size="4" maxlength="8" autocomplete="off" value="5"; }
                    " " button { "Begin it" }
                }
            }
        }
    }
}

/// Begins a batch of a study that belongs to no trial.
pub(crate) async fn begin(
    State(app): State<App>,
    Path(thing): Path<String>,
    wants: Wants,
    Sent(fields): Sent,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, wants);
    let settings = app.settings().await.map_err(told)?;
    let pieces = fields.text("pieces").map_err(told)?;
    let asked = BatchAsked {
        study: thing,
        treatment: fields.text("treatment").map_err(told)?.to_owned(),
        pieces: Some(pieces.trim().parse().map_err(|_| {
            told(AppError::Value {
                field: "good pieces".to_owned(),
                why: format!("‘{pieces}’ is no whole number; write it like 60"),
            })
        })?),
        loss_pct: fields.number("loss", &settings).map_err(told)?,
    };
    let who = who(&app).await.map_err(told)?;
    let batch = app.keep_batch(&who, &asked).await.map_err(told)?;
    if wants == Wants::Json {
        return Ok(axum::Json(json!({ "batch": batch })).into_response());
    }
    Ok(Redirect::to(&format!("/bench/{}/weigh", encoded(&batch))).into_response())
}

/// The form of a design, filled with what was typed or is usual.
fn plan_form(page: &InStudy<'_>, design: Design) -> Markup {
    let query = page.query;
    let usual = usual(design, page.view.study.as_deref());
    let drawn = !query.0.contains_key("name");
    let value = |name: &str, usual: String| match query.0.get(name) {
        Some(typed) => typed.clone(),
        // A field that was emptied stays empty.
        None if drawn => usual,
        None => String::new(),
    };
    let room = Room::Trials.address(&page.view.thing);
    let line = |name: &str, what: &str, usual: &str| {
        html! { label { (what) input name=(name) autocomplete="off" value=(value(name, usual.to_owned())); } }
    };
    html! {
        p .second { (design.when()) " This is called a " (design.word()) " plan." }
        form .plan-form method="post" action=(room.as_str()) data-draws=(room.as_str()) {
            input type="hidden" name="ask" value=(design.code());
            (line("name", "what it is called", &format!("Trial of {}", page.view.newest.title)))
            label .wide { "the question, in a sentence" input name="question" maxlength="500" autocomplete="off" value=(value("question", page.view.written.question().unwrap_or_default().to_owned())); }
            @for field in takes(design) {
                @let (word, what, shape) = field.about();
                @match shape {
                    _ if *field == Field::Treatments && page.view.study.is_some() => { @if let Some(study) = page.view.study.as_deref() { (choices::treatments(study, query, drawn)) } }
                    Shape::Count => { label { (what) input name=(word) inputmode="numeric" size="6" autocomplete="off" value=(value(word, usual_of(&usual, *field))); } }
                    Shape::Line => { (line(word, what, &usual_of(&usual, *field))) }
                    Shape::Lines => { label .wide { (what) textarea name=(word) rows="4" spellcheck="false" { (value(word, usual_of(&usual, *field))) } } }
                }
            }
            label { "what gets a treatment on its own" select name="unit" {
                @for unit in design.units() { option value=(unit.word()) selected[query.maybe("unit") == Some(unit.word())] { (unit.word()) } }
            } }
            (line("seed", "seed of the order", "1"))
            (line("pieces", "good pieces of each batch", "60"))
            (choices::measurements(query, drawn))
            label .check { input type="checkbox" name="blind" value="yes" checked[query.maybe("blind").is_some()]; "codes instead of names on the run sheet" }
            (line("difference", "difference worth finding, in the first response’s unit", "8"))
            (line("between_sd", "spread between batches (standard deviation)", "3"))
            (line("within_sd", "spread between readings of a batch", "7"))
            div .wide { button formmethod="get" formaction=(room.as_str()) { "Draw it" } " " button .main { "Make the batches" } }
        }
        (drawn_part(page, design))
    }
}

/// What the form comes to: what it can find, and the run sheet; or what is wrong, beside its field’s name.
fn drawn_part(page: &InStudy<'_>, design: Design) -> Markup {
    if !page.query.0.contains_key("name") {
        return html! { div #drawn {} };
    }
    let asked = read(page.query, design, &page.view.thing);
    let told = asked.and_then(|asked| Ok((page.app.drawn(&asked)?, asked)));
    html! {
        div #drawn aria-live="polite" {
            @match told {
                Err(wrong) => p .said role="alert" { (wrong) },
                Ok((sheet, asked)) => {
                    (power(page, design, &sheet, &asked))
                    (report::trial::plan(&sheet).part())
                }
            }
        }
    }
}

/// Batches of the treatment that is made least often.
fn replicates(sheet: &RunSheet) -> (usize, usize) {
    let mut counts = std::collections::BTreeMap::new();
    for run in &sheet.runs {
        *counts.entry(run.treatment.as_str()).or_insert(0_usize) += 1;
    }
    (counts.len(), counts.values().copied().min().unwrap_or(0))
}

fn power(page: &InStudy<'_>, design: Design, sheet: &RunSheet, asked: &TrialAsked) -> Markup {
    let number_of = |name: &str| {
        page.query
            .number(name, page.settings)
            .ok()
            .filter(|x| *x > 0.0)
    };
    let (Some(difference), Some(between)) = (number_of("difference"), number_of("between_sd"))
    else {
        return html! { p .second { "Give a difference and the spread between batches to see what this plan can find." } };
    };
    let first = asked.responses.first();
    let readings = first.map_or(1, |r| r.repeats) as usize;
    let sd = batch_mean_sd(between, number_of("within_sd").unwrap_or(0.0), readings);
    let (treatments, n) = replicates(sheet);
    let comparison = match design {
        Design::Blocks | Design::LatinSquare => Comparison::Blocks {
            treatments,
            difference,
            sd,
        },
        _ if treatments > 2 && n > 1 => Comparison::OneWay {
            treatments,
            difference,
            sd,
        },
        _ => Comparison::TwoSample {
            difference,
            sd,
            one_sided: false,
        },
    };
    let told = |comparison: &Comparison| -> Result<Markup, trials::power::PowerError> {
        let answer = comparison.of_plan(n.max(2), ALPHA, asked.unit)?;
        let top = (2 * n).clamp(8, 60);
        let units: Vec<usize> = (2..=top).collect();
        let curve = comparison.curve(&units, ALPHA)?;
        let smallest = comparison.smallest_difference(n.max(2), WANTED, ALPHA)?;
        let told = report::trial::power(&answer, &curve, WANTED, smallest);
        Ok(html! {
            div .power {
                div { @for picture in &told.pictures { (picture) } }
                div {
                    p .says { (told.sentence) }
                    @if let Some(smallest) = smallest {
                        p { "With " (n) " of each, a difference of " (number::three(smallest)) " " (first.map_or("", |r| r.unit.as_str())) " is found in four of five such trials." }
                    }
                }
            }
        })
    };
    let good = first
        .and_then(|r| r.margin)
        .map(|margin| Comparison::AsGood {
            margin,
            difference: 0.0,
            sd,
            one_sided: false,
        });
    html! {
        @match told(&comparison) { Ok(markup) => (markup), Err(wrong) => p .said { (wrong) } }
        @if let Some(good) = good {
            @if let Ok(answer) = good.of_plan(n.max(2), ALPHA, asked.unit) { p { "As good as the control: " (answer.sentence) } }
        }
    }
}

/// Makes the batches.
pub(crate) async fn keep(
    State(app): State<App>,
    Path(thing): Path<String>,
    wants: Wants,
    Sent(fields): Sent,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, wants);
    let who = who(&app).await.map_err(told)?;
    let design = asked_design(&fields).ok_or_else(|| {
        told(AppError::Value {
            field: "question".to_owned(),
            why: "pick one of the questions".to_owned(),
        })
    })?;
    let mut asked = read(&fields, design, &thing).map_err(told)?;
    asked.control = app.control_of(&thing).await.map_err(told)?;
    let kept = app.keep_trial(&who, &asked, None).await.map_err(told)?;
    Ok(Redirect::to(&format!("{}/sheet", super::trial::address(&encoded(&kept)))).into_response())
}

/// The same as JSON.
pub(crate) async fn json(page: &InStudy<'_>) -> Result<Value, AppError> {
    let trials = page.app.trials(Some(&page.view.thing)).await?;
    let design = asked_design(page.query);
    let drawn = match design {
        Some(design) if page.query.0.contains_key("name") => {
            let asked = read(page.query, design, &page.view.thing)?;
            Some(page.app.drawn(&asked)?)
        }
        _ => None,
    };
    Ok(json!({ "trials": trials, "drawn": drawn }))
}
