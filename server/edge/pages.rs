//! Calls of pages: gRPC-Web, over HTTP/1.1 or HTTP/2, turned into ordinary calls on their way in, and their
//! answers turned back.
//!
//! Invariant: a page shows a token, whatever it asks for and wherever it runs: any page that a person
//! opens can reach this machine. A browser lets only those pages read an answer whose origin was named.

use std::future::{Future, ready};
use std::pin::Pin;
use std::task::{Context, Poll, ready as in_hand};

use fettlebook_contract::{PLACE, ROLE, TAG_LETTER};
use http_body_util::Full;
use tonic::body::Body;
use tonic::codegen::http::header::{AUTHORIZATION, CONTENT_TYPE, HeaderName, HeaderValue};
use tonic::codegen::http::{Method, Request, Response, StatusCode, Version};
use tonic_web::{GrpcWebLayer, GrpcWebService};
use tower::{Layer, Service};
use tower_http::cors::{AllowOrigin, Cors, CorsLayer};

use super::visit::Visit;
use crate::limits::PREFLIGHT_KEPT_FOR;

/// How the type of what a page sends begins. Source: gRPC-Web, "Protocol differences vs gRPC over HTTP2".
const PAGE_TYPE: &[u8] = b"application/grpc-web";

/// Headers that a page of ours or of the usual clients sends.
const SENT: [HeaderName; 5] = [
    AUTHORIZATION,
    CONTENT_TYPE,
    HeaderName::from_static("grpc-timeout"),
    HeaderName::from_static("x-grpc-web"),
    HeaderName::from_static("x-user-agent"),
];

/// Headers of an answer that a page may read: how it ended, where there is nothing else in it, and what the
/// device is here.
const READ: [HeaderName; 6] = [
    HeaderName::from_static("grpc-status"),
    HeaderName::from_static("grpc-message"),
    HeaderName::from_static("grpc-status-details-bin"),
    HeaderName::from_static(ROLE),
    HeaderName::from_static(PLACE),
    HeaderName::from_static(TAG_LETTER),
];

/// What somebody reads who comes for anything else.
const SAYS: &str = "This is the service of Fettlebook. It answers gRPC and gRPC-Web, to devices that are paired \
                    and show their token; it has no pages of its own.\n";

/// In a request: a page sent it.
#[derive(Debug, Clone, Copy)]
pub(super) struct OfPage;

/// Lets pages call, beside everyone else.
#[derive(Clone)]
pub struct PagesLayer(CorsLayer);

impl PagesLayer {
    /// Pages of these origins may read answers in a browser; with none no page of another origin can.
    pub fn new(origins: &[HeaderValue]) -> Self {
        if origins.is_empty() {
            return Self(CorsLayer::new());
        }
        let cors = CorsLayer::new()
            .allow_origin(AllowOrigin::list(origins.iter().cloned()))
            .allow_methods([Method::POST])
            .allow_headers(SENT)
            .expose_headers(READ)
            .max_age(PREFLIGHT_KEPT_FOR);
        Self(cors)
    }
}

impl<S: Clone> Layer<S> for PagesLayer {
    type Service = Paged<S>;

    fn layer(&self, inner: S) -> Paged<S> {
        Paged {
            page: self.0.layer(GrpcWebLayer::new().layer(inner.clone())),
            inner,
        }
    }
}

/// Services that pages call too.
#[derive(Clone)]
pub struct Paged<S> {
    inner: S,
    page: Page<S>,
}

/// The way of a page.
type Page<S> = Cors<GrpcWebService<S>>;

/// An answer that is on its way.
type Answering<E> = Pin<Box<dyn Future<Output = Result<Response<Body>, E>> + Send>>;

impl<S, E> Service<Request<Body>> for Paged<S>
where
    S: Service<Request<Body>, Response = Response<Body>, Error = E, Future = Answering<E>>,
    E: Send + 'static,
{
    type Response = Response<Body>;
    type Error = E;
    type Future = Answering<E>;

    fn poll_ready(&mut self, context: &mut Context<'_>) -> Poll<Result<(), E>> {
        in_hand!(self.inner.poll_ready(context))?;
        <Page<S> as Service<Request<Body>>>::poll_ready(&mut self.page, context)
    }

    fn call(&mut self, mut request: Request<Body>) -> Answering<E> {
        match Sort::of(&request) {
            Sort::Ordinary => self.inner.call(request),
            Sort::Page => {
                request.extensions_mut().insert(OfPage);
                Box::pin(self.page.call(request))
            }
            Sort::Preflight => {
                count(&request);
                Box::pin(self.page.call(request))
            }
            Sort::Other => {
                count(&request);
                Box::pin(ready(Ok(told())))
            }
        }
    }
}

/// What sort of request it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Sort {
    /// gRPC.
    Ordinary,
    /// gRPC-Web.
    Page,
    /// A browser's question whether a page may ask.
    Preflight,
    /// Nothing that is answered here.
    Other,
}

impl Sort {
    fn of(request: &Request<Body>) -> Self {
        let of_page = |held: &HeaderValue| held.as_bytes().starts_with(PAGE_TYPE);
        if request.headers().get(CONTENT_TYPE).is_some_and(of_page) {
            Self::Page
        } else if request.method() == Method::OPTIONS {
            Self::Preflight
        } else if request.version() == Version::HTTP_2 {
            Self::Ordinary
        } else {
            Self::Other
        }
    }
}

/// Counts what never comes as far as the guard.
fn count(request: &Request<Body>) {
    if let Some(visit) = request.extensions().get::<Visit>() {
        visit.count_asked();
    }
}

/// The answer to whoever comes for anything else.
fn told() -> Response<Body> {
    let mut answer = Response::new(Body::new(Full::from(SAYS)));
    *answer.status_mut() = StatusCode::UNSUPPORTED_MEDIA_TYPE;
    let text = HeaderValue::from_static("text/plain; charset=utf-8");
    answer.headers_mut().insert(CONTENT_TYPE, text);
    answer
}
