//! How a node seals connections, whether it has the book or not.

use std::sync::Arc;

use super::BookSeals;
use crate::access::{Credentials, Newcomers};
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
}

impl Sealing {
    /// With what everyone is shown, and what the devices of each book in this engine hold on to.
    pub(super) fn of(shown: &Shown, store: &PostgresStore) -> Self {
        let newcomers = Newcomers::new(store.code_papers(), shown.now.clone());
        let (store, hosts) = (store.clone(), shown.hosts.clone());
        let books = BookSeals::found_by(move |book| {
            Credentials::beside_others(&*store.cabinet_of(book), &hosts, SystemClock.now())
        });
        Self {
            seals: shown.seals.clone().beside_books(books),
            entrance: Entrance::new(newcomers, Arc::new(SystemClock)),
        }
    }
}
