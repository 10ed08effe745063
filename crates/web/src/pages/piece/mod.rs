//! The piece: drawn to scale, set in a form whose every change is an edit of the study, beside the control, and laid
//! on sheet and roll.

mod drawn;
mod form;
mod typed;

use super::chosen::{choice, chosen};
use super::exchange::upload;
use super::study::back;
use super::{InStudy, room, troubles, who};
use crate::error::Failure;
use crate::fields::{Fields, Sent};
use crate::shell::{self, Room};
use crate::wants::Wants;
use ::study::piece::{PieceAsked, PieceTold};
use ::study::svg_outline::svg_outline;
use app::{
    App, AppError, PieceOf, PieceWritten, Settings, StudyView, piece_asked_of, piece_written,
};
use axum::Json;
use axum::extract::{Multipart, Path, Query, State};
use axum::http::StatusCode;
use axum::response::{Html, IntoResponse, Response};
use maud::{Markup, html};
use serde_json::{Value, json};
use typed::Typed;

type Answer = Result<Response, Failure>;

/// The page.
pub(crate) async fn page(
    State(app): State<App>,
    Path(thing): Path<String>,
    Query(query): Query<Fields>,
    wants: Wants,
) -> Answer {
    let told = |e| Failure::of(e, wants);
    let who = who(&app).await.map_err(told)?;
    let view = app.study(&who, &thing).await.map_err(told)?;
    room(&app, &view, Room::Piece, &query, wants).await
}

/// What the page is about.
struct Shown<'a> {
    /// The treatment.
    id: String,
    /// Its name.
    name: String,
    /// Whether a change holds for it alone.
    own: bool,
    /// What is written where a change goes.
    written: PieceWritten,
    /// Its piece; none where there is none.
    told: Option<&'a PieceTold>,
    /// Gap, sheet and roll.
    asked: PieceAsked,
}

/// The treatment asked for; where nothing can be worked out, the one that is written first.
fn about(page: &InStudy<'_>) -> Result<Option<(String, String)>, AppError> {
    if let Some(chosen) = chosen(page)? {
        let a = &chosen.here.answer;
        return Ok(Some((a.id.clone(), a.name.clone())));
    }
    let rows = page.view.written.root.rows("treatment");
    let asked = page.query.maybe("treatment");
    let row = rows
        .iter()
        .find(|t| t.text("id") == asked)
        .or_else(|| rows.first());
    Ok(row.and_then(|t| {
        let id = t.text("id")?;
        Some((id.to_owned(), t.text("name").unwrap_or(id).to_owned()))
    }))
}

/// Gap, sheet and roll as the address asks, else as the treatment's former has them.
fn asked(page: &InStudy<'_>, id: &str) -> Result<PieceAsked, AppError> {
    let study = page.view.study.as_deref();
    let mut asked = study
        .and_then(|s| s.treatment(id))
        .map_or(PieceAsked::USUAL, piece_asked_of);
    for (name, metres) in [
        ("gap_mm", &mut asked.gap_m),
        ("sheet_mm", &mut asked.sheet_width_m),
        ("roll_mm", &mut asked.roll_diameter_m),
    ] {
        if page.query.maybe(name).is_some() {
            *metres = page.query.number(name, page.settings)? / 1e3;
        }
    }
    Ok(asked)
}

/// Whether a change holds for the treatment alone: as asked, else where its values stand now.
fn is_own(whose: Option<&str>, view: &StudyView, id: &str) -> bool {
    match whose {
        Some("own") => true,
        Some("study") => false,
        _ => piece_written(view, Some(id)).own,
    }
}

/// What stands inside `<main>`.
pub(crate) async fn body(page: &InStudy<'_>) -> Result<Markup, AppError> {
    whole(page, None).await
}

async fn whole(page: &InStudy<'_>, typed: Option<&Typed>) -> Result<Markup, AppError> {
    let Some((id, name)) = about(page)? else {
        return Ok(
            html! { h1 { "Piece" } (troubles(page.view)) p .lead { "There is no treatment yet, and so no piece." } },
        );
    };
    let asked = asked(page, &id)?;
    let pieces = page.app.pieces(page.view, asked).await?;
    let find = |id: &str| pieces.iter().find(|p| p.id == id);
    let here = find(&id).and_then(|p| p.told.as_ref());
    let chosen = chosen(page)?;
    let beside = chosen
        .and_then(|c| c.beside)
        .and_then(|b| find(&b.answer.id))
        .and_then(|p| p.told.as_ref());
    let own = is_own(page.query.maybe("whose"), page.view, &id);
    let shown = Shown {
        written: piece_written(page.view, own.then_some(id.as_str())),
        told: here,
        id,
        name,
        own,
        asked,
    };
    let found = here.map_or(&[][..], |t| &t.findings);
    Ok(html! {
        div #piece {
            h1 { "Piece" }
            (troubles(page.view))
            @if let Some(chosen) = &chosen { (choice(page, chosen, Room::Piece, false)) }
            @if let Some(told) = here { (head(told, beside)) }
            div .piece-and-form {
                div .drawn {
                    @match here {
                        Some(told) => (drawn::drawing(told)),
                        None => (nothing_drawn(find(&shown.id))),
                    }
                }
                div {
                    (scope(page, &shown))
                    (form::form(page, &shown, typed, found))
                    (form::file_form(page, &shown, typed))
                }
            }
            @if !pieces.is_empty() {
                section .part { h2 { "Beside the control" } (drawn::figures(page, &pieces)) }
            }
            @if let Some(told) = here {
                section .part { h2 { "On the sheet" } (drawn::layouts(page, &shown, told, beside)) }
            }
        }
    })
}

