//! Temperature over time from a logger: drawn, each probe given its batch and its height over the band, then kept.

use super::file::{decimal, decimal_of, list};
use crate::error::Failure;
use crate::fields::Fields;
use crate::pages::exchange::upload;
use crate::pages::{trial, who};
use crate::sent::Sent;
use crate::shell;
use crate::wants::Wants;
use app::{App, AppError, LoggerFile, LoggerSays, Settings, TrialView};
use axum::Json;
use axum::extract::{Multipart, Path, State};
use axum::response::{IntoResponse, Redirect, Response};
use bench::observe::Told;
use bench::{LogUnits, Made, ProbeLog, ProbeReading, ProbeRows, THINNED_TO_S};
use book::exchange::read_number;
use maud::{Markup, html};
use paper::chart::{Axis, LineChart, Look, Series, line_chart};
use paper::number;
use serde_json::json;

/// Most points of a curve that are drawn.
const MOST_POINTS: usize = 400;
/// Units of a column of time whose head has none.
const TIMES: [(&str, &str); 5] = [
    ("s", "s"),
    ("min", "min"),
    ("h", "h"),
    ("mm:ss", "mm:ss"),
    ("hh:mm", "hh:mm"),
];
/// Units of columns of temperature whose heads have none.
const DEGREES: [(&str, &str); 3] = [("°C", "°C"), ("°F", "°F"), ("K", "K")];

/// Where such a file is chosen; nothing where the trial has no batch.
pub(super) fn form(view: &TrialView, made: Option<&Made>, settings: &Settings) -> Markup {
    let at = format!("{}/measure/log", trial::address(&view.entry.thing));
    html! {
        @if let Some(made) = made { section .part #log .no-print {
            h2 { "Temperature over time, from a logger" }
            p { "A CSV file or workbook with a column of time and one for each probe inside a piece. You say which batch each probe was in and how high over the band it lay; what is kept is thinned to one reading of each " (THINNED_TO_S) " s. The own oven is learned from it." }
            form .from-file method="post" action=(at) enctype="multipart/form-data" {
                label { "file " input type="file" name="file" accept=".csv,.tsv,.txt,.xlsx"; }
                label { "sheet of the workbook " input name="sheet" maxlength="100" autocomplete="off" placeholder="the first"; }
                label { "of batch " select name="batch" { (batches(view, &made.batch.code)) } }
                (decimal(settings.decimal))
                (unit("time", "time in", &TIMES, None))
                (unit("degrees", "temperatures in", &DEGREES, None))
                button { "Look at it" }
            }
        } }
    }
}

fn batches(view: &TrialView, chosen: &str) -> Markup {
    html! {
        @for one in view.made.iter().filter(|m| m.state.abandoned.is_none()) {
            option value=(one.batch.code) selected[one.batch.code == chosen] { (one.batch.code) }
        }
    }
}

fn unit(name: &str, label: &str, all: &[(&str, &str)], chosen: Option<&str>) -> Markup {
    html! {
        label { (label) " " select name=(name) {
            option value="" { "as its head tells" }
            @for (word, shown) in all { option value=(word) selected[chosen == Some(word)] { (shown) } }
        } }
    }
}

/// Holds a logger's file and shows it.
pub(crate) async fn hold_log(
    State(app): State<App>,
    Path(trial): Path<String>,
    wants: Wants,
    parts: Multipart,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, wants);
    let mut sent = upload(parts, wants, None).await?;
    let view = app.trial(&trial).await.map_err(told)?;
    let held = app.hold(sent.bytes);
    sent.fields.0.insert("file".to_owned(), held);
    looked(&app, &view, &sent.fields, None, wants).await
}

