//! Connections as they come in: so many at once, and none that keeps its place by saying nothing.
//!
//! The transport bounds what one connection may do once it speaks HTTP; here is what it leaves open.
//! One connection too many, or one that is slow to be sealed, must never cost the others anything.
//! Where devices call, a connection is on probation until a good token has come on it.

use std::future::Future;
use std::io;
use std::net::{IpAddr, SocketAddr};
use std::pin::Pin;
use std::sync::Arc;
use std::task::{Context, Poll, ready};
use std::time::Duration;

use tokio::io::{AsyncRead, AsyncWrite, ReadBuf};
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::{OwnedSemaphorePermit, Semaphore};
use tokio::time::Sleep;
use tokio_stream::Stream;
use tonic::transport::server::Connected;

use super::doorway::Doorway;
use super::sealing::Sealing;
use super::seals::Seals;
use super::speech::Speech;
use super::strangers::Probation;
use super::wire::Wire;
use crate::edge::Visit;
use crate::limits::{ACCEPT_PAUSE, STRANGER_ASKS_MAX};
use crate::meters::{Meters, Open};

/// The connections of a listener.
pub(super) struct Incoming {
    listener: TcpListener,
    room: Arc<Semaphore>,
    preface_wait_max: Duration,
    pause: Option<Pin<Box<Sleep>>>,
    meters: Meters,
    /// Connections that are being sealed, where devices call.
    sealing: Option<Sealing>,
}

impl Incoming {
    /// Takes at most so many at once, and waits so long for each to say what it speaks.
    pub(super) fn new(listener: TcpListener, count_max: usize, preface_wait_max: Duration) -> Self {
        Self {
            listener,
            room: Arc::new(Semaphore::new(count_max)),
            preface_wait_max,
            pause: None,
            meters: Meters::default(),
            sealing: None,
        }
    }

    /// Has the connections counted by these meters.
    pub(super) fn counted_by(self, meters: Meters) -> Self {
        Self { meters, ..self }
    }

    /// The same for devices, at this door: each is sealed with TLS before it is handed over, and has to show a
    /// good token within this time. Only then does it take a place among those open.
    pub(super) fn sealed(
        mut self,
        seals: Seals,
        doorway: &Doorway,
        stranger_time_max: Duration,
    ) -> Self {
        self.sealing = Some(Sealing::new(seals, doorway, stranger_time_max));
        self
    }

    /// A connection with its place among those open, or nothing when there is no place left, or when
    /// it has to be sealed first.
    fn admit(&mut self, tcp: TcpStream, from: IpAddr) -> Option<Connection> {
        if let Err(error) = tcp.set_nodelay(true) {
            tracing::debug!(%error, "a connection will answer late");
        }
        let visit = Visit::new(from);
        if let Some(sealing) = &mut self.sealing {
            if !sealing.take_in(tcp, visit, self.meters.log_limit()) {
                self.tell_closed(from);
            }
            return None;
        }
        let Ok(place) = Arc::clone(&self.room).try_acquire_owned() else {
            self.tell_closed(from);
            return None;
        };
        let standing = Standing::Placed { _place: place };
        Some(self.connection(Wire::Plain(tcp), visit, standing))
    }

    /// Says that one connection too many was closed.
    fn tell_closed(&self, from: IpAddr) {
        if self.meters.log_limit().tells(from) {
            tracing::warn!(%from, "as many connections as may be are open; one more was closed");
        }
    }

    fn connection(&self, wire: Wire, visit: Visit, standing: Standing) -> Connection {
        Connection {
            wire,
            visit,
            standing,
            room: Arc::clone(&self.room),
            speech: Speech::new(self.preface_wait_max),
            _open: self.meters.connection(),
        }
    }

