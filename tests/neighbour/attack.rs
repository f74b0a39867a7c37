//! Neighbours who have no token and mean no good.

use std::fmt;
use std::io;
use std::net::Ipv4Addr;
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::Duration;

use tokio::io::{AsyncReadExt as _, AsyncWriteExt as _};
use tokio::net::TcpStream;
use tokio::task::JoinSet;
use tokio_rustls::client::TlsStream;
use tonic::codegen::Bytes;
use tonic::codegen::http::Request;

use crate::dial::Way;

/// Pairings that each opens who opens many: as many as HTTP/2 let one have at a time before.
const STREAMS: usize = 255;
/// Bytes of each that come, of a message that is announced a little longer and never ends.
const BODY_BYTES: usize = 15_900;
const ANNOUNCED_BYTES: u32 = 16_000;
/// Bytes of a head of HTTP/1.1 that come at once; those after them come one by one, and it never ends.
const HEAD_BYTES: usize = 100_000;
/// Pause between two of those.
const HEAD_PAUSE: Duration = Duration::from_millis(100);
/// Whoever was closed comes again so soon.
const AGAIN_AFTER: Duration = Duration::from_secs(1);

/// What they do.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Kind {
    /// They say nothing once the connection is sealed.
    Silent,
    /// They open pairings and never end one.
    Pairings,
    /// They open one pairing, as large as it may be, and stay for as long as they are let.
    Patient,
    /// They speak HTTP/1.1, as a page may, and never end the head of their request.
    Heads,
}

impl Kind {
    /// A word for it, as in the name of a device.
    pub(crate) const fn word(self) -> &'static str {
        match self {
            Self::Silent => "silent",
            Self::Pairings => "pairings",
            Self::Patient => "patient",
            Self::Heads => "heads",
        }
    }

    /// Pairings that each opens.
    const fn streams(self) -> usize {
        match self {
            Self::Silent | Self::Heads => 0,
            Self::Pairings => STREAMS,
            Self::Patient => 1,
        }
    }

    /// What they do, in a sentence.
    pub(crate) fn told(self) -> String {
        match self {
            Self::Silent => "silent once sealed".to_owned(),
            Self::Pairings => format!("{STREAMS} open pairings of {BODY_BYTES} bytes each"),
            Self::Patient => format!("one open pairing of {BODY_BYTES} bytes each"),
            Self::Heads => format!("one head of HTTP/1.1 of {HEAD_BYTES} bytes and more each"),
        }
    }
}

/// What became of them.
#[derive(Debug, Default)]
pub(crate) struct Met {
    sealed: AtomicUsize,
    closed: AtomicUsize,
    streams: AtomicUsize,
}

impl fmt::Display for Met {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        let read = |count: &AtomicUsize| count.load(Ordering::Relaxed);
        write!(
            out,
            "{} were sealed, {} of them or of others closed, {} pairings opened",
            read(&self.sealed),
            read(&self.closed),
            read(&self.streams)
        )
    }
}

/// Neighbours at work.
pub(crate) struct Attack {
    all: JoinSet<()>,
    met: Arc<Met>,
}

impl Attack {
    /// Begins, with so many connections, so many from each address.
    pub(crate) fn begin(way: &Way, kind: Kind, count: usize, each: usize) -> Self {
        let met = Arc::new(Met::default());
        let mut all = JoinSet::new();
        for number in 0..count {
            let (way, met) = (way.clone(), Arc::clone(&met));
            let from = address(number / each);
            all.spawn(async move {
                loop {
                    // However it ends, it was closed.
                    let _ = once(&way, kind, from, &met).await;
                    met.closed.fetch_add(1, Ordering::Relaxed);
                    tokio::time::sleep(AGAIN_AFTER).await;
                }
            });
        }
        Self { all, met }
    }

    /// Ends it, and tells what they met.
    pub(crate) async fn end(mut self) -> Arc<Met> {
        self.all.shutdown().await;
        self.met
    }
}

/// The address of a neighbour, none of which is the shop's own.
fn address(number: usize) -> Ipv4Addr {
    let [.., high, low] = u32::try_from(number).unwrap().to_be_bytes();
    Ipv4Addr::new(127, 1, high, low)
}

/// One connection until it is closed.
async fn once(way: &Way, kind: Kind, from: Ipv4Addr, met: &Met) -> io::Result<()> {
    let protocol: &[u8] = match kind {
        Kind::Heads => b"http/1.1",
        _ => b"h2",
    };
    let mut tls = way.dial_for(from, protocol).await?;
    met.sealed.fetch_add(1, Ordering::Relaxed);
    if kind == Kind::Silent {
        return tls.read_u8().await.map(drop);
    }
    if kind == Kind::Heads {
        return never_ending(&mut tls).await;
    }
    let (mut sender, connection) = h2::client::handshake(tls).await.map_err(io::Error::other)?;
    let opening = async {
        let mut held = Vec::new();
        for _ in 0..kind.streams() {
            sender = sender.ready().await?;
            let (answer, mut body) = sender.send_request(pairing(), false)?;
            body.send_data(part(), false)?;
            met.streams.fetch_add(1, Ordering::Relaxed);
            held.push((answer, body));
        }
        std::future::pending::<Result<(), h2::Error>>().await
    };
    tokio::select! {
        ended = connection => ended,
        ended = opening => ended,
    }
    .map_err(io::Error::other)
}

/// A head that goes on until the connection is closed. Source: RFC 9112, section 3.
async fn never_ending(tls: &mut TlsStream<TcpStream>) -> io::Result<()> {
    tls.write_all(b"POST / HTTP/1.1\r\nhost: fettled.internal\r\nx: ")
        .await?;
    tls.write_all(&[b'x'; HEAD_BYTES]).await?;
    loop {
        tls.write_all(b"x").await?;
        tls.flush().await?;
        let closed = tls.read_u8();
        if let Ok(ended) = tokio::time::timeout(HEAD_PAUSE, closed).await {
            return ended.map(drop);
        }
    }
}

fn pairing() -> Request<()> {
    Request::post("https://fettled.internal/fettlebook.v1.AccessService/PairDevice")
        .header("content-type", "application/grpc")
        .header("te", "trailers")
        .body(())
        .unwrap()
}

/// The beginning of a message. Source: gRPC over HTTP/2, length-prefixed messages.
fn part() -> Bytes {
    let mut bytes = vec![0];
    bytes.extend(ANNOUNCED_BYTES.to_be_bytes());
    // The field 1 with so many bytes as are announced, all of them the letter A.
    bytes.extend(std::iter::repeat_n(b'A', BODY_BYTES));
    bytes.into()
}
