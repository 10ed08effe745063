//! The own oven: readings of bakes, what they teach, and taking it up.

mod doughs;
mod form;
mod pictures;

use super::study::encoded;
use super::{InStudy, troubles, who};
use crate::error::Failure;
use crate::fields::Fields;
use crate::sent::Sent;
use crate::shell::Room;
use crate::wants::Wants;
use app::{App, AppError, FitKept, FitLook, FitStart, JobState};
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Redirect, Response};
use form::Typed;
use learning::next::{Means, NextBake};
use learning::written::Kept;
use learning::{Kind, Parameter, time};
use maud::{Markup, html};
use measure::Finding;
use paper::number;
use paper::parts::findings;
use serde_json::{Value, json};
use study::edit::Part;

/// The address of a fit.
fn address(thing: &str, fit: &str) -> String {
    format!("{}?fit={}", Room::OwnOven.address(thing), encoded(fit))
}

/// What stands inside `<main>`.
pub(crate) async fn body(page: &InStudy<'_>) -> Result<Markup, AppError> {
    drawn(page, &Typed::default()).await
}

async fn drawn(page: &InStudy<'_>, typed: &Typed) -> Result<Markup, AppError> {
    // Looked at first: one that ends meanwhile is then among the fits.
    let stands = page.app.fit_stands(page.view);
    let fits = page.app.fits(&page.view.thing).await?;
    let shown = shown(page, &fits)?;
    let seen = match shown {
        Some(fit) => Some(looked_at(page, fit).await?),
        None => None,
    };
    Ok(html! {
        h1 { "Own oven" }
        (troubles(page))
        p .lead { "A bake time is an estimate until it has met bakes of your own. Weigh pieces pulled from the oven at set times, or put a probe in one, and fit the oven to them." }
        (at_work(page, &stands))
        @if !fits.is_empty() { (list(page, &fits, shown)) }
        @if let Some(seen) = seen { (seen) }
        (form::form(page, typed, fits.is_empty()))
        (doughs::part(page).await?)
        (taken_up(page))
        p .second { "Factors that are fitted are effective ones: they hold for this product in this oven, and aren’t physics to carry to another. "
            "A bake that is hot enough to be safe has to be shown by a process authority; a fit shows nothing of it." }
    })
}

/// The fit that the address names, else the newest.
fn shown<'f>(page: &InStudy<'_>, fits: &'f [FitKept]) -> Result<Option<&'f FitKept>, AppError> {
    let Some(named) = page.query.maybe("fit") else {
        return Ok(fits.first());
    };
    let found = fits.iter().find(|f| f.entry.thing == named);
    let wrong = || AppError::Value {
        field: "fit".to_owned(),
        why: "this study has no such fit; pick one of the list".to_owned(),
    };
    found.map(Some).ok_or_else(wrong)
}

/// How the fit that was asked for stands.
fn at_work(page: &InStudy<'_>, stands: &JobState<String>) -> Markup {
    let thing = &page.view.thing;
    html! {
        @match stands {
            JobState::Running(share) => div .line data-at-work {
                label { "Fitting " progress max="1" value=(share) {} " " (number::fixed(100.0 * share, 0)) " %" }
                form method="post" action=(Room::OwnOven.address(thing)) { button name="do" value="stop" { "Stop" } }
                noscript { a href=(Room::OwnOven.address(thing)) { "Look again" } }
            },
            JobState::Failed(why) => p .said role="alert" { "The fit couldn’t be made: " (why) },
            JobState::Done(_) | JobState::NotAsked => {},
        }
    }
}

fn list(page: &InStudy<'_>, fits: &[FitKept], shown: Option<&FitKept>) -> Markup {
    let here = |f: &FitKept| shown.is_some_and(|s| s.entry.thing == f.entry.thing);
    html! {
        nav .responses aria-label="Fits" { @for fit in fits {
            a href=(address(&page.view.thing, &fit.entry.thing)) aria-current=[here(fit).then_some("true")] {
                (fit.kept.name) span .second { ", " (fit.kept.made) ", revision " (fit.entry.number) }
                @if !fit.kept.fit.holds() { span .second { ", of an older version" } }
            }
        } }
    }
}

