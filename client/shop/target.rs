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
    /// Id of the book that this device has a token for.
    pub(crate) book_id: Option<String>,
}

impl Target {
    /// The same, looked for at one address first, and last at the one that was left.
    pub(super) fn towards(mut self, first: Option<&Address>, left: Option<&Address>) -> Self {
        self.addresses
            .retain(|address| Some(address) != first && Some(address) != left);
        let ends = (
            first.cloned(),
            left.filter(|left| Some(*left) != first).cloned(),
        );
        self.addresses.splice(0..0, ends.0);
        self.addresses.extend(ends.1);
        self
    }

    /// A service at one address.
    pub(crate) fn at((host, port): (&str, u16), pin: Pin) -> Self {
        let host = host.to_owned();
        Self {
            addresses: vec![Address { host, port }],
            pin,
            book_id: None,
        }
    }
}
