//! The certificate by which devices know the book: an authority of its own and a leaf signed by it,
//! or the shop's own.
//!
//! It serves listening with TLS. A device holds on to the fingerprint of the last certificate of the
//! chain and trusts nothing else; so whatever is served here has been verified the way a device
//! does it, before anything listens.

mod check;
mod given;
mod made;
#[cfg(test)]
mod tests;

use std::path::Path;
use std::sync::Arc;

use fettlebook_model::Moment;
use tokio_rustls::rustls::ServerConfig;
use tokio_rustls::rustls::crypto::ring;
use tokio_rustls::rustls::pki_types::{CertificateDer, PrivateKeyDer, ServerName};
use tokio_rustls::rustls::version::TLS13;

use super::{AccessError, Fingerprint};
use crate::store::Cabinet;

/// The name for which every own certificate stands, so that a device may dial any address.
pub const SERVICE_NAME: &str = "fettled.internal";

/// What HTTP/2 over TLS is called. Source: RFC 9113, section 3.2.
const ALPN_H2: &[u8] = b"h2";
/// HTTP/1.1 is spoken to pages that choose it. Source: RFC 7301, section 6.
const ALPN_HTTP_1: &[u8] = b"http/1.1";

/// Why a certificate cannot be served.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum CertificateError {
    /// A file cannot be read.
    #[error("{path} cannot be read: {what}. Name a file in PEM that fettled may read.")]
    Unreadable {
        /// The file.
        path: String,
        /// What is wrong.
        what: String,
    },
    /// The key is of another certificate.
    #[error(
        "The key does not belong to the first certificate of the file: {what}. Name the two that were made together, the service's own certificate first."
    )]
    NotTogether {
        /// What is wrong.
        what: String,
    },
    /// The certificate is over, or has not begun.
    #[error("The certificate is not good today: {what}. Renew it, or set the clock.")]
    NotNow {
        /// What is wrong.
        what: String,
    },
    /// A device would not believe it.
    #[error(
        "No device would believe this certificate: {what}. Name a file that begins with the service's certificate and ends with the one that the others rest on."
    )]
    Unbelievable {
        /// What is wrong.
        what: String,
    },
    /// The own certificate cannot be made.
    #[error(
        "The certificate of the book cannot be made: {what}. Remove {path} to have a new one made; every device has to be paired again then."
    )]
    NotMade {
        /// What is wrong.
        what: String,
        /// The file to remove.
        path: String,
    },
}

impl From<CertificateError> for AccessError {
    fn from(error: CertificateError) -> Self {
        Self::Certificate {
            what: error.to_string(),
        }
    }
}

/// What the service shows to devices, and the key to it.
#[derive(Debug)]
pub struct Credentials {
    chain: Vec<CertificateDer<'static>>,
    key: PrivateKeyDer<'static>,
}

impl Credentials {
    /// The book's own, made where there are none, for these hosts beside the usual names.
    ///
    /// # Errors
    /// When they cannot be made, read or written.
    pub fn own(cabinet: &dyn Cabinet, hosts: &[String], now: Moment) -> Result<Self, AccessError> {
        cabinet.open()?;
        let _turn = cabinet.turn()?;
        made::credentials(cabinet, hosts, now)
    }

    /// Those of a book beside others, by its own authority, for these hosts beside the usual names; nothing where
    /// it has none. They are made for this run of the program: a machine keeps one leaf, of what everyone is shown.
    ///
    /// # Errors
    /// When they cannot be made, or the authority cannot be read.
    #[cfg(feature = "postgres")]
    pub(crate) fn beside_others(
        cabinet: &dyn Cabinet,
        hosts: &[String],
        now: Moment,
    ) -> Result<Option<Self>, AccessError> {
        made::for_this_run(cabinet, hosts, now)
    }

    /// Those in two files, a chain and its key, both in PEM.
    ///
    /// # Errors
    /// When they cannot be read, do not belong together, or no device would believe them today.
    pub fn given(chain: &Path, key: &Path, now: Moment) -> Result<Self, CertificateError> {
        given::credentials(chain, key, now)
    }

    /// The certificates that are shown, the service's own first.
    pub fn chain(&self) -> &[CertificateDer<'static>] {
        &self.chain
    }

    /// The fingerprint that devices hold on to: that of the last certificate of the chain.
    pub fn fingerprint(&self) -> Fingerprint {
        self.chain
            .last()
            .map_or(Fingerprint([0; 32]), |last| Fingerprint::of(last))
    }

    /// Until when the service's own certificate is good, where that can be told.
    pub(crate) fn good_until(&self) -> Option<Moment> {
        check::good_until(&self.chain)
    }

    /// Whether the certificate stands for a host, by name or address.
    pub fn stands_for(&self, host: &str) -> bool {
        self.chain
            .first()
            .is_some_and(|leaf| check::stands_for(leaf, host))
    }

    /// Whether a certificate can stand for a host at all.
    pub fn can_stand_for(host: &str) -> bool {
        ServerName::try_from(host).is_ok()
    }

    /// How to speak TLS with them.
    ///
    /// # Errors
    /// When the key does not belong to the certificate.
    pub fn server_config(&self) -> Result<Arc<ServerConfig>, CertificateError> {
        let not_together = |error: tokio_rustls::rustls::Error| CertificateError::NotTogether {
            what: error.to_string(),
        };
        let provider = Arc::new(ring::default_provider());
        let config = ServerConfig::builder_with_provider(provider)
            .with_protocol_versions(&[&TLS13])
            .map_err(not_together)?;
        let mut config = config
            .with_no_client_auth()
            .with_single_cert(self.chain.clone(), self.key.clone_key())
            .map_err(not_together)?;
        config.alpn_protocols = vec![ALPN_H2.to_vec(), ALPN_HTTP_1.to_vec()];
        Ok(Arc::new(config))
    }
}

/// The certificate of the own authority, which is made where there is none.
pub(super) fn authority(
    cabinet: &dyn Cabinet,
    now: Moment,
) -> Result<CertificateDer<'static>, AccessError> {
    let _turn = cabinet.turn()?;
    Ok(made::authority(cabinet, now)?.certificate)
}
