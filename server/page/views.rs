//! The views and what is told from them, one file each.

pub(crate) mod check;
pub(crate) mod count;
pub(crate) mod entries;
pub(crate) mod entry;
pub(crate) mod kit;
pub(crate) mod log;
pub(crate) mod order;
mod pick;
pub(crate) mod piece;
pub(crate) mod reorder;
pub(crate) mod take;
pub(crate) mod today;
pub(crate) mod wash;
pub(crate) mod weigh;

use axum::http::header::LOCATION;
use axum::http::{HeaderValue, StatusCode};
use axum::response::{IntoResponse as _, Response};
use fettlebook_contract::v1::Entry;

use crate::refusal::Refusal;

/// What a view or a deed comes to.
type Answer = Result<Response, Refusal>;

/// Leads to another view, so that loading the page again tells nothing again.
pub(crate) fn go_to(path: &str) -> Response {
    let mut answer = StatusCode::SEE_OTHER.into_response();
    if let Ok(path) = HeaderValue::from_str(path) {
        answer.headers_mut().insert(LOCATION, path);
    }
    answer
}

/// Leads to what was recorded, where it can be taken back.
fn to_entry(entry: Option<Entry>) -> Response {
    go_to(&format!("/entry/{}", entry.unwrap_or_default().seq))
}

/// Leads to all that was recorded by one form.
fn to_entries(seqs: &[i64]) -> Response {
    match seqs {
        [seq] => go_to(&format!("/entry/{seq}")),
        _ => {
            let named = seqs.iter().map(|seq| format!("seq={seq}"));
            go_to(&format!(
                "/recorded?{}",
                named.collect::<Vec<_>>().join("&")
            ))
        }
    }
}

/// A tag as people type it or as the code of a label has it, as it stands on the piece.
fn tag_of(typed: &str) -> String {
    let typed = typed.trim();
    fettlebook_contract::page::tag(typed)
        .unwrap_or(typed)
        .to_uppercase()
}