/// Minutes with their interval.
fn minutes(time_s: f64, [low, high]: [f64; 2]) -> String {
    let min = |s: f64| number::fixed(s / 60.0, 1);
    format!("{} min ({} to {})", min(time_s), min(low), min(high))
}

async fn looked_at(page: &InStudy<'_>, fit: &FitKept) -> Result<Markup, AppError> {
    let kept = &fit.kept;
    // A treatment that is gone takes the times away, not what was learned.
    let look = page.app.fit_look(page.view, kept).await;
    let of_the_fit: Vec<Finding> = kept.fit.findings.clone();
    Ok(html! {
        section .part #fit {
            h2 { (kept.name) }
            (sentence(kept, look.as_ref().ok()))
            @if let Err(why) = &look { p .said { (why) } }
            (findings(&of_the_fit))
            (take_up(page, fit))
            @if let Ok(look) = &look {
                div .trial-pictures { @for picture in pictures::over_the_zones(kept, look) { (picture) } (pictures::residuals(kept)) }
            }
            h3 { "What was learned" }
            (parameters(kept))
            @if let Ok(look) = &look { (next(&look.next)) }
            (readings(page, fit))
        }
    })
}

/// The plain sentence.
fn sentence(kept: &Kept, look: Option<&FitLook>) -> Markup {
    let told = |s: &time::Sure| minutes(s.time_s, s.interval_s());
    html! {
        p .says {
            "Learned from " (kept.fit.stands_on()) " of ‘" (kept.treatment) "’, " (kept.made) ". "
            @match look.map(|l| (&l.before, &l.after)) {
                Some((Some(before), Some(after))) => {
                    "Time in the oven to the target: " (told(after)) " after these bakes, " (told(before)) " as believed before; the next single bake "
                    (minutes(after.time_s, after.next_interval_s())) ". "
                    @let narrower = 100.0 * (1.0 - after.sd_ln / before.sd_ln);
                    @if narrower >= 1.0 { "The interval is narrower by " (number::fixed(narrower, 0)) "\u{a0}%." }
                    @else { "The interval is no narrower: these bakes say little of it." }
                }
                Some((None, _) | (_, None)) => { "The target isn’t met in the times that are looked at." }
                None => {}
            }
        }
        p .second { "Limits of 95 % by what is learned here alone; the sheet’s limits count gas, composition and place across the oven as well." }
    }
}

fn take_up(page: &InStudy<'_>, fit: &FitKept) -> Markup {
    let thing = &page.view.thing;
    let doubts = fit.kept.fit.doubts().count();
    html! {
        form .line .no-print method="post" action=(Room::OwnOven.address(thing)) {
            input type="hidden" name="base" value=(page.view.base);
            input type="hidden" name="fit" value=(fit.entry.thing);
            @if !fit.kept.fit.holds() {
                span { "It was made under another version of the bake’s arithmetic and isn’t used as it is." }
                button name="do" value="again" { "Make it anew from its readings" }
            } @else {
                @if doubts > 0 {
                    label { input type="checkbox" name="doubts" value="seen" required; " I have read what speaks against it" }
                }
                button name="do" value="take-up" { "Take it up in the study" }
                a href=(format!("/study/{}/own-oven/fit.toml?fit={}", thing, encoded(&fit.entry.thing))) { "As a file" }
            }
        }
    }
}

