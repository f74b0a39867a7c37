//! The page at the bench on this service: its calls pass the guard like everyone's.

#[cfg(test)]
mod tests;

use tower::Layer as _;
use tower::util::BoxCloneSyncService;

use crate::edge::{BenchPage, Edge, TracedLayer, readable};
use crate::meters::Meters;

/// The page, for a service that devices know by this certificate.
pub(crate) fn page(edge: &Edge, meters: &Meters, certificate: &[u8]) -> BenchPage {
    let guarded = edge.guard().layer(edge.routes());
    let contract = TracedLayer::new(meters.clone()).layer(readable().layer(guarded));
    fettlebook_page::page(BoxCloneSyncService::new(contract), certificate)
}
