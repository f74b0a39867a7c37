//! What carries calls: a server with every limit set, health and reflection beside the services, and an end that
//! lets requests in flight finish.

use std::future::Future;

use fettlebook_contract::DESCRIBED_SET;
use tokio::sync::oneshot;
use tonic::service::Routes;
use tonic::transport::Server;
use tonic_health::pb::health_server::HealthServer;
use tonic_health::server::HealthService;
use tower::layer::util::{Identity, Stack};

use super::ServeError;
use super::incoming::Incoming;
use crate::edge::{Front, PagesLayer, TracedLayer, readable};
use crate::limits::{
    CONNECTION_WINDOW_BYTES, DRAIN_WAIT_MAX, FRAME_BYTES_MAX, HEADER_BYTES_MAX, KEEPALIVE_AFTER,
    KEEPALIVE_WAIT_MAX, REFUSALS_WINDOW, REQUEST_TIME_MAX, STREAMS_PER_CONNECTION_MAX,
};
use crate::meters::Meters;

/// What is carried, and how.
pub(super) struct Carried {
    pub(super) incoming: Incoming,
    pub(super) server: Limited,
    pub(super) front: Front,
    pub(super) routes: Routes,
    pub(super) meters: Meters,
}

impl Carried {
    /// Serves until `stop`, then leaves, and lets requests in flight finish, for ten seconds at most. What goes
    /// on beside it never ends by itself.
    pub(super) async fn serve(
        self,
        health: HealthServer<HealthService>,
        beside: impl Future<Output = ()>,
        leave: impl Future<Output = ()>,
        stop: impl Future<Output = ()>,
    ) -> Result<(), ServeError> {
        let (drain, draining) = oneshot::channel::<()>();
        let reflection = || {
            tonic_reflection::server::Builder::configure()
                .register_encoded_file_descriptor_set(DESCRIBED_SET)
                .register_encoded_file_descriptor_set(tonic_health::pb::FILE_DESCRIPTOR_SET)
                .register_encoded_file_descriptor_set(tonic_types::pb::FILE_DESCRIPTOR_SET)
        };
        let meters = self.meters;
        let router = self
            .server
            .layer(TracedLayer::new(meters.clone()))
            .layer(readable())
            .layer(self.front)
            .add_routes(self.routes)
            .add_service(health)
            .add_optional_service(reflection().build_v1().ok())
            .add_optional_service(reflection().build_v1alpha().ok());
        let serving = router.serve_with_incoming_shutdown(self.incoming, async {
            let _ = draining.await;
        });
        let bounded = async {
            stop.await;
            tracing::info!("stopping");
            leave.await;
            let _ = drain.send(());
            tokio::time::sleep(DRAIN_WAIT_MAX).await;
        };
        let mut now_and_then = tokio::time::interval(REFUSALS_WINDOW);
        let telling = async {
            loop {
                now_and_then.tick().await;
                meters.log_limit().tell_rest();
            }
        };
        tokio::select! {
            served = serving => Ok(served?),
            () = telling => Ok(()),
            () = beside => Ok(()),
            () = bounded => {
                tracing::warn!("connections were still open after {DRAIN_WAIT_MAX:?} and were cut");
                Ok(())
            }
        }
    }
}

/// A server with every limit set, which lets pages call too.
pub(super) type Limited = Server<Stack<PagesLayer, Identity>>;

/// A server with every limit set, and what pages may do there. Only one that takes HTTP/1.1 hears the pages that
/// browsers send over it.
pub(super) fn limited(stream_window_bytes: u32, pages: PagesLayer) -> Limited {
    Server::builder()
        .timeout(REQUEST_TIME_MAX)
        .max_concurrent_streams(STREAMS_PER_CONNECTION_MAX)
        .initial_stream_window_size(stream_window_bytes)
        .initial_connection_window_size(CONNECTION_WINDOW_BYTES)
        .max_frame_size(FRAME_BYTES_MAX)
        .http2_max_header_list_size(HEADER_BYTES_MAX)
        .http2_keepalive_interval(Some(KEEPALIVE_AFTER))
        .http2_keepalive_timeout(Some(KEEPALIVE_WAIT_MAX))
        .layer(pages)
}
