//! What to try next: limits to stay within, the bake to read, the dough to titrate, the formula to make.

use super::study::encoded;
use super::{InStudy, own_oven, troubles, who};
use crate::error::Failure;
use crate::sent::Sent;
use crate::shell::Room;
use crate::wants::Wants;
use app::{App, AppError, MOST_BATCHES, Next, NextDough, NextFormula, NextFormulas};
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Redirect, Response};
use maud::{Markup, html};
use paper::number;
use paper::parts::{Known, known};
use serde_json::Value;
use study::Figure;
use study::edit::Edit;

/// Batches that are proposed unless more or fewer are asked for.
const USUAL: usize = 3;

/// The address of the page for a response.
pub(crate) fn address_for(thing: &str, response: &str) -> String {
    format!(
        "{}?response={}#formula",
        Room::Next.address(thing),
        encoded(response)
    )
}

/// What is asked of the page: the response, and how many batches.
fn asked<'q>(page: &'q InStudy<'_>) -> Result<(Option<&'q str>, usize), AppError> {
    let many = match page.query.maybe("batches") {
        Some(_) => page.query.count("batches")? as usize,
        None => USUAL,
    };
    if !(1..=MOST_BATCHES).contains(&many) {
        return Err(AppError::Value {
            field: "batches".to_owned(),
            why: format!("{many} is out of range; give 1 to {MOST_BATCHES}"),
        });
    }
    Ok((page.query.maybe("response"), many))
}

/// What stands inside `<main>`.
pub(crate) async fn body(page: &InStudy<'_>) -> Result<Markup, AppError> {
    let (response, many) = asked(page)?;
    let next = page.app.next(page.view, response, many).await?;
    Ok(html! {
        h1 { "Next" }
        (troubles(page))
        p .lead { "What to try next, ranked by the answer that it would make surer, or better." }
        (limits(page))
        (bake(page, &next))
        (doughs(page, &next.doughs))
        (formulas(page, &next, response, many))
    })
}

fn limits(page: &InStudy<'_>) -> Markup {
    let Some(study) = page.view.study.as_deref() else {
        return html! {};
    };
    let thing = &page.view.thing;
    let here = Room::Next.address(thing);
    html! {
        section .part #limits {
            h2 { "Limits to stay within" }
            @if study.limits.is_empty() { p { "None is written. A limit is a figure of the sheet that may be at most or at least so much; it is told beside every treatment, and what is tried next stays within it." } }
            (report::limits_kept(study, &page.view.answers.compared, page.settings.units))
            @for (i, limit) in study.limits.iter().enumerate() {
                form .line .no-print method="post" action=(here) {
                    input type="hidden" name="base" value=(page.view.base);
                    input type="hidden" name="nth" value=(i + 1);
                    span { (report::limit_in_words(limit, page.settings.units)) }
                    button name="do" value="remove-limit" { "Take it out" }
                }
            }
            details .no-print {
                summary { "Add a limit" }
                form .plan-form method="post" action=(here) {
                    input type="hidden" name="base" value=(page.view.base);
                    label { "Figure" select name="figure" { @for f in Figure::ALL { option value=(f.about().key) { (f.about().name) @if !f.about().unit.is_empty() { ", " (f.about().unit) } } } } }
                    label { "At most" input name="at_most" inputmode="decimal" autocomplete="off"; }
                    label { "At least" input name="at_least" inputmode="decimal" autocomplete="off"; }
                    label { "How surely, % (empty: its best value)" input name="probability_pct" inputmode="decimal" autocomplete="off"; }
                    label { "Why" input name="reason" maxlength="500" autocomplete="off"; }
                    p .second .wide { "Numbers in the units that stand with the figure here." }
                    button name="do" value="add-limit" { "Add it" }
                }
            }
        }
    }
}

fn bake(page: &InStudy<'_>, next: &Next) -> Markup {
    let (treatment, fit) = &next.bake_of;
    html! {
        section .part {
            h2 { "The bake to read" }
            @if next.bake.is_empty() { p { "The target of the treatment isn’t met, so nothing narrows its minutes." } }
            @else {
                p { "For the minutes of ‘" (treatment) "’, "
                    @match fit { Some(fit) => { "from what ‘" (fit) "’ left open: " }, None => { "before any bake was read: " } }
                    "what one more bake would leave. Its pieces are those that are pulled; the oven’s time is one bake." }
                (own_oven::next_table(&next.bake))
                p { a href=(Room::OwnOven.address(&page.view.thing)) { "Own oven" } " takes the readings." }
            }
        }
    }
}

fn doughs(page: &InStudy<'_>, doughs: &[NextDough]) -> Markup {
    let currency = page
        .view
        .study
        .as_deref()
        .map_or("", |s| s.currency.as_str());
    let half = |v: f64| number::fixed(v, 1);
    html! {
        @if !doughs.is_empty() {
            section .part {
                h2 { "The dough to titrate" }
                div .scroll role="region" aria-label="The dough to titrate" tabindex="0" { table .list .learned {
                    thead { tr { th scope="col" { "one titration of" } th .n scope="col" { "its own need, ± kg per 100 kg dry mix" } th .n scope="col" { "all needs, mean ±" } th .n scope="col" { "all narrower by" } th .n scope="col" { "product, " (currency) "/kg" } } }
                    tbody { @for d in doughs { tr {
                        @let [own, all] = d.half_widths();
                        th scope="row" { (d.name) }
                        td .n { (half(own[0])) " to " (half(own[1])) }
                        td .n { (half(all[0])) " to " (half(all[1])) }
                        td .n { (number::fixed(100.0 * d.all_narrower(), 0)) "\u{a0}%" }
                        td .n { @match d.cost_per_kg { Some(c) => (number::fixed(c, 2)), None => "not known" } }
                    } } }
                } }
                p .second { "Half widths of 95 %. Doughs share materials, so that one titration says something of every dough; what it would say is known before it is made." }
            }
        }
    }
}

