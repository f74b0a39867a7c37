//! What a person is shown in place of what they wanted: the service's own sentence, and a way on.

use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use fettlebook_contract::v1::ErrorReason;
use minijinja::{Value, context};
use tonic::{Code, Status};
use tonic_types::StatusExt as _;

use crate::asker::Here;
use crate::{limits, pairing, templates};

/// A view or a deed that did not come about.
pub(crate) enum Refusal {
    /// The service refused it.
    Service(Box<Status>),
    /// The page itself has something to say first.
    Page(Box<Response>),
}

impl From<Status> for Refusal {
    fn from(status: Status) -> Self {
        Self::Service(Box::new(status))
    }
}

impl From<Response> for Refusal {
    fn from(answer: Response) -> Self {
        Self::Page(Box::new(answer))
    }
}

impl IntoResponse for Refusal {
    fn into_response(self) -> Response {
        match self {
            Self::Page(answer) => *answer,
            Self::Service(status) if status.code() == Code::Unauthenticated => {
                pairing::shut_out(status.message())
            }
            Self::Service(status) => told(code(status.code()), heading(&status), status.message()),
        }
    }
}

/// The code of HTTP that goes with a code of the contract. Source: google.rpc.Code, its HTTP mapping.
fn code(code: Code) -> StatusCode {
    match code {
        Code::NotFound => StatusCode::NOT_FOUND,
        Code::PermissionDenied => StatusCode::FORBIDDEN,
        Code::InvalidArgument | Code::FailedPrecondition | Code::OutOfRange => {
            StatusCode::BAD_REQUEST
        }
        Code::AlreadyExists | Code::Aborted => StatusCode::CONFLICT,
        Code::ResourceExhausted => StatusCode::TOO_MANY_REQUESTS,
        Code::Unavailable | Code::Cancelled => StatusCode::SERVICE_UNAVAILABLE,
        Code::DeadlineExceeded => StatusCode::GATEWAY_TIMEOUT,
        _ => StatusCode::INTERNAL_SERVER_ERROR,
    }
}

fn heading(status: &Status) -> &'static str {
    match status.code() {
        Code::NotFound => "There is none",
        Code::PermissionDenied => "This telephone may not",
        Code::ResourceExhausted | Code::Unavailable => "Not now",
        _ => "Not done",
    }
}

/// A page that says what is wrong.
fn told(code: StatusCode, title: &str, text: &str) -> Response {
    let here: Option<Here> = None;
    templates::page(
        code,
        "refusal.html",
        here.as_ref(),
        title,
        context! { text },
    )
}

/// Whether the service refused it for this reason.
pub(crate) fn is_for(refused: &Status, reason: ErrorReason) -> bool {
    let name = reason.as_str_name();
    let name = name.strip_prefix("ERROR_REASON_").unwrap_or(name);
    refused
        .get_details_error_info()
        .is_some_and(|info| info.reason == name)
}

/// Nothing is at an address.
pub(crate) async fn no_such_page() -> Response {
    let text = "There is no such page. The views are named above.";
    told(StatusCode::NOT_FOUND, "There is none", text)
}

/// An address is asked in a way in which it answers nothing.
pub(crate) async fn wrong_method() -> Response {
    let text = "This address is not asked in that way. Begin at one of the views above.";
    told(StatusCode::METHOD_NOT_ALLOWED, "Not done", text)
}

/// What is asked for is not there.
pub(crate) fn nothing(text: &str) -> Response {
    told(StatusCode::NOT_FOUND, "There is none", text)
}

/// A post does not say that it comes from the page itself.
pub(crate) fn from_elsewhere() -> Response {
    let text = "This did not come from the page itself, so nothing was recorded. Open the view above and \
                send it from there.";
    told(StatusCode::FORBIDDEN, "Not done", text)
}

/// A post is no form.
pub(crate) fn no_form() -> Response {
    let text = "This is no form of the page, so nothing was recorded. Open the view above and send it from \
                there.";
    told(StatusCode::UNSUPPORTED_MEDIA_TYPE, "Not done", text)
}

/// A form is longer than is taken.
pub(crate) fn too_long() -> Response {
    let most = limits::FORM_BYTES_MAX / 1024;
    let text =
        format!("This form is longer than {most} KiB, so nothing was recorded. Send less at once.");
    told(StatusCode::PAYLOAD_TOO_LARGE, "Not done", &text)
}

/// What was sent cannot be understood.
pub(crate) fn not_understood(text: &str) -> Response {
    told(StatusCode::BAD_REQUEST, "Not understood", text)
}

/// What a form is about has changed since it was shown: what happened, and the form once more.
pub(crate) fn changed(here: &Here, changes: Value, action: &str, fields: Value) -> Response {
    let told = context! { changes, action, fields };
    let title = "Changed meanwhile";
    templates::page(
        StatusCode::CONFLICT,
        "changed.html",
        Some(here),
        title,
        told,
    )
}
