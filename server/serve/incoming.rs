//! Connections as they come in: so many at once, and none that keeps its place by saying nothing.
//!
//! It serves `serve_on` and its like. The transport bounds what one connection may do once it speaks
//! HTTP/2; here is what it leaves open. One connection too many, or one that is slow to be sealed,
//! must never cost the others anything.

use std::future::Future;
use std::io;
use std::pin::Pin;
use std::sync::Arc;
use std::task::{Context, Poll, ready};
use std::time::Duration;

use tokio::io::{AsyncRead, AsyncWrite, ReadBuf};
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::{OwnedSemaphorePermit, Semaphore};
use tokio::task::JoinSet;
use tokio::time::Sleep;
use tokio_rustls::TlsAcceptor;
use tokio_stream::Stream;
use tonic::transport::server::{Connected, TcpConnectInfo};

use super::wire::{PREFACE, Wire, seal};
use crate::limits::{ACCEPT_PAUSE, HANDSHAKE_WAIT_MAX};
use crate::meters::{Meters, Open};

/// The connections of a listener.
pub(super) struct Incoming {
    listener: TcpListener,
    room: Arc<Semaphore>,
    preface_wait_max: Duration,
    pause: Option<Pin<Box<Sleep>>>,
    meters: Meters,
    /// How connections are sealed, where they are.
    acceptor: Option<TlsAcceptor>,
    /// Connections that are being sealed, each with its place.
    sealing: JoinSet<Option<(Wire, OwnedSemaphorePermit)>>,
}

impl Incoming {
    /// Takes at most so many at once, and waits so long for each to say that it speaks HTTP/2.
    pub(super) fn new(listener: TcpListener, count_max: usize, preface_wait_max: Duration) -> Self {
        Self {
            listener,
            room: Arc::new(Semaphore::new(count_max)),
            preface_wait_max,
            pause: None,
            meters: Meters::default(),
            acceptor: None,
            sealing: JoinSet::new(),
        }
    }

    /// Has the connections counted by these meters.
    pub(super) fn counted_by(self, meters: Meters) -> Self {
        Self { meters, ..self }
    }

    /// The same, each sealed with TLS before it is handed over.
    pub(super) fn sealed(mut self, acceptor: TlsAcceptor) -> Self {
        self.acceptor = Some(acceptor);
        self
    }

    /// A connection with its place among those open, or nothing when there is no place left, or when
    /// it has to be sealed first.
    fn admit(&mut self, tcp: TcpStream) -> Option<Connection> {
        let Ok(place) = Arc::clone(&self.room).try_acquire_owned() else {
            tracing::warn!("as many connections as may be are open; one more was closed");
            return None;
        };
        if let Err(error) = tcp.set_nodelay(true) {
            tracing::debug!(%error, "a connection will answer late");
        }
        let Some(acceptor) = self.acceptor.clone() else {
            return Some(self.connection(Wire::Plain(tcp), place));
        };
        self.sealing.spawn(async move {
            let wire = seal(tcp, acceptor, HANDSHAKE_WAIT_MAX).await?;
            Some((wire, place))
        });
        None
    }

    fn connection(&self, wire: Wire, place: OwnedSemaphorePermit) -> Connection {
        Connection {
            wire,
            greeting: Some(Greeting {
                byte_count: 0,
                patience: Box::pin(tokio::time::sleep(self.preface_wait_max)),
            }),
            _place: place,
            _open: self.meters.connection(),
        }
    }

    /// The next connection that has been sealed; pending when none is being.
    fn poll_sealed(&mut self, context: &mut Context<'_>) -> Poll<Connection> {
        loop {
            match ready!(self.sealing.poll_join_next(context)) {
                Some(Ok(Some((wire, place)))) => {
                    return Poll::Ready(self.connection(wire, place));
                }
                Some(Ok(None)) => {}
                Some(Err(error)) => tracing::error!(%error, "sealing a connection broke off"),
                None => return Poll::Pending,
            }
        }
    }
}

impl Stream for Incoming {
    type Item = io::Result<Connection>;

