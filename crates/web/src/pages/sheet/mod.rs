//! The study sheet: treatments side by side, and under their formulas what they do.
//!
//! The page works without script: every cell stands in one form, every deed in a form of its own.
//! With script a typed cell is sent by itself, and the answer brings the live parts alone; the
//! whole sheet only when its shape changed.

mod beside;
mod bridge;
mod broken;
mod column;
mod dialogs;
mod edits;
mod figures;
mod frame;
mod head;
mod paste;
mod pieces;
mod preview;
#[cfg(test)]
mod proof;
mod table;
mod then;
mod why;

use super::InStudy;
use super::study::encoded;
use crate::error::Failure;
use crate::fields::Fields;
use crate::shell::{Room, study_main, study_page};
use crate::wants::Wants;
use app::{App, AppError, Settings, StudyView};
use axum::Json;
use axum::extract::{FromRequest, Path, Request, State};
use axum::http::StatusCode;
use axum::http::header::CONTENT_TYPE;
use axum::response::{IntoResponse, Redirect, Response};
use frame::Frame;
pub(crate) use head::so_far;
use maud::{Markup, html};
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::hash::{DefaultHasher, Hash, Hasher};
use study::compare::bound::Bound;
use study::edit::{Edit, Waters};
use study::model::WaterChoice;
use study::{Compared, Study};
use table::Drawn;

type Pairs = Vec<(String, String)>;

/// What a page or a script sent.
#[derive(Debug, Default, Deserialize)]
#[serde(default, deny_unknown_fields)]
struct Sent {
    base: u64,
    counter: Option<u64>,
    window: Option<String>,
    per: String,
    rows: Vec<String>,
    open: Vec<String>,
    shape: String,
    cells: BTreeMap<String, String>,
    act: String,
    fields: BTreeMap<String, String>,
}

impl TryFrom<Pairs> for Sent {
    type Error = String;

    fn try_from(pairs: Pairs) -> Result<Self, String> {
        let number = |name: &str, value: &str| -> Result<u64, String> {
            let told = |_| {
                let value: String = value.chars().take(40).collect();
                format!("The page’s own {name} came as ‘{value}’, which is no whole number.")
            };
            value.trim().parse().map_err(told)
        };
        let mut sent = Self::default();
        for (name, value) in pairs {
            match name.as_str() {
                "base" => sent.base = number("base", &value)?,
                "counter" => sent.counter = Some(number("counter", &value)?),
                "window" => sent.window = Some(value),
                "per" => sent.per = value,
                "rows" => sent.rows = listed(&[Some(&value)]),
                "act" => sent.act = value,
                _ if name.starts_with("c:") => {
                    sent.cells.insert(name, value);
                }
                _ => {
                    sent.fields.insert(name, value);
                }
            }
        }
        Ok(sent)
    }
}

/// What a script gets back.
#[derive(Debug, Default, Serialize)]
struct Answer {
    base: u64,
    counter: u64,
    shape: String,
    broken: bool,
    pieces: pieces::Pieces,
    values: BTreeMap<String, String>,
    errors: BTreeMap<String, String>,
    /// What couldn't be done, in words.
    said: Option<String>,
    /// The head of the page: what is saved, what can be undone.
    head: String,
    /// The whole sheet, when its shape changed.
    sheet: Option<String>,
    /// What a swap would do.
    preview: Option<String>,
    /// The ways in which a pasted block can be read, and the question which, where there are several.
    readings: Vec<paste::Reading>,
    which: Option<String>,
}

