//! A form as a browser sends it, and what stands behind the question mark of an address.

use axum::body::Body;
use axum::extract::{FromRequest, FromRequestParts, Request};
use axum::http::header::CONTENT_TYPE;
use axum::http::request::Parts;
use axum::response::Response;
use tokio_stream::StreamExt as _;

use crate::limits::{FORM_BYTES_MAX, FORM_BYTES_READ_MAX};
use crate::refusal;

/// The type of a form. Source: HTML, "form submission".
const FORM: &str = "application/x-www-form-urlencoded";

/// Names and what stands for each, in order; a name may come more than once.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(crate) struct Fields(Vec<(String, String)>);

impl Fields {
    fn read(bytes: &[u8]) -> Self {
        Self(form_urlencoded::parse(bytes).into_owned().collect())
    }

    /// What stands for a name, without blanks around it; empty where nothing does.
    pub(crate) fn first(&self, name: &str) -> &str {
        let mut found = self.0.iter().filter(|(held, _)| held == name);
        found.next().map_or("", |(_, value)| value.trim())
    }

    /// Everything that stands for a name.
    pub(crate) fn all<'a>(&'a self, name: &'a str) -> impl Iterator<Item = &'a str> {
        let of_name = self.0.iter().filter(move |(held, _)| held == name);
        of_name.map(|(_, value)| value.trim())
    }

    /// Whether a name stands there at all.
    pub(crate) fn has(&self, name: &str) -> bool {
        self.0.iter().any(|(held, _)| held == name)
    }

    /// A whole number that stands for a name.
    pub(crate) fn number(&self, name: &str) -> Option<i64> {
        self.first(name).parse().ok()
    }

    /// The rest of each name that begins so, with what stands for it.
    pub(crate) fn behind<'a>(&'a self, start: &'a str) -> impl Iterator<Item = (&'a str, &'a str)> {
        let named =
            move |(name, value): &'a (String, String)| Some((name.strip_prefix(start)?, value));
        let of_start = self.0.iter().filter_map(named);
        of_start.map(|(rest, value)| (rest, value.trim()))
    }

    /// All of it, in order.
    pub(crate) fn each(&self) -> impl Iterator<Item = (&str, &str)> {
        let held = self.0.iter();
        held.map(|(name, value)| (name.as_str(), value.as_str()))
    }
}

/// A form that was sent.
pub(crate) struct Form(pub(crate) Fields);

impl<S: Send + Sync> FromRequest<S> for Form {
    type Rejection = Response;

    async fn from_request(request: Request, _: &S) -> Result<Self, Response> {
        let kind = request.headers().get(CONTENT_TYPE);
        let is_form = kind.is_some_and(|kind| kind.as_bytes().starts_with(FORM.as_bytes()));
        if !is_form {
            return Err(refusal::no_form());
        }
        let bytes = read(request.into_body())
            .await
            .ok_or_else(refusal::too_long)?;
        Ok(Self(Fields::read(&bytes)))
    }
}

/// The bytes of a form; nothing where there are too many. Those are read on and let go, so that whoever sends them
/// comes to the answer.
async fn read(body: Body) -> Option<Vec<u8>> {
    let mut parts = body.into_data_stream();
    let (mut held, mut came) = (Vec::new(), 0_usize);
    while let Some(part) = parts.next().await {
        let part = part.ok()?;
        came = came.saturating_add(part.len());
        if came > FORM_BYTES_READ_MAX {
            return None;
        }
        if came <= FORM_BYTES_MAX {
            held.extend_from_slice(&part);
        }
    }
    (came <= FORM_BYTES_MAX).then_some(held)
}

/// What stands behind the question mark of an address.
pub(crate) struct Asked(pub(crate) Fields);

impl<S: Send + Sync> FromRequestParts<S> for Asked {
    type Rejection = std::convert::Infallible;

    async fn from_request_parts(parts: &mut Parts, _: &S) -> Result<Self, Self::Rejection> {
        let query = parts.uri.query().unwrap_or_default();
        Ok(Self(Fields::read(query.as_bytes())))
    }
}