/// What the study has taken up, and leaving it out.
fn taken_up(page: &InStudy<'_>) -> Markup {
    let learned = page
        .view
        .study
        .as_deref()
        .and_then(|s| s.control().setting.learned.as_ref());
    let Some(learned) = learned else {
        return html! {};
    };
    let thing = &page.view.thing;
    let leave = |part: Part, words: &str| {
        html! {
            form .line method="post" action=(Room::OwnOven.address(thing)) {
                input type="hidden" name="base" value=(page.view.base);
                input type="hidden" name="part" value=(part.word());
                span { "○ " (words) }
                button name="do" value="leave-out" { "Leave it out" }
            }
        }
    };
    html! {
        section .part {
            h2 { "Taken up in this study" }
            @if let Some(b) = &learned.bake { (leave(Part::Bake, &format!("{}: {}, {}", b.fit, b.from, b.made))) }
            @if let Some(w) = &learned.water { (leave(Part::Water, &format!("water that the materials take: {}", w.from))) }
            @if let Some(w) = &learned.whole { (leave(Part::Whole, &format!("pieces whole from the cutter: {}", w.from))) }
            p .second { "Leaving it out is a change like any other: undo brings it back, and nothing is in the study for good before it is saved." }
        }
    }
}

fn parameters(kept: &Kept) -> Markup {
    let fit = &kept.fit;
    let little = |share: f64| share < 0.2;
    html! {
        div .scroll role="region" aria-label="What was learned" tabindex="0" { table .list .learned {
            thead { tr { th scope="col" { "factor on" } th scope="col" { "believed" } th .n scope="col" { "95 %" } th scope="col" { "learned" } th .n scope="col" { "factor, 95 %" } th .n scope="col" { "share learned" } } }
            tbody { @for p in &fit.parameters { tr {
                th scope="row" { (p.chosen.name()) @if little(p.share) { span .second { ", not learned" } } }
                td { (pictures::ribbon(1.0, p.believed_factor)) }
                td .n { (between(p.believed_factor)) }
                td { (pictures::ribbon(p.factor, p.factor_limits)) }
                td .n { (paper::parts::known(&number::fixed(p.factor, 2), paper::parts::Known::Learned)) " (" (between(p.factor_limits)) ")" }
                td .n { (number::fixed(100.0 * p.share.max(0.0), 0)) " %" }
            } } }
        } }
        p .second { "Each ribbon is the central 95 % on one logarithmic scale from a fifth to five times; the line is 1, the model’s best value. "
            @let [agree, all] = fit.starts;
            (agree) " of " (all) " starts ended at one place"
            @if let Some(d) = fit.draws { "; " (d.count) " draws, worth " (number::fixed(d.effective, 0)) @if !fit.by_draws { ", which can’t be trusted" } }
            "." }
    }
}

fn between([low, high]: [f64; 2]) -> String {
    format!("{} to {}", number::fixed(low, 2), number::fixed(high, 2))
}

/// What to read of the next bake.
fn next(all: &[(Means, NextBake)]) -> Markup {
    html! {
        @if !all.is_empty() {
            h3 { "What to read next" }
            (next_table(all))
        }
    }
}

/// The proposed readings of a bake, by what they leave of the interval.
pub(crate) fn next_table(all: &[(Means, NextBake)]) -> Markup {
    let mut order: Vec<&(Means, NextBake)> = all.iter().collect();
    order.sort_by(|a, b| b.1.narrower().total_cmp(&a.1.narrower()));
    let min = |s: f64| number::fixed(s / 60.0, 1);
    html! {
        div .scroll role="region" aria-label="What to read next" tabindex="0" { table .list {
            thead { tr { th scope="col" { "one more bake with" } th scope="col" { "where or when" } th .n scope="col" { "interval of the minutes" } th .n scope="col" { "narrower by" } } }
            tbody { @for (means, n) in order { tr {
                th scope="row" { (means.name()) }
                td { (when(*means, n)) }
                @let [now, then] = n.half_widths_s();
                td .n { "± " (min(now)) " to ± " (min(then)) }
                td .n { (number::fixed(100.0 * n.narrower(), 0)) " %" }
            } } }
        } }
        p .second { "Told before it is read, from the derivatives of the bake at what is held now. Ranked by the minutes, and with them the output where the oven limits the line." }
    }
}

