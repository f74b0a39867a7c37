//! The connection to a shop's service: TCP, TLS with the pinned certificate, the token on each
//! request.
//!
//! It serves pairing and the way to a shop. Whatever goes wrong on the way there is told in words
//! that say what to look at; a token is sent only after the service has proved itself.

use std::fmt;
use std::future::poll_fn;
use std::io;
use std::pin::Pin as Pinned;
use std::sync::{Arc, Mutex, PoisonError};
use std::task::{Context, Poll};
use std::time::Duration;

use fettlebook_contract::{PLACE, ROLE, TAG_LETTER};
use hyper_util::rt::TokioIo;
use tokio::net::TcpStream;
use tokio::time::timeout;
use tokio_rustls::TlsConnector;
use tokio_rustls::client::TlsStream;
use tokio_rustls::rustls::pki_types::ServerName;
use tokio_rustls::rustls::{CertificateError, ClientConfig, Error as TlsError};
use tonic::body::Body;
use tonic::codegen::{Service, StdError, http};
use tonic::transport::{Channel, Endpoint};

use crate::fault::root_cause;
use crate::shop::code::address;
use crate::shop::role as role_of;
use crate::shop::trust::{self, NotTheOne, Pin};

/// Longest wait for a connection, its handshake included: a person without signal waits no longer.
const CONNECT_WAIT: Duration = Duration::from_secs(3);
/// Silence on the connection of an open request after which the service is asked whether it is there.
const KEEPALIVE_AFTER: Duration = Duration::from_secs(5);
/// Longest wait for that answer.
const KEEPALIVE_WAIT: Duration = Duration::from_secs(5);

/// Where a service is and what it has to show.
#[derive(Clone, Debug)]
pub(crate) struct Target {
    /// Name or address of the host, without brackets.
    pub(crate) host: String,
    /// Port.
    pub(crate) port: u16,
    /// What it has to show.
    pub(crate) pin: Pin,
}

/// A connection to a service that has proved itself.
#[derive(Clone)]
pub(crate) struct Wire {
    channel: Channel,
    authorization: Option<http::HeaderValue>,
    heard: Arc<Mutex<Option<Heard>>>,
}

/// What the shop says with each answer of the device that asks.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Heard {
    /// What it may do: the name of a role in the contract.
    pub(crate) role: String,
    /// The place where it works.
    pub(crate) place: String,
    /// The letter of the tags that it gives itself; empty where it has none.
    pub(crate) tag_letter: String,
}

impl Heard {
    /// What an answer says; nothing where a service says it not.
    fn of(headers: &http::HeaderMap) -> Option<Self> {
        let said = |name: &str| Some(headers.get(name)?.to_str().ok()?.to_owned());
        Some(Self {
            role: said(ROLE).filter(|role| role_of(role).is_ok())?,
            place: said(PLACE)?,
            tag_letter: said(TAG_LETTER)?,
        })
    }
}

/// What went wrong on the way to a service.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Trouble {
    /// What that comes to for whoever is on the road.
    pub(crate) cause: Cause,
    /// What it was, as a clause.
    pub(crate) what: String,
}

/// What keeps a device from its shop.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Cause {
    /// Nothing comes through, or not for long.
    NoSignal,
    /// The machine is there, and no service on it.
    NotRunning,
    /// What answers is not the shop.
    AnotherService,
    /// Its certificate does not go with this device's clock.
    WrongClock,
    /// What this device holds of the shop cannot be used.
    Unusable,
}

impl Trouble {
    fn new(cause: Cause, what: impl Into<String>) -> Self {
        let what = what.into();
        Self { cause, what }
    }

    /// A connection that was there and is not any more.
    pub(crate) fn lost(what: impl Into<String>) -> Self {
        Self::new(Cause::NoSignal, what)
    }
}

impl fmt::Display for Trouble {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.what)
    }
}

impl std::error::Error for Trouble {}

