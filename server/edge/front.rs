//! What stands in front of every rpc: the guard of the one book there is, or the router to those of a node.

use std::convert::Infallible;
use std::future::Future;
use std::pin::Pin;
use std::task::{Context, Poll};

use tonic::body::Body;
use tonic::codegen::http::{Request, Response};
use tower::{Layer, Service};

use super::guard::{GuardLayer, Guarded};
use super::router::{Routed, Router};

/// An answer that is on its way.
type Answering = Pin<Box<dyn Future<Output = Result<Response<Body>, Infallible>> + Send>>;

/// What stands in front of every rpc of a service.
#[derive(Clone)]
pub enum Front {
    /// The guard of the one book there is.
    Guard(GuardLayer),
    /// A router to the books of a node.
    Router(Router),
}

impl<S> Layer<S> for Front {
    type Service = Fronted<S>;

    fn layer(&self, inner: S) -> Fronted<S> {
        match self {
            Self::Guard(guard) => Fronted::Guarded(guard.layer(inner)),
            Self::Router(router) => Fronted::Routed(router.layer(inner)),
        }
    }
}

/// Services behind a [`Front`].
#[derive(Clone)]
pub enum Fronted<S> {
    /// Behind a guard.
    Guarded(Guarded<S>),
    /// Behind a router.
    Routed(Routed<S>),
}

impl<S> Service<Request<Body>> for Fronted<S>
where
    S: Service<Request<Body>, Response = Response<Body>, Error = Infallible>
        + Clone
        + Send
        + 'static,
    S::Future: Send + 'static,
{
    type Response = Response<Body>;
    type Error = Infallible;
    type Future = Answering;

    fn poll_ready(&mut self, context: &mut Context<'_>) -> Poll<Result<(), Infallible>> {
        match self {
            Self::Guarded(service) => service.poll_ready(context),
            Self::Routed(service) => service.poll_ready(context),
        }
    }

    fn call(&mut self, request: Request<Body>) -> Answering {
        match self {
            Self::Guarded(service) => service.call(request),
            Self::Routed(service) => service.call(request),
        }
    }
}
