//! Connections as they come in: so many at once, and none that keeps its place by saying nothing.
//!
//! It serves `serve_on`. The transport bounds what one connection may do once it speaks HTTP/2; here
//! is what it leaves open. One connection too many must never cost the others anything.

use std::future::Future;
use std::io;
use std::pin::Pin;
use std::sync::Arc;
use std::task::{Context, Poll, ready};
use std::time::Duration;

use tokio::io::{AsyncRead, AsyncWrite, ReadBuf};
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::{OwnedSemaphorePermit, Semaphore};
use tokio::time::Sleep;
use tokio_stream::Stream;
use tonic::transport::server::{Connected, TcpConnectInfo};

use crate::limits::ACCEPT_PAUSE;
use crate::meters::{Meters, Open};

/// Length of what every HTTP/2 client says first. Source: RFC 9113, section 3.4.
const PREFACE_BYTES: usize = 24;

/// The connections of a listener.
pub(super) struct Incoming {
    listener: TcpListener,
    room: Arc<Semaphore>,
    preface_wait_max: Duration,
    pause: Option<Pin<Box<Sleep>>>,
    meters: Meters,
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
        }
    }

    /// Has the connections counted by these meters.
    pub(super) fn counted_by(self, meters: Meters) -> Self {
        Self { meters, ..self }
    }

    /// A connection with its place among those open, or nothing when there is no place left.
    fn admit(&self, tcp: TcpStream) -> Option<Connection> {
        let Ok(place) = Arc::clone(&self.room).try_acquire_owned() else {
            tracing::warn!("as many connections as may be are open; one more was closed");
            return None;
        };
        if let Err(error) = tcp.set_nodelay(true) {
            tracing::debug!(%error, "a connection will answer late");
        }
        Some(Connection {
            tcp,
            greeting: Some(Greeting {
                byte_count: 0,
                patience: Box::pin(tokio::time::sleep(self.preface_wait_max)),
            }),
            _place: place,
            _open: self.meters.connection(),
        })
    }
}

impl Stream for Incoming {
    type Item = io::Result<Connection>;

    fn poll_next(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<Option<Self::Item>> {
        loop {
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
    tcp: TcpStream,
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
        let read = Pin::new(&mut self.tcp).poll_read(context, buffer);
        let Some(greeting) = &mut self.greeting else {
            return read;
        };
        if read.is_ready() {
            greeting.byte_count += buffer.filled().len() - before;
            if greeting.byte_count >= PREFACE_BYTES {
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
        Pin::new(&mut self.tcp).poll_write(context, bytes)
    }

    fn poll_flush(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.tcp).poll_flush(context)
    }

    fn poll_shutdown(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.tcp).poll_shutdown(context)
    }

    fn is_write_vectored(&self) -> bool {
        self.tcp.is_write_vectored()
    }

    fn poll_write_vectored(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        slices: &[io::IoSlice<'_>],
    ) -> Poll<io::Result<usize>> {
        Pin::new(&mut self.tcp).poll_write_vectored(context, slices)
    }
}

impl Connected for Connection {
    type ConnectInfo = TcpConnectInfo;

    fn connect_info(&self) -> TcpConnectInfo {
        self.tcp.connect_info()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use tokio::io::{AsyncReadExt as _, AsyncWriteExt as _};
    use tokio_stream::StreamExt as _;

    const PREFACE: &[u8; PREFACE_BYTES] = b"PRI * HTTP/2.0\r\n\r\nSM\r\n\r\n";

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
            .write_all(&PREFACE[..PREFACE_BYTES - 1])
            .await
            .unwrap();
        let mut taken = incoming.next().await.unwrap().unwrap();
        let mut said = Vec::new();
        let error = taken.read_to_end(&mut said).await.unwrap_err();
        assert_eq!(error.kind(), io::ErrorKind::TimedOut);
        assert_eq!(said, &PREFACE[..PREFACE_BYTES - 1]);
    }

    #[tokio::test]
    async fn a_connection_that_has_said_so_may_be_quiet() {
        let (mut incoming, address) = incoming(8, Duration::from_millis(50)).await;
        let mut client = TcpStream::connect(address).await.unwrap();
        client.write_all(PREFACE).await.unwrap();
        let mut taken = incoming.next().await.unwrap().unwrap();
        let mut said = [0; PREFACE_BYTES];
        taken.read_exact(&mut said).await.unwrap();
        let more = taken.read(&mut said);
        let quiet = tokio::time::timeout(Duration::from_millis(200), more).await;
        assert!(quiet.is_err(), "{quiet:?}");
    }
}
