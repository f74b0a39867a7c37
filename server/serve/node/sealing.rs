//! How a node seals connections, whether it has the book or not.

use fettlebook_model::Moment;
use tokio_rustls::TlsAcceptor;

use crate::access::{AccessError, Fingerprint};
use crate::serve::door::Shown;

/// How connections are sealed, and by what devices know the service.
pub(super) struct Sealing {
    pub(super) acceptor: TlsAcceptor,
    pub(super) fingerprint: Fingerprint,
    /// The certificate of that fingerprint.
    pub(super) certificate: Vec<u8>,
    /// Until when the service's own is good, where that can be told.
    pub(super) certificate_end: Option<Moment>,
}

impl Sealing {
    /// With what devices are shown.
    pub(super) fn with(shown: &Shown) -> Result<Self, AccessError> {
        let credentials = &shown.credentials;
        let held = credentials.chain().last();
        Ok(Self {
            acceptor: TlsAcceptor::from(credentials.server_config()?),
            fingerprint: credentials.fingerprint(),
            certificate: held.map_or_else(Vec::new, |held| held.to_vec()),
            certificate_end: credentials.good_until(),
        })
    }
}
