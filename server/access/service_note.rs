//! Where the service listened last, for whoever makes a code beside it.
//!
//! It serves `fettled pair`, which needs no connection. It says nothing that is secret.

use std::net::{IpAddr, Ipv4Addr, Ipv6Addr, SocketAddr, UdpSocket};

use serde::{Deserialize, Serialize};

use super::paper;
use super::{AccessError, Fingerprint};
use crate::store::{Cabinet, Paper};

const FORMAT: u32 = 1;

/// What the service says of itself.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ServiceNote {
    format: u32,
    /// Where devices reach it, as `HOST:PORT`.
    pub address: String,
    /// Fingerprint of its certificate, hex.
    fingerprint: String,
    /// Where it listens; absent in notes of programs that did not say.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    listens: Option<SocketAddr>,
    /// Where devices reach it, as it was told, each as `HOST:PORT`; none where that is where it listens.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    reached_at: Vec<String>,
    /// Whether its certificate was given to it, and is not one that it made.
    #[serde(default, skip_serializing_if = "is_false")]
    given: bool,
}

#[expect(
    clippy::trivially_copy_pass_by_ref,
    reason = "serde passes a reference"
)]
const fn is_false(word: &bool) -> bool {
    !*word
}

impl ServiceNote {
    /// The note of a service that listens there. One that listens everywhere is reached at the address
    /// that this machine has towards others.
    pub fn new(listens: SocketAddr, fingerprint: Fingerprint) -> Self {
        Self {
            format: FORMAT,
            address: SocketAddr::new(Self::reached_at(listens.ip()), listens.port()).to_string(),
            fingerprint: fingerprint.hex(),
            listens: Some(listens),
            reached_at: Vec::new(),
            given: false,
        }
    }

    /// The same, of a service whose certificate was given to it, or was not.
    pub(crate) fn with_given(self, given: bool) -> Self {
        Self { given, ..self }
    }

    /// Whether its certificate was given to it.
    #[cfg(feature = "postgres")]
    pub(super) const fn is_given(&self) -> bool {
        self.given
    }

    /// The same, of a service that was told where devices reach it.
    pub fn with_reached_at(mut self, told: &[String]) -> Self {
        self.reached_at = told.to_vec();
        self
    }

    /// Where devices reach it, as it was told, the first to try at the head.
    pub fn reached_at_told(&self) -> &[String] {
        &self.reached_at
    }

    /// Where devices reach it at this moment: as it was told, else where it listens; a machine may have got
    /// another address since it started.
    pub fn reached_now(&self) -> String {
        if let Some(first) = self.reached_at.first() {
            return first.clone();
        }
        self.listens.map_or_else(
            || self.address.clone(),
            |listens| SocketAddr::new(Self::reached_at(listens.ip()), listens.port()).to_string(),
        )
    }

    /// The fingerprint of its certificate.
    pub fn fingerprint(&self) -> Option<Fingerprint> {
        self.fingerprint.parse().ok()
    }

    /// The address at which others reach what listens there.
    pub fn reached_at(ip: IpAddr) -> IpAddr {
        if !ip.is_unspecified() {
            return ip;
        }
        let v4 = || outward(Ipv4Addr::UNSPECIFIED.into(), TOWARDS_V4.into());
        let v6 = || outward(Ipv6Addr::UNSPECIFIED.into(), TOWARDS_V6.into());
        let found = if ip.is_ipv4() { v4() } else { v4().or_else(v6) };
        found.unwrap_or(Ipv4Addr::LOCALHOST.into())
    }

    /// Writes it down.
    pub(crate) fn write(&self, cabinet: &dyn Cabinet) -> Result<(), AccessError> {
        paper::write(cabinet, Paper::Service, self)
    }

    pub(super) fn read(cabinet: &dyn Cabinet) -> Result<Option<Self>, AccessError> {
        paper::read(cabinet, Paper::Service)
    }
}

/// Addresses that nobody has. Source: RFC 5737, section 3, and RFC 3849, section 4.
const TOWARDS_V4: Ipv4Addr = Ipv4Addr::new(192, 0, 2, 1);
const TOWARDS_V6: Ipv6Addr = Ipv6Addr::new(0x2001, 0xdb8, 0, 0, 0, 0, 0, 1);

/// The address from which this machine would send there. Nothing is sent: connecting a socket of UDP
/// only chooses the way.
fn outward(from: IpAddr, towards: IpAddr) -> Option<IpAddr> {
    /// Any port does; this one takes and throws away (RFC 863).
    const DISCARD_PORT: u16 = 9;
    let socket = UdpSocket::bind(SocketAddr::new(from, 0)).ok()?;
    socket
        .connect(SocketAddr::new(towards, DISCARD_PORT))
        .ok()?;
    let found = socket.local_addr().ok()?.ip();
    Some(found).filter(|ip| !ip.is_unspecified())
}