/// Shows a held file with what was said of it; or keeps what it comes to.
pub(crate) async fn look_log(
    State(app): State<App>,
    Path(trial): Path<String>,
    wants: Wants,
    Sent(fields): Sent,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, wants);
    let view = app.trial(&trial).await.map_err(told)?;
    let Some(asked) = fields.maybe("enter") else {
        return looked(&app, &view, &fields, None, wants).await;
    };
    let come_to = match come_to(&app, &view, &fields).await {
        Ok(come_to) => come_to,
        Err(error) => return looked(&app, &view, &fields, Some(error), wants).await,
    };
    let new = come_to.to_enter();
    let as_looked_at = fields.maybe("new") == Some(&new.len().to_string());
    let whole = come_to.is_whole() || asked == "rest";
    if !as_looked_at || !whole {
        return looked(&app, &view, &fields, None, wants).await;
    }
    let who = who(&app).await.map_err(told)?;
    let correct = fields.maybe("correct");
    let entered = app.enter_measurements(&who, new, correct).await;
    let entered = entered.map_err(told)?;
    if wants == Wants::Json {
        return Ok(Json(entered).into_response());
    }
    if let Some(refused) = entered.refused.first() {
        return Err(told(AppError::Value {
            field: "file".to_owned(),
            why: refused.clone(),
        }));
    }
    let batch = come_to.probes.iter().find(|p| p.problem.is_none());
    let to = super::address(&trial, batch.map(|p| p.batch.as_str()));
    Ok(Redirect::to(&format!("{to}#inside")).into_response())
}

/// What a log comes to.
struct ComeTo {
    log: ProbeLog,
    wrong: Vec<Told>,
    probes: Vec<ProbeRows>,
}

impl ComeTo {
    fn to_enter(&self) -> Vec<bench::observe::New> {
        self.probes.iter().flat_map(|p| p.new.clone()).collect()
    }

    /// Whether every probe of it is kept already.
    fn is_kept(&self) -> bool {
        let all = &self.probes;
        !all.is_empty() && all.iter().all(|p| p.problem.is_none() && p.new.is_empty())
    }

    fn is_whole(&self) -> bool {
        self.wrong.is_empty() && self.probes.iter().all(|p| p.problem.is_none())
    }
}

/// The batch of a probe before somebody says one: that whose code stands in its name, else the one that was chosen.
fn likely<'a>(view: &'a TrialView, probe: &str, chosen: Option<&'a str>) -> Option<&'a str> {
    let words: Vec<String> = probe
        .split(|c: char| !c.is_alphanumeric())
        .map(str::to_lowercase)
        .collect();
    let codes = view.made.iter().map(|m| m.batch.code.as_str());
    let mut named = codes.filter(|c| words.contains(&c.to_lowercase()));
    named.next().or(chosen)
}

fn read_log(
    app: &App,
    fields: &Fields,
    settings: &Settings,
) -> Result<(ProbeLog, Vec<Told>), AppError> {
    let bytes = app.held(fields.text("file")?)?;
    app.probe_log(&LoggerFile {
        bytes: &bytes,
        sheet: fields.maybe("sheet").map(str::trim),
        decimal: decimal_of(fields, settings),
        units: LogUnits {
            time: fields.maybe("time"),
            degrees: fields.maybe("degrees"),
        },
    })
}

async fn come_to(app: &App, view: &TrialView, fields: &Fields) -> Result<ComeTo, AppError> {
    let settings = app.settings().await?;
    let (log, wrong) = read_log(app, fields, &settings)?;
    let mut probes = Vec::new();
    for (n, probe) in log.probes.iter().enumerate() {
        let said = fields.0.get(&format!("batch.{n}")).map(String::as_str);
        let batch = said.or_else(|| likely(view, &probe.name, fields.maybe("batch")));
        let Some(batch) = batch.filter(|b| !b.is_empty()) else {
            continue;
        };
        let field = format!("height.{n}");
        let height_mm = match fields.maybe(&field) {
            None => None,
            Some(text) => {
                let read = read_number(text, decimal_of(fields, &settings));
                Some(read.map_err(|why| AppError::Value {
                    field: format!("height of {}", probe.name),
                    why,
                })?)
            }
        };
        probes.push((probe.name.clone(), batch.to_owned(), height_mm));
    }
    let said = |name: &str| fields.maybe(name).map(|t| t.trim().to_owned());
    let says = LoggerSays {
        probes,
        entered: said("in"),
        left: said("out"),
        correct: said("correct"),
    };
    let probes = app.probe_rows(view, &log, &says, decimal_of(fields, &settings))?;
    Ok(ComeTo { log, wrong, probes })
}

