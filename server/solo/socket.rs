//! A socket in the folder of a book, for other processes of whoever may use that folder, while one of them holds the
//! book.
//!
//! Invariant: the folder and the socket are their owner's alone, and so is the book behind them; nobody is asked for
//! a token there.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use tokio::net::{UnixListener, UnixStream};
use tokio::sync::oneshot;
use tokio::task::JoinHandle;
use tokio_stream::wrappers::UnixListenerStream;
use tonic::transport::{Channel, Server};

use super::connect;
use crate::edge::{Edge, readable};
use crate::limits::DRAIN_WAIT_MAX;

/// A socket that is listened on.
pub(super) struct Socket {
    path: PathBuf,
    drain: oneshot::Sender<()>,
    server: JoinHandle<Result<(), tonic::transport::Error>>,
}

/// Where it is, beside what else is of nobody else's business.
fn path(book: &Path) -> PathBuf {
    book.join("access/own.sock")
}

impl Socket {
    /// Serves these services to whoever may use the folder of the book, which this process holds.
    ///
    /// # Errors
    /// What the system says, for example that the way to the folder is too long for a socket.
    pub(super) fn serve(book: &Path, edge: &Edge) -> io::Result<Self> {
        let path = path(book);
        // One that a process has left which was killed: only who holds the book listens there.
        match fs::remove_file(&path) {
            Err(error) if error.kind() != io::ErrorKind::NotFound => return Err(error),
            _ => {}
        }
        let incoming = UnixListenerStream::new(UnixListener::bind(&path)?);
        let (drain, draining) = oneshot::channel::<()>();
        let router = Server::builder()
            .layer(readable())
            .layer(edge.guard())
            .add_routes(edge.routes());
        let server = tokio::spawn(router.serve_with_incoming_shutdown(incoming, async {
            let _ = draining.await;
        }));
        Ok(Self {
            path,
            drain,
            server,
        })
    }

    /// Lets requests in flight finish, for ten seconds at most.
    pub(super) async fn close(self) {
        // Whoever finds none opens the book itself, once it is let go of.
        let _ = fs::remove_file(&self.path);
        let _ = self.drain.send(());
        let _ = tokio::time::timeout(DRAIN_WAIT_MAX, self.server).await;
    }
}

/// The way to the service that another process has on a book.
pub(super) async fn reach(book: &Path) -> Option<Channel> {
    let path = path(book);
    if !path.exists() {
        return None;
    }
    connect(UnixStream::connect(path).await.ok()?).await.ok()
}
