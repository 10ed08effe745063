//! The piece: drawn to scale, set in a form whose every change is an edit of the study, beside the control, and laid
//! on sheet and roll.

mod drawn;
mod form;
mod typed;

use super::chosen::{choice, chosen};
use super::exchange::upload;
use super::section::{Doing, FieldOf, Set, Typed, is_own, shown_as, told};
use super::{InStudy, troubles};
use crate::error::Failure;
use crate::sent::Sent;
use crate::shell::Room;
use crate::wants::Wants;
use ::study::svg_outline::svg_outline;
use ::study::views::piece::{PieceAsked, PieceTold};
use ::study::written::tables::TreatmentRow;
use app::{App, AppError, PieceOf, SectionWritten, Units, piece_asked_of, section_written};
use axum::extract::{Multipart, Path, State};
use axum::response::Response;
use maud::{Markup, html};
use serde_json::{Value, json};

const SECTION: &str = "piece";

type Answer = Result<Response, Failure>;

/// What the page is about.
struct Shown<'a> {
    /// The treatment.
    id: String,
    /// What is written where a change goes.
    written: SectionWritten,
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
    let written = &page.view.written;
    let asked = page.query.maybe("treatment");
    let row = asked.and_then(|id| written.treatment(id));
    let row = row.or_else(|| written.treatments().first());
    Ok(row.and_then(|t| {
        let id = t.get(TreatmentRow::id)?;
        let name = t.get(TreatmentRow::name).unwrap_or(id);
        Some((id.to_owned(), name.to_owned()))
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
            let typed = page.query.number(name, page.settings)?;
            *metres = page.settings.units.back(typed, "mm") / 1e3;
        }
    }
    Ok(asked)
}

/// What stands inside `<main>`.
pub(crate) async fn body(page: &InStudy<'_>) -> Result<Markup, AppError> {
    whole(page, None).await
}

