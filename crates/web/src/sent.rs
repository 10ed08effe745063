//! A form as it comes in; one that can't be read is told kindly.

use crate::error::Failure;
use crate::fields::Fields;
use crate::wants::Wants;
use axum::Form;
use axum::extract::{FromRequest, Request};
use axum::http::StatusCode;

/// A form that was sent; one that can't be read is told kindly.
pub(crate) struct Sent(pub Fields);

impl<S: Send + Sync> FromRequest<S> for Sent {
    type Rejection = Failure;

    async fn from_request(request: Request, state: &S) -> Result<Self, Failure> {
        let wants = Wants::of(request.headers(), request.extensions());
        match Form::<Fields>::from_request(request, state).await {
            Ok(Form(fields)) => Ok(Self(fields)),
            Err(rejection) => Err(unread(rejection.status(), rejection.body_text(), wants)),
        }
    }
}

/// What was sent can't be read.
pub(crate) fn unread(status: StatusCode, what: String, wants: Wants) -> Failure {
    let (title, way_out) = if status == StatusCode::PAYLOAD_TOO_LARGE {
        (
            "That is too large",
            "At most 2 MB are read from a form; a file of up to 50 MB can be read in.",
        )
    } else {
        (
            "That couldn't be read",
            "Load the page again and repeat the change. The book is as it was.",
        )
    };
    Failure::new(status, title, what, way_out).told_as(wants)
}
