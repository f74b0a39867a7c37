//! How a node seals connections, whether it has the book or not.

use std::sync::Arc;

use fettlebook_model::Moment;

use super::BookSeals;
use crate::access::{AccessError, Credentials, Fingerprint, Newcomers};
use crate::desk::{Clock as _, SystemClock};
use crate::edge::Entrance;
use crate::serve::door::Shown;
use crate::serve::seals::Seals;
use crate::store::PostgresStore;

/// How connections are sealed, and by what devices know the service.
pub(super) struct Sealing {
    pub(super) seals: Seals,
    /// Where devices come in that have no token yet.
    pub(super) entrance: Entrance,
    pub(super) fingerprint: Fingerprint,
    /// The certificate of that fingerprint.
    pub(super) certificate: Vec<u8>,
    /// Until when the service's own is good, where that can be told.
    pub(super) certificate_end: Option<Moment>,
}

impl Sealing {
    /// With what everyone is shown, and what the devices of each book in this engine hold on to.
    /// None where no door was asked for.
    pub(super) fn of(
        shown: Option<&Shown>,
        store: &PostgresStore,
    ) -> Result<Option<Self>, AccessError> {
        let Some(shown) = shown else {
            return Ok(None);
        };
        let credentials = &shown.credentials;
        let held = credentials.chain().last();
        let newcomers = Newcomers::new(store.code_papers(), credentials.fingerprint());
        let (store, hosts) = (store.clone(), shown.hosts.clone());
        let books = BookSeals::found_by(move |book| {
            Credentials::beside_others(&*store.cabinet_of(book), &hosts, SystemClock.now())
        });
        Ok(Some(Self {
            seals: Seals::with(credentials)?.beside_books(books),
            entrance: Entrance::new(newcomers, Arc::new(SystemClock)),
            fingerprint: credentials.fingerprint(),
            certificate: held.map_or_else(Vec::new, |held| held.to_vec()),
            certificate_end: credentials.good_until(),
        }))
    }
}
