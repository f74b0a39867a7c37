//! The service in the client's own process: the same edge over a pipe in memory, on a book of one's
//! own.
//!
//! It serves people who work alone: no port, no set-up. It starts nothing that one command does not
//! need, and lets go of the book when it is closed.

mod house;
mod in_process;
#[cfg(unix)]
mod socket;

use std::io;
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicI64, Ordering};

use fettlebook_model::Moment;
use hyper_util::rt::TokioIo;
use tokio::io::{AsyncRead, AsyncWrite};
use tokio::sync::oneshot;
use tokio::task::JoinHandle;
use tokio_stream::StreamExt as _;
use tonic::transport::{Channel, Endpoint, Server};
use uuid::Uuid;

use crate::desk::{Clock, Desk, DeskError, DeskOptions, OpenError, OpenReport};
use crate::edge::{Caller, Edge, readable};
use crate::limits::{DRAIN_WAIT_MAX, PIPE_BYTES};
use crate::serve::ServeError;
use crate::store::FolderStore;

pub use in_process::InProcess;

/// Who reports what is recorded this way.
const REPORTED_BY: &str = "solo";

/// Why the service could not be started in this process.
#[derive(Debug, thiserror::Error)]
pub enum NotStarted {
    /// The book could not be opened.
    #[error(transparent)]
    Open(#[from] OpenError),
    /// The runtime was stopped meanwhile.
    #[error("The book cannot be opened: {0}.")]
    Runtime(#[from] tokio::task::JoinError),
    /// It could not be served to others.
    #[error(transparent)]
    Serve(#[from] ServeError),
    /// There is no address in a network that a telephone could reach.
    #[error(
        "This machine has no address in a network, so no telephone reaches it. Join the network that the telephone is in, or name an address with --listen."
    )]
    NoNetwork,
    /// The pipe could not be connected.
    #[error("The service in this process cannot be reached: {0}.")]
    Connect(#[from] tonic::transport::Error),
}

/// A service that runs in this process.
pub struct SoloService {
    channel: Channel,
    report: OpenReport,
    desk: Desk,
    drain: oneshot::Sender<()>,
    server: JoinHandle<Result<(), tonic::transport::Error>>,
}

/// Opens the book in a folder, begins one where there is none, and serves it in this process.
///
/// # Errors
/// When the book cannot be opened, for example because another process still holds it after five
/// seconds.
pub async fn open(folder: &Path, options: DeskOptions) -> Result<SoloService, NotStarted> {
    let store = Arc::new(FolderStore::at(folder));
    let opening = tokio::task::spawn_blocking(move || Desk::open(store, &options));
    let (desk, report) = opening.await??;
    serve(desk, report, Caller::owner(REPORTED_BY)).await
}

/// Opens the copy of a shop's book in a folder and serves it in this process, as the shop would serve
/// the device that made it: reads are answered, and deeds that can be kept are imagined.
///
/// # Errors
/// When there is no copy, when it is damaged, or when another process still holds it after five
/// seconds.
pub async fn open_copy(folder: &Path, clock: Arc<dyn Clock>) -> Result<SoloService, NotStarted> {
    let options = DeskOptions::new(clock, Uuid::nil());
    let folder = folder.to_owned();
    let opening = tokio::task::spawn_blocking(move || Desk::open_copy(&folder, &options));
    let (desk, of, report) = opening.await??;
    let caller = Caller {
        name: of.caller.into(),
        role: of.role,
        place: "".into(),
        tag_letter: None,
        office: None,
    };
    serve(desk, report, caller).await
}

/// Serves a desk to one caller.
pub(crate) async fn serve(
    desk: Desk,
    report: OpenReport,
    caller: Caller,
) -> Result<SoloService, NotStarted> {
    let edge = Edge::new(desk.clone(), caller);
    serve_edge(desk, report, &edge).await
}

/// Serves a desk by these services.
async fn serve_edge(
    desk: Desk,
    report: OpenReport,
    edge: &Edge,
) -> Result<SoloService, NotStarted> {
    let (near, far) = tokio::io::duplex(PIPE_BYTES);
    let (drain, draining) = oneshot::channel::<()>();
    let router = Server::builder()
        .layer(readable())
        .layer(edge.guard())
        .add_routes(edge.routes());
    let incoming = tokio_stream::once(Ok::<_, io::Error>(far)).chain(tokio_stream::pending());
    let server = tokio::spawn(router.serve_with_incoming_shutdown(incoming, async {
        let _ = draining.await;
    }));
    let channel = connect(near).await?;
    Ok(SoloService {
        channel,
        report,
        desk,
        drain,
        server,
    })
}

/// A channel over one end of a pipe or socket. It connects once; there is nothing to connect to again.
async fn connect<S>(near: S) -> Result<Channel, tonic::transport::Error>
where
    S: AsyncRead + AsyncWrite + Send + Unpin + 'static,
{
    let mut near = Some(near);
    let connector = tower::service_fn(move |_| {
        let near = near.take().map(TokioIo::new);
        let gone = || {
            io::Error::new(
                io::ErrorKind::BrokenPipe,
                "the service in this process ended",
            )
        };
        std::future::ready(near.ok_or_else(gone))
    });
    Endpoint::from_static("http://solo")
        .connect_with_connector(connector)
        .await
}

impl SoloService {
    /// The way to the service.
    pub fn channel(&self) -> Channel {
        self.channel.clone()
    }

    /// What was found on opening the book.
    pub const fn report(&self) -> &OpenReport {
        &self.report
    }

    /// Lets requests in flight finish, for ten seconds at most, and closes the book.
    ///
    /// # Errors
    /// When the book does not close in time. What was acknowledged is kept.
    pub async fn close(self) -> Result<(), DeskError> {
        drop(self.channel);
        let _ = self.drain.send(());
        // A service that failed or hangs is no reason not to close the book.
        let _ = tokio::time::timeout(DRAIN_WAIT_MAX, self.server).await;
        self.desk.close().await
    }
}

/// A clock that others set, in microseconds since 1970, UTC: for telling a story.
#[derive(Debug)]
pub struct StoryClock(Arc<AtomicI64>);

impl StoryClock {
    /// A clock that shows what this holds.
    pub const fn new(moment_us: Arc<AtomicI64>) -> Self {
        Self(moment_us)
    }
}

impl Clock for StoryClock {
    fn now(&self) -> Moment {
        Moment::from_microsecond(self.0.load(Ordering::SeqCst)).unwrap_or_default()
    }
}
