//! The study sheet: treatments side by side, and under their formulas what they do.
//!
//! The page works without script: every cell stands in one form, every deed in a form of its own.
//! With script a typed cell is sent by itself, and the answer brings the live parts alone; the
//! whole sheet only when its shape changed.

mod act;
mod asked;
mod beside;
mod bridge;
mod broken;
mod clash;
mod column;
mod dialogs;
mod edits;
mod figures;
mod frame;
mod head;
mod named;
mod names;
mod paste;
mod pieces;
mod preview;
#[cfg(test)]
mod proof;
mod sent;
mod sure;
mod table;
mod then;
mod why;

use super::InStudy;
pub(crate) use act::act;
use app::AppError;
use frame::Frame;
pub(crate) use head::so_far;
use maud::{Markup, html};
use names::known_rows;
use sent::listed;
use serde_json::{Value, json};
use std::hash::{DefaultHasher, Hash, Hasher};
use study::compare::bound::Bound;
pub(crate) use sure::asked as how_sure;
use table::Drawn;

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
            why::reasons(here.app, &frame, &asked, why::More::Tries, None).await?
        }
        None => pieces::Pieces::new(),
    };
    Ok(html! {
        @if let Some(said) = said { p .said .no-print role="alert" { (said) } }
        (then)
        @match here.view.study.as_deref() {
            Some(study) => {
                @let frame = Frame::new(here.view, study, here.settings, per, &known_rows(study, &rows)).since(saved.as_deref());
                (whole(&frame, &shape(&frame), &reasons))
            }
            None => (broken::body(here.view, here.settings.units)),
        }
        (super::lots::place(&here.view.thing))
        (super::measured::beside(here, None).await?)
        (super::learned_figures::part(here).await?)
    })
}

/// The same as JSON.
pub(crate) async fn json(here: &InStudy<'_>) -> Result<Value, AppError> {
    let then = here.app.then(&here.view.thing).await?;
    Ok(
        json!({ "treatments": here.view.answers.compared, "failed": here.view.answers.failed, "then": then }),
    )
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
            @if !frame.study.limits.is_empty() { section .part { h2 #limits { "Limits" } div data-p="limits" { (piece("limits")) } } }
            section .found { h2 #findings { "Findings" } div data-p="findings" { (piece("findings")) } }
        }
    }
}
