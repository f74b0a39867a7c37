//! The views and what is told from them, one file each.

pub(crate) mod check;
pub(crate) mod entry;
pub(crate) mod kit;
pub(crate) mod log;
pub(crate) mod piece;
pub(crate) mod today;
pub(crate) mod wash;
pub(crate) mod weigh;

use axum::http::header::LOCATION;
use axum::http::{HeaderValue, StatusCode};
use axum::response::{IntoResponse as _, Response};
use uuid::Uuid;

use crate::refusal::Refusal;

/// What a view or a deed comes to.
type Answer = Result<Response, Refusal>;

/// An id for the one deed that a form will tell, however often it is sent.
fn request_id() -> String {
    Uuid::now_v7().to_string()
}

/// Leads to another view, so that loading the page again tells nothing again.
pub(crate) fn go_to(path: &str) -> Response {
    let mut answer = StatusCode::SEE_OTHER.into_response();
    if let Ok(path) = HeaderValue::from_str(path) {
        answer.headers_mut().insert(LOCATION, path);
    }
    answer
}

/// A tag as people type it or as the code of a label has it, as it stands on the piece.
fn tag_of(typed: &str) -> String {
    let typed = typed.trim();
    fettlebook_contract::page::tag(typed)
        .unwrap_or(typed)
        .to_uppercase()
}
