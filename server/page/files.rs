//! What a view loads beside its HTML: one sheet of style and one script, both from here.

use axum::Router;
use axum::http::header::CONTENT_TYPE;
use axum::response::IntoResponse;
use axum::routing::get;

use crate::Shop;

const STYLE: &str = include_str!("page.css");
const SCRIPT: &str = include_str!("page.js");
const ICON: &str = include_str!("icon.svg");

/// Where they are.
pub(crate) fn routes() -> Router<Shop> {
    Router::new()
        .route("/page.css", get(async || file("text/css", STYLE)))
        .route("/page.js", get(async || file("text/javascript", SCRIPT)))
        .route("/icon.svg", get(async || file("image/svg+xml", ICON)))
}

#[cfg(test)]
mod tests;

fn file(kind: &'static str, text: &'static str) -> impl IntoResponse {
    ([(CONTENT_TYPE, kind)], text)
}