fn formulas(page: &InStudy<'_>, next: &Next, response: Option<&str>, many: usize) -> Markup {
    let here = Room::Next.address(&page.view.thing);
    html! {
        section .part #formula {
            h2 { "The formula to make" }
            @if next.responses.is_empty() {
                p { "No trial of this study has measured anything yet. Plan one on the page Trials; what its batches measure can be followed over the formulas between them." }
            } @else {
                form .line .no-print method="get" action=(here) {
                    label { "for " select name="response" data-goes { option value="" { "pick what was measured" } @for (id, name) in &next.responses { option value=(id) selected[response == Some(id.as_str())] { (name) } } } }
                    label { "batches of one day " input type="number" name="batches" min="1" max=(MOST_BATCHES) value=(many); }
                    button { "Show" }
                }
            }
            @match &next.formulas {
                None => {}
                Some(Err(why)) => p .said { (why) },
                Some(Ok(told)) => (picked(page, told)),
            }
        }
    }
}

fn picked(page: &InStudy<'_>, told: &NextFormulas) -> Markup {
    let (name, unit) = &told.response;
    let three = |v: f64| number::three(v);
    let units = page.settings.units;
    let shown = |figure: Figure, value: Option<f64>| {
        let about = figure.about();
        value.map_or_else(
            || "not known".to_owned(),
            |v| {
                let places = units.decimals(about.unit, figure.decimals_for(v));
                number::fixed(units.value(v, about.unit), places)
            },
        )
    };
    let row = |f: &NextFormula| {
        let [low, high] = f.told.next_interval();
        html! { tr {
            th scope="row" { (f.name) @if f.is_treatment { span .second { ", as it stands" } } }
            td .n { (known(&three(f.told.mean), Known::Learned)) " (" (three(low)) " to " (three(high)) ")" }
            td .n { (three(f.improvement)) }
            td .n { (number::fixed(100.0 * f.chance, 0)) "\u{a0}%" }
            td .n { (shown(Figure::BakeTime, f.figures[0])) } td .n { (shown(Figure::Output, f.figures[1])) } td .n { (shown(Figure::CostPerKg, f.figures[2])) }
        } }
    };
    let of = |figure: Figure| units.unit(figure.about().unit).to_owned();
    html! {
        p .says { "Best so far, by what is held of it: " (told.best.0) ", " (three(told.best.1)) " " (unit) ". "
            (told.looked_at.0) " formulas were looked at: the treatments and those between each two of them; " (told.looked_at.1) " keep every limit." }
        div .scroll role="region" aria-label="The formula to make" tabindex="0" { table .list .learned {
            thead { tr { th scope="col" { "make" } th .n scope="col" { (name) ", " (unit) ", next batch 95 %" } th .n scope="col" { "expected improvement" } th .n scope="col" { "chance to be better" } th .n scope="col" { "bake, min" } th .n scope="col" { "output, " (of(Figure::Output)) } th .n scope="col" { "cost of a kg" } } }
            tbody { @for f in &told.pick { (row(f)) } }
        } }
        p .second { "Learned from " (told.batches) " batches, " (told.how) ". Each is chosen as if those above it had come out as expected. A formula between two treatments has the first one’s piece and oven." }
    }
}

/// What a form of the page asks for.
pub(crate) async fn act(
    State(app): State<App>,
    Path(thing): Path<String>,
    wants: Wants,
    Sent(fields): Sent,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, wants);
    let who = who(&app).await.map_err(told)?;
    let settings = app.settings().await.map_err(told)?;
    let base = fields.count("base").map_err(told)?;
    let number = |name: &str| {
        let written = fields.maybe(name);
        written.map(|_| fields.number(name, &settings)).transpose()
    };
    let edit = match fields.text("do").map_err(told)? {
        "remove-limit" => Edit::RemoveLimit {
            nth: fields.count("nth").map_err(told)? as usize,
        },
        _ => Edit::AddLimit {
            figure: fields.text("figure").map_err(told)?.to_owned(),
            at_most: number("at_most").map_err(told)?,
            at_least: number("at_least").map_err(told)?,
            probability_pct: number("probability_pct").map_err(told)?,
            reason: fields.maybe("reason").unwrap_or_default().to_owned(),
        },
    };
    app.edit(&who, &thing, base, &[edit]).await.map_err(told)?;
    let here = Room::Next.address(&encoded(&thing));
    Ok(Redirect::to(&format!("{here}#limits")).into_response())
}

/// The same as JSON.
pub(crate) async fn json(page: &InStudy<'_>) -> Result<Value, AppError> {
    let (response, many) = asked(page)?;
    let next = page.app.next(page.view, response, many).await?;
    Ok(next.document())
}
