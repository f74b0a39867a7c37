//! The `fettled` service: open a book, listen, serve until told to stop, close.
//!
//! It serves clients on this machine over TCP. A damaged book is served read-only rather than not at
//! all; what was acknowledged is on the disk whenever this ends, however it ends.

use std::ffi::OsString;
use std::future::Future;
use std::io::{self, Write as _};
use std::net::SocketAddr;
use std::process::ExitCode;
use std::sync::Arc;

use clap::Parser as _;
use fettlebook_contract::DESCRIPTOR_SET;
use fettlebook_contract::v1::book_service_server::BookServiceServer;
use fettlebook_contract::v1::job_service_server::JobServiceServer;
use fettlebook_contract::v1::kit_service_server::KitServiceServer;
use fettlebook_contract::v1::supply_service_server::SupplyServiceServer;
use tokio::net::TcpListener;
use tokio::sync::oneshot;
use tonic::transport::Server;
use uuid::Uuid;

mod incoming;
mod log;
mod metrics;
#[cfg(feature = "otel")]
mod traces;

use crate::args::{Args, LogFormat};
use crate::desk::{Desk, DeskOptions, OpenError, OpenReport, ShelfFound, SystemClock};
use crate::edge::{Caller, Edge, TracedLayer, readable};
use crate::limits::{
    CONNECTION_WINDOW_BYTES, CONNECTIONS_MAX, DRAIN_WAIT_MAX, FRAME_BYTES_MAX, HEADER_BYTES_MAX,
    KEEPALIVE_AFTER, KEEPALIVE_WAIT_MAX, PREFACE_WAIT_MAX, REQUEST_TIME_MAX, STREAM_WINDOW_BYTES,
    STREAMS_PER_CONNECTION_MAX,
};

use incoming::Incoming;

/// Who reports what comes in over TCP, until devices have names.
const REPORTED_BY: &str = "local";

