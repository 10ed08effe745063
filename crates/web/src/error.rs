//! What a person sees when something can't be done: what happened, and what to do.

use crate::refusals::Reason;
use crate::shell;
use crate::wants::Wants;
use app::{AppError, Seen};
use axum::Json;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use book::BookError;
use maud::{Markup, html};
use measure::Units;
use serde_json::json;
use study::written::Problem;

/// Something that couldn't be done, ready to be shown.
#[derive(Debug)]
pub(crate) struct Failure {
    status: StatusCode,
    title: String,
    what: String,
    way_out: String,
    more: Option<Markup>,
    wants: Wants,
}

impl Failure {
    pub(crate) fn new(
        status: StatusCode,
        title: impl Into<String>,
        what: impl Into<String>,
        way_out: impl Into<String>,
    ) -> Self {
        Self {
            status,
            title: title.into(),
            what: what.into(),
            way_out: way_out.into(),
            more: None,
            wants: Wants::Page,
        }
    }

    /// The same, told in the form that was asked for.
    pub(crate) fn told_as(mut self, wants: Wants) -> Self {
        self.wants = wants;
        self
    }

    /// The same on a page of a study, with what can be done about it where the person's changes can't be read.
    pub(crate) fn in_study(
        error: AppError,
        thing: &str,
        unsaved: Option<&Seen>,
        wants: Wants,
    ) -> Self {
        let mut failure = Self::of(error, wants);
        if let Some(unsaved) = unsaved {
            let list = failure.more.take();
            failure.more = Some(html! {
                @if let Some(list) = list { (list) }
                form .line method="post" action=(format!("/study/{thing}/discard")) { (shell::looked_at(unsaved)) button { "Discard the unsaved changes" } }
                p { a href=(format!("/study/{thing}/export")) { "keep them as a file first" } }
            });
        }
        failure
    }

    /// Of an error, in the form that was asked for.
    pub(crate) fn of(error: AppError, wants: Wants) -> Self {
        Self::from(error).told_as(wants)
    }
}

impl From<AppError> for Failure {
    fn from(error: AppError) -> Self {
        let what = sentence(&error.to_string());
        let untouched = "The book is as it was.";
        match error {
            AppError::NoStudy(_)
            | AppError::NoTrial(_)
            | AppError::NoBatch(_)
            | AppError::NoRevision { .. }
            | AppError::NoMaterial(_)
            | AppError::NoLot { .. }
            | AppError::NoTreatment(_) => {
                Self::new(StatusCode::NOT_FOUND, "Not in the book", what, "")
            }
            AppError::Book(BookError::NoSuch { .. }) => {
                Self::new(StatusCode::NOT_FOUND, "Not in the book", what, "")
            }
            AppError::Book(BookError::Refused { .. }) => Self::new(
                StatusCode::UNPROCESSABLE_ENTITY,
                "This can't be kept",
                what,
                untouched,
            ),
            AppError::Book(BookError::DiskFull { .. }) => Self::new(
                StatusCode::INSUFFICIENT_STORAGE,
                "The disk is full",
                what,
                "",
            ),
            AppError::Book(BookError::Locked { .. }) => Self::new(
                StatusCode::SERVICE_UNAVAILABLE,
                "The book is in use",
                what,
                "",
            ),
            AppError::Overtaken { .. } | AppError::Unseen | AppError::NotYet => Self::new(
                StatusCode::CONFLICT,
                "Another window was quicker",
                what,
                untouched,
            ),
            AppError::Stale(_) | AppError::Moved { .. } | AppError::Busy => Self::new(
                StatusCode::CONFLICT,
                "Somebody was quicker",
                what,
                untouched,
            ),
            AppError::Full { .. } | AppError::Rests { .. } => Self::new(
                StatusCode::TOO_MANY_REQUESTS,
                "Too much is waiting",
                what,
                "",
            ),
            AppError::Edit(_)
            | AppError::Value { .. }
            | AppError::NothingTo(_)
            | AppError::NothingToSave(_)
            | AppError::WithDraft
            | AppError::Table(_) => Self::new(
                StatusCode::UNPROCESSABLE_ENTITY,
                "That doesn't go",
                what,
                untouched,
            ),
            AppError::Unreadable {
                ref text,
                ref problems,
            } => {
                let mut failure = Self::new(
                    StatusCode::UNPROCESSABLE_ENTITY,
                    "This study can't be read",
                    "The text has problems that keep it from being read.",
                    untouched,
                );
                failure.more = Some(problem_list(text, problems, Units::Metric));
                failure
            }
            _ => Self::new(
                StatusCode::INTERNAL_SERVER_ERROR,
                "That didn't work",
                what,
                untouched,
            ),
        }
    }
}

impl IntoResponse for Failure {
    fn into_response(self) -> Response {
        let Self {
            status,
            title,
            what,
            way_out,
            more,
            wants,
        } = self;
        let reason = axum::Extension(Reason(title.clone()));
        if matches!(wants, Wants::Part | Wants::Json) {
            return (
                status,
                reason,
                Json(json!({ "error": title, "what": what, "way_out": way_out })),
            )
                .into_response();
        }
        let body = html! {
            h1 { (title) }
            p { (what) }
            @if !way_out.is_empty() { p { (way_out) } }
            @if let Some(more) = more { (more) }
            @if wants == Wants::Alone { p { a .way href="/bench" { "To the bench" } " " a .way href="/bench/pair" { "Pair this device" } } }
            @else { p .no-print { a .way href="/" { "To the studies" } } }
        };
        let page = match wants {
            Wants::Alone => shell::alone(&title, &body),
            _ => shell::plain(&title, &body),
        };
        (status, reason, page).into_response()
    }
}

/// A sentence begins with a capital and ends with a full stop.
fn sentence(text: &str) -> String {
    let mut chars = text.chars();
    let mut out: String = chars
        .next()
        .map_or_else(String::new, |c| c.to_uppercase().collect());
    out.push_str(chars.as_str());
    if !out.ends_with(['.', '?', '!']) {
        out.push('.');
    }
    out
}

/// Problems of a study's text, each with its line.
pub(crate) fn problem_list(text: &str, problems: &[Problem], units: Units) -> Markup {
    html! {
        @if !problems.is_empty() {
            ul .findings {
                @for p in problems {
                    @let words = p.words(units);
                    li .finding .stop {
                        @if let Some(span) = &p.span { span .weight { "line " (line_of(text, span.start)) } }
                        div {
                            p { @if !p.path.is_whole() { code { (p.path) } ": " } (words.message) }
                            @if !words.allowed.is_empty() { p .help { "Allowed: " (words.allowed) } }
                            @if !words.way_out.is_empty() { p .help { (sentence(&words.way_out)) } }
                        }
                    }
                }
            }
        }
    }
}

fn line_of(text: &str, at: usize) -> usize {
    1 + text.bytes().take(at).filter(|b| *b == b'\n').count()
}

/// No such page.
pub(crate) async fn not_found(wants: Wants) -> Failure {
    Failure::new(
        StatusCode::NOT_FOUND,
        "There is no such page",
        "The address may be mistyped, or from another version of the program.",
        "Start from the list of studies.",
    )
    .told_as(wants)
}

/// A mistake of the program, which stays inside.
pub(crate) fn broken_off() -> Response {
    Failure::new(
        StatusCode::INTERNAL_SERVER_ERROR,
        "The program made a mistake",
        "This page couldn't be made. The book is untouched: what was saved is on the disk, and unsaved changes are kept as a draft.",
        "Go back and try again. If it happens again, write down what you did and report it.",
    )
    .into_response()
}
