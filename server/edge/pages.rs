//! Calls of pages: gRPC-Web, over HTTP/1.1 or HTTP/2, turned into ordinary calls on their way in, and their
//! answers turned back. What a browser itself asks for goes to the page at the bench, where there is one.
//!
//! Invariant: a page shows a token, whatever it asks for and wherever it runs: any page that a person
//! opens can reach this machine. A browser lets only those pages read an answer whose origin was named.

use std::convert::Infallible;
use std::future::{Future, ready};
use std::pin::Pin;
use std::task::{Context, Poll, ready as in_hand};

use fettlebook_contract::{PLACE, ROLE, TAG_LETTER};
use http_body_util::Full;
use tonic::body::Body;
use tonic::codegen::http::header::{AUTHORIZATION, CONTENT_TYPE, HeaderName, HeaderValue};
use tonic::codegen::http::{Method, Request, Response, StatusCode, Version};
use tonic_web::{GrpcWebLayer, GrpcWebService};
use tower::util::BoxCloneSyncService;
use tower::{Layer, Service, ServiceExt as _};
use tower_http::cors::{AllowOrigin, Cors, CorsLayer};

use super::visit::Visit;
use crate::limits::PREFLIGHT_KEPT_FOR;

/// How the type of what a page sends begins. Source: gRPC-Web, "Protocol differences vs gRPC over HTTP2".
const PAGE_TYPE: &[u8] = b"application/grpc-web";

/// The type of what a form sends. Source: HTML, "form submission".
const FORM_TYPE: &[u8] = b"application/x-www-form-urlencoded";

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
                    and show their token, and browsers, with the page at the bench.\n";

/// What answers browsers.
pub type BenchPage = BoxCloneSyncService<Request<Body>, Response<Body>, Infallible>;

/// In a request: a page sent it.
#[derive(Debug, Clone, Copy)]
pub(super) struct OfPage;

/// Lets pages call, beside everyone else.
#[derive(Clone)]
pub struct PagesLayer {
    cors: CorsLayer,
    bench: Option<BenchPage>,
}

impl PagesLayer {
    /// Pages of these origins may read answers in a browser; with none no page of another origin can.
    pub fn new(origins: &[HeaderValue]) -> Self {
        let bench = None;
        if origins.is_empty() {
            let cors = CorsLayer::new();
            return Self { cors, bench };
        }
        let cors = CorsLayer::new()
            .allow_origin(AllowOrigin::list(origins.iter().cloned()))
            .allow_methods([Method::POST])
            .allow_headers(SENT)
            .expose_headers(READ)
            .max_age(PREFLIGHT_KEPT_FOR);
        Self { cors, bench }
    }

    /// The same, with this for browsers.
    #[must_use]
    pub fn with_bench(self, page: BenchPage) -> Self {
        Self {
            bench: Some(page),
            ..self
        }
    }
}

impl<S: Clone> Layer<S> for PagesLayer {
    type Service = Paged<S>;

    fn layer(&self, inner: S) -> Paged<S> {
        Paged {
            page: self.cors.layer(GrpcWebLayer::new().layer(inner.clone())),
            bench: self.bench.clone(),
            inner,
        }
    }
}

/// Services that pages call too.
#[derive(Clone)]
pub struct Paged<S> {
    inner: S,
    page: Page<S>,
    bench: Option<BenchPage>,
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
        match (Sort::of(&request), &self.bench) {
            (Sort::Browser, Some(bench)) => {
                count(&request);
                let answer = bench.clone().oneshot(request);
                Box::pin(async {
                    match answer.await {
                        Ok(answer) => Ok(answer),
                        Err(never) => match never {},
                    }
                })
            }
            (Sort::Ordinary, _) => self.inner.call(request),
            (Sort::Browser, None) if request.version() == Version::HTTP_2 => {
                self.inner.call(request)
            }
            (Sort::Page, _) => {
                request.extensions_mut().insert(OfPage);
                Box::pin(self.page.call(request))
            }
            (Sort::Preflight, _) => {
                count(&request);
                Box::pin(self.page.call(request))
            }
            (Sort::Browser | Sort::Other, _) => {
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
    /// What a browser asks for by itself: a page, or a form that it sends.
    Browser,
    /// Nothing that is answered here.
    Other,
}

impl Sort {
    fn of(request: &Request<Body>) -> Self {
        let kind = request.headers().get(CONTENT_TYPE);
        let begins = |with: &[u8]| kind.is_some_and(|kind| kind.as_bytes().starts_with(with));
        let method = request.method();
        if begins(PAGE_TYPE) {
            Self::Page
        } else if method == Method::OPTIONS {
            Self::Preflight
        } else if [Method::GET, Method::HEAD].contains(method) || begins(FORM_TYPE) {
            Self::Browser
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