fn when(means: Means, n: &NextBake) -> String {
    let first = n.readings.first();
    if means == Means::Probe {
        let mm = first.and_then(|r| r.height_m).unwrap_or(0.0) * 1000.0;
        return format!("{} mm over the band, its whole curve", number::fixed(mm, 1));
    }
    let times = n.times_s().into_iter();
    let times: Vec<String> = times.map(|s| number::fixed(s / 60.0, 1)).collect();
    format!("at {} min", times.join(", "))
}

/// The readings it stands on; bakes can be left out, as those before a change of the oven.
fn readings(page: &InStudy<'_>, fit: &FitKept) -> Markup {
    let kept = &fit.kept;
    let digits = |kind: Kind| match kind {
        Kind::Mass => 2,
        _ => 1,
    };
    html! {
        details {
            summary { "The " (kept.fit.rows.len()) " readings, and leaving bakes out" }
            form .line .no-print method="post" action=(Room::OwnOven.address(&page.view.thing)) {
                input type="hidden" name="fit" value=(fit.entry.thing);
                @for (bake, _) in &kept.fit.bakes { label { input type="checkbox" name=(format!("out-{bake}")) value="yes"; " " (bake) } }
                button name="do" value="again" { "Fit anew without the ticked ones" }
            }
            div .scroll role="region" aria-label="Readings" tabindex="0" { table .list {
                thead { tr { th scope="col" { "bake" } th scope="col" { "what" } th .n scope="col" { "min" } th .n scope="col" { "measured" } th .n scope="col" { "best values" } th .n scope="col" { "fitted" } th .n scope="col" { "gap, sd" } } }
                tbody { @for (row, told) in kept.fit.rows.iter().zip(&kept.fit.compared) { tr {
                    @let d = digits(row.kind);
                    th scope="row" { (row.bake) }
                    td { (row.kind.name()) @if let Some(h) = row.height_m { ", " (number::fixed(1000.0 * h, 1)) " mm" } }
                    td .n { (number::fixed(row.time_s / 60.0, 1)) } td .n { (number::fixed(row.value, d)) }
                    td .n { (number::fixed(told.believed, d)) } td .n { (number::fixed(told.fitted, d)) } td .n { (measure::rounding::signed(told.gap, 1)) }
                } } }
            } }
        }
    }
}

/// The part that a form names.
fn part(fields: &Fields) -> Result<Part, AppError> {
    let word = fields.text("part")?;
    let part = Part::ALL.into_iter().find(|p| p.word() == word);
    part.ok_or_else(|| AppError::Value {
        field: "part".to_owned(),
        why: "it is bake, water or whole".to_owned(),
    })
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
    let here = Room::OwnOven.address(&thing);
    let view = app.study(&who, &thing).await.map_err(told)?;
    let started = match fields.text("do").map_err(told)? {
        "stop" => {
            app.stop_fit(&view);
            return Ok(Redirect::to(&here).into_response());
        }
        "take-up" => {
            let base = fields.count("base").map_err(told)?;
            let fit = fields.text("fit").map_err(told)?;
            let seen = fields.maybe("doubts").is_some();
            app.take_up_fit(&who, &thing, base, fit, seen)
                .await
                .map_err(told)?;
            return Ok(Redirect::to(&Room::Sheet.address(&thing)).into_response());
        }
        "take-up-dough" => {
            let base = fields.count("base").map_err(told)?;
            let part = part(&fields).map_err(told)?;
            app.take_up_doughs(&who, &thing, base, part)
                .await
                .map_err(told)?;
            return Ok(Redirect::to(&Room::Sheet.address(&thing)).into_response());
        }
        "leave-out" => {
            let base = fields.count("base").map_err(told)?;
            let part = part(&fields).map_err(told)?;
            app.leave_out(&who, &thing, base, part)
                .await
                .map_err(told)?;
            return Ok(Redirect::to(&here).into_response());
        }
        "again" => {
            let out = |name: &String| name.strip_prefix("out-").map(str::to_owned);
            let out = fields.0.keys().filter_map(out).collect();
            let fit = fields.text("fit").map_err(told)?;
            app.fit_again(&who, &view, fit, out).await
        }
        _ => match form::asked(&app, &view, &fields).await {
            Ok(asked) => app.start_fit(&who, &view, asked).await,
            Err(error) => Err(error),
        },
    };
    let typed = match started {
        Ok(FitStart::AtWork) => return Ok(Redirect::to(&here).into_response()),
        Ok(FitStart::Readings(found)) => Typed {
            fields,
            said: None,
            found,
        },
        Err(error) if wants == Wants::Json => return Err(told(error)),
        Err(error) => Typed {
            said: Some(error.to_string()),
            fields,
            found: Vec::new(),
        },
    };
    form::refused(&app, &view, &typed, wants).await
}

