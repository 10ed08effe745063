//! Checks on the line: samples across the band entered one after another, drawn with limits from themselves, and what they
//! give away.

use super::batch::writer;
use super::{ADDRESS, batch};
use crate::error::Failure;
use crate::fields::Fields;
use crate::pages::study::encoded;
use crate::sent::Sent;
use crate::shell;
use crate::wants::Wants;
use app::{App, AppError, AtBench, Device, Settings, Taken, new_key, now};
use axum::extract::{Path, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use axum::{Extension, Json};
use bench::{On, OnLine, Part, Rule, Station, What, give_away, on_line};
use book::{Entered, Kind};
use maud::{Markup, html};
use paper::chart::{Axis, Level, LineChart, Look, Mark, Series, line_chart};
use paper::number;
use serde_json::json;

/// Positions where nobody named others yet.
const USUAL: [&str; 3] = ["left", "middle", "right"];
/// Most positions of a sample.
const MOST: usize = 12;
/// What is checked.
const CHECKED: [What; 2] = [What::LineMass, What::LineMoisture];

/// The address of a batch's checks.
pub(super) fn address(batch: &str) -> String {
    format!("{ADDRESS}/{}/line", encoded(batch))
}

fn asked(query: &Fields) -> What {
    let word = query.maybe("of").unwrap_or_default();
    let found = CHECKED.into_iter().find(|w| w.about().word == word);
    found.unwrap_or(What::LineMass)
}

/// What was typed and not kept, and why, by the names of the fields.
#[derive(Default)]
struct Typed {
    fields: Fields,
    wrong: Vec<(String, String)>,
    /// Whether a word why is all that is missing.
    confirm: bool,
}

/// The page.
pub(crate) async fn page(
    State(app): State<App>,
    device: Option<Extension<Device>>,
    Path(thing): Path<String>,
    Query(query): Query<Fields>,
    wants: Wants,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, wants);
    let here = app.at_bench(&thing).await.map_err(told)?;
    if wants == Wants::Json {
        let all: Vec<OnLine> = CHECKED
            .into_iter()
            .filter_map(|w| on_line(&here.made.state, w))
            .collect();
        return Ok(Json(json!({ "batch": thing, "checks": all })).into_response());
    }
    let nothing = Typed::default();
    let page = shown(&app, &here, device.as_deref(), &query, &nothing, wants);
    page.await.map_err(told)
}

async fn shown(
    app: &App,
    here: &AtBench,
    device: Option<&Device>,
    query: &Fields,
    typed: &Typed,
    wants: Wants,
) -> Result<Response, AppError> {
    let settings = app.settings().await?;
    let batch = &here.made.batch;
    let what = asked(query);
    let found = on_line(&here.made.state, what);
    let called = here
        .of
        .as_ref()
        .map_or(batch.label.as_str(), |of| &of.called);
    let title = format!("On the line: {called}, {}", batch.code);
    let may_enter = device.is_none_or(|d| !d.signed_in.is_empty());
    let away = match (&found, what) {
        (Some(found), What::LineMass) => Some(away(app, here, found, query, &settings).await?),
        _ => None,
    };
    let body = html! {
        p .line .no-print { a .way href=(batch::address(&here.made.id, Station::After)) { "Back to the batch" } " " button type="button" data-print hidden { "Print" } }
        h1 { (title) }
        p .second { "By the study as of revision " (batch.revision) "." @for place in &batch.places { " " (place.name) " " (place.value) "." } }
        nav .responses aria-label="Checks" { @for w in CHECKED {
            a href=(format!("{}?of={}", address(&here.made.id), w.about().word)) aria-current=[(w == what).then_some("true")] { (w.about().label) }
        } }
        @if may_enter { (form(here, what, found.as_ref(), typed)) }
        @else { p { a .way href="/bench/sign" { "Sign in to enter something." } } }
        @match &found {
            None => p { "Nothing is checked yet. Take one piece from each position across the band, now and then, and write down what they show." },
            Some(found) => { (charts(found)) (said(found)) (positions(found)) }
        }
        @if let Some(away) = &away { (away) }
    };
    let mut response = shell::bench(wants, &title, &body).into_response();
    if !typed.wrong.is_empty() {
        *response.status_mut() = StatusCode::UNPROCESSABLE_ENTITY;
    }
    Ok(response)
}

