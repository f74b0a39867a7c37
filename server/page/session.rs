//! The cookie that a paired telephone carries: its token, and nothing else.
//!
//! Invariant: the service keeps no session beside its devices. Who is revoked is out with the next request, and
//! a telephone that was let in stays so when the service starts again.

use axum::http::header::COOKIE;
use axum::http::{HeaderMap, HeaderValue};

use crate::limits::SESSION_S;

/// Name of the cookie. With this prefix a browser takes it from this host alone, over TLS, for every path.
/// Source: RFC 6265bis, section 4.1.3.2.
const NAME: &str = "__Host-fettlebook";

/// The token that a request carries. A cookie that is there twice says nothing.
pub(crate) fn token(headers: &HeaderMap) -> Option<&str> {
    let lines = headers.get_all(COOKIE).iter();
    let pairs = lines
        .filter_map(|line| line.to_str().ok())
        .flat_map(|line| line.split(';'))
        .filter_map(|pair| pair.trim().split_once('='));
    let mut found = pairs
        .filter(|(name, _)| *name == NAME)
        .map(|(_, token)| token);
    let token = found.next().filter(|token| !token.is_empty())?;
    found.next().is_none().then_some(token)
}

/// What a browser is told to keep.
pub(crate) fn kept(token: &str) -> Option<HeaderValue> {
    value(token, SESSION_S)
}

/// What a browser is told so that it lets go of a token which lets nobody in.
pub(crate) fn forgotten() -> Option<HeaderValue> {
    value("", 0)
}

fn value(token: &str, for_s: u32) -> Option<HeaderValue> {
    let text =
        format!("{NAME}={token}; Path=/; Max-Age={for_s}; Secure; HttpOnly; SameSite=Strict");
    let mut value = HeaderValue::from_str(&text).ok()?;
    value.set_sensitive(true);
    Some(value)
}
