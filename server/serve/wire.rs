//! The bytes of a connection, as they are or sealed with TLS, and the exchange that begins the latter.
//!
//! It serves the connections as they come in. A client that does not speak TLS is told so in its own
//! words; whatever else comes is closed, and costs the others nothing.

use std::io;
use std::pin::Pin;
use std::task::{Context, Poll};
use std::time::Duration;

use socket2::{SockRef, TcpKeepalive};
use tokio::io::{AsyncRead, AsyncReadExt as _, AsyncWrite, AsyncWriteExt as _, ReadBuf};
use tokio::net::TcpStream;
use tokio_rustls::LazyConfigAcceptor;
use tokio_rustls::rustls::server::Acceptor;
use tokio_rustls::rustls::{AlertDescription, Error as TlsError};
use tokio_rustls::server::TlsStream;

use super::seals::Seals;
use super::speech::PREFACE;
use crate::limits::{KEEPALIVE_AFTER, KEEPALIVE_WAIT_MAX, PLAIN_ANSWER_WAIT_MAX};

/// Bytes of a connection.
pub(super) enum Wire {
    /// As they are.
    Plain(TcpStream),
    /// Sealed.
    Sealed(Box<TlsStream<TcpStream>>),
}

/// How often the other side is asked once more before it counts as gone.
const ASKS: u32 = 4;

impl Wire {
    /// The connection below it.
    pub(super) fn tcp(&self) -> &TcpStream {
        match self {
            Self::Plain(tcp) => tcp,
            Self::Sealed(tls) => tls.get_ref().0,
        }
    }

    /// Has TCP ask, while nothing is said, whether the other side is still there, and end the connection
    /// when it is not.
    pub(super) fn ask_now_and_then(&self) {
        let asking = TcpKeepalive::new()
            .with_time(KEEPALIVE_AFTER)
            .with_interval(KEEPALIVE_WAIT_MAX / ASKS)
            .with_retries(ASKS);
        if let Err(error) = SockRef::from(self.tcp()).set_tcp_keepalive(&asking) {
            tracing::debug!(%error, "a page that is gone will be missed late");
        }
    }
}

/// Seals a connection, unless the client does not want that, or takes too long over it. A client that
/// is turned away is told of in the log where `tells` says so.
pub(super) async fn seal(
    tcp: TcpStream,
    seals: Seals,
    wait_max: Duration,
    tells: impl Fn() -> bool,
) -> Option<Wire> {
    let from = tcp.peer_addr().map(|from| from.ip());
    let tells = &tells;
    let sealing = async move {
        let mut first = [0; PREFACE.len()];
        let count = tcp.peek(&mut first).await?;
        if first.get(..count).is_some_and(is_http) {
            if tells() {
                tracing::info!("a client that does not speak TLS was told that this port does");
            }
            turn_away(tcp).await?;
            return Ok(None);
        }
        let hello = LazyConfigAcceptor::new(Acceptor::default(), tcp).await?;
        let wanted = seals.wanted(&hello.client_hello());
        let with = seals.sealing(wanted.as_ref()).await?;
        let sealed = hello.into_stream(with).await?;
        Ok::<_, io::Error>(Some(Wire::Sealed(Box::new(sealed))))
    };
    match tokio::time::timeout(wait_max, sealing).await {
        Ok(Ok(wire)) => wire,
        Ok(Err(error)) if does_not_believe(&error) && tells() => {
            tracing::info!(
                ?from,
                "a client does not believe the certificate that it was shown: it holds on to another, or to none \
                 yet. A script needs a new key then ('fettle shop export-key'); a browser warns once"
            );
            None
        }
        Ok(Err(error)) => {
            tracing::debug!(%error, "a connection was not sealed and was closed");
            None
        }
        Err(_) => {
            tracing::debug!("a connection was not sealed in time and was closed");
            None
        }
    }
}

/// Whether the other side ended the exchange because of the certificate: it knows no issuer of it, or one of the same
/// name that signed another. Source: RFC 8446, section 6.2.
fn does_not_believe(error: &io::Error) -> bool {
    let inner = error.get_ref().and_then(|inner| inner.downcast_ref());
    matches!(
        inner,
        Some(TlsError::AlertReceived(
            AlertDescription::UnknownCA
                | AlertDescription::BadCertificate
                | AlertDescription::CertificateUnknown
                | AlertDescription::DecryptError
        ))
    )
}