/// The fields of the next sample: one for each position.
fn form(here: &AtBench, what: What, found: Option<&OnLine>, typed: &Typed) -> Markup {
    let about = what.about();
    let text = |name: &str| typed.fields.maybe(name).unwrap_or_default();
    let mut names: Vec<String> = match found {
        Some(found) => found.positions.iter().map(|p| p.name.clone()).collect(),
        None => USUAL.map(str::to_owned).to_vec(),
    };
    for n in 0..MOST {
        if let Some(typed) = typed.fields.maybe(&format!("position.{n}")) {
            match names.get_mut(n) {
                Some(name) => typed.clone_into(name),
                None => names.push(typed.to_owned()),
            }
        }
    }
    let next = found.map_or(1, |f| f.samples.len() + 1).to_string();
    let number = typed.fields.maybe("sample").unwrap_or(&next);
    let wrong = |name: &str| {
        typed
            .wrong
            .iter()
            .find(|w| w.0 == name)
            .map(|w| w.1.as_str())
    };
    html! {
        form .check-sample .no-print method="post" action=(address(&here.made.id)) {
            input type="hidden" name="what" value=(about.word);
            h2 { "Next sample" }
            p .line { label { "sample " input name="sample" size="5" maxlength="20" autocomplete="off" required value=(number); } }
            @for (n, name) in names.iter().chain([&String::new()]).take(MOST).enumerate() {
                @let field = format!("value.{n}");
                p .line {
                    input name=(format!("position.{n}")) maxlength="40" size="10" autocomplete="off" aria-label=(format!("position {}", n + 1)) value=(name) placeholder="position";
                    " " label { span .unseen { (about.label) " at position " (n + 1) ", " } input name=(field) inputmode="decimal" size="8" maxlength="12" autocomplete="off" value=(text(&field)); " " (about.unit) }
                    @if let Some(why) = wrong(&field) { " " span .wrong role="alert" { (why) } }
                }
            }
            @if typed.confirm { p .line { label { "it is so, because " input name="why" maxlength="300" autocomplete="off" value=(text("why")); } } }
            @if let Some(why) = wrong("") { p .wrong role="alert" { (why) } }
            p { button .main { "Enter the sample" } }
        }
    }
}

/// Takes a sample in.
pub(crate) async fn enter(
    State(app): State<App>,
    device: Option<Extension<Device>>,
    Path(thing): Path<String>,
    wants: Wants,
    Sent(fields): Sent,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, wants);
    let here = app.at_bench(&thing).await.map_err(told)?;
    let device = device.as_deref();
    let settings = app.settings().await.map_err(told)?;
    let word = fields.text("what").map_err(told)?;
    let Some(what) = CHECKED.into_iter().find(|w| w.about().word == word) else {
        return Err(told(AppError::Value {
            field: "what".to_owned(),
            why: "this isn’t checked on the line; load the page again".to_owned(),
        }));
    };
    let who = writer(device, &settings, None);
    let mut typed = Typed::default();
    let rows = sample(&here, what, &who, &fields, &settings, &mut typed);
    if typed.wrong.is_empty() {
        for taken in app.enter(rows, device).await.map_err(told)? {
            let why = match taken {
                Taken::Entered(entered) => match *entered {
                    Entered::Kept(_) | Entered::KeptAlready(_) => continue,
                    Entered::Refused(refused) => refused.to_string(),
                },
                Taken::NotSignedIn { .. } => {
                    "nobody of this name has signed in on this device".to_owned()
                }
            };
            typed
                .wrong
                .push((String::new(), format!("It wasn’t kept: {why}.")));
        }
    }
    if !typed.wrong.is_empty() {
        typed.fields = fields;
        let query = Fields([("of".to_owned(), word_of(what))].into());
        let page = shown(&app, &here, device, &query, &typed, wants);
        return page.await.map_err(told);
    }
    Ok(Redirect::to(&format!("{}?of={}", address(&thing), what.about().word)).into_response())
}

fn word_of(what: What) -> String {
    what.about().word.to_owned()
}

