//! What stands in front of every rpc: the guard of the one book there is, or the router to those of a node.

use std::convert::Infallible;
use std::future::Future;
use std::pin::Pin;

use tonic::body::Body;
use tonic::codegen::http::{Request, Response};
use tower::Service;
use tower::util::Either;

use super::guard::GuardLayer;
use super::router::Router;

/// The guard of the one book there is, or the router to the books of a node.
pub type Front = Either<GuardLayer, Router>;

/// An answer that is on its way.
pub(super) type Answering =
    Pin<Box<dyn Future<Output = Result<Response<Body>, Infallible>> + Send>>;

/// Services that something stands in front of.
pub trait Behind:
    Service<Request<Body>, Response = Response<Body>, Error = Infallible, Future: Send + 'static>
    + Clone
    + Send
    + 'static
{
}

impl<S> Behind for S where
    S: Service<
            Request<Body>,
            Response = Response<Body>,
            Error = Infallible,
            Future: Send + 'static,
        > + Clone
        + Send
        + 'static
{
}
