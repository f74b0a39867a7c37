//! How a node seals connections, whether it has the book or not.

use fettlebook_model::Moment;

use super::BookSeals;
use crate::access::{AccessError, Credentials, Fingerprint};
use crate::desk::{Clock as _, SystemClock};
use crate::serve::door::Shown;
use crate::serve::seals::Seals;
use crate::store::PostgresStore;

/// How connections are sealed, and by what devices know the service.
pub(super) struct Sealing {
    pub(super) seals: Seals,
    pub(super) fingerprint: Fingerprint,
    /// The certificate of that fingerprint.
    pub(super) certificate: Vec<u8>,
    /// Until when the service's own is good, where that can be told.
    pub(super) certificate_end: Option<Moment>,
}

impl Sealing {
    /// With what everyone is shown, and what the devices of each book in this engine hold on to.
    pub(super) fn with(shown: &Shown, store: &PostgresStore) -> Result<Self, AccessError> {
        let credentials = &shown.credentials;
        let held = credentials.chain().last();
        let (store, hosts) = (store.clone(), shown.hosts.clone());
        let books = BookSeals::found_by(move |book| {
            Credentials::beside_others(&*store.cabinet_of(book), &hosts, SystemClock.now())
        });
        Ok(Self {
            seals: Seals::with(credentials)?.beside_books(books),
            fingerprint: credentials.fingerprint(),
            certificate: held.map_or_else(Vec::new, |held| held.to_vec()),
            certificate_end: credentials.good_until(),
        })
    }
}