fn nothing_drawn(piece: Option<&PieceOf>) -> Markup {
    html! {
        p .lead { "There is no piece to draw yet." }
        @match piece.filter(|p| !p.why.is_empty()) {
            Some(p) => p { (p.why) "." },
            None => p { "As soon as outline and thickness can be read it is drawn here, to scale." },
        }
    }
}

fn head(p: &PieceTold, beside: Option<&PieceTold>) -> Markup {
    let gap = beside.map(|b| {
        (
            measure::rounding::signed(p.green_mass_g - b.green_mass_g, 1),
            &b.name,
        )
    });
    html! {
        p .bake-time {
            span .name { (p.name) } " "
            b { (paper::number::fixed(p.green_mass_g, 1)) " g" } " of dough a piece"
            @if let Some((text, name)) = gap { " " span .second { (text) " g against " (name) } }
        }
    }
}

/// Whose piece a change is for, and the way back to the study's.
fn scope(page: &InStudy<'_>, shown: &Shown<'_>) -> Markup {
    let any_own = piece_written(page.view, Some(&shown.id)).own;
    html! {
        div .scope-line .no-print {
            form .line .scope method="get" action=(Room::Piece.address(&page.view.thing)) {
                input type="hidden" name="treatment" value=(shown.id);
                @if let Some(beside) = page.query.maybe("beside") { input type="hidden" name="beside" value=(beside); }
                label { "change "
                    select name="whose" data-goes {
                        option value="study" selected[!shown.own] { "the study’s piece" }
                        option value="own" selected[shown.own] { "the piece of " (shown.name) " only" }
                    }
                }
                button data-without-script { "Show" }
            }
            @if any_own {
                form method="post" action={ "/study/" (page.view.thing) "/edit" } {
                    input type="hidden" name="base" value=(page.view.base);
                    input type="hidden" name="room" value="piece";
                    input type="hidden" name="q.treatment" value=(shown.id);
                    input type="hidden" name="edit" value="set_field";
                    input type="hidden" name="treatment" value=(shown.id);
                    input type="hidden" name="path" value="piece";
                    input type="hidden" name="value" value="";
                    button { "Back to the study’s piece" }
                }
            }
        }
        p .second {
            @if shown.own { "A change holds for " (shown.name) " alone." }
            @else { "A change holds for every treatment without a piece of its own."
                @if any_own { " " (shown.name) " has one: what is changed here may not show in it." } }
        }
    }
}

/// What was typed in the form: edits of the draft, or the form again with what was refused beside its field.
pub(crate) async fn act(
    State(app): State<App>,
    Path(thing): Path<String>,
    wants: Wants,
    Sent(fields): Sent,
) -> Answer {
    let told = |e| Failure::of(e, wants);
    let (who, settings) = (
        who(&app).await.map_err(told)?,
        app.settings().await.map_err(told)?,
    );
    let view = app.study(&who, &thing).await.map_err(told)?;
    let id = fields.text("treatment").map_err(told)?.to_owned();
    let own = is_own(fields.maybe("whose"), &view, &id).then_some(id.as_str());
    let typed = typed::typed(&view, own, &piece_written(&view, own), &fields, &settings);
    let doing = Doing {
        app: &app,
        who: &who,
        thing: &thing,
        view: &view,
        settings: &settings,
        fields: &fields,
        wants,
    };
    doing.take(own, typed).await
}