    fn poll_next(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<Option<Self::Item>> {
        loop {
            if let Poll::Ready(connection) = self.poll_sealed(context) {
                return Poll::Ready(Some(Ok(connection)));
            }
            if let Some(pause) = &mut self.pause {
                ready!(pause.as_mut().poll(context));
                self.pause = None;
            }
            match ready!(self.listener.poll_accept(context)) {
                Ok((tcp, _)) => {
                    if let Some(connection) = self.admit(tcp) {
                        return Poll::Ready(Some(Ok(connection)));
                    }
                }
                Err(error) => {
                    tracing::warn!(%error, "a connection could not be taken");
                    self.pause = Some(Box::pin(tokio::time::sleep(ACCEPT_PAUSE)));
                }
            }
        }
    }
}

/// One connection. Its place is free again when it is dropped.
pub(super) struct Connection {
    wire: Wire,
    /// None once it has been said.
    greeting: Option<Greeting>,
    _place: OwnedSemaphorePermit,
    _open: Open,
}

/// What has come of a connection's first words, and how long they are waited for.
struct Greeting {
    byte_count: usize,
    patience: Pin<Box<Sleep>>,
}

impl AsyncRead for Connection {
    fn poll_read(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        buffer: &mut ReadBuf<'_>,
    ) -> Poll<io::Result<()>> {
        let before = buffer.filled().len();
        let read = Pin::new(&mut self.wire).poll_read(context, buffer);
        let Some(greeting) = &mut self.greeting else {
            return read;
        };
        if read.is_ready() {
            greeting.byte_count += buffer.filled().len() - before;
            if greeting.byte_count >= PREFACE.len() {
                self.greeting = None;
            }
            return read;
        }
        ready!(greeting.patience.as_mut().poll(context));
        tracing::debug!("a connection that said nothing was closed");
        Poll::Ready(Err(io::ErrorKind::TimedOut.into()))
    }
}

impl AsyncWrite for Connection {
    fn poll_write(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        bytes: &[u8],
    ) -> Poll<io::Result<usize>> {
        Pin::new(&mut self.wire).poll_write(context, bytes)
    }

    fn poll_flush(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.wire).poll_flush(context)
    }

    fn poll_shutdown(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.wire).poll_shutdown(context)
    }

    fn is_write_vectored(&self) -> bool {
        self.wire.is_write_vectored()
    }

    fn poll_write_vectored(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        slices: &[io::IoSlice<'_>],
    ) -> Poll<io::Result<usize>> {
        Pin::new(&mut self.wire).poll_write_vectored(context, slices)
    }
}

impl Connected for Connection {
    type ConnectInfo = TcpConnectInfo;

    fn connect_info(&self) -> TcpConnectInfo {
        self.wire.tcp().connect_info()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use tokio::io::{AsyncReadExt as _, AsyncWriteExt as _};
    use tokio_stream::StreamExt as _;

    async fn incoming(count_max: usize, wait: Duration) -> (Incoming, std::net::SocketAddr) {
        let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
        let address = listener.local_addr().unwrap();
        (Incoming::new(listener, count_max, wait), address)
    }

    #[tokio::test]
    async fn one_connection_too_many_is_closed_and_its_place_is_free_again_later() {
        let (mut incoming, address) = incoming(1, Duration::from_secs(60)).await;
        let _first = TcpStream::connect(address).await.unwrap();
        let taken = incoming.next().await.unwrap().unwrap();
        let mut second = TcpStream::connect(address).await.unwrap();
        let accepting = tokio::spawn(async move {
            let third = incoming.next().await.unwrap().unwrap();
            (incoming, third)
        });
        assert_eq!(second.read(&mut [0]).await.unwrap(), 0, "closed at once");
        drop(taken);
        let _third = TcpStream::connect(address).await.unwrap();
        accepting.await.unwrap();
    }

    #[tokio::test]
    async fn a_connection_that_does_not_say_that_it_speaks_http_2_is_given_up() {
        let (mut incoming, address) = incoming(8, Duration::from_millis(50)).await;
        let mut client = TcpStream::connect(address).await.unwrap();
        client
            .write_all(&PREFACE[..PREFACE.len() - 1])
            .await
            .unwrap();
        let mut taken = incoming.next().await.unwrap().unwrap();
        let mut said = Vec::new();
        let error = taken.read_to_end(&mut said).await.unwrap_err();
        assert_eq!(error.kind(), io::ErrorKind::TimedOut);
        assert_eq!(said, &PREFACE[..PREFACE.len() - 1]);
    }

    #[tokio::test]
    async fn a_connection_that_has_said_so_may_be_quiet() {
        let (mut incoming, address) = incoming(8, Duration::from_millis(50)).await;
        let mut client = TcpStream::connect(address).await.unwrap();
        client.write_all(PREFACE).await.unwrap();
        let mut taken = incoming.next().await.unwrap().unwrap();
        let mut said = [0; PREFACE.len()];
        taken.read_exact(&mut said).await.unwrap();
        let more = taken.read(&mut said);
        let quiet = tokio::time::timeout(Duration::from_millis(200), more).await;
        assert!(quiet.is_err(), "{quiet:?}");
    }
}
