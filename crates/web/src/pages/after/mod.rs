//! After the oven, from left to right in time: cooling on the conveyor, evening-out in the pack, checking, keeping. The
//! pack is set in a form whose every change is an edit of the study.

mod course;
mod figures;
mod pack;

use super::chosen::{choice, chosen, nothing};
use super::section::{Doing, Set, Typed, is_own};
use super::{InStudy, troubles};
use crate::error::Failure;
use crate::sent::Sent;
use crate::shell::Room;
use crate::wants::Wants;
use ::study::views::after_oven::{AfterAnswer, KeepingTold};
use app::{AfterOf, App, AppError, section_written};
use axum::extract::{Path, State};
use axum::response::Response;
use maud::{Markup, html};
use measure::Given;
use paper::number;
use paper::parts::{findings, givens, reason};
use serde_json::{Value, json};

/// The section of the study that this page sets.
const SECTION: &str = "pack";

/// What was typed in the form of the pack.
pub(crate) async fn act(
    State(app): State<App>,
    Path(thing): Path<String>,
    wants: Wants,
    Sent(fields): Sent,
) -> Result<Response, Failure> {
    let doing = Doing::of(&app, &thing, wants, SECTION, Room::After).await?;
    let own = doing.treatment(&fields)?;
    let now = section_written(&doing.view, own, SECTION);
    let typed = pack::typed(&doing.view, own, &now, &fields, &doing.settings);
    doing.take(&fields, own, typed, pack::field_of).await
}

/// What stands inside `<main>`.
pub(crate) async fn body(page: &InStudy<'_>) -> Result<Markup, AppError> {
    whole(page, None).await
}

/// The page, with what was typed where that was refused.
pub(crate) async fn whole(page: &InStudy<'_>, typed: Option<&Typed>) -> Result<Markup, AppError> {
    let afters = page.app.afters(page.view).await?;
    let Some(chosen) = chosen(page)? else {
        return Ok(
            html! { h1 { "After the oven" } (troubles(page)) (nothing(page, "time after the oven")) },
        );
    };
    let find = |id: &str| afters.iter().find(|a| a.id == id);
    let a = &chosen.here.answer;
    let here = find(&a.id);
    let told = here.and_then(|h| h.told.as_deref());
    let beside = chosen
        .beside
        .and_then(|b| find(&b.answer.id))
        .and_then(|h| h.told.as_deref());
    let own = is_own(page.query.maybe("whose"), page.view, &a.id, SECTION);
    let set = Set {
        section: SECTION,
        room: Room::After,
        id: &a.id,
        name: &a.name,
        own,
        any_own: section_written(page.view, Some(&a.id), SECTION).own,
        kept: &["beside", "whose"],
    };
    Ok(html! {
        div #after data-section {
            h1 { "After the oven" }
            (troubles(page))
            (choice(page, &chosen, Room::After, true))
            @match told {
                Some(told) => {
                    (head(told, beside))
                    (course::course(told, beside, page.settings.units))
                }
                None => (untold(here)),
            }
            section .part .packing {
                h2 { "The pack" }
                div .two {
                    div {
                        (set.scope(page))
                        (pack::form(page, &set, typed))
                    }
                    div {
                        @if let Some(told) = told { (figures::limits(told)) }
                        (pack::films())
                    }
                }
            }
            section .part { (figures::side_by_side(&afters, page.settings.units)) }
            section .part {
                h2 { "Against checking" }
                (figures::uncalibrated())
                @match &page.app.checking_changes(page.view, &a.id).await {
                    Ok(changes) => @if let Some(told) = told { (figures::changes(told, changes)) },
                    Err(error) => p .second { "What would help can’t be told: " (error) },
                }
            }
            @if let Some(told) = told {
                section .part { h2 { "What grows at which water activity" } (figures::growth(told)) }
                section .part { h2 { "How sure this is" } (sure(told)) }
            }
        }
    })
}

fn untold(here: Option<&AfterOf>) -> Markup {
    html! {
        ul .findings { li .finding .warn { span .weight { "caution" } div {
            p { "What happens after the oven can’t be told: " (here.map_or("the treatment has no answer", |h| h.why.as_str())) "." }
            p .help { "Change what is named in the pack below, or on the pages before." }
        } } }
    }
}

/// What it comes to, in one line.
fn head(a: &AfterAnswer, beside: Option<&AfterAnswer>) -> Markup {
    let soft = |a: &AfterAnswer| a.keeping.crisp_days.is_some_and(|d| d <= 0.0);
    let days = |a: &AfterAnswer| figures::days(a.keeping.crisp_days, &a.keeping);
    html! {
        p .bake-time {
            span .name { (a.name) }
            @if soft(a) { " is " b { "packed too moist to be crisp" } } @else { " stays crisp " b { (days(a)) } }
            @if let Some(other) = beside {
                " " span .second {
                    @if soft(other) && soft(a) { "as is " (other.name) }
                    @else if soft(other) { "against " (other.name) ", packed too moist to be crisp" }
                    @else { "against " (days(other)) " of " (other.name) }
                }
            }
        }
        p .words {
            "In " (a.keeping.film) ", up to a water activity of " (number::fixed(a.keeping.crisp_water_activity, 2))
            @let points = a.checking.centre_surface_points;
            (knife_edge(&a.keeping))
            ". Packed with the middle " (number::fixed(points.abs(), 1)) " points " (if points < 0.0 { "drier" } else { "wetter" }) " than the surfaces."
        }
    }
}

/// What an answer close to its limit is worth.
fn knife_edge(k: &KeepingTold) -> Markup {
    let (Some(packed), Some((early, late))) = (k.water_activity.first(), k.crisp_days_by_mouth)
    else {
        return html! {};
    };
    let gap = packed - k.crisp_water_activity;
    let shown = number::fixed(gap.abs(), 2);
    html! {
        ". It is packed at " (number::fixed(*packed, 2)) ", "
        @match (shown.as_str(), gap < 0.0) { ("0.00", _) => "at that limit", (_, true) => { (shown) " below it" }, _ => { (shown) " above it" } }
        ", closer than the limit is known: the keenest mouths find it crisp " b { (figures::days(early, k)) } ", the mildest " b { (figures::days(late, k)) } ", so find your own limit by biting"
    }
}

fn sure(a: &AfterAnswer) -> Markup {
    let mut stands_on: Vec<Given> = a.given.clone();
    stands_on.sort_by_key(|g| std::cmp::Reverse(g.source.grade));
    html! {
        (findings(&a.findings))
        (reason(&format!("What it stands on: {} numbers with their sources", stands_on.len()), &givens(&stands_on)))
    }
}

/// The same as JSON.
pub(crate) async fn json(page: &InStudy<'_>) -> Result<Value, AppError> {
    let afters = page.app.afters(page.view).await?;
    let mut value = json!({ "treatments": afters, "films": pack::films_json() });
    if let Some(chosen) = chosen(page)? {
        let id = &chosen.here.answer.id;
        let own = is_own(page.query.maybe("whose"), page.view, id, SECTION);
        let written = section_written(page.view, own.then_some(id.as_str()), SECTION);
        let changes = page.app.checking_changes(page.view, id).await.ok();
        value["shown"] = json!({
            "id": id,
            "own": own,
            "written": written.values,
            "checking_changes": changes.as_deref(),
        });
    }
    Ok(value)
}