/// What stands inside `<main>`.
pub(crate) async fn body(here: &InStudy<'_>) -> Result<Markup, AppError> {
    let per = head::per_of(here.query.maybe("per"));
    let rows = listed(&[here.query.maybe("rows"), here.query.maybe("row")]);
    let said: Option<String> = here
        .query
        .maybe("said")
        .map(|s| s.chars().take(600).collect());
    let then = then::note(here).await?;
    let saved = here.app.saved_answers(here.view).await;
    let asked: Vec<String> = here
        .query
        .maybe("why")
        .map(str::to_owned)
        .into_iter()
        .collect();
    let reasons = match here.view.study.as_deref() {
        Some(study) => {
            let frame = Frame::new(here.view, study, here.settings, per, &[]);
            why::reasons(here.app, &frame, &asked, why::More::Tries).await?
        }
        None => pieces::Pieces::new(),
    };
    Ok(html! {
        @if let Some(said) = said { p .said .no-print role="alert" { (said) } }
        (then)
        @match here.view.study.as_deref() {
            Some(study) => {
                @let frame = Frame::new(here.view, study, here.settings, per, &known_rows(study, &rows)).since(saved.as_ref());
                (whole(&frame, &shape(&frame), &reasons))
            }
            None => (broken::body(here.view, here.settings.units)),
        }
    })
}

/// The same as JSON.
pub(crate) async fn json(here: &InStudy<'_>) -> Result<Value, AppError> {
    let then = here.app.then(&here.view.thing).await?;
    Ok(
        json!({ "treatments": here.view.answers.compared, "failed": here.view.answers.failed, "then": then }),
    )
}

/// Names of rows, with commas between in one field.
fn listed(texts: &[Option<&str>]) -> Vec<String> {
    let names = texts.iter().flatten().flat_map(|t| t.split(','));
    names
        .map(|n| n.trim().to_owned())
        .filter(|n| !n.is_empty())
        .collect()
}

