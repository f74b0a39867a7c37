//! Which certificate a connection is sealed with: what everyone is shown, or what its device says that it believes.
//!
//! It serves the sealing of connections. What a device says is only believed to be what it wants: a name that is
//! not understood, or of nothing that is here, is shown what everyone is.

use std::io;
use std::sync::Arc;

use arc_swap::ArcSwap;
use fettlebook_contract::hint::Hint;
use tokio_rustls::rustls::ServerConfig;
use tokio_rustls::rustls::server::ClientHello;

#[cfg(feature = "postgres")]
use super::node::BookSeals;
use crate::access::{CertificateError, Credentials, Fingerprint};

/// What connections are sealed with. Clones are the same.
#[derive(Clone)]
pub(crate) struct Seals {
    usual: Arc<ArcSwap<Usual>>,
    /// Those of the books of a node, beside what everyone is shown.
    #[cfg(feature = "postgres")]
    books: Option<Arc<BookSeals>>,
}

/// What everyone is shown.
struct Usual {
    sealing: Arc<ServerConfig>,
    fingerprint: Fingerprint,
}

impl Usual {
    fn of(credentials: &Credentials) -> Result<Self, CertificateError> {
        Ok(Self {
            sealing: credentials.server_config()?,
            fingerprint: credentials.fingerprint(),
        })
    }
}

impl Seals {
    /// Shows these to everyone.
    ///
    /// # Errors
    /// When the key does not belong to the certificate.
    pub(crate) fn with(credentials: &Credentials) -> Result<Self, CertificateError> {
        Ok(Self {
            usual: Arc::new(ArcSwap::from_pointee(Usual::of(credentials)?)),
            #[cfg(feature = "postgres")]
            books: None,
        })
    }

    /// The same, and to a device that believes the certificate of its book alone, that one.
    #[cfg(feature = "postgres")]
    pub(super) fn beside_books(self, books: BookSeals) -> Self {
        Self {
            books: Some(Arc::new(books)),
            ..self
        }
    }

    /// Shows these to everyone who comes from now on.
    ///
    /// # Errors
    /// When the key does not belong to the certificate.
    #[cfg(feature = "postgres")]
    pub(super) fn turn_to(&self, credentials: &Credentials) -> Result<(), CertificateError> {
        self.usual.store(Arc::new(Usual::of(credentials)?));
        Ok(())
    }

    /// What a device says that it believes, where that is not what everyone is shown anyway.
    pub(super) fn wanted(&self, hello: &ClientHello<'_>) -> Option<Hint> {
        let names = hello.certificate_authorities()?.iter();
        let wanted = names.filter_map(|name| Hint::of_name(name.as_ref())).next();
        let usual = self.usual.load().fingerprint;
        wanted.filter(|hint| Fingerprint(hint.fingerprint) != usual)
    }

    /// What a connection is sealed with whose device wants this.
    ///
    /// # Errors
    /// When it cannot be told: another certificate would tell the device that this is another service.
    pub(super) async fn sealing(&self, wanted: Option<&Hint>) -> io::Result<Arc<ServerConfig>> {
        #[cfg(feature = "postgres")]
        if let (Some(books), Some(hint)) = (&self.books, wanted)
            && let Some(found) = books.sealing(hint).await?
        {
            return Ok(found);
        }
        #[cfg(not(feature = "postgres"))]
        let _ = wanted;
        Ok(Arc::clone(&self.usual.load().sealing))
    }
}