/// The rows of a sample; what is wrong stands in `typed`.
fn sample(
    here: &AtBench,
    what: What,
    who: &str,
    fields: &Fields,
    settings: &Settings,
    typed: &mut Typed,
) -> Vec<app::Sent> {
    let about = what.about();
    let number = fields.maybe("sample").unwrap_or_default().trim().to_owned();
    let clean = |name: &str| !name.is_empty() && !name.contains([';', '=']);
    let there = on_line(&here.made.state, what);
    let known = there.is_some_and(|f| f.samples.iter().any(|s| s.number == number));
    if !clean(&number) || known {
        let why = if known {
            format!("Sample {number} is entered already; give this one another number.")
        } else {
            "Give the sample a number.".to_owned()
        };
        typed.wrong.push((String::new(), why));
    }
    let why = fields.maybe("why").map(|w| w.trim().to_owned());
    let at = now();
    let mut rows: Vec<app::Sent> = Vec::new();
    let mut places: Vec<String> = Vec::new();
    for n in 0..MOST {
        let field = format!("value.{n}");
        let Some(text) = fields.maybe(&field) else {
            continue;
        };
        let place = fields.maybe(&format!("position.{n}")).unwrap_or_default();
        let place = place.trim().to_owned();
        if !clean(&place) || places.contains(&place) {
            let why = "Name the position, each by a name of its own without ; and =.";
            typed.wrong.push((field, why.to_owned()));
            continue;
        }
        let value = match settings.number(about.label, text) {
            Ok(value) => value,
            Err(error) => {
                typed.wrong.push((field, error.to_string()));
                continue;
            }
        };
        if let Some(plausible) = about.plausible.filter(|p| !p.contains(value))
            && why.is_none()
        {
            typed.confirm = true;
            let (low, high) = (plausible.low, plausible.high);
            let told = format!(
                "{value} {} lies beyond {low} to {high}: look once more; if it is so, say why, and it is kept with a mark.",
                about.unit
            );
            typed.wrong.push((field, told));
        }
        let on = On::one(Part::Position, place.clone()).and(Part::Reading, number.clone());
        places.push(place);
        rows.push(app::Sent {
            key: new_key(),
            kind: Kind::Batch,
            thing: here.made.id.clone(),
            at: at.clone(),
            who: Some(who.to_owned()),
            what: word_of(what),
            of: None,
            on: Some(on.to_string()),
            value: value.to_string(),
            unit: None,
            strikes: None,
            why: why.clone(),
        });
    }
    if rows.is_empty() && typed.wrong.is_empty() {
        let why = "There is nothing in it yet: write what each position shows.";
        typed.wrong.push((String::new(), why.to_owned()));
    }
    rows
}

fn level(name: &str, at: f64) -> Level {
    Level {
        name: name.to_owned(),
        low: at,
        high: at,
    }
}

/// The means and the ranges, one mark for each sample.
fn charts(found: &OnLine) -> Markup {
    let about = found.what.about();
    let chart = |title: &str, note: String, points: Vec<(f64, f64)>, levels: Vec<Level>| {
        line_chart(&LineChart {
            title: title.to_owned(),
            note,
            x: Axis::new("sample, in the order of the book", ""),
            y: Axis::new(about.label, about.unit),
            series: vec![Series::new("", Look::Control, points).marked(Mark::Filled)],
            levels,
            ..LineChart::default()
        })
    };
    let numbered = || found.samples.iter().zip(1_u32..);
    let means = numbered().map(|(s, n)| (f64::from(n), s.mean)).collect();
    let ranges: Vec<(f64, f64)> = numbered()
        .filter_map(|(s, n)| Some((f64::from(n), s.range?)))
        .collect();
    // Samples of different sizes have limits of their own; those of the last one are drawn.
    let last = found.samples.last();
    let mut of_means = vec![level("mean", found.centre)];
    let mut of_ranges = Vec::new();
    if let Some((low, high)) = last.and_then(|s| s.mean_limits) {
        of_means.extend([level("lower limit", low), level("upper limit", high)]);
    }
    if let Some((low, middle, high)) = last.and_then(|s| s.range_limits) {
        of_ranges.extend([level("mean range", middle), level("upper limit", high)]);
        of_ranges.extend((low > 0.0).then(|| level("lower limit", low)));
    }
    let positions = found.positions.len();
    html! {
        (chart("Means of the samples", format!("of {positions} positions each; limits three standard deviations off, from the ranges"), means, of_means))
        @if !ranges.is_empty() { (chart("Ranges within the samples", "the usual differences between positions are taken out".to_owned(), ranges, of_ranges)) }
    }
}

