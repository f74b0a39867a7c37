//! Reaching a shop's service: the first of its addresses that answers and proves itself.
//!
//! It serves every connection to a shop. An address that keeps silent holds nobody up: the next is tried
//! soon beside it, and whichever proves itself first is used.

use std::io;
use std::sync::Arc;
use std::time::Duration;

use tokio::net::TcpStream;
use tokio::task::JoinSet;
use tokio::time::{Instant, sleep, timeout_at};
use tokio_rustls::TlsConnector;
use tokio_rustls::client::TlsStream;
use tokio_rustls::rustls::pki_types::ServerName;
use tokio_rustls::rustls::{CertificateError, ClientConfig, Error as TlsError};

use super::target::{Address, Target};
use super::trouble::{Cause, Trouble};
use super::trust::{NotTheOne, Pin};

/// Longest wait for a connection, its handshake included: a person without signal waits no longer.
pub(super) const CONNECT_WAIT: Duration = Duration::from_secs(3);

/// How long an address is given before the next is tried beside it.
///
/// Source: RFC 8305, section 8, "Connection Attempt Delay".
const NEXT_AFTER: Duration = Duration::from_millis(250);

/// A connection to a service that has proved itself, and the address where it was reached.
pub(super) struct Reached {
    pub(super) address: Address,
    pub(super) stream: TlsStream<TcpStream>,
}

/// Connects to whichever address proves itself first.
///
/// # Errors
/// What went wrong at the first address; where there are others, what it was there too.
pub(super) async fn dial(tls: &Arc<ClientConfig>, target: &Target) -> Result<Reached, Trouble> {
    let until = Instant::now() + CONNECT_WAIT;
    let mut troubles: Vec<Option<Trouble>> = vec![None; target.addresses.len()];
    let mut left = target.addresses.iter().cloned().enumerate().peekable();
    let mut tries = JoinSet::new();
    // Each round tries one more: at first, when the one before has kept silent, and as soon as one has failed.
    loop {
        if let Some((at, address)) = left.next() {
            let (tls, pin) = (Arc::clone(tls), target.pin.clone());
            tries.spawn(async move {
                let tried = timeout_at(until, connect(tls, &address, &pin)).await;
                let stream = tried.unwrap_or_else(|_| Err(silent()));
                let reached = stream.map(|stream| Reached { address, stream });
                reached.map_err(|trouble| (at, trouble))
            });
        }
        let ended = tokio::select! {
            ended = tries.join_next() => ended,
            () = sleep(NEXT_AFTER), if left.peek().is_some() => continue,
        };
        match ended {
            Some(Ok(Ok(reached))) => return Ok(reached),
            Some(Ok(Err((at, trouble)))) => {
                if let Some(place) = troubles.get_mut(at) {
                    *place = Some(trouble);
                }
            }
            Some(Err(error)) => return Err(Trouble::lost(error.to_string())),
            None => return Err(of_all(&target.addresses, troubles)),
        }
    }
}

/// The trouble of the first address, with what it was at the others.
fn of_all(addresses: &[Address], troubles: Vec<Option<Trouble>>) -> Trouble {
    let mut told = addresses.iter().zip(troubles);
    let first = told.next().and_then(|(_, trouble)| trouble);
    let mut first = first.unwrap_or_else(silent);
    for (address, trouble) in told {
        if let Some(trouble) = trouble {
            first.what.push_str(&format!("; at {address}: {trouble}"));
        }
    }
    first
}

/// Nobody answered in time.
fn silent() -> Trouble {
    Trouble::lost(format!("no answer in {} seconds", CONNECT_WAIT.as_secs()))
}

/// Connects to one address.
async fn connect(
    tls: Arc<ClientConfig>,
    address: &Address,
    pin: &Pin,
) -> Result<TlsStream<TcpStream>, Trouble> {
    let stream = TcpStream::connect((address.host.as_str(), address.port)).await;
    let stream = stream.map_err(|error| unconnected(&error, address))?;
    // Small requests are not held back; where that cannot be set they are only slower.
    let _ = stream.set_nodelay(true);
    let name = ServerName::try_from(address.host.clone()).map_err(|_| {
        let what = format!("{} is no name of a host", address.host);
        Trouble::new(Cause::Unusable, what)
    })?;
    let stream = TlsConnector::from(tls).connect(name, stream).await;
    let stream = stream.map_err(|error| unproved(&error, pin))?;
    if stream.get_ref().1.alpn_protocol() == Some(b"h2") {
        return Ok(stream);
    }
    Err(Trouble::new(Cause::AnotherService, NO_FETTLED))
}

const NO_FETTLED: &str = "what answers there does not speak gRPC; it is no fettled";

/// Why there is no connection.
fn unconnected(error: &io::Error, address: &Address) -> Trouble {
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
            Trouble::lost(format!("the name {} cannot be looked up", address.host))
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

#[cfg(test)]
mod tests;
