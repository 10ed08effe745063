//! The trials of a study: those that are kept, and one to be planned. A person picks the question; the design follows.

mod choices;

use super::study::encoded;
use super::{InStudy, who};
use crate::error::Failure;
use crate::fields::Fields;
use crate::sent::Sent;
use crate::shell::Room;
use crate::wants::Wants;
use ::study::Study;
use app::{App, AppError, TrialAsked};
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Redirect, Response};
use bench::wish::{Field, Shape, Typed, question, takes, wish};
use bench::{Asked, done};
use maud::{Markup, html};
use paper::number;
use serde_json::{Value, json};
use trials::plan::{Design, Request, RunSheet, Unit};
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
    let lines = page.app.trials(Some(thing)).await?;
    let mut kept = Vec::with_capacity(lines.len());
    for line in lines {
        let view = page.app.trial(&line.entry.thing).await?;
        kept.push((line, done(&view.trial, &view.made)));
    }
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

/// The usual wish for a design, with the study's own treatments.
fn usual(design: Design, study: Option<&Study>) -> Typed {
    let ids: Vec<String> = study.map_or_else(Vec::new, |s| {
        let control = s.control().id.clone();
        let others = s.treatments.iter().map(|t| t.id.clone());
        let others = others.filter(|id| *id != control);
        std::iter::once(control.clone()).chain(others).collect()
    });
    let names = |f: &trials::plan::Named| format!("{}={}", f.name, f.levels.join(","));
    let number = |f: &trials::plan::Factor| match f.unit.as_str() {
        "" => format!("{}={}..{}", f.name, f.low, f.high),
        unit => format!("{}:{unit}={}..{}", f.name, f.low, f.high),
    };
    let least = |c: &[String], l: &[f64]| {
        let pairs = c.iter().zip(l);
        pairs.map(|(c, l)| format!("{c}={l}..")).collect()
    };
    let mut typed = Typed {
        treatments: ids.clone(),
        ..Typed::default()
    };
    match Request::example(design) {
        Request::CompletelyRandomised(r) => typed.replicates = Some(r.replicates),
        Request::Blocks(r) => {
            typed.blocks = Some(r.blocks.len());
            typed.block_name = Some(r.block_name);
            typed.per_block = Some(r.per_block);
        }
        Request::LatinSquare(r) => {
            typed.row_name = Some(r.row_name);
            typed.column_name = Some(r.column_name);
            typed.squares = Some(r.squares);
        }
        Request::Williams(r) => typed.dogs = Some(r.dogs),
        Request::Factorial(r) => {
            typed.factor = r.factors.iter().map(names).collect();
            typed.replicates = Some(r.replicates);
            typed.block_name = r.block_name;
        }
        Request::Fractional(r) => {
            typed.factor = r.factors.iter().map(names).collect();
            typed.drop = Some(r.drop);
            typed.replicates = Some(r.replicates);
        }
        Request::Augmented(r) => {
            typed.factor = r.factors.iter().map(names).collect();
            typed.control = ids.first().cloned().or(Some(r.control));
            typed.controls = Some(r.controls_per_replicate);
            typed.replicates = Some(r.replicates);
            typed.block_name = r.block_name;
        }
        Request::SplitPlot(r) => {
            typed.whole_plot = Some(names(&r.whole));
            typed.factor = vec![format!("{}={}", r.sub.name, ids.join(","))];
            typed.blocks = Some(r.blocks.len());
            typed.block_name = Some(r.block_name);
        }
        Request::CentralComposite(r) => {
            typed.factor = r.factors.iter().map(number).collect();
            typed.centre = Some(r.centre_points);
            typed.reach = Some("rotatable".to_owned());
        }
        Request::BoxBehnken(r) => {
            typed.factor = r.factors.iter().map(number).collect();
            typed.centre = Some(r.centre_points);
        }
        Request::SimplexLattice(r) => {
            typed.part = least(&r.components, &r.least);
            typed.steps = Some(r.steps);
            typed.replicates = Some(r.replicates);
        }
        Request::SimplexCentroid(r) => {
            typed.part = least(&r.components, &r.least);
            typed.replicates = Some(r.replicates);
        }
        Request::ConstrainedMixture(r) => {
            let parts = r.components.iter();
            typed.part = parts
                .map(|c| format!("{}={}..{}", c.name, c.low, c.high))
                .collect();
            typed.factor = r.process.iter().map(number).collect();
            typed.runs = Some(r.runs);
            typed.starts = Some(r.starts);
            typed.degree = Some("quadratic".to_owned());
        }
    }
    typed
}