/// Why the service did not start or did not end as it should.
#[derive(Debug, thiserror::Error)]
pub enum ServeError {
    /// The book could not be opened.
    #[error(transparent)]
    Open(#[from] OpenError),
    /// The address could not be listened on.
    #[error("Nothing can listen on {address}: {source}. Stop what does, or choose another port.")]
    Listen {
        /// The address.
        address: SocketAddr,
        /// What the system said.
        source: io::Error,
    },
    /// The system gave no threads, or took one away.
    #[error("The service cannot run: {0}.")]
    Runtime(io::Error),
    /// The transport failed.
    #[error("The service stopped: {0}.")]
    Transport(#[from] tonic::transport::Error),
}

impl ServeError {
    /// The exit code: 5 for a book in use, 8 for damage, 1 for anything else.
    fn exit_code(&self) -> u8 {
        match self {
            Self::Open(OpenError::InUse { .. }) => 5,
            Self::Open(
                OpenError::NoIdentity { .. }
                | OpenError::NoJournal { .. }
                | OpenError::Identity { .. },
            ) => 8,
            _ => 1,
        }
    }
}

/// Runs the service by the arguments given, the program's own name first, until SIGINT or SIGTERM.
pub fn run(args: impl IntoIterator<Item = OsString>) -> ExitCode {
    let args = match Args::try_parse_from(args) {
        Ok(args) => args,
        Err(error) => {
            // A terminal that is gone is no reason to end otherwise.
            let _ = error.print();
            return if error.use_stderr() {
                ExitCode::from(2)
            } else {
                ExitCode::SUCCESS
            };
        }
    };
    let _log = log::start(&args);
    match serve(&args) {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            tell_end(&error, args.log_format);
            ExitCode::from(error.exit_code())
        }
    }
}

/// Says why it ended: a line for people, or a line of the log for programs.
fn tell_end(error: &ServeError, form: LogFormat) {
    match form {
        // A terminal that is gone is no reason to end otherwise.
        LogFormat::Text => drop(writeln!(io::stderr().lock(), "fettled: {error}")),
        LogFormat::Json => tracing::error!("{error}"),
    }
}

fn serve(args: &Args) -> Result<(), ServeError> {
    let runtime = tokio::runtime::Runtime::new().map_err(ServeError::Runtime)?;
    runtime.block_on(async {
        let stop = stop_signal().map_err(ServeError::Runtime)?;
        let desk = open(args).await?;
        let listener = bind(args.listen).await?;
        let measured = match args.metrics {
            Some(address) => Some(bind(address).await?),
            None => None,
        };
        announce(&listener, measured.as_ref()).map_err(ServeError::Runtime)?;
        if let Some(listener) = measured {
            let page = metrics::Page::new(desk.clone(), &args.book);
            // Ends with the runtime.
            tokio::spawn(metrics::answer(listener, Arc::new(page)));
        }
        let served = serve_on(listener, &desk, stop).await;
        if let Err(error) = desk.close().await {
            tracing::error!("{error}");
        }
        tracing::info!("the book is closed");
        served
    })
}

async fn open(args: &Args) -> Result<Desk, ServeError> {
    let options = DeskOptions::new(Arc::new(SystemClock), Uuid::now_v7());
    let folder = args.book.clone();
    let opening = tokio::task::spawn_blocking(move || Desk::open(&folder, &options));
    let (desk, report) = opening
        .await
        .map_err(|error| ServeError::Runtime(error.into()))??;
    tell_report(&desk, &report);
    Ok(desk)
}

fn tell_report(desk: &Desk, report: &OpenReport) {
    let standing = desk.standing();
    tracing::info!(book = %standing.identity.book_id, head = standing.head.seq.0, "the book is open");
    if let ShelfFound::Rebuilt { why } = &report.shelf {
        tracing::info!(%why, "the shelf was built again from the journal");
    }
    if let Some(reason) = &report.read_only {
        tracing::error!(%reason, "the book is read-only: it can be read, nothing can be recorded");
    }
}

async fn bind(address: SocketAddr) -> Result<TcpListener, ServeError> {
    TcpListener::bind(address)
        .await
        .map_err(|source| ServeError::Listen { address, source })
}

/// Says on standard output where the service is, and its metrics, once they can be reached.
fn announce(listener: &TcpListener, measured: Option<&TcpListener>) -> io::Result<()> {
    let address = listener.local_addr()?;
    tracing::info!(%address, "listening");
    let mut out = io::stdout().lock();
    writeln!(out, "fettled listens on http://{address}")?;
    if let Some(measured) = measured {
        let address = measured.local_addr()?;
        tracing::info!(%address, "metrics can be read");
        writeln!(out, "fettled tells its metrics on http://{address}/metrics")?;
    }
    out.flush()
}

/// Serves a desk to whoever connects, until `stop`; then lets requests in flight finish, for ten
/// seconds at most.
///
/// # Errors
/// When the transport fails.
pub async fn serve_on(
    listener: TcpListener,
    desk: &Desk,
    stop: impl Future<Output = ()>,
) -> Result<(), ServeError> {
    let incoming = Incoming::new(listener, CONNECTIONS_MAX, PREFACE_WAIT_MAX)
        .counted_by(desk.meters().clone());
    let (drain, draining) = oneshot::channel::<()>();
    let edge = Edge::new(desk.clone(), Caller::owner(REPORTED_BY));
    let routes = edge.routes();
    let (reporter, health) = tonic_health::server::health_reporter();
    reporter.set_serving::<KitServiceServer<Edge>>().await;
    reporter.set_serving::<JobServiceServer<Edge>>().await;
    reporter.set_serving::<BookServiceServer<Edge>>().await;
    reporter.set_serving::<SupplyServiceServer<Edge>>().await;
    let reflection = || {
        tonic_reflection::server::Builder::configure()
            .register_encoded_file_descriptor_set(DESCRIPTOR_SET)
            .register_encoded_file_descriptor_set(tonic_health::pb::FILE_DESCRIPTOR_SET)
    };
    let router = server()
        .layer(TracedLayer::new(desk.meters().clone()))
        .layer(readable())
        .add_routes(routes)
        .add_service(health)
        .add_optional_service(reflection().build_v1().ok())
        .add_optional_service(reflection().build_v1alpha().ok());
    let serving = router.serve_with_incoming_shutdown(incoming, async {
        let _ = draining.await;
    });
    let bounded = async {
        stop.await;
        tracing::info!("stopping");
        // Or their connections would never be done.
        edge.end_watches();
        let _ = drain.send(());
        tokio::time::sleep(DRAIN_WAIT_MAX).await;
    };
    tokio::select! {
        served = serving => Ok(served?),
        () = bounded => {
            tracing::warn!("connections were still open after {DRAIN_WAIT_MAX:?} and were cut");
            Ok(())
        }
    }
}

/// A server with every limit set.
fn server() -> Server {
    Server::builder()
        .timeout(REQUEST_TIME_MAX)
        .max_concurrent_streams(STREAMS_PER_CONNECTION_MAX)
        .initial_stream_window_size(STREAM_WINDOW_BYTES)
        .initial_connection_window_size(CONNECTION_WINDOW_BYTES)
        .max_frame_size(FRAME_BYTES_MAX)
        .http2_max_header_list_size(HEADER_BYTES_MAX)
        .http2_keepalive_interval(Some(KEEPALIVE_AFTER))
        .http2_keepalive_timeout(Some(KEEPALIVE_WAIT_MAX))
}

/// Comes true with the first SIGINT or SIGTERM. Listens from now on, so that none is missed.
#[cfg(unix)]
fn stop_signal() -> io::Result<impl Future<Output = ()>> {
    use tokio::signal::unix::{SignalKind, signal};
    let mut interrupt = signal(SignalKind::interrupt())?;
    let mut terminate = signal(SignalKind::terminate())?;
    Ok(async move {
        tokio::select! {
            _ = interrupt.recv() => {}
            _ = terminate.recv() => {}
        }
    })
}

/// Comes true with Ctrl-C.
#[cfg(not(unix))]
fn stop_signal() -> io::Result<impl Future<Output = ()>> {
    Ok(async {
        let _ = tokio::signal::ctrl_c().await;
    })
}
