//! The page at the bench on this service: its calls pass the guard like everyone's.

#[cfg(test)]
mod tests;

use std::convert::Infallible;

use tonic::body::Body;
use tonic::codegen::http::{Request, Response};
use tower::util::BoxCloneSyncService;
use tower::{Layer as _, Service};

use crate::edge::{BenchPage, TracedLayer, readable};
use crate::meters::Meters;

/// The page on these services, which devices know by this certificate.
pub(crate) fn page<S>(
    services: S,
    meters: &Meters,
    certificate: impl Fn() -> Vec<u8> + Send + Sync + 'static,
) -> BenchPage
where
    S: Service<Request<Body>, Response = Response<Body>, Error = Infallible>
        + Clone
        + Send
        + Sync
        + 'static,
    S::Future: Send + 'static,
{
    let contract = TracedLayer::new(meters.clone()).layer(readable().layer(services));
    fettlebook_page::page(BoxCloneSyncService::new(contract), certificate)
}