/// A fit as a file that the command line reads.
pub(crate) async fn file(
    State(app): State<App>,
    Path(thing): Path<String>,
    axum::extract::Query(query): axum::extract::Query<Fields>,
    wants: Wants,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, wants);
    let fits = app.fits(&thing).await.map_err(told)?;
    let named = query.text("fit").map_err(told)?;
    let fit = app.fit(named).await.map_err(told)?;
    if !fits.iter().any(|f| f.entry.thing == fit.entry.thing) {
        return Err(told(AppError::Value {
            field: "fit".to_owned(),
            why: "this study has no such fit".to_owned(),
        }));
    }
    let head = [
        (
            axum::http::header::CONTENT_TYPE,
            "application/toml; charset=utf-8",
        ),
        (
            axum::http::header::CONTENT_DISPOSITION,
            "attachment; filename=\"fit.toml\"",
        ),
    ];
    Ok((head, learning::written::write(&fit.kept)).into_response())
}

/// The same as JSON.
pub(crate) async fn json(page: &InStudy<'_>) -> Result<Value, AppError> {
    let stands = page.app.fit_stands(page.view);
    let fits = page.app.fits(&page.view.thing).await?;
    let mut told = Vec::new();
    for fit in &fits {
        let look = page.app.fit_look(page.view, &fit.kept).await.ok();
        let min = |s: &time::Sure| {
            json!({ "time_min": s.time_s / 60.0, "interval_95_min": s.interval_s().map(|v| v / 60.0),
                "next_bake_95_min": s.next_interval_s().map(|v| v / 60.0) })
        };
        let parameters = fit.kept.fit.parameters.iter().map(|p| {
            json!({ "word": p.chosen.parameter.word(), "zone": p.chosen.zone.map(|z| z + 1), "factor": p.factor,
                "factor_95": p.factor_limits, "believed_factor_95": p.believed_factor, "learned_share": p.share })
        });
        told.push(json!({
            "thing": fit.entry.thing, "revision": fit.entry.number, "name": fit.kept.name, "made": fit.kept.made,
            "treatment": fit.kept.treatment, "holds": fit.kept.fit.holds(), "stands_on": fit.kept.fit.stands_on(),
            "parameters": parameters.collect::<Vec<_>>(), "findings": fit.kept.fit.findings,
            "before": look.as_ref().and_then(|l| l.before.as_ref()).map(min),
            "after": look.as_ref().and_then(|l| l.after.as_ref()).map(min),
        }));
    }
    let doughs = page.app.doughs_taught(page.view).await?;
    let doughs = json!({ "water": doughs.water, "needs": doughs.needs, "whole": doughs.whole });
    let stands = match stands {
        JobState::Running(share) => json!({ "running": share }),
        JobState::Failed(why) => json!({ "failed": why }),
        JobState::Done(thing) => json!({ "done": *thing }),
        JobState::NotAsked => Value::Null,
    };
    let can: Vec<Value> = Parameter::ALL
        .into_iter()
        .map(|p| json!({ "word": p.word(), "name": p.about().name }))
        .collect();
    Ok(json!({ "fits": told, "doughs": doughs, "at_work": stands, "can_be_learned": can }))
}