/// The page, with what was typed where that was refused.
pub(crate) async fn whole(page: &InStudy<'_>, typed: Option<&Typed>) -> Result<Markup, AppError> {
    let Some((id, name)) = about(page)? else {
        return Ok(
            html! { h1 { "Piece" } (troubles(page)) p .lead { "There is no treatment yet, and so no piece." } },
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
    let own = is_own(page.query.maybe("whose"), page.view, &id, SECTION);
    let set = Set {
        section: SECTION,
        room: Room::Piece,
        id: &id,
        name: &name,
        own,
        any_own: section_written(page.view, Some(&id), SECTION).own,
        kept: &["beside", "whose", "gap_mm", "sheet_mm", "roll_mm"],
    };
    let shown = Shown {
        written: section_written(page.view, own.then_some(id.as_str()), SECTION),
        told: here,
        id: id.clone(),
        asked,
    };
    let found = here.map_or(&[][..], |t| &t.findings);
    Ok(html! {
        div #piece data-section {
            h1 { "Piece" }
            (troubles(page))
            @if let Some(chosen) = &chosen { (choice(page, chosen, Room::Piece, false)) }
            @if let Some(told) = here { (head(told, beside, page.settings.units)) }
            div .piece-and-form {
                div .drawn {
                    @match here {
                        Some(told) => {
                            (drawn::drawing(told))
                            (drawn::facts(page, told))
                        },
                        None => (nothing_drawn(find(&shown.id))),
                    }
                }
                div {
                    (set.scope(page))
                    (form::form(page, &shown, &set, typed, found))
                    (form::file_form(page, &set, typed))
                }
            }
            @if !pieces.is_empty() {
                section .part { (drawn::figures(page, &pieces)) }
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

fn head(p: &PieceTold, beside: Option<&PieceTold>, units: Units) -> Markup {
    let places = units.decimals("g", 1);
    let gap = beside.map(|b| {
        let gap = units.gap(p.green_mass_g - b.green_mass_g, "g");
        (measure::rounding::signed(gap, places), &b.name)
    });
    html! {
        p .bake-time {
            span .name { (p.name) } " "
            b { (told(p.green_mass_g, "g", 1, units)) } " of dough a piece"
            @if let Some((text, name)) = gap { " " span .second { (text) " " (units.unit("g")) " against " (name) } }
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
    let doing = Doing::of(&app, &thing, wants, SECTION, Room::Piece).await?;
    let own = doing.treatment(&fields)?;
    let now = section_written(&doing.view, own, SECTION);
    let typed = typed::typed(&doing.view, own, &now, &fields, &doing.settings);
    let field_of = match fields.maybe("docker.pattern") {
        Some("points") => typed::field_of_points,
        _ => typed::field_of as FieldOf,
    };
    doing.take(&fields, own, typed, field_of).await
}

/// Longest that a drawing is read.
const DRAWING: std::time::Duration = std::time::Duration::from_secs(5);

/// An outline out of a file.
pub(crate) async fn file(
    State(app): State<App>,
    Path(thing): Path<String>,
    wants: Wants,
    parts: Multipart,
) -> Answer {
    let upload = upload(parts, wants, None).await?;
    let doing = Doing::of(&app, &thing, wants, SECTION, Room::Piece).await?;
    let (mut fields, settings) = (upload.fields, &doing.settings);
    let id = fields
        .text("treatment")
        .map_err(|e| Failure::of(e, wants))?
        .to_owned();
    let own = is_own(fields.maybe("whose"), &doing.view, &id, SECTION).then_some(id.as_str());
    let now = section_written(&doing.view, own, SECTION);
    // Off the threads that answer requests; a drawing that takes longer than this isn't an outline.
    let bytes = upload.bytes;
    let reading = tokio::task::spawn_blocking(move || match std::str::from_utf8(&bytes) {
        Ok(text) => svg_outline(text).map_err(|e| e.to_string()),
        Err(_) => Err("it isn’t text; save the drawing as plain SVG".to_owned()),
    });
    let found = match tokio::time::timeout(DRAWING, reading).await {
        Ok(Ok(found)) => found,
        _ => Err("it takes too long to read; save the outline alone as plain SVG".to_owned()),
    };
    let outline = match found {
        Ok(outline) => outline,
        Err(why) => {
            let mut typed = Typed::default();
            let name: String = upload.name.chars().take(80).collect();
            typed
                .errors
                .insert("file".to_owned(), format!("{name}: {why}."));
            return doing.take(&fields, own, typed, typed::field_of).await;
        }
    };
    // What the form would have held, with the drawing's path in it.
    let mut put = |key: &str, value: String| fields.0.insert(key.to_owned(), value);
    for (path, value) in now.values.iter().filter(|(path, _)| *path != "unit_mm") {
        let field = form::all().find(|f| f.path == path).filter(|f| !f.text);
        let shown = field.map(|f| shown_as(value, f.unit, settings));
        put(path, shown.unwrap_or_else(|| value.clone()));
    }
    if !now.values.contains_key("docker.pattern") {
        put("docker.pattern", "grid".to_owned());
    }
    put("outline", "path".to_owned());
    put("path", outline.path);
    if fields.maybe("unit_mm").is_none()
        && let Some(unit) = outline.unit_mm
    {
        let unit = format!("{unit:.6}");
        let unit = unit.trim_end_matches('0').trim_end_matches('.');
        fields
            .0
            .insert("unit_mm".to_owned(), shown_as(unit, "", settings));
    }
    let mut typed = typed::typed(&doing.view, own, &now, &fields, settings);
    if fields.maybe("unit_mm").is_none() {
        let asks = "The drawing doesn’t tell its size: how many mm is one of its units?";
        typed.errors.insert("unit_mm".to_owned(), asks.to_owned());
    }
    doing.take(&fields, own, typed, typed::field_of).await
}

/// The same as JSON.
pub(crate) async fn json(page: &InStudy<'_>) -> Result<Value, AppError> {
    let Some((id, _)) = about(page)? else {
        return Ok(json!({ "treatments": [] }));
    };
    let asked = asked(page, &id)?;
    let pieces = page.app.pieces(page.view, asked).await?;
    let own = is_own(page.query.maybe("whose"), page.view, &id, SECTION);
    let written = section_written(page.view, own.then_some(id.as_str()), SECTION);
    Ok(json!({
        "treatments": pieces,
        "shown": { "id": id, "own": own, "written": written.values },
        "asked": { "gap_mm": asked.gap_m * 1e3, "sheet_mm": asked.sheet_width_m * 1e3, "roll_mm": asked.roll_diameter_m * 1e3 },
    }))
}
