//! A span around every request: method, request id, outcome and time.
//!
//! It serves whoever reads the log of a service. What a person asked for and what they were told is
//! logged at levels that a quiet day does not print; what is the service's own fault always is.

use std::future::Future;
use std::pin::Pin;
use std::task::{Context, Poll};
use std::time::{Duration, Instant};

use tonic::body::Body;
use tonic::codegen::http::{Request, Response};
use tonic::{Code, Status};
use tower::{Layer, Service};
use tracing::field::Empty;
use tracing::{Instrument, debug, error, info, info_span};

/// Puts a span around every request.
#[derive(Debug, Clone, Copy, Default)]
pub struct TracedLayer;

impl<S> Layer<S> for TracedLayer {
    type Service = Traced<S>;

    fn layer(&self, inner: S) -> Traced<S> {
        Traced(inner)
    }
}

/// A service with a span around every request.
#[derive(Debug, Clone)]
pub struct Traced<S>(S);

impl<S> Service<Request<Body>> for Traced<S>
where
    S: Service<Request<Body>, Response = Response<Body>>,
    S::Future: Send + 'static,
{
    type Response = S::Response;
    type Error = S::Error;
    type Future = Pin<Box<dyn Future<Output = Result<S::Response, S::Error>> + Send>>;

    fn poll_ready(&mut self, context: &mut Context<'_>) -> Poll<Result<(), S::Error>> {
        self.0.poll_ready(context)
    }

    fn call(&mut self, request: Request<Body>) -> Self::Future {
        let start = Instant::now();
        let method = request.uri().path().trim_start_matches('/');
        let span = info_span!("request", method, request_id = Empty);
        let answer = self.0.call(request);
        let told = async move {
            let response = answer.await?;
            tell(&response, start.elapsed());
            Ok(response)
        };
        Box::pin(told.instrument(span))
    }
}

fn tell(response: &Response<Body>, time: Duration) {
    let time_us = u64::try_from(time.as_micros()).unwrap_or(u64::MAX);
    let status = response.extensions().get::<Status>();
    let (code, why) = status.map_or((Code::Ok, ""), |status| (status.code(), status.message()));
    match code {
        Code::Ok => debug!(?code, time_us, "answered"),
        Code::Unknown | Code::Internal | Code::Unavailable | Code::DataLoss => {
            error!(?code, time_us, why, "failed");
        }
        _ => info!(?code, time_us, why, "refused"),
    }
}