async fn looked(
    app: &App,
    view: &TrialView,
    fields: &Fields,
    error: Option<AppError>,
    wants: Wants,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, wants);
    let settings = app.settings().await.map_err(told)?;
    let (come_to, error) = match (come_to(app, view, fields).await, error) {
        (Ok(come_to), error) => (come_to, error),
        // What was said can't be so: the file is shown all the same, and nothing that was typed is lost.
        (Err(error), _) if wants != Wants::Json => {
            let (log, wrong) = read_log(app, fields, &settings).map_err(told)?;
            let probes = Vec::new();
            (ComeTo { log, wrong, probes }, Some(error))
        }
        (Err(error), _) => return Err(told(error)),
    };
    if wants == Wants::Json {
        return Ok(Json(json!({
            "log": come_to.log, "problems": come_to.wrong, "probes": come_to.probes, "file": fields.maybe("file"),
        }))
        .into_response());
    }
    let status = match error {
        Some(_) => axum::http::StatusCode::UNPROCESSABLE_ENTITY,
        None => axum::http::StatusCode::OK,
    };
    let body = shown(view, fields, &settings, &come_to, error.as_ref());
    let page = shell::page_of("results", "Temperature over time", &body);
    Ok((status, page).into_response())
}

fn shown(
    view: &TrialView,
    fields: &Fields,
    settings: &Settings,
    come_to: &ComeTo,
    error: Option<&AppError>,
) -> Markup {
    let (thing, log) = (&view.entry.thing, &come_to.log);
    let text = |name: &str| fields.maybe(name).unwrap_or_default();
    let new = come_to.to_enter().len();
    let drawn: Vec<(String, &[ProbeReading])> = if come_to.probes.is_empty() {
        let all = log.probes.iter();
        all.map(|p| (p.name.clone(), p.readings.as_slice()))
            .collect()
    } else {
        let all = come_to.probes.iter();
        all.map(|p| (format!("{}, {}", p.probe, p.batch), p.readings.as_slice()))
            .collect()
    };
    html! {
        p .line { a .way href=(super::address(thing, None)) { "Leave it, to the measurements" } }
        h1 { "Temperature over time" }
        @if !log.probes.is_empty() {
            p { (view.trial.name) ": " (log.rows) " readings from " (log.begins) " on"
                @if !log.left_out.is_empty() { "; left out, for it is no temperature: " (log.left_out.join(", ")) } "." }
        }
        @if let Some(error) = error { p .wrong role="alert" { (error) } }
        (chart("Temperature inside", &drawn))
        form method="post" action=(format!("{}/measure/probes", trial::address(thing))) {
            @for name in ["file", "sheet", "batch"] { input type="hidden" name=(name) value=(text(name)); }
            input type="hidden" name="new" value=(new);
            p .line {
                (decimal(decimal_of(fields, settings))) " "
                (unit("time", "time in", &TIMES, fields.maybe("time"))) " "
                (unit("degrees", "temperatures in", &DEGREES, fields.maybe("degrees")))
            }
            @if !log.probes.is_empty() {
                p .line {
                    label { "the pieces went in at " input name="in" maxlength="40" autocomplete="off" value=(text("in")) placeholder=(log.begins); } " "
                    label { "and came out at " input name="out" maxlength="40" autocomplete="off" value=(text("out")) placeholder="the end"; } " "
                    span .second { "written as the column ‘" (log.time) "’ writes it, or as h:mm:ss" }
                }
                div .scroll role="region" aria-label="Probes" tabindex="0" { table .list {
                    thead { tr { th scope="col" { "probe" } th .n scope="col" { "readings" } th scope="col" { "was in batch" } th scope="col" { "height over the band, mm" } th scope="col" { "what it comes to" } } }
                    tbody { @for (n, probe) in log.probes.iter().enumerate() { (probe_row(view, fields, come_to, n, &probe.name, probe.readings.len())) } }
                } }
                p .line { label { "where the book has other readings: why these are right " input name="correct" maxlength="500" autocomplete="off" value=(text("correct")); } }
            }
            p { button { "Look again" } }
            (list("What can’t be read", &come_to.wrong))
            @if new > 0 && error.is_none() {
                p {
                    @if come_to.is_whole() { button .main name="enter" value="all" { "Keep these readings" } }
                    @else { button name="enter" value="rest" { "Keep the readings that are fine" } }
                }
            } @else if come_to.is_kept() && error.is_none() { p { "There is nothing new in it." } }
        }
    }
}