/// A field of what is usual, as it stands in the form.
fn usual_of(typed: &Typed, field: Field) -> String {
    let count = |n: Option<usize>| n.map_or_else(String::new, |n| n.to_string());
    let text = |t: &Option<String>| t.clone().unwrap_or_default();
    match field {
        Field::Treatments => typed.treatments.join("\n"),
        Field::Replicates => count(typed.replicates),
        Field::BlockName => text(&typed.block_name),
        Field::Blocks => count(typed.blocks),
        Field::PerBlock => count(typed.per_block),
        Field::RowName => text(&typed.row_name),
        Field::ColumnName => text(&typed.column_name),
        Field::Squares => count(typed.squares),
        Field::Dogs => count(typed.dogs),
        Field::Factor => typed.factor.join("\n"),
        Field::WholePlot => text(&typed.whole_plot),
        Field::Control => text(&typed.control),
        Field::Controls => count(typed.controls),
        Field::Drop => count(typed.drop),
        Field::Generator => typed.generator.join("\n"),
        Field::Reach => text(&typed.reach),
        Field::Centre => count(typed.centre),
        Field::Part => typed.part.join("\n"),
        Field::Steps => count(typed.steps),
        Field::Degree => text(&typed.degree),
        Field::Runs => count(typed.runs),
        Field::Starts => count(typed.starts),
    }
}

/// What was typed in the form.
fn read(fields: &Fields, design: Design, study: &str) -> Result<TrialAsked, AppError> {
    let wrong = |field: &str, why: String| AppError::Value {
        field: field.to_owned(),
        why: why.trim_end_matches('.').to_owned(),
    };
    let lines = |name: &str| -> Vec<String> {
        let text = fields.maybe(name).unwrap_or_default();
        let lines = text.lines().map(str::trim).filter(|l| !l.is_empty());
        lines.map(str::to_owned).collect()
    };
    let count = |name: &str, what: &str| -> Result<Option<usize>, AppError> {
        let Some(text) = fields.maybe(name) else {
            return Ok(None);
        };
        let n = text.trim().parse::<usize>().ok().filter(|n| *n <= 100_000);
        let why = || {
            format!(
                "‘{}’ is no whole number from 0 to 100 000",
                text.chars().take(40).collect::<String>()
            )
        };
        n.map(Some).ok_or_else(|| wrong(what, why()))
    };
    let line = |name: &str| fields.maybe(name).map(|t| t.trim().to_owned());
    let n = |field: Field| {
        let (word, what, _) = field.about();
        count(word, what)
    };
    let takes = takes(design);
    let of = |field: Field| takes.contains(&field).then(|| field.word());
    let many = |field: Field| of(field).map_or_else(Vec::new, lines);
    let text = |field: Field| of(field).and_then(line);
    let number = |field: Field| {
        if takes.contains(&field) {
            n(field)
        } else {
            Ok(None)
        }
    };
    let typed = Typed {
        treatments: match many(Field::Treatments) {
            // Ticked by name, or typed where a study can't be worked out.
            typed if typed.is_empty() && of(Field::Treatments).is_some() => choices::ticked(fields),
            typed => typed,
        },
        replicates: number(Field::Replicates)?,
        block_name: text(Field::BlockName),
        blocks: number(Field::Blocks)?,
        per_block: number(Field::PerBlock)?,
        row_name: text(Field::RowName),
        column_name: text(Field::ColumnName),
        squares: number(Field::Squares)?,
        dogs: number(Field::Dogs)?,
        factor: many(Field::Factor),
        whole_plot: text(Field::WholePlot),
        control: text(Field::Control),
        controls: number(Field::Controls)?,
        drop: number(Field::Drop)?,
        generator: many(Field::Generator),
        reach: text(Field::Reach),
        centre: number(Field::Centre)?,
        part: many(Field::Part),
        steps: number(Field::Steps)?,
        degree: text(Field::Degree),
        runs: number(Field::Runs)?,
        starts: number(Field::Starts)?,
    };
    let wish = wish(design, &typed).map_err(|e| {
        let found = match e.found.as_str() {
            "" => String::new(),
            found => format!("‘{found}’: "),
        };
        wrong(e.field.about().1, format!("{found}{}", e.allowed))
    })?;
    let unit = match fields.maybe("unit") {
        None => design.units()[0],
        Some(word) => Unit::ALL
            .into_iter()
            .find(|u| u.word() == word)
            .ok_or_else(|| wrong("unit", "choose one of the list".to_owned()))?,
    };
    let seed = match fields.maybe("seed") {
        None => 1,
        Some(text) => text.trim().parse::<u64>().map_err(|_| {
            wrong(
                "seed",
                format!(
                    "‘{}’ is no whole number",
                    text.chars().take(40).collect::<String>()
                ),
            )
        })?,
    };
    let own = lines("responses");
    let responses = choices::chosen(fields)
        .iter()
        .chain(&own)
        .map(|l| Asked::read(l).map_err(|why| wrong("what is measured", why)))
        .collect::<Result<Vec<_>, _>>()?;
    let pieces = count("pieces", "good pieces")?.map(|n| u32::try_from(n).unwrap_or(u32::MAX));
    Ok(TrialAsked {
        name: fields.text("name")?.trim().to_owned(),
        question: line("question").unwrap_or_default(),
        study: study.to_owned(),
        wish,
        unit,
        seed,
        control: None,
        responses,
        pieces,
        loss_pct: 5.0,
        blind: fields.maybe("blind").is_some(),
    })
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