/// What a person typed, moved, swapped or undid.
pub(crate) async fn act(
    State(app): State<App>,
    Path(thing): Path<String>,
    request: Request,
) -> Result<Response, Failure> {
    let kind = request
        .headers()
        .get(CONTENT_TYPE)
        .and_then(|v| v.to_str().ok())
        .unwrap_or_default();
    let scripted = kind.starts_with("application/json");
    let wants = if scripted { Wants::Json } else { Wants::Page };
    let unread = |what: String| {
        Failure::new(
            StatusCode::BAD_REQUEST,
            "That can't be read",
            what,
            "Load the page again.",
        )
        .told_as(wants)
    };
    let sent = if scripted {
        Json::<Sent>::from_request(request, &())
            .await
            .map_err(|e| unread(e.body_text()))?
            .0
    } else {
        let form = axum::Form::<Pairs>::from_request(request, &())
            .await
            .map_err(|e| unread(e.body_text()))?;
        Sent::try_from(form.0).map_err(unread)?
    };
    let fail = |error: AppError| Failure::of(error, wants);
    let mut settings = app.settings().await.map_err(fail)?;
    let before = app.study(&settings.who, &thing).await.map_err(fail)?;
    let per = head::per_of(Some(&sent.per));
    let (edits, mut errors, mut said) = if scripted {
        asked_by_need(&before, &settings, per, &sent)
    } else {
        asked(&before, &settings, per, &sent, &Waters::new())
    };
    let mut preview = None;
    let who = settings.who.clone();
    let who = who.as_str();
    let seen = app::Seen {
        base: sent.base,
        counter: sent.counter,
        window: sent.window.clone(),
    };
    if sent.act == "watch" {
        let chosen = sent.fields.keys();
        let keys = chosen.filter_map(|k| Some(k.strip_prefix("watch:")?.to_owned()));
        let new = Settings {
            watched: keys.collect(),
            ..settings.clone()
        };
        match app.save_settings(&new).await {
            Ok(()) => settings = new,
            Err(error @ AppError::Value { .. }) => said = Some(error.to_string()),
            Err(error) => return Err(fail(error)),
        }
    }
    let after = match (sent.act.as_str(), &edits[..]) {
        ("undo", _) => app.undo(who, &thing, seen).await,
        ("redo", _) => app.redo(who, &thing, seen).await,
        ("preview", [_, ..]) => match app.preview(who, &thing, &edits).await {
            Ok(there) => {
                preview = Some(preview::told(&before, &there, &settings, per).into_string());
                Ok(before)
            }
            Err(error) => Err(error),
        },
        (_, []) => Ok(before),
        (_, edits) => app.edit(who, &thing, seen, edits).await,
    };
    let after = match after {
        Ok(after) => after,
        // What can't be done is said beside what was typed; nothing is lost.
        Err(
            error @ (AppError::Edit(_)
            | AppError::Value { .. }
            | AppError::NothingTo(_)
            | AppError::Moved { .. }
            | AppError::Overtaken { .. }
            | AppError::Unseen
            | AppError::Busy),
        ) if scripted => {
            let words = error.to_string();
            for cell in sent.cells.keys() {
                errors.entry(cell.clone()).or_insert_with(|| words.clone());
            }
            said = Some(words);
            app.study(who, &thing).await.map_err(fail)?
        }
        Err(error) => return Err(fail(error)),
    };
    if scripted && sent.act == "why" {
        let mut answer = Answer {
            base: after.base,
            counter: after.counter,
            ..Answer::default()
        };
        if let Some(study) = after.study.as_deref() {
            let frame = Frame::new(&after, study, &settings, per, &[]);
            let more = why::More::of(sent.fields.get("more").map(String::as_str));
            answer.pieces = why::reasons(&app, &frame, &sent.open, more)
                .await
                .map_err(fail)?;
            if sent.fields.contains_key("strip") {
                let limits = why::strip_limits(&app, &frame).await.map_err(fail)?;
                answer.pieces.extend(limits);
            }
        }
        return Ok(Json(answer).into_response());
    }
    let saved = app.saved_answers(&after).await;
    if scripted && sent.act == "paste" {
        let mut answer = answer(
            &after,
            saved.as_ref(),
            &settings,
            per,
            &sent,
            Told {
                errors,
                said,
                preview: None,
            },
        );
        let block = sent.fields.get("block").map_or("", String::as_str);
        match paste::read(block, settings.decimal) {
            Ok(paste::Pasted::Sure(reading)) => answer.readings = vec![reading],
            Ok(paste::Pasted::Ask(readings)) => {
                answer.which = Some(paste::asked(&readings).into_string());
                answer.readings = readings;
            }
            Err(why) => answer.said = Some(why),
        }
        return Ok(Json(answer).into_response());
    }
    if !scripted {
        if let Some(preview) = preview {
            let body = html! {
                (maud::PreEscaped(preview))
                form method="post" action={ "/study/" (thing) "/sheet" } {
                    input type="hidden" name="base" value=(sent.base);
                    @if let Some(counter) = sent.counter { input type="hidden" name="counter" value=(counter); }
                    @for (name, value) in &sent.fields { input type="hidden" name=(name) value=(value); }
                    button .main { "Swap" } " " a href={ "/study/" (thing) } { "Leave it" }
                }
            };
            return Ok(
                study_page(&after, Room::Sheet, &settings, &Fields::default(), &body)
                    .into_response(),
            );
        }
        let words = said.into_iter().chain(
            errors
                .into_iter()
                .map(|(cell, why)| format!("{}: {why}", cell.trim_start_matches("c:"))),
        );
        let words: Vec<String> = words.collect();
        return Ok(Redirect::to(&back(&thing, &sent, &words)).into_response());
    }
    let answer = answer(
        &after,
        saved.as_ref(),
        &settings,
        per,
        &sent,
        Told {
            errors,
            said,
            preview,
        },
    );
    Ok(Json(answer).into_response())
}

/// The edits that were asked for, errors by cell, and what can't be done at all.
type Asked = (Vec<Edit>, BTreeMap<String, String>, Option<String>);