    /// The next connection that has been sealed; pending when none is being.
    fn poll_sealed(&mut self, context: &mut Context<'_>) -> Poll<Connection> {
        let Some(sealing) = &mut self.sealing else {
            return Poll::Pending;
        };
        let (wire, visit, probation) = ready!(sealing.poll_next(context));
        Poll::Ready(self.connection(wire, visit, Standing::OnProbation(probation)))
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
                Ok((tcp, from)) => {
                    if let Some(connection) = self.admit(tcp, SocketAddr::ip(&from)) {
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
    visit: Visit,
    standing: Standing,
    /// Where a connection that has shown a good token takes its place.
    room: Arc<Semaphore>,
    speech: Speech,
    _open: Open,
}

/// What a connection may count on.
enum Standing {
    /// It has shown no good token yet.
    OnProbation(Probation),
    /// It has a place among those open.
    Placed { _place: OwnedSemaphorePermit },
}

impl Connection {
    /// Whether it goes on; wakes the task that serves it when it does not.
    fn check(&mut self, context: &mut Context<'_>) -> io::Result<()> {
        let Standing::OnProbation(probation) = &mut self.standing else {
            return Ok(());
        };
        if !self.visit.is_known() {
            let going_on = if self.visit.asked() > STRANGER_ASKS_MAX {
                Err(io::Error::other("it asked too often without a token"))
            } else {
                probation.check(context)
            };
            return going_on.inspect_err(|error| {
                tracing::debug!(from = %self.visit.from(), %error, "a connection was closed");
            });
        }
        let place = Arc::clone(&self.room).try_acquire_owned();
        let place = place.map_err(|_| {
            tracing::warn!("as many devices as may be have a connection; one more was closed");
            io::Error::other("as many devices as may be have a connection")
        })?;
        self.standing = Standing::Placed { _place: place };
        Ok(())
    }

    /// These bytes came. Who turns out to speak HTTP/1.1 is asked now and then by TCP whether it is still
    /// there.
    fn hear(&mut self, said: &[u8]) {
        let before = self.speech.is_http_1();
        self.speech.hear(said);
        if self.speech.is_http_1() && !before {
            self.wire.ask_now_and_then();
        }
    }
}

impl AsyncRead for Connection {
    fn poll_read(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        buffer: &mut ReadBuf<'_>,
    ) -> Poll<io::Result<()>> {
        self.check(context)?;
        let before = buffer.filled().len();
        let read = Pin::new(&mut self.wire).poll_read(context, buffer);
        if read.is_pending() {
            return self.speech.wait(context).map(Err);
        }
        let said = buffer.filled().get(before..).unwrap_or_default();
        if let Standing::OnProbation(probation) = &mut self.standing {
            probation.count(said.len());
        }
        self.hear(said);
        read
    }
}

// Several pieces at once are not taken: HTTP/2 would then send every payload of more than 256 bytes by itself, and
// a call two packets where one does.
impl AsyncWrite for Connection {
    fn poll_write(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        bytes: &[u8],
    ) -> Poll<io::Result<usize>> {
        self.check(context)?;
        let done = Pin::new(&mut self.wire).poll_write(context, bytes);
        self.speech.sent(context, done)
    }

    fn poll_flush(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        self.check(context)?;
        let done = Pin::new(&mut self.wire).poll_flush(context);
        self.speech.sent(context, done)
    }

    fn poll_shutdown(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.wire).poll_shutdown(context)
    }
}

impl Connected for Connection {
    type ConnectInfo = Visit;

    fn connect_info(&self) -> Visit {
        self.visit.clone()
    }
}

#[cfg(test)]
mod tests {
    use super::super::speech::PREFACE;
    use super::*;
    use crate::access::{Credentials, SERVICE_NAME};
    use crate::desk::{Clock as _, SystemClock};
    use crate::limits::{
        CONNECTIONS_MAX, KEEPALIVE_AFTER, PAGE_STALL_MAX, PREFACE_WAIT_MAX, STRANGER_BYTES_MAX,
        STRANGER_TIME_MAX,
    };
    use crate::store::{FolderStore, Store as _};
    use tokio::io::{AsyncReadExt as _, AsyncWriteExt as _};
    use tokio_rustls::TlsConnector;
    use tokio_rustls::client::TlsStream;
    use tokio_rustls::rustls::pki_types::ServerName;
    use tokio_rustls::rustls::{ClientConfig, RootCertStore, crypto::ring};
    use tokio_stream::StreamExt as _;

    async fn incoming(count_max: usize, wait: Duration) -> (Incoming, std::net::SocketAddr) {
        let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
        let address = listener.local_addr().unwrap();
        (Incoming::new(listener, count_max, wait), address)
    }

    /// What is waited for, which must not be long.
    async fn soon<T>(waited_for: impl Future<Output = T>) -> T {
        let came = tokio::time::timeout(Duration::from_secs(10), waited_for).await;
        came.unwrap()
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
        let read = soon(second.read(&mut [0])).await.unwrap();
        assert_eq!(read, 0, "closed at once");
        drop(taken);
        let _third = TcpStream::connect(address).await.unwrap();
        soon(accepting).await.unwrap();
    }

    #[tokio::test]
    async fn a_connection_that_does_not_say_what_it_speaks_is_given_up() {
        let (mut incoming, address) = incoming(8, PREFACE_WAIT_MAX).await;
        let mut client = TcpStream::connect(address).await.unwrap();
        client
            .write_all(&PREFACE[..PREFACE.len() - 1])
            .await
            .unwrap();
        let mut taken = incoming.next().await.unwrap().unwrap();
        let mut said = vec![0; PREFACE.len() - 1];
        taken.read_exact(&mut said).await.unwrap();
        tokio::time::pause();
        let error = taken.read_to_end(&mut said).await.unwrap_err();
        tokio::time::resume();
        assert_eq!(error.kind(), io::ErrorKind::TimedOut);
        assert_eq!(said, &PREFACE[..PREFACE.len() - 1]);
    }

    /// Connections for devices, each with so long to show a token, and a client that can seal one.
    async fn for_devices(time_max: Duration) -> (Incoming, std::net::SocketAddr, TlsConnector) {
        let book = tempfile::tempdir().unwrap();
        let now = SystemClock.now();
        let credentials =
            Credentials::own(&*FolderStore::at(book.path()).cabinet(), &[], now).unwrap();
        let mut roots = RootCertStore::empty();
        roots
            .add(credentials.chain().last().unwrap().clone())
            .unwrap();
        let config = ClientConfig::builder_with_provider(Arc::new(ring::default_provider()));
        let config = config.with_safe_default_protocol_versions().unwrap();
        let config = config.with_root_certificates(roots).with_no_client_auth();
        let seals = Seals::with(&credentials).unwrap();
        let (incoming, address) = incoming(1, Duration::from_secs(60)).await;
        let doorway = Doorway::for_connections(CONNECTIONS_MAX);
        let incoming = incoming.sealed(seals, &doorway, time_max);
        (incoming, address, TlsConnector::from(Arc::new(config)))
    }

    /// The two ends of a sealed connection.
    async fn sealed(
        incoming: &mut Incoming,
        address: std::net::SocketAddr,
        connector: &TlsConnector,
    ) -> (Connection, TlsStream<TcpStream>) {
        let tcp = TcpStream::connect(address).await.unwrap();
        let name = ServerName::try_from(SERVICE_NAME).unwrap();
        let dialling = connector.connect(name, tcp);
        let (taken, dialled) = tokio::join!(incoming.next(), dialling);
        (taken.unwrap().unwrap(), dialled.unwrap())
    }

    #[tokio::test]
    async fn without_a_token_a_connection_ends_in_time_though_it_talks_and_with_one_it_stays() {
        let (mut incoming, address, connector) = for_devices(STRANGER_TIME_MAX).await;
        for token in [false, true] {
            let (mut taken, mut client) = sealed(&mut incoming, address, &connector).await;
            if token {
                taken.visit.make_known();
            }
            client.write_all(PREFACE).await.unwrap();
            let mut said = vec![0; PREFACE.len()];
            taken.read_exact(&mut said).await.unwrap();
            // Nothing more comes: the time goes on by itself.
            tokio::time::pause();
            let reading = taken.read_to_end(&mut said);
            let read = tokio::time::timeout(3 * STRANGER_TIME_MAX, reading).await;
            tokio::time::resume();
            let ended = read.map(|read| read.unwrap_err().kind());
            let wanted = Some(io::ErrorKind::TimedOut).filter(|_| !token);
            assert_eq!(ended.ok(), wanted, "with a token: {token}");
            assert_eq!(said, PREFACE);
        }
    }

    #[tokio::test]
    async fn without_a_token_a_connection_says_so_much_and_with_one_as_much_as_it_likes() {
        let (mut incoming, address, connector) = for_devices(Duration::from_secs(60)).await;
        for token in [false, true] {
            let (mut taken, mut client) = sealed(&mut incoming, address, &connector).await;
            if token {
                taken.visit.make_known();
            }
            let talking = tokio::spawn(async move {
                let more = vec![0; 2 * STRANGER_BYTES_MAX];
                // Whoever is closed meanwhile cannot say the rest.
                let _ = client.write_all(&more).await;
                let _ = client.shutdown().await;
                // Closing with something unread would take back what is on its way.
                let _ = client.read_to_end(&mut Vec::new()).await;
            });
            let mut said = Vec::new();
            let read = taken.read_to_end(&mut said).await;
            assert_eq!(read.is_ok(), token, "{read:?}");
            let heard = if token {
                2 * STRANGER_BYTES_MAX
            } else {
                STRANGER_BYTES_MAX
            };
            // What was in the last piece that was read is heard, too.
            assert!(
                (heard..heard + 32 * 1024).contains(&said.len()),
                "with a token: {token}: {} {read:?}",
                said.len()
            );
            drop(taken);
            talking.await.unwrap();
        }
    }

    #[tokio::test]
    async fn a_connection_that_shows_a_token_takes_a_place_and_there_are_so_many() {
        let (mut incoming, address, connector) = for_devices(Duration::from_secs(60)).await;
        let (mut first, _client) = sealed(&mut incoming, address, &connector).await;
        let (mut second, mut client) = sealed(&mut incoming, address, &connector).await;
        for taken in [&first, &second] {
            taken.visit.make_known();
        }
        first.write_all(b"x").await.unwrap();
        assert!(
            second.write_all(b"x").await.is_err(),
            "one place, and it is taken"
        );
        drop((first, second));
        assert_eq!(client.read(&mut [0]).await.unwrap_or(0), 0);
        let (third, _client) = sealed(&mut incoming, address, &connector).await;
        let mut third = third;
        third.visit.make_known();
        third.write_all(b"x").await.unwrap();
    }

    #[tokio::test]
    async fn a_connection_that_has_said_so_may_be_quiet() {
        let (mut incoming, address) = incoming(8, PREFACE_WAIT_MAX).await;
        let mut client = TcpStream::connect(address).await.unwrap();
        client.write_all(PREFACE).await.unwrap();
        let mut taken = incoming.next().await.unwrap().unwrap();
        let mut said = [0; PREFACE.len()];
        taken.read_exact(&mut said).await.unwrap();
        tokio::time::pause();
        let more = taken.read(&mut said);
        let quiet = tokio::time::timeout(2 * PREFACE_WAIT_MAX, more).await;
        tokio::time::resume();
        assert!(quiet.is_err(), "{quiet:?}");
    }

    /// A page that takes nothing of its answer is given up, and one that is gone without a word is found
    /// out by TCP.
    #[tokio::test]
    async fn over_http_1_who_takes_nothing_or_is_gone_keeps_no_place() {
        let (mut incoming, address, connector) = for_devices(Duration::from_secs(60)).await;
        for first in [PREFACE.as_slice(), b"POST / HTTP/1.1\r\n"] {
            let http_1 = first != PREFACE;
            let (mut taken, mut client) = sealed(&mut incoming, address, &connector).await;
            taken.visit.make_known();
            client.write_all(first).await.unwrap();
            taken.read_exact(&mut vec![0; first.len()]).await.unwrap();
            let asked = socket2::SockRef::from(taken.wire.tcp());
            assert_eq!(asked.keepalive().unwrap(), http_1);
            if http_1 {
                assert_eq!(asked.tcp_keepalive_time().unwrap(), KEEPALIVE_AFTER);
            }
            tokio::time::pause();
            let sending = async { while taken.write_all(&[0; 65_536]).await.is_ok() {} };
            let ended = tokio::time::timeout(2 * PAGE_STALL_MAX, sending).await;
            tokio::time::resume();
            assert_eq!(ended.is_ok(), http_1, "{ended:?}");
        }
    }
}