impl Wire {
    /// Connects; `token` goes with every request, where there is one.
    ///
    /// # Errors
    /// What went wrong, as a clause.
    pub(crate) async fn open(target: &Target, token: Option<&str>) -> Result<Self, Trouble> {
        let authorization = token.map(bearer).transpose()?;
        let tls = trust::tls(target.pin.clone())
            .map_err(|error| Trouble::new(Cause::Unusable, error.to_string()))?;
        let place = address(&target.host, target.port);
        // The scheme names no TLS, because the connector brings its own.
        let endpoint = Endpoint::from_shared(format!("http://{place}"))
            .map_err(|_| Trouble::new(Cause::Unusable, format!("{place} is no address")))?
            .http2_keep_alive_interval(KEEPALIVE_AFTER)
            .keep_alive_timeout(KEEPALIVE_WAIT);
        let (tls, target) = (Arc::new(tls), target.clone());
        let connector = tower::service_fn(move |_: http::Uri| {
            let (tls, target) = (Arc::clone(&tls), target.clone());
            async move { connect(tls, &target).await.map(TokioIo::new) }
        });
        let connected = endpoint.connect_with_connector(connector).await;
        Ok(Self {
            channel: connected.map_err(|error| found_in(&error))?,
            authorization,
            heard: Arc::default(),
        })
    }

    /// What the shop last said of this device.
    pub(crate) fn heard(&self) -> Option<Heard> {
        let heard = self.heard.lock().unwrap_or_else(PoisonError::into_inner);
        heard.clone()
    }

    /// Sends a request; a connection that was lost is made anew first.
    ///
    /// # Errors
    /// What broke.
    pub(crate) async fn send(
        &self,
        request: http::Request<Body>,
    ) -> Result<http::Response<Body>, StdError> {
        let mut wire = self.clone();
        poll_fn(|cx| wire.poll_ready(cx)).await?;
        Ok(wire.call(request).await?)
    }
}

impl Service<http::Request<Body>> for Wire {
    type Response = http::Response<Body>;
    type Error = tonic::transport::Error;
    type Future = Pinned<Box<dyn Future<Output = Result<Self::Response, Self::Error>> + Send>>;

    fn poll_ready(&mut self, cx: &mut Context<'_>) -> Poll<Result<(), Self::Error>> {
        Service::<http::Request<Body>>::poll_ready(&mut self.channel, cx)
    }

    fn call(&mut self, mut request: http::Request<Body>) -> Self::Future {
        if let Some(authorization) = &self.authorization {
            let headers = request.headers_mut();
            headers.insert(http::header::AUTHORIZATION, authorization.clone());
        }
        let (answer, heard) = (self.channel.call(request), Arc::clone(&self.heard));
        Box::pin(async move {
            let answer = answer.await?;
            if let Some(said) = Heard::of(answer.headers()) {
                *heard.lock().unwrap_or_else(PoisonError::into_inner) = Some(said);
            }
            Ok(answer)
        })
    }
}

/// Whether what answers at an address speaks TLS. Nothing is said to it.
pub(crate) async fn speaks_tls(uri: &http::Uri) -> bool {
    let host = uri.host().unwrap_or_default();
    let host = host.trim_start_matches('[').trim_end_matches(']');
    let look = async {
        // No certificate has this fingerprint: what is looked for is only that one is shown.
        let tls = trust::tls(Pin::of_code([0; 32])).ok()?;
        let name = ServerName::try_from(host.to_owned()).ok()?;
        let stream = TcpStream::connect((host, uri.port_u16().unwrap_or(80)))
            .await
            .ok()?;
        let shown = TlsConnector::from(Arc::new(tls))
            .connect(name, stream)
            .await;
        let error = shown.err()?;
        let inner = error.get_ref().and_then(|inner| inner.downcast_ref());
        Some(matches!(inner, Some(TlsError::InvalidCertificate(_))))
    };
    matches!(timeout(CONNECT_WAIT, look).await, Ok(Some(true)))
}

/// The trouble that a failed connection tells.
fn found_in(error: &tonic::transport::Error) -> Trouble {
    let mut cause: &dyn std::error::Error = error;
    loop {
        if let Some(trouble) = cause.downcast_ref::<Trouble>() {
            return trouble.clone();
        }
        match cause.source() {
            Some(inner) => cause = inner,
            None => return Trouble::lost(root_cause(error)),
        }
    }
}

/// The header that carries a token; nothing writes it into a log.
fn bearer(token: &str) -> Result<http::HeaderValue, Trouble> {
    let mut value = http::HeaderValue::try_from(format!("Bearer {token}")).map_err(|_| {
        let what = "the token kept here is damaged; pair this device again";
        Trouble::new(Cause::Unusable, what)
    })?;
    value.set_sensitive(true);
    Ok(value)
}

