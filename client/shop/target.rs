//! Where a shop's service can be reached, and what it has to show.

use std::fmt;

use fettlebook_contract::pairing::host_and_port;

use super::code;
use super::trust::Pin;

/// An address of a service.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Address {
    /// Name or address of the host, without brackets.
    pub(crate) host: String,
    /// Port.
    pub(crate) port: u16,
}

impl Address {
    /// Reads `HOST:PORT`; nothing where it is none.
    pub(crate) fn read(text: &str) -> Option<Self> {
        host_and_port(text).map(|(host, port)| Self { host, port })
    }
}

impl fmt::Display for Address {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&code::address(&self.host, self.port))
    }
}

/// Where a service is and what it has to show.
#[derive(Clone, Debug)]
pub(crate) struct Target {
    /// Where it is looked for, the likeliest first.
    pub(crate) addresses: Vec<Address>,
    /// What it has to show.
    pub(crate) pin: Pin,
}

impl Target {
    /// A service at one address.
    pub(crate) fn at((host, port): (&str, u16), pin: Pin) -> Self {
        let host = host.to_owned();
        Self {
            addresses: vec![Address { host, port }],
            pin,
        }
    }
}