/// As [`asked`], but where the water follows the need, the need that the typed amount itself leads to counts: what was
/// typed per cent of the mix is what the cell shows afterwards.
fn asked_by_need(view: &StudyView, settings: &Settings, per: report::Per, sent: &Sent) -> Asked {
    let ask = |waters: &Waters| {
        let (edits, errors, said) = asked(view, settings, per, sent, waters);
        (edits, (errors, said))
    };
    let follows = |id: &str| {
        let treatment = view.study.as_ref().and_then(|s| s.treatment(id));
        treatment.is_some_and(|t| t.water == WaterChoice::FromNeed)
    };
    let moves = sent
        .cells
        .keys()
        .any(|name| name.split(':').nth(1).is_some_and(follows));
    let (edits, (errors, said)) = if per == report::Per::Mix && moves {
        study::edit::by_need(&view.written, ask)
    } else {
        ask(&Waters::new())
    };
    (edits, errors, said)
}

/// The edits that a page or a script asks for. `waters` are needs that are known better than those
/// of the view, kg per 100 kg dry mix.
fn asked(
    view: &StudyView,
    settings: &Settings,
    per: report::Per,
    sent: &Sent,
    waters: &Waters,
) -> Asked {
    let Some(study) = view.study.as_deref() else {
        let (edits, errors) = broken::typed(settings, &sent.cells);
        return match form_edit(None, settings, sent) {
            Ok(more) => (edits.into_iter().chain(more).collect(), errors, None),
            Err(said) => (edits, errors, Some(said)),
        };
    };
    let rows = known_rows(study, &sent.rows);
    let mut frame = Frame::new(view, study, settings, per, &rows);
    for column in &mut frame.columns {
        if let Some(water) = waters.get(column.id()) {
            column.needs(*water);
        }
    }
    let typed = edits::typed(&frame, &sent.cells);
    let mut edits = typed.edits;
    let more = match sent.act.as_str() {
        "row" => {
            let field = |name: &str| sent.fields.get(name).map_or("", String::as_str);
            edits::row(&frame, field("deed"), field("material"))
        }
        _ => form_edit(Some(study), settings, sent),
    };
    match more {
        Ok(more) => {
            edits.extend(more);
            (edits, typed.errors, None)
        }
        Err(said) => (edits, typed.errors, Some(said)),
    }
}

fn form_edit(study: Option<&Study>, settings: &Settings, sent: &Sent) -> Result<Vec<Edit>, String> {
    if !sent.fields.contains_key("edit") {
        return Ok(Vec::new());
    }
    let mut fields = Fields(sent.fields.clone());
    // A material may be named as people name it.
    if let (Some(study), Some(with)) = (study, sent.fields.get("with"))
        && let Some(id) = known_rows(study, std::slice::from_ref(with)).pop()
    {
        fields.0.insert("with".to_owned(), id);
    }
    fields
        .edit(settings)
        .map(|edit| vec![edit])
        .map_err(|e| e.to_string())
}

/// Materials by their short names or what people call them, without those that there are none of.
fn known_rows(study: &Study, asked: &[String]) -> Vec<String> {
    let mut rows: Vec<String> = Vec::new();
    for name in asked.iter().take(60) {
        if let Some(id) = called(study, name.trim())
            && !rows.contains(&id)
        {
            rows.push(id);
        }
    }
    rows
}

/// The material that goes by a short name, a name, a name on labels, or is the only one whose name starts so; the
/// study's own first.
fn called(study: &Study, name: &str) -> Option<String> {
    if let Some(material) = study.material(name) {
        return Some(material.id.clone());
    }
    let own = study.materials.values().map(|m| &**m);
    let all: Vec<&formula::Material> = own
        .chain(formula::shelf::shelf().iter().map(|m| &**m))
        .collect();
    let named = |m: &&&formula::Material| m.name.eq_ignore_ascii_case(name);
    let labelled = |m: &&&formula::Material| m.label_name.eq_ignore_ascii_case(name);
    if let Some(material) = all.iter().find(named).or_else(|| all.iter().find(labelled)) {
        return Some(material.id.clone());
    }
    let begins = |m: &&&formula::Material| {
        let start = m.name.get(..name.len());
        !name.is_empty() && start.is_some_and(|s| s.eq_ignore_ascii_case(name))
    };
    let mut ids: Vec<&str> = all.iter().filter(begins).map(|m| m.id.as_str()).collect();
    ids.sort_unstable();
    ids.dedup();
    match ids[..] {
        [one] => Some(one.to_owned()),
        _ => None,
    }
}

