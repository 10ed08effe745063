//! What a person does on the sheet: what was sent becomes edits, and what came of them goes back.

use super::asked::{asked, asked_by_need};
use super::clash::{self, Clash};
use super::frame::Frame;
use super::names::known_rows;
use super::sent::{Answer, Pairs, Sent};
use super::{dialogs, edits, head, named, paste, pieces, preview, shape, sure, whole, why};
use crate::error::Failure;
use crate::fields::Fields;
use crate::pages::study::encoded;
use crate::shell::{Room, study_main, study_page};
use crate::wants::Wants;
use app::{App, AppError, Seen, Settings, StudyView};
use axum::Json;
use axum::extract::{FromRequest, Path, Request, State};
use axum::http::StatusCode;
use axum::http::header::CONTENT_TYPE;
use axum::response::{IntoResponse, Redirect, Response};
use maud::html;
use std::collections::BTreeMap;
use study::Compared;
use study::edit::Edit;

/// What is told beside the sheet.
#[derive(Default)]
pub struct Told {
    /// Why a cell keeps what was typed, by cell.
    pub errors: BTreeMap<String, String>,
    /// Cells that another window changed, by cell.
    pub clashes: BTreeMap<String, Clash>,
    /// What couldn't be done.
    pub said: Option<String>,
    /// What was left as it was.
    pub note: Option<String>,
    pub preview: Option<String>,
}

/// A request as it was read, and how it is answered.
struct Asking {
    app: App,
    thing: String,
    settings: Settings,
    per: report::Per,
    sent: Sent,
    scripted: bool,
}

/// What a person typed, moved, swapped or undid.
pub(crate) async fn act(
    State(app): State<App>,
    Path(thing): Path<String>,
    request: Request,
) -> Result<Response, Failure> {
    let kind = request.headers().get(CONTENT_TYPE);
    let kind = kind.and_then(|v| v.to_str().ok()).unwrap_or_default();
    let scripted = kind.starts_with("application/json");
    let wants = if scripted { Wants::Json } else { Wants::Page };
    let sent = read(request, scripted).await.map_err(|what| {
        let title = "That can't be read";
        Failure::new(StatusCode::BAD_REQUEST, title, what, "Load the page again.").told_as(wants)
    })?;
    let settings = app.settings().await.map_err(|e| Failure::of(e, wants))?;
    let per = head::per_of(Some(&sent.per));
    let asking = Asking {
        app,
        thing,
        settings,
        per,
        sent,
        scripted,
    };
    asking.answered().await.map_err(|e| Failure::of(e, wants))
}

async fn read(request: Request, scripted: bool) -> Result<Sent, String> {
    if scripted {
        let json = Json::<Sent>::from_request(request, &()).await;
        return json.map(|j| j.0).map_err(|e| e.body_text());
    }
    let form = axum::Form::<Pairs>::from_request(request, &()).await;
    Sent::try_from(form.map_err(|e| e.body_text())?.0)
}

impl Asking {
    async fn view(&self) -> Result<StudyView, AppError> {
        self.app.study(&self.settings.who, &self.thing).await
    }

    fn seen(&self) -> Seen {
        Seen {
            base: self.sent.base,
            counter: self.sent.counter,
            window: self.sent.window.clone(),
        }
    }

    async fn answered(mut self) -> Result<Response, AppError> {
        let before = self.view().await?;
        match self.sent.act.as_str() {
            "why" if self.scripted => return self.why(&before).await,
            "paste" if self.scripted => return self.pasted(&before).await,
            _ => {}
        }
        let mut told = Told::default();
        let mut follow = Vec::new();
        if self.scripted && self.sent.act == "lay" {
            match self.laid(&before) {
                Ok((cells, left)) => (self.sent.cells, follow) = (cells, left),
                Err(why) => told.said = Some(why),
            }
        }
        let (mut edits, errors, said) = if self.scripted {
            asked_by_need(&before, &self.settings, self.per, &self.sent)
        } else {
            asked(&before, &self.settings, self.per, &self.sent)
        };
        (told.errors, told.said) = (errors, told.said.or(said));
        if self.sent.act == "lay" && !told.errors.is_empty() {
            // A list is taken as a whole or not at all.
            let words = told
                .errors
                .iter()
                .map(|(cell, why)| named_cell(&before, cell, why));
            told.said = Some(words.collect::<Vec<_>>().join("; "));
            told.errors.clear();
            edits.clear();
        }
        if self.sent.act == "watch" {
            told.said = self.watch().await?.or(told.said);
        }
        let after = self.done(before, &edits, &mut told).await?;
        if !follow.is_empty() && told.said.is_none() {
            told.note = Some(format!(
                "Left as it is, because it follows from the others: {}.",
                follow.join(", ")
            ));
        }
        if !self.scripted {
            return Ok(self.page(&after, told));
        }
        let saved = self.app.saved_answers(&after).await;
        let answer = self.answer(&after, saved.as_deref(), told);
        Ok(Json(answer).into_response())
    }