/// What the samples show, by which rule.
fn said(found: &OnLine) -> Markup {
    let n = found.samples.len();
    html! {
        section .part {
            h2 { "What they show" }
            @match found.sd {
                None => p { "There are no limits yet: they come from the samples themselves, five at least." },
                Some(sd) => {
                    p { (n) " samples, mean " (number::three(found.centre)) " " (found.what.about().unit) ", scatter within a sample " (number::three(sd)) " " (found.what.about().unit) " (standard deviation)."
                        @if found.is_loose() { " The limits are loose: " (bench::ENOUGH_SAMPLES.value) " samples are asked for." } }
                    @if found.shown.is_empty() { p { "None of the rules is fulfilled: what is seen is what chance does." } }
                    @else { table .list {
                        thead { tr { th scope="col" { "rule" } th scope="col" { "at sample" } th scope="col" { "often comes from" } } }
                        tbody { @for rule in Rule::ALL {
                            @let at: Vec<&str> = found.shown.iter().filter(|s| s.rule == rule).map(|s| s.sample.as_str()).collect();
                            @if !at.is_empty() { tr { th scope="row" { (rule.words()) } td .words { (at.join(", ")) } td .words { (rule.often()) } } }
                        } }
                    } }
                }
            }
            p .second { (Rule::SOURCE) " Limits tell what the line does, not what is wanted of it." }
        }
    }
}

fn positions(found: &OnLine) -> Markup {
    let unit = found.what.about().unit;
    html! {
        @if found.positions.len() > 1 {
            section .part {
                h2 { "Across the band" }
                table .list {
                    thead { tr { th scope="col" { "position" } th .n scope="col" { "values" } th .n scope="col" { "from the mean, " (unit) } th .n scope="col" { "95 % interval" } } }
                    tbody { @for p in &found.positions { tr {
                        th scope="row" { (p.name) } td .n { (p.values) } td .n { (measure::rounding::signed(p.off, 2)) }
                        td .n { @match p.off95 { Some((low, high)) => { (measure::rounding::signed(low, 2)) " to " (measure::rounding::signed(high, 2)) }, None => "–" } }
                    } } }
                }
            }
        }
    }
}

/// What is given away beyond the mass that is wanted, in money.
async fn away(
    app: &App,
    here: &AtBench,
    found: &OnLine,
    query: &Fields,
    settings: &Settings,
) -> Result<Markup, AppError> {
    let computed = app.piece_and_cost(&here.made.batch).await;
    let given = |name: &str, label: &str, usual: Option<f64>| match query.maybe(name) {
        Some(text) => settings.number(label, text).map(Some),
        None => Ok(usual),
    };
    let target = given("target", "mass wanted", computed.map(|c| c.0))?;
    let cost = given("cost", "cost of a kg", computed.and_then(|c| c.1))?;
    let result = target
        .zip(cost)
        .and_then(|(target, cost)| give_away(found.centre, target, cost));
    let shown = |value: Option<f64>, places: usize| {
        let mark = settings.decimal.mark().to_string();
        value.map_or_else(String::new, |v| {
            number::fixed(v, places).replace('.', &mark)
        })
    };
    Ok(html! {
        section .part #away {
            h2 { "Given away" }
            @match &result {
                Some(away) => {
                    p { (measure::rounding::signed(away.piece_g, 2)) " g a piece, " (measure::rounding::signed(away.percent, 1)) " %: "
                        b { (measure::rounding::signed(away.per_1000_pieces, 2)) " " (settings.currency) } " for 1,000 pieces." }
                }
                None => p { "Say the mass that is wanted of a piece and what a kilogram costs." },
            }
            form .line method="get" action=(format!("{}#away", address(&here.made.id))) {
                input type="hidden" name="of" value=(found.what.about().word);
                label { "mass wanted, g " input name="target" inputmode="decimal" size="7" maxlength="12" autocomplete="off" value=(shown(target, 2)); }
                " " label { "cost of a kg, " (settings.currency) " " input name="cost" inputmode="decimal" size="7" maxlength="12" autocomplete="off" value=(shown(cost, 2)); }
                " " button { "Reckon" }
            }
            @if computed.is_some() && query.maybe("target").is_none() { p .second { "As computed by the revision of the study that the batch is pinned to." } }
        }
    })
}