async fn connect(tls: Arc<ClientConfig>, target: &Target) -> Result<TlsStream<TcpStream>, Trouble> {
    let waited = timeout(CONNECT_WAIT, async {
        let stream = TcpStream::connect((target.host.as_str(), target.port)).await;
        let stream = stream.map_err(|error| unconnected(&error, target))?;
        // Small requests are not held back; where that cannot be set they are only slower.
        let _ = stream.set_nodelay(true);
        let name = ServerName::try_from(target.host.clone()).map_err(|_| {
            let what = format!("{} is no name of a host", target.host);
            Trouble::new(Cause::Unusable, what)
        })?;
        let stream = TlsConnector::from(tls).connect(name, stream).await;
        let stream = stream.map_err(|error| unproved(&error, &target.pin))?;
        if stream.get_ref().1.alpn_protocol() == Some(b"h2") {
            return Ok(stream);
        }
        Err(Trouble::new(Cause::AnotherService, NO_FETTLED))
    });
    waited.await.unwrap_or_else(|_| {
        let seconds = CONNECT_WAIT.as_secs();
        Err(Trouble::lost(format!("no answer in {seconds} seconds")))
    })
}

const NO_FETTLED: &str = "what answers there does not speak gRPC; it is no fettled";

/// Why there is no connection.
fn unconnected(error: &io::Error, target: &Target) -> Trouble {
    match error.kind() {
        io::ErrorKind::ConnectionRefused => Trouble::new(
            Cause::NotRunning,
            "nothing listens there (connection refused)",
        ),
        io::ErrorKind::NetworkUnreachable | io::ErrorKind::HostUnreachable => {
            Trouble::lost("there is no network to it")
        }
        io::ErrorKind::TimedOut => Trouble::lost("no answer from there"),
        _ if error.raw_os_error().is_none() => {
            Trouble::lost(format!("the name {} cannot be looked up", target.host))
        }
        _ => Trouble::lost(error.to_string()),
    }
}

/// Why the service could not prove itself.
fn unproved(error: &io::Error, pin: &Pin) -> Trouble {
    let inner = error.get_ref().and_then(|inner| inner.downcast_ref());
    let Some(error) = inner else {
        return Trouble::lost(match error.kind() {
            io::ErrorKind::UnexpectedEof
            | io::ErrorKind::ConnectionReset
            | io::ErrorKind::BrokenPipe
            | io::ErrorKind::ConnectionAborted => {
                "the connection was cut in the handshake".to_owned()
            }
            _ => error.to_string(),
        });
    };
    let whose = match pin {
        Pin::Fingerprint(..) | Pin::Last(_) => {
            "the service there is not the one that made this code"
        }
        Pin::Certificate(_) => "the service there is not the one this device is paired with",
    };
    match error {
        TlsError::InvalidCertificate(
            CertificateError::Expired | CertificateError::ExpiredContext { .. },
        ) => Trouble::new(
            Cause::WrongClock,
            "its certificate has run out by this device's clock; see that the clock is right, here \
             and there",
        ),
        TlsError::InvalidCertificate(
            CertificateError::NotValidYet | CertificateError::NotValidYetContext { .. },
        ) => Trouble::new(
            Cause::WrongClock,
            "its certificate is not valid yet by this device's clock; see that the clock is right, \
             here and there",
        ),
        TlsError::InvalidCertificate(
            CertificateError::NotValidForName | CertificateError::NotValidForNameContext { .. },
        ) => Trouble::new(Cause::AnotherService, "its certificate is for another name"),
        TlsError::InvalidCertificate(CertificateError::Other(other))
            if other.0.is::<NotTheOne>() =>
        {
            Trouble::new(Cause::AnotherService, whose)
        }
        TlsError::InvalidCertificate(
            CertificateError::UnknownIssuer | CertificateError::BadSignature,
        ) => Trouble::new(Cause::AnotherService, whose),
        TlsError::InvalidMessage(_) => Trouble::new(
            Cause::AnotherService,
            "what answers there does not speak TLS",
        ),
        TlsError::AlertReceived(alert) => Trouble::new(
            Cause::AnotherService,
            format!("it ended the handshake ({alert:?})"),
        ),
        TlsError::NoApplicationProtocol => Trouble::new(Cause::AnotherService, NO_FETTLED),
        other => Trouble::new(Cause::AnotherService, other.to_string()),
    }
}
