//! What goes for every request and every answer, whatever the view: where a post comes from, and what a browser
//! may do with what it gets.
//!
//! Invariant: a post is looked at only when it comes from the page itself, by its `Origin`.

use axum::extract::Request;
use axum::http::header::{HOST, HeaderName, ORIGIN};
use axum::http::{HeaderMap, HeaderValue, Method, Uri};
use axum::middleware::Next;
use axum::response::Response;

use crate::refusal;

/// Headers of every answer. Without a referrer towards others: with none at all a browser would not say of a
/// form where it comes from. Source: Fetch, "append a request Origin header". That only TLS is spoken here goes for
/// this host alone, and counts once its certificate is trusted. Source: RFC 6797, sections 8.1 and 8.1.1.
const HEADERS: [(HeaderName, &str); 11] = [
    (
        HeaderName::from_static("content-security-policy"),
        "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self'; \
         connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'",
    ),
    (HeaderName::from_static("x-frame-options"), "DENY"),
    (HeaderName::from_static("x-content-type-options"), "nosniff"),
    (HeaderName::from_static("cache-control"), "no-store"),
    (HeaderName::from_static("referrer-policy"), "same-origin"),
    (
        HeaderName::from_static("cross-origin-opener-policy"),
        "same-origin",
    ),
    (
        HeaderName::from_static("cross-origin-resource-policy"),
        "same-origin",
    ),
    (
        HeaderName::from_static("cross-origin-embedder-policy"),
        "require-corp",
    ),
    (
        HeaderName::from_static("strict-transport-security"),
        "max-age=31536000",
    ),
    (
        HeaderName::from_static("x-permitted-cross-domain-policies"),
        "none",
    ),
    (
        HeaderName::from_static("permissions-policy"),
        "camera=(), geolocation=(), microphone=()",
    ),
];

/// Turns away posts from elsewhere, and puts the headers on whatever is answered.
pub(crate) async fn shield(request: Request, next: Next) -> Response {
    let reads = [Method::GET, Method::HEAD].contains(request.method());
    let mut answer = if reads || is_own(request.uri(), request.headers()) {
        next.run(request).await
    } else {
        refusal::from_elsewhere()
    };
    for (name, value) in HEADERS {
        let value = HeaderValue::from_static(value);
        answer.headers_mut().insert(name, value);
    }
    answer
}

/// Whether a request comes from a page of the host that it was sent to. A browser says so of every post.
fn is_own(uri: &Uri, headers: &HeaderMap) -> bool {
    let host = match uri.authority() {
        Some(authority) => Some(authority.as_str()),
        None => headers.get(HOST).and_then(|host| host.to_str().ok()),
    };
    let mut origins = headers.get_all(ORIGIN).iter();
    let (origin, more) = (origins.next(), origins.next());
    let origin = origin.and_then(|origin| origin.to_str().ok());
    let from = origin.and_then(|origin| origin.strip_prefix("https://"));
    more.is_none() && from.is_some_and(|from| host.is_some_and(|host| same_host(from, host)))
}

/// Whether both name the same host and port, the usual port of https left out or not.
fn same_host(one: &str, other: &str) -> bool {
    let bare = |host: &str| host.trim_end_matches(":443").to_ascii_lowercase();
    bare(one) == bare(other)
}