    /// Does what is asked, and tells what can't be done beside what was typed; nothing is lost.
    async fn done(
        &self,
        before: StudyView,
        edits: &[Edit],
        told: &mut Told,
    ) -> Result<StudyView, AppError> {
        let (app, who, thing) = (&self.app, self.settings.who.as_str(), &self.thing);
        let after = match (self.sent.act.as_str(), edits) {
            ("undo", _) => app.undo(who, thing, self.seen()).await,
            ("redo", _) => app.redo(who, thing, self.seen()).await,
            ("preview", [_, ..]) => match app.preview(who, thing, edits).await {
                Ok(there) => {
                    let shown = preview::told(&before, &there, &self.settings, self.per);
                    told.preview = Some(shown.into_string());
                    Ok(before)
                }
                Err(error) => Err(error),
            },
            (_, []) => Ok(before),
            (_, edits) => app.edit(who, thing, self.seen(), edits).await,
        };
        match after {
            Err(AppError::Overtaken { .. }) if self.scripted && self.sent.act.is_empty() => {
                clash::settled(app, &self.settings, thing, self.per, &self.sent, told).await
            }
            Err(
                error @ (AppError::Edit(_)
                | AppError::Value { .. }
                | AppError::NothingTo(_)
                | AppError::Moved { .. }
                | AppError::Overtaken { .. }
                | AppError::Unseen
                | AppError::Busy),
            ) if self.scripted => {
                let words = error.to_string();
                for cell in self.sent.cells.keys() {
                    let why = || words.clone();
                    told.errors.entry(cell.clone()).or_insert_with(why);
                }
                told.said = Some(words);
                self.view().await
            }
            after => after,
        }
    }

    /// Keeps the answers that are to stay in sight; what is wrong with the choice.
    async fn watch(&mut self) -> Result<Option<String>, AppError> {
        let chosen = self.sent.fields.keys();
        let keys = chosen.filter_map(|k| Some(k.strip_prefix("watch:")?.to_owned()));
        let watched: Vec<String> = keys.collect();
        let change = |settings| {
            Ok(Settings {
                watched: watched.clone(),
                ..settings
            })
        };
        match self.app.change_settings(change).await {
            Ok(new) => self.settings = new,
            Err(error @ AppError::Value { .. }) => return Ok(Some(error.to_string())),
            Err(error) => return Err(error),
        }
        Ok(None)
    }

    /// The reasons that somebody looks at, and how sure the answers in sight are.
    async fn why(&self, view: &StudyView) -> Result<Response, AppError> {
        let mut answer = Answer {
            base: view.base,
            counter: view.counter,
            ..Answer::default()
        };
        if let Some(study) = view.study.as_deref() {
            let frame = Frame::new(view, study, &self.settings, self.per, &[]);
            let more = why::More::of(self.sent.fields.get("more").map(String::as_str));
            let spreads = if more == why::More::Sure {
                let asked = sure::asked(&self.app, view)?;
                answer.sure = Some(asked.done);
                asked.spreads
            } else {
                None
            };
            if answer.sure.is_some_and(|done| done < 1.0) {
                return Ok(Json(answer).into_response());
            }
            let sure = spreads.as_ref().map(|s| s.as_slice());
            answer.pieces = why::reasons(&self.app, &frame, &self.sent.open, more, sure).await?;
            if let Some(spreads) = sure {
                let all = self.sent.fields.get("strip").is_some_and(|s| s == "all");
                answer.pieces.extend(sure::strip(&frame, spreads, all));
                let told = head::so_far(view, study, &self.settings, Some(spreads));
                answer
                    .pieces
                    .insert("so-far".to_owned(), told.into_string());
            }
        }
        Ok(Json(answer).into_response())
    }