/// An outline out of a file.
pub(crate) async fn file(
    State(app): State<App>,
    Path(thing): Path<String>,
    wants: Wants,
    parts: Multipart,
) -> Answer {
    let told = |e| Failure::of(e, wants);
    let upload = upload(parts, wants).await?;
    let (who, settings) = (
        who(&app).await.map_err(told)?,
        app.settings().await.map_err(told)?,
    );
    let view = app.study(&who, &thing).await.map_err(told)?;
    let mut fields = upload.fields;
    let id = fields.text("treatment").map_err(told)?.to_owned();
    let own = is_own(fields.maybe("whose"), &view, &id).then_some(id.as_str());
    let now = piece_written(&view, own);
    let found = match std::str::from_utf8(&upload.bytes) {
        Ok(text) => svg_outline(text).map_err(|e| e.to_string()),
        Err(_) => Err("it isn’t text; save the drawing as plain SVG".to_owned()),
    };
    // What the form would have held, with the drawing's path in it.
    for (path, value) in &now.values {
        fields
            .0
            .entry(path.clone())
            .or_insert_with(|| form::shown_as(value, &settings));
    }
    let mut typed = match &found {
        Ok(outline) => {
            fields.0.insert("outline".to_owned(), "path".to_owned());
            fields.0.insert("path".to_owned(), outline.path.clone());
            if fields.maybe("unit_mm").is_none()
                && let Some(unit) = outline.unit_mm
            {
                fields.0.insert(
                    "unit_mm".to_owned(),
                    form::shown_as(&format!("{unit:.6}"), &settings),
                );
            }
            fields
                .0
                .entry("docker.pattern".to_owned())
                .or_insert_with(|| "grid".to_owned());
            typed::typed(&view, own, &now, &fields, &settings)
        }
        Err(why) => {
            let mut typed = Typed::default();
            let name: String = upload.name.chars().take(80).collect();
            typed
                .errors
                .insert("file".to_owned(), format!("{name}: {why}."));
            typed
        }
    };
    if found.is_ok() && fields.maybe("unit_mm").is_none() {
        let asks = "The drawing doesn’t tell its size: how many mm is one of its units?";
        typed.errors.insert("unit_mm".to_owned(), asks.to_owned());
    }
    let doing = Doing {
        app: &app,
        who: &who,
        thing: &thing,
        view: &view,
        settings: &settings,
        fields: &fields,
        wants,
    };
    doing.take(own, typed).await
}

/// A form that is being answered.
struct Doing<'a> {
    app: &'a App,
    who: &'a str,
    thing: &'a str,
    view: &'a StudyView,
    settings: &'a Settings,
    fields: &'a Fields,
    wants: Wants,
}

impl Doing<'_> {
    async fn take(&self, own: Option<&str>, mut typed: Typed) -> Answer {
        let told = |e| Failure::of(e, self.wants);
        if typed.errors.is_empty() && !typed.edits.is_empty() {
            let after = self
                .app
                .preview(self.who, self.thing, &typed.edits)
                .await
                .map_err(told)?;
            typed::place(&after.problems, own, &mut typed);
        }
        let query = Fields(
            self.fields
                .0
                .iter()
                .filter_map(|(k, v)| Some((k.strip_prefix("q.")?.to_owned(), v.clone())))
                .collect(),
        );
        if !typed.errors.is_empty() {
            return self.refused(&query, &typed).await;
        }
        let base = self.fields.count("base").map_err(told)?;
        if typed.edits.is_empty() {
            return back(self.app, self.view, Room::Piece, &query, self.wants).await;
        }
        let view = self
            .app
            .edit(self.who, self.thing, base, &typed.edits)
            .await
            .map_err(told)?;
        back(self.app, &view, Room::Piece, &query, self.wants).await
    }

    /// The page again with what was typed; nothing was kept.
    async fn refused(&self, query: &Fields, typed: &Typed) -> Answer {
        let told = |e| Failure::of(e, self.wants);
        let status = StatusCode::UNPROCESSABLE_ENTITY;
        if self.wants == Wants::Json {
            let what: Vec<&str> = typed.errors.values().map(String::as_str).collect();
            let answer = json!({ "error": "That doesn't go", "what": what.join(" "), "fields": typed.errors });
            return Ok((status, Json(answer)).into_response());
        }
        let here = InStudy {
            app: self.app,
            view: self.view,
            settings: self.settings,
            query,
        };
        let body = whole(&here, Some(typed)).await.map_err(told)?;
        Ok(match self.wants {
            // A script puts the part in place of the page, and there the refusal stands at its field.
            Wants::Part => {
                Html(shell::study_main(self.view, Room::Piece, self.settings, &body).into_string())
                    .into_response()
            }
            _ => (
                status,
                shell::study_page(self.view, Room::Piece, self.settings, &body),
            )
                .into_response(),
        })
    }
}

/// The same as JSON.
pub(crate) async fn json(page: &InStudy<'_>) -> Result<Value, AppError> {
    let Some((id, _)) = about(page)? else {
        return Ok(json!({ "treatments": [] }));
    };
    let asked = asked(page, &id)?;
    let pieces = page.app.pieces(page.view, asked).await?;
    let own = is_own(page.query.maybe("whose"), page.view, &id);
    Ok(json!({
        "treatments": pieces,
        "shown": { "id": id, "own": own, "written": piece_written(page.view, own.then_some(id.as_str())).values },
        "asked": { "gap_mm": asked.gap_m * 1e3, "sheet_mm": asked.sheet_width_m * 1e3, "roll_mm": asked.roll_diameter_m * 1e3 },
    }))
}
