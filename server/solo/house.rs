//! The service of somebody who works alone, for a telephone in the same house: over TLS to paired devices, the page at
//! the bench among what they get, and to other commands of the same person meanwhile.
//!
//! Invariant: whatever address it listens on, devices get nothing without TLS and a token.

use std::net::{IpAddr, Ipv4Addr, SocketAddr};
#[cfg(not(unix))]
use std::path::Path;
use std::sync::Arc;

use fettlebook_solo::{Local, SoloError, SoloListen, SoloServe, SoloServed, SoloSession};
use tokio::net::TcpListener;
use tokio::sync::oneshot;
use tokio::task::JoinHandle;

use super::in_process::notices;
use super::{NotStarted, REPORTED_BY, SoloService, serve_edge};
use crate::access::ServiceNote;
use crate::desk::{Desk, DeskOptions, OpenReport};
use crate::edge::{Caller, Edge};
use crate::limits::DRAIN_WAIT_MAX;
use crate::serve::{Door, ServeError, bind, serve_devices, stop_signal};
use crate::store::FolderStore;

/// The port where nobody names one, which a code leaves out.
const PORT: u16 = fettlebook_contract::pairing::PORT_USUAL;

/// Opens the book and serves it.
///
/// # Errors
/// When it cannot be opened, nothing can listen there, or the certificate cannot be served.
pub(super) async fn serve(
    asked: &SoloServe,
    options: DeskOptions,
) -> Result<SoloServed, NotStarted> {
    let stop = stop_signal().map_err(ServeError::Runtime)?;
    let listener = bind(address(asked.listen)?).await?;
    let store = Arc::new(FolderStore::at(&asked.folder));
    let opening = tokio::task::spawn_blocking(move || Desk::open(store, &options));
    let (desk, report) = opening.await??;
    let opened = open(asked, listener, &desk, report).await;
    let Opened {
        service,
        devices,
        drain,
        socket,
        address,
        mut notices,
    } = match opened {
        Ok(opened) => opened,
        Err(error) => {
            // What was acknowledged is on the disk already, however the book closes.
            let _ = desk.close().await;
            return Err(error);
        }
    };
    let (ended, service_ended) = oneshot::channel();
    let devices = tokio::spawn(async move {
        let served = match devices.await {
            Ok(served) => served.map_err(NotStarted::from),
            Err(error) => Err(NotStarted::from(error)),
        };
        // Nobody listens once a person has asked it to end.
        let _ = ended.send(served);
    });
    notices.extend(socket.as_ref().err().map(unreached));
    let asked_to_end: Local<'static, Result<(), SoloError>> = Box::pin(async move {
        tokio::select! {
            () = stop => Ok(()),
            Ok(served) = service_ended => served.map_err(SoloError::from),
        }
    });
    let session = SoloSession {
        channel: service.channel(),
        notices,
        finish: Box::pin(async move {
            drop(drain);
            let _ = tokio::time::timeout(DRAIN_WAIT_MAX, devices).await;
            if let Ok(socket) = socket {
                socket.close().await;
            }
            let _ = service.close().await;
        }),
    };
    Ok(SoloServed {
        session,
        address,
        asked_to_end,
    })
}

/// What serves a book that is open.
struct Opened {
    service: SoloService,
    devices: JoinHandle<Result<(), ServeError>>,
    /// The service for devices ends when this is dropped.
    drain: oneshot::Sender<()>,
    socket: std::io::Result<Socket>,
    address: String,
    notices: Vec<String>,
}

async fn open(
    asked: &SoloServe,
    listener: TcpListener,
    desk: &Desk,
    report: OpenReport,
) -> Result<Opened, NotStarted> {
    let listens = listener.local_addr().map_err(ServeError::Runtime)?;
    let given = asked.certificate.as_ref();
    let given = given.map(|(chain, key)| (chain.as_path(), key.as_path()));
    let door = Door::of_book(desk, listens, given)?;
    let address = ServiceNote::new(listens, door.fingerprint).address;
    let edge = Edge::new(desk.clone(), Caller::owner(REPORTED_BY));
    let edge = edge.with_devices(Arc::clone(&door.access));
    let notices = notices(&report);
    let service = serve_edge(desk.clone(), report, &edge).await?;
    let socket = Socket::serve(&asked.folder, &edge);
    let (drain, draining) = oneshot::channel::<()>();
    let served = desk.clone();
    let devices = tokio::spawn(async move {
        let stop = async {
            let _ = draining.await;
        };
        serve_devices(listener, &served, door, stop).await
    });
    Ok(Opened {
        service,
        devices,
        drain,
        socket,
        address,
        notices,
    })
}

/// The address to listen on.
fn address(listen: SoloListen) -> Result<SocketAddr, NotStarted> {
    let ip = match listen {
        SoloListen::At(address) => return Ok(address),
        SoloListen::Here => Ipv4Addr::LOCALHOST.into(),
        SoloListen::Found => found(ServiceNote::reached_at(Ipv4Addr::UNSPECIFIED.into()))?,
    };
    Ok(SocketAddr::new(ip, PORT))
}

/// An address that others reach.
fn found(ip: IpAddr) -> Result<IpAddr, NotStarted> {
    if ip.is_loopback() {
        return Err(NotStarted::NoNetwork);
    }
    Ok(ip)
}

fn unreached(error: &std::io::Error) -> String {
    format!("Other commands cannot use the book until this one ends: {error}.")
}

#[cfg(unix)]
use super::socket::Socket;

/// Nobody else is let in beside devices.
#[cfg(not(unix))]
struct Socket;

#[cfg(not(unix))]
impl Socket {
    fn serve(_: &Path, _: &Edge) -> std::io::Result<Self> {
        Err(std::io::ErrorKind::Unsupported.into())
    }

    async fn close(self) {}
}