    /// How a pasted block reads.
    async fn pasted(&self, view: &StudyView) -> Result<Response, AppError> {
        let saved = self.app.saved_answers(view).await;
        let mut answer = self.answer(view, saved.as_deref(), Told::default());
        let field = |name: &str| self.sent.fields.get(name).map_or("", String::as_str);
        let (block, decimal) = (field("block"), self.settings.decimal);
        if let Some(study) = view.study.as_deref().filter(|_| named::is_list(block)) {
            let frame = Frame::new(view, study, &self.settings, self.per, &[]);
            match named::read(block, decimal) {
                Ok(list) => {
                    let shown = named::chooser(&frame, &list, block, field("from"));
                    answer.which = Some(shown.into_string());
                }
                Err(why) => answer.said = Some(why),
            }
            return Ok(Json(answer).into_response());
        }
        match paste::read(block, decimal) {
            Ok(paste::Pasted::Sure(reading)) => answer.readings = vec![reading],
            Ok(paste::Pasted::Ask(readings)) => {
                answer.which = Some(paste::asked(&readings).into_string());
                answer.readings = readings;
            }
            Err(why) => answer.said = Some(why),
        }
        Ok(Json(answer).into_response())
    }

    /// The cells that a list of names and amounts becomes, after it was looked at, and what of it was left.
    fn laid(&self, view: &StudyView) -> Result<(BTreeMap<String, String>, Vec<String>), String> {
        let none = "The study isn’t worked out, so nothing can be pasted into it now.";
        let study = view.study.as_deref().ok_or(none)?;
        let rows = known_rows(study, &self.sent.rows);
        let frame = Frame::new(view, study, &self.settings, self.per, &rows);
        let block = self.sent.fields.get("block").map_or("", String::as_str);
        let list = named::read(block, self.settings.decimal)?;
        named::laid(&frame, &list, &self.sent.fields)
    }

    /// What somebody without script gets.
    fn page(&self, after: &StudyView, told: Told) -> Response {
        if let Some(preview) = told.preview {
            let body = html! {
                (maud::PreEscaped(preview))
                form method="post" action={ "/study/" (self.thing) "/sheet" } {
                    input type="hidden" name="base" value=(self.sent.base);
                    @if let Some(counter) = self.sent.counter { input type="hidden" name="counter" value=(counter); }
                    @for (name, value) in &self.sent.fields { input type="hidden" name=(name) value=(value); }
                    button .main { "Swap" } " " a href={ "/study/" (self.thing) } { "Leave it" }
                }
            };
            let none = Fields::default();
            return study_page(after, Room::Sheet, &self.settings, &none, &body).into_response();
        }
        let cell =
            |(cell, why): (String, String)| format!("{}: {why}", cell.trim_start_matches("c:"));
        let words = told
            .said
            .into_iter()
            .chain(told.errors.into_iter().map(cell));
        let words: Vec<String> = words.collect();
        Redirect::to(&back(&self.thing, &self.sent, &words)).into_response()
    }

    fn answer(&self, view: &StudyView, saved: Option<&Vec<Compared>>, told: Told) -> Answer {
        let none = Fields::default();
        let head = study_main(view, Room::Sheet, &self.settings, &none, &html! {});
        let mut answer = Answer {
            base: view.base,
            counter: view.counter,
            head: head.into_string(),
            errors: told.errors,
            clashes: told.clashes,
            said: told.said,
            note: told.note,
            preview: told.preview,
            shape: self.sent.shape.clone(),
            ..Answer::default()
        };
        let Some(study) = view.study.as_deref() else {
            answer.broken = true;
            let problems = head::problems(view, self.settings.units);
            answer
                .pieces
                .insert("problems".to_owned(), problems.into_string());
            return answer;
        };
        let rows = known_rows(study, &self.sent.rows);
        let frame = Frame::new(view, study, &self.settings, self.per, &rows).since(saved);
        let (shape, pieces) = rayon::join(|| shape(&frame), || pieces::pieces(&frame));
        if shape == self.sent.shape {
            answer.pieces = pieces;
            for column in &frame.columns {
                let given = dialogs::given(&frame, column);
                answer.values.insert(format!("w:{}", column.id()), given);
                for row in &frame.rows {
                    let name = edits::cell_name(column.id(), row);
                    answer.values.insert(name, frame.cell_text(column, row));
                }
            }
        } else {
            let sheet = whole(&frame, &shape, &pieces::Pieces::new());
            answer.sheet = Some(sheet.into_string());
        }
        answer.shape = shape;
        answer
    }
}

/// What is wrong with a cell that isn't on the page yet, with the name of its material.
fn named_cell(view: &StudyView, cell: &str, why: &str) -> String {
    let id = cell.split(':').nth(3).unwrap_or(cell);
    let material = view.study.as_ref().and_then(|s| s.material(id));
    format!(
        "{}: {why}",
        material.map_or_else(|| id.to_owned(), |m| m.name.clone())
    )
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