/// Whether bytes begin as HTTP/2 does, or a request of HTTP/1: with a word in capitals and a space.
/// TLS begins with 22 (RFC 8446, section 5.1), which is no letter.
fn is_http(first: &[u8]) -> bool {
    /// Longest usual method: OPTIONS, CONNECT.
    const METHOD_LENGTH_MAX: usize = 7;
    let letters = first.iter().take_while(|byte| byte.is_ascii_uppercase());
    let count = letters.count();
    let next = first.get(count);
    (1..=METHOD_LENGTH_MAX).contains(&count) && next.is_none_or(|byte| *byte == b' ')
}

/// What is said to a client that does not speak TLS.
const SAYS: &[u8] = b"this port speaks TLS; pair this device first";

/// Says in HTTP/2 that this is not secure enough, and ends the connection once that can have arrived.
async fn turn_away(mut tcp: TcpStream) -> io::Result<()> {
    tcp.write_all(&refusal()).await?;
    tcp.shutdown().await?;
    // Closing with something unread would take the answer back on its way.
    let mut rest = [0; 1024];
    let read = async { while tcp.read(&mut rest).await.is_ok_and(|count| count > 0) {} };
    let _ = tokio::time::timeout(PLAIN_ANSWER_WAIT_MAX, read).await;
    Ok(())
}

/// The frames SETTINGS, empty, and GOAWAY with the error `INADEQUATE_SECURITY`.
/// Source: RFC 9113, sections 4.1, 6.5, 6.8 and 7.
fn refusal() -> Vec<u8> {
    const SETTINGS: [u8; 9] = [0, 0, 0, 0x4, 0, 0, 0, 0, 0];
    const GOAWAY_TYPE: u8 = 0x7;
    const LAST_STREAM: [u8; 4] = [0; 4];
    const INADEQUATE_SECURITY: [u8; 4] = [0, 0, 0, 0xc];
    let body = [&LAST_STREAM, &INADEQUATE_SECURITY, SAYS].concat();
    let length = u8::try_from(body.len()).unwrap_or(u8::MAX);
    let header = [0, 0, length, GOAWAY_TYPE, 0, 0, 0, 0, 0];
    [SETTINGS.as_slice(), &header, &body].concat()
}

impl AsyncRead for Wire {
    fn poll_read(
        self: Pin<&mut Self>,
        context: &mut Context<'_>,
        buffer: &mut ReadBuf<'_>,
    ) -> Poll<io::Result<()>> {
        match self.get_mut() {
            Self::Plain(tcp) => Pin::new(tcp).poll_read(context, buffer),
            Self::Sealed(tls) => Pin::new(tls).poll_read(context, buffer),
        }
    }
}

impl AsyncWrite for Wire {
    fn poll_write(
        self: Pin<&mut Self>,
        context: &mut Context<'_>,
        bytes: &[u8],
    ) -> Poll<io::Result<usize>> {
        match self.get_mut() {
            Self::Plain(tcp) => Pin::new(tcp).poll_write(context, bytes),
            Self::Sealed(tls) => Pin::new(tls).poll_write(context, bytes),
        }
    }

    fn poll_flush(self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        match self.get_mut() {
            Self::Plain(tcp) => Pin::new(tcp).poll_flush(context),
            Self::Sealed(tls) => Pin::new(tls).poll_flush(context),
        }
    }