/// What an answer tells beside the sheet.
struct Told {
    errors: BTreeMap<String, String>,
    said: Option<String>,
    preview: Option<String>,
}

fn answer(
    view: &StudyView,
    saved: Option<&Vec<Compared>>,
    settings: &Settings,
    per: report::Per,
    sent: &Sent,
    told: Told,
) -> Answer {
    let head = study_main(view, Room::Sheet, settings, &Fields::default(), &html! {}).into_string();
    let mut answer = Answer {
        base: view.base,
        counter: view.counter,
        head,
        errors: told.errors,
        said: told.said,
        preview: told.preview,
        shape: sent.shape.clone(),
        ..Answer::default()
    };
    let Some(study) = view.study.as_deref() else {
        answer.broken = true;
        answer.pieces.insert(
            "problems".to_owned(),
            head::problems(view, settings.units).into_string(),
        );
        return answer;
    };
    let rows = known_rows(study, &sent.rows);
    let frame = Frame::new(view, study, settings, per, &rows).since(saved);
    let shape = shape(&frame);
    if shape == sent.shape {
        answer.pieces = pieces::pieces(&frame);
        for column in &frame.columns {
            answer
                .values
                .insert(format!("w:{}", column.id()), dialogs::given(&frame, column));
            for row in &frame.rows {
                let name = edits::cell_name(column.id(), row);
                answer.values.insert(name, frame.cell_text(column, row));
            }
        }
    } else {
        answer.sheet = Some(whole(&frame, &shape, &pieces::Pieces::new()).into_string());
    }
    answer.shape = shape;
    answer
}

/// What the sheet looks like without its numbers, in short.
fn shape(frame: &Frame) -> String {
    let mut hasher = DefaultHasher::new();
    skeleton(frame, None).into_string().hash(&mut hasher);
    format!("{:016x}", hasher.finish())
}

fn skeleton(frame: &Frame, pieces: Option<&pieces::Pieces>) -> Markup {
    html! { (head::head(frame, pieces.is_some())) (Drawn { frame, pieces }.table()) (dialogs::dialogs(frame, pieces.is_some())) }
}

