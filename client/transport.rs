//! The way that requests take: straight to a service, or to a shop that may be out of reach.
//!
//! It serves every command without their knowing: they make the same calls on either. What a shop
//! needs beside that, keeping deeds, sending them on and looking at a copy, is below.

use std::future::{Future, poll_fn};
use std::pin::Pin;
use std::rc::Rc;
use std::task::{Context, Poll};

use tonic::body::Body;
use tonic::codegen::{Service, StdError, http};

pub(crate) mod copy;
pub(crate) mod delivery;
mod keep;
pub(crate) mod plain;
pub(crate) mod raw;
mod restored;
pub(crate) mod shop;
pub(crate) mod synced;
#[cfg(test)]
mod tests;

pub(crate) use plain::Plain;
pub(crate) use shop::ShopTransport;

/// A way to a book.
#[derive(Clone)]
pub(crate) enum Transport {
    /// To a service in this process or at an address.
    Plain(Plain),
    /// To a shop.
    Shop(Rc<ShopTransport>),
}

/// An answer on its way; it stays on the client's one thread.
pub(crate) type Answer = Pin<Box<dyn Future<Output = Result<http::Response<Body>, StdError>>>>;

impl Service<http::Request<Body>> for Transport {
    type Response = http::Response<Body>;
    type Error = StdError;
    type Future = Answer;

    /// Always ready: which connection a request needs is known only from the request.
    fn poll_ready(&mut self, _: &mut Context<'_>) -> Poll<Result<(), StdError>> {
        Poll::Ready(Ok(()))
    }

    fn call(&mut self, request: http::Request<Body>) -> Answer {
        match self.clone() {
            Self::Plain(plain) => Box::pin(async move { plain.send(request).await }),
            Self::Shop(shop) => Box::pin(async move { shop.answer(request).await }),
        }
    }
}

/// Sends a request on a connection that is made ready first.
async fn send_on<S>(
    mut service: S,
    request: http::Request<Body>,
) -> Result<http::Response<Body>, StdError>
where
    S: Service<http::Request<Body>, Response = http::Response<Body>>,
    S::Error: Into<StdError>,
{
    poll_fn(|cx| service.poll_ready(cx))
        .await
        .map_err(Into::into)?;
    service.call(request).await.map_err(Into::into)
}