    fn poll_shutdown(self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        match self.get_mut() {
            Self::Plain(tcp) => Pin::new(tcp).poll_shutdown(context),
            Self::Sealed(tls) => Pin::new(tls).poll_shutdown(context),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::access::Credentials;
    use crate::store::{FolderStore, Store as _};
    use tokio_rustls::rustls::pki_types::ServerName;
    use tokio_rustls::rustls::{ClientConfig, RootCertStore, crypto::ring};

    /// Of a book that is gone already.
    fn own() -> Credentials {
        let book = tempfile::tempdir().unwrap();
        let now = "2026-06-03T18:00:00Z".parse().unwrap();
        Credentials::own(&*FolderStore::at(book.path()).cabinet(), &[], now).unwrap()
    }

    #[test]
    fn http_is_told_from_tls_and_from_noise_by_its_first_bytes() {
        let http: [&[u8]; 5] = [PREFACE, b"P", b"GET / HTTP/1.1\r\n", b"OPTIONS *", b"POST"];
        for first in http {
            assert!(is_http(first), "{first:?}");
        }
        let other: [&[u8]; 5] = [
            b"",
            &[22, 3, 1, 2, 0],
            b"get /",
            b"ABCDEFGHIJ",
            b"SSH-2.0-x",
        ];
        for first in other {
            assert!(!is_http(first), "{first:?}");
        }
    }

    #[tokio::test]
    async fn a_client_that_never_finishes_the_exchange_is_given_up() {
        let seals = Seals::with(&own()).unwrap();
        let listener = tokio::net::TcpListener::bind("127.0.0.1:0").await.unwrap();
        let address = listener.local_addr().unwrap();
        for said in [[].as_slice(), &[22, 3, 1, 2, 0, 1, 0], &[0; 40]] {
            let mut client = TcpStream::connect(address).await.unwrap();
            client.write_all(said).await.unwrap();
            let (taken, _) = listener.accept().await.unwrap();
            let sealed = seal(taken, seals.clone(), Duration::from_millis(50), || true);
            let soon = tokio::time::timeout(Duration::from_secs(5), sealed);
            assert!(soon.await.unwrap().is_none(), "{said:?}");
        }
    }

    /// Whoever wonders why a script is not let in finds it in the log.
    #[tokio::test]
    async fn a_client_that_believes_another_certificate_is_told_of_and_one_that_goes_is_not() {
        let listener = tokio::net::TcpListener::bind("127.0.0.1:0").await.unwrap();
        let address = listener.local_addr().unwrap();
        let (shown, another) = (own(), own());
        let seals = Seals::with(&shown).unwrap();
        let told = std::sync::atomic::AtomicUsize::new(0);
        for (held, told_before) in [(Some(&shown), 0), (None, 0), (Some(&another), 1)] {
            let dialling = async {
                let tcp = TcpStream::connect(address).await.unwrap();
                let Some(held) = held else { return };
                let mut roots = RootCertStore::empty();
                roots.add(held.chain().last().unwrap().clone()).unwrap();
                let provider = std::sync::Arc::new(ring::default_provider());
                let config = ClientConfig::builder_with_provider(provider);
                let config = config.with_safe_default_protocol_versions().unwrap();
                let config = config.with_root_certificates(roots).with_no_client_auth();
                let connector = tokio_rustls::TlsConnector::from(std::sync::Arc::new(config));
                let name = ServerName::try_from(crate::access::SERVICE_NAME).unwrap();
                let dialled = connector.connect(name, tcp).await;
                assert_eq!(dialled.is_ok(), std::ptr::eq(held, &shown));
            };
            let sealing = async {
                let (tcp, _) = listener.accept().await.unwrap();
                let tells = || {
                    told.fetch_add(1, std::sync::atomic::Ordering::SeqCst);
                    true
                };
                seal(tcp, seals.clone(), Duration::from_secs(10), tells).await
            };
            let _ = tokio::join!(dialling, sealing);
            let told = told.load(std::sync::atomic::Ordering::SeqCst);
            assert_eq!(told, told_before);
        }
    }

    /// Source: RFC 9113, sections 4.1 (the header of a frame), 6.5 (SETTINGS is 4), 6.8 (GOAWAY is
    /// 7) and 7 (`INADEQUATE_SECURITY` is 0xc).
    #[test]
    fn the_refusal_is_two_whole_frames() {
        let said = refusal();
        let (settings, goaway) = said.split_at(9);
        assert_eq!(settings, [0, 0, 0, 4, 0, 0, 0, 0, 0]);
        let (header, body) = goaway.split_at(9);
        assert_eq!(usize::from(header[2]), body.len());
        assert_eq!((header[3], &header[4..]), (7, [0; 5].as_slice()));
        assert_eq!(body[..8], [0, 0, 0, 0, 0, 0, 0, 0xc]);
        assert_eq!(&body[8..], SAYS);
    }
}