/// The sheet with its live parts, `reasons` among them where somebody asked.
fn whole(frame: &Frame, shape: &str, reasons: &pieces::Pieces) -> Markup {
    let mut pieces = pieces::pieces(frame);
    pieces.extend(
        reasons
            .iter()
            .map(|(key, html)| (key.clone(), html.clone())),
    );
    let piece = |key: &str| maud::PreEscaped(pieces.get(key).cloned().unwrap_or_default());
    html! {
        div #sheet data-thing=(frame.view.thing) data-base=(frame.view.base) data-counter=(frame.view.counter) data-per=(head::word(frame.per)) data-shape=(shape)
            data-rows=(frame.extra.join(",")) data-decimal=(frame.settings.decimal.mark()) {
            p #typing .unseen role="status" aria-live="polite" data-p="state" { (piece("state")) }
            div .live-state .no-print #live-state aria-live="polite" {}
            div data-p="problems" { (piece("problems")) }
            (skeleton(frame, Some(&pieces)))
            p .second .marks {
                "Amounts in " b { "bold" } " are set in that treatment, those in grey follow the one it starts from; a dotted line marks what is assumed. "
                (Bound::LEGEND)
            }
            section .found { h2 #findings { "Findings" } div data-p="findings" { (piece("findings")) } }
        }
    }
}

fn back(thing: &str, sent: &Sent, said: &[String]) -> String {
    let mut query = vec![("per", sent.per.clone())];
    query.push(("rows", sent.rows.join(",")));
    if !said.is_empty() {
        query.push(("said", said.join("; ")));
    }
    let query: Vec<String> = query
        .into_iter()
        .filter(|(_, v)| !v.is_empty())
        .map(|(k, v)| format!("{k}={}", encoded(&v)))
        .collect();
    format!("/study/{thing}?{}", query.join("&"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use app::App;
    use frame::CellKind;
    use report::Per;

    /// What is typed in a cell is what the cell shows afterwards, on every basis and for every
    /// treatment of the demonstration (checks against itself: arithmetic, no source).
    #[tokio::test]
    async fn a_typed_amount_is_shown_afterwards() {
        let folder = tempfile::tempdir().unwrap();
        let app = App::open(&folder.path().join("t.book")).await.unwrap();
        let settings = app.settings().await.unwrap();
        let thing = "spent-grain-bars";
        let view = app.study(&settings.who, thing).await.unwrap();
        let study = view.study.clone().unwrap();
        let mut tried = 0;
        for per in Per::ALL {
            let frame = Frame::new(&view, &study, &settings, per, &[]);
            for column in &frame.columns {
                let typed_in = frame
                    .rows
                    .iter()
                    .filter(|r| frame.cell_kind(column, r) == CellKind::Typed);
                for row in typed_in.filter(|r| {
                    ["salt", "chickpea_flour", "spent_grain", "molasses"].contains(&r.id())
                }) {
                    let wanted = frame.cell_amount(column, row).unwrap_or(1.5) * 1.25;
                    let name = edits::cell_name(column.id(), row);
                    let cells = BTreeMap::from([(name.clone(), format!("{wanted:.4}"))]);
                    let sent = Sent {
                        cells,
                        ..Sent::default()
                    };
                    let (edits, errors, _) = asked_by_need(&view, &settings, per, &sent);
                    assert!(errors.is_empty(), "{name} {per:?}: {errors:?}");
                    let after = app.preview(&settings.who, thing, &edits).await.unwrap();
                    let study = after.study.clone().unwrap();
                    let after = Frame::new(&after, &study, &settings, per, &[]);
                    let column = after
                        .columns
                        .iter()
                        .find(|c| c.id() == column.id())
                        .unwrap();
                    let shown = after.cell_amount(column, row).unwrap();
                    // On dry matter the salts of the water that the need adds count as well.
                    let near = if per == Per::DryMatter && column.follows_need() {
                        1e-3 * wanted
                    } else {
                        1e-4
                    };
                    assert!(
                        (shown - wanted).abs() < near,
                        "{name} {per:?}: typed {wanted}, shown {shown}"
                    );
                    tried += 1;
                }
            }
        }
        assert!(tried > 60, "{tried}");
    }

    #[tokio::test]
    async fn the_shape_holds_while_amounts_change() {
        let folder = tempfile::tempdir().unwrap();
        let app = App::open(&folder.path().join("t.book")).await.unwrap();
        let settings = app.settings().await.unwrap();
        let thing = "spent-grain-bars";
        let shape_of = |view: &StudyView| {
            let study = view.study.clone().unwrap();
            shape(&Frame::new(view, &study, &settings, Per::Mix, &[]))
        };
        let before = app.study(&settings.who, thing).await.unwrap();
        let set = |treatment: &str, material: &str, amount: f64| Edit::SetAmount {
            treatment: treatment.into(),
            material: material.into(),
            amount,
        };
        let amount = app
            .preview(
                &settings.who,
                thing,
                &[set("rice_chickpea", "chickpea_flour", 29.0)],
            )
            .await
            .unwrap();
        assert_eq!(shape_of(&before), shape_of(&amount));
        let line = app
            .preview(
                &settings.who,
                thing,
                &[set("control", "egg_white_dried", 1.0)],
            )
            .await
            .unwrap();
        assert_ne!(shape_of(&before), shape_of(&line));
    }
}
