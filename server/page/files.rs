//! What a view loads beside its HTML: one sheet of style and one script, both from here. And the certificate that
//! devices hold on to, for whoever installs it.

use axum::Router;
use axum::extract::State;
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
        .route("/authority.crt", get(authority))
}

/// The certificate. Source of its type: RFC 2585 has none for an authority; this is what systems install one by
/// (common practice, no source).
async fn authority(State(shop): State<Shop>) -> impl IntoResponse {
    let kind = [(CONTENT_TYPE, "application/x-x509-ca-cert")];
    (kind, (shop.certificate)())
}

#[cfg(test)]
mod tests;

fn file(kind: &'static str, text: &'static str) -> impl IntoResponse {
    ([(CONTENT_TYPE, kind)], text)
}