fn probe_row(
    view: &TrialView,
    fields: &Fields,
    come_to: &ComeTo,
    n: usize,
    name: &str,
    readings: usize,
) -> Markup {
    let said = fields.0.get(&format!("batch.{n}")).map(String::as_str);
    let batch = said
        .or_else(|| likely(view, name, fields.maybe("batch")))
        .unwrap_or_default();
    let rows = come_to.probes.iter().find(|p| p.probe == name);
    let height = fields.maybe(&format!("height.{n}")).unwrap_or_default();
    html! { tr {
        th scope="row" { (name) }
        td .n { (readings) }
        td { select name=(format!("batch.{n}")) aria-label=(format!("batch of {name}")) { option value="" selected[batch.is_empty()] { "none of these" } (batches(view, batch)) } }
        td { input .figure name=(format!("height.{n}")) inputmode="decimal" maxlength="12" autocomplete="off" aria-label=(format!("height of {name} over the band, mm")) value=(height); }
        td .words { @if let Some(rows) = rows {
            @if let Some(problem) = &rows.problem { span .wrong { (problem) } }
            @else if rows.new.is_empty() { "kept already" }
            @else {
                (rows.kept) " of " (rows.readings.len()) " readings, one of each " (number::plain(rows.each_s)) " s"
                @if rows.height_mm.is_none() { "; without its height nothing can be learned from it" }
            }
        } }
    } }
}

fn chart(title: &str, all: &[(String, &[ProbeReading])]) -> Markup {
    let series = all.iter().filter(|(_, r)| !r.is_empty()).map(|(name, r)| {
        let step = r.len() / MOST_POINTS + 1;
        let points = r.iter().step_by(step).map(|(t, c)| (t / 60.0, *c));
        Series::new(name.clone(), Look::Control, points)
    });
    let series: Vec<Series> = series.collect();
    html! {
        @if !series.is_empty() {
            (line_chart(&LineChart {
                title: title.to_owned(),
                note: "each line is one probe".to_owned(),
                x: Axis::new("time in the oven", "min"),
                y: Axis::new("temperature", "°C"),
                series,
                ..LineChart::default()
            }))
        }
    }
}

/// What probes read in a batch, as it is kept.
pub(super) fn inside(made: &Made) -> Markup {
    let curves = &made.state.curves;
    let of = |c: &bench::ProbeCurve| match made.state.probe_height_mm(&c.probe) {
        Some(mm) => format!("{}, {} mm over the band", c.probe, number::plain(mm)),
        None => format!("{}, height not written", c.probe),
    };
    let drawn: Vec<(String, &[ProbeReading])> = curves
        .iter()
        .map(|c| (of(c), c.readings.as_slice()))
        .collect();
    html! {
        @if !curves.is_empty() {
            section .part #inside {
                (chart(&format!("Temperature inside, {}", made.batch.code), &drawn))
                @for c in curves { @if let Some(why) = &c.set_aside { p .second { "○ " (c.probe) " is set aside: " (why) } } }
            }
        }
    }
}
