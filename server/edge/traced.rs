//! A span and a meter around every request: method, request id, who asked and from where, outcome
//! and time.
//!
//! It serves whoever reads the log of a service or its metrics. What a person asked for and what they
//! were told is logged at levels that a quiet day does not print; what is the service's own fault
//! always is. A stream counts until it ends.

mod ending;

use std::future::Future;
use std::pin::Pin;
use std::task::{Context, Poll};
use std::time::Instant;

use tonic::body::Body;
use tonic::codegen::http::{Request, Response};
use tower::{Layer, Service};
use tracing::field::{Empty, display};
use tracing::{Instrument, error_span};

use super::methods;
use super::visit::Visit;
use crate::meters::Meters;

use ending::Flight;

/// Puts a span and a meter around every request.
#[derive(Debug, Clone)]
pub struct TracedLayer(Meters);

impl TracedLayer {
    /// A layer that fills these meters.
    pub const fn new(meters: Meters) -> Self {
        Self(meters)
    }
}

impl<S> Layer<S> for TracedLayer {
    type Service = Traced<S>;

    fn layer(&self, inner: S) -> Traced<S> {
        Traced {
            inner,
            meters: self.0.clone(),
        }
    }
}

/// A service with a span and a meter around every request.
#[derive(Debug, Clone)]
pub struct Traced<S> {
    inner: S,
    meters: Meters,
}

impl<S> Service<Request<Body>> for Traced<S>
where
    S: Service<Request<Body>, Response = Response<Body>>,
    S::Future: Send + 'static,
{
    type Response = S::Response;
    type Error = S::Error;
    type Future = Pin<Box<dyn Future<Output = Result<S::Response, S::Error>> + Send>>;

    fn poll_ready(&mut self, context: &mut Context<'_>) -> Poll<Result<(), S::Error>> {
        self.inner.poll_ready(context)
    }

    fn call(&mut self, request: Request<Body>) -> Self::Future {
        let start = Instant::now();
        let method = request.uri().path().trim_start_matches('/');
        let meter = self.meters.request(methods::known(method));
        // The level of the worst that is logged inside, or that line would lack the request id.
        let span = error_span!(
            "request",
            method,
            request_id = Empty,
            caller = Empty,
            from = Empty,
            code = Empty
        );
        let from = request.extensions().get().map(Visit::from);
        if let Some(from) = from {
            span.record("from", display(from));
        }
        let log_limit = from.map(|from| (from, self.meters.log_limit().clone()));
        let flight = Flight::new(meter, span.clone(), start, log_limit);
        // Who is refused at once is so within this call.
        let answer = span.in_scope(|| self.inner.call(request));
        let told = async move { Ok(flight.follow(answer.await?)) };
        Box::pin(told.instrument(span))
    }
}
