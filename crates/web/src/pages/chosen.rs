//! Which treatment a page is about, and which one stands beside it.

use super::InStudy;
use super::study::encoded;
use crate::shell::Room;
use app::AppError;
use maud::{Markup, html};
use study::Compared;

/// The word for no treatment beside.
pub(crate) const NONE: &str = "none";

/// The treatment that was asked for, and the one beside it.
#[derive(Clone, Copy)]
pub(crate) struct Chosen<'a> {
    /// The one the page is about.
    pub here: &'a Compared,
    /// The one it is held against.
    pub beside: Option<&'a Compared>,
}

/// What `treatment` and `beside` in the address ask for. Unless they say otherwise a page is about
/// the first rival beside the control. None when no treatment has an answer.
pub(crate) fn chosen<'a>(page: &InStudy<'a>) -> Result<Option<Chosen<'a>>, AppError> {
    let all = &page.view.answers.compared;
    let (Some(first), usual) = (all.first(), all.get(1)) else {
        return Ok(None);
    };
    let find = |id: &str| match all.iter().find(|c| c.answer.id == id) {
        Some(c) => Ok(c),
        None => Err(missing(page, id)),
    };
    let here = match page.query.maybe("treatment") {
        Some(id) => find(id)?,
        None => usual.unwrap_or(first),
    };
    let beside = match page.query.maybe("beside") {
        Some(NONE) => None,
        Some(id) => Some(find(id)?),
        None => Some(first),
    };
    Ok(Some(Chosen {
        here,
        beside: beside.filter(|b| b.answer.id != here.answer.id),
    }))
}

fn missing(page: &InStudy<'_>, id: &str) -> AppError {
    let shown: String = id.chars().take(80).collect();
    match page.view.answers.failed.iter().find(|f| f.id == id) {
        Some(failed) => AppError::Value {
            field: format!("treatment {shown}"),
            why: failed.why.clone(),
        },
        None => AppError::NoTreatment(shown),
    }
}

impl Chosen<'_> {
    /// The address of a page about another treatment, everything else as it is.
    fn address(&self, page: &InStudy<'_>, room: Room, id: &str) -> String {
        let mut to = format!(
            "{}?treatment={}",
            room.address(&page.view.thing),
            encoded(id)
        );
        if let Some(beside) = page.query.maybe("beside") {
            to.push_str(&format!("&beside={}", encoded(beside)));
        }
        to
    }
}

/// The way from treatment to treatment; with `two` also which one stands beside.
pub(crate) fn choice(page: &InStudy<'_>, chosen: &Chosen<'_>, room: Room, two: bool) -> Markup {
    let all = &page.view.answers.compared;
    if all.len() < 2 {
        return html! {};
    }
    let is = |id: &str| chosen.here.answer.id == id;
    let beside = chosen.beside.map(|b| b.answer.id.as_str());
    html! {
        div .choice .no-print {
            nav .treatment-choice aria-label="Treatment" {
                @for c in all {
                    a href=(chosen.address(page, room, &c.answer.id)) aria-current=[is(&c.answer.id).then_some("true")] { (c.answer.name) }
                }
            }
            @if two {
                form .beside-choice method="get" action=(room.address(&page.view.thing)) {
                    input type="hidden" name="treatment" value=(chosen.here.answer.id);
                    label {
                        "beside it "
                        select name="beside" data-goes {
                            option value=(NONE) selected[beside.is_none()] { "nothing" }
                            @for c in all.iter().filter(|c| !is(&c.answer.id)) {
                                option value=(c.answer.id) selected[beside == Some(c.answer.id.as_str())] { (c.answer.name) }
                            }
                        }
                    }
                    button data-without-script { "Show" }
                }
            }
        }
    }
}

/// What a page says when no treatment has an answer.
pub(crate) fn nothing(page: &InStudy<'_>, what: &str) -> Markup {
    html! {
        p .lead { "There is no " (what) " to show yet." }
        p { "As soon as one treatment can be worked out it stands here. What has to be put right is told above; "
            a href=(Room::Sheet.address(&page.view.thing)) { "the study sheet" } " is the place to do it." }
    }
}
