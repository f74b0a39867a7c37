//! The certificates of the books of a node, each shown to the devices that hold on to it.
//!
//! It serves devices that were paired with one book's own certificate. A book's certificate is looked for when a
//! device names it in its handshake, and remembered for a while. Who names books is nobody known: so few are
//! looked for at once, beside the bounds on handshakes themselves, and so many are remembered.

use std::collections::HashMap;
use std::io;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::Instant;

use fettlebook_contract::hint::Hint;
use tokio::sync::Semaphore;
use tokio::task::spawn_blocking;
use tokio_rustls::rustls::ServerConfig;
use uuid::Uuid;

use crate::access::{AccessError, Credentials, Fingerprint};
use crate::limits::{BOOK_SEAL_KEPT_FOR, BOOK_SEALS_LOOKED_FOR_MAX, BOOK_SEALS_MAX};

/// Finds what a book's devices hold on to; nothing where there is no such book, or it has none of its own. It may
/// wait for the engine.
type Find = dyn Fn(Uuid) -> Result<Option<Credentials>, AccessError> + Send + Sync;

/// The certificates of books.
pub(in crate::serve) struct BookSeals {
    find: Arc<Find>,
    held: Mutex<HashMap<Uuid, Held>>,
    looking: Semaphore,
}

/// That of one book.
#[derive(Clone)]
struct Held {
    sealing: Arc<ServerConfig>,
    fingerprint: Fingerprint,
    since: Instant,
    used: Instant,
}

impl BookSeals {
    /// Those that are found so.
    pub(super) fn found_by(
        find: impl Fn(Uuid) -> Result<Option<Credentials>, AccessError> + Send + Sync + 'static,
    ) -> Self {
        Self {
            find: Arc::new(find),
            held: Mutex::default(),
            looking: Semaphore::new(BOOK_SEALS_LOOKED_FOR_MAX),
        }
    }

    /// What a device is shown that wants this; nothing where no book here has that certificate.
    ///
    /// # Errors
    /// When the engine does not tell.
    pub(in crate::serve) async fn sealing(
        &self,
        hint: &Hint,
    ) -> io::Result<Option<Arc<ServerConfig>>> {
        let id = hint.book_id.as_deref().and_then(|id| id.parse().ok());
        let Some(book) = id else {
            return Ok(None);
        };
        let held = match self.remembered(book) {
            Some(held) => Some(held),
            None => self.looked_for(book).await?,
        };
        let held = held.filter(|held| held.fingerprint == Fingerprint(hint.fingerprint));
        Ok(held.map(|held| held.sealing))
    }

    fn remembered(&self, book: Uuid) -> Option<Held> {
        let mut all = self.all();
        let held = all.get_mut(&book)?;
        if held.since.elapsed() >= BOOK_SEAL_KEPT_FOR {
            return None;
        }
        held.used = Instant::now();
        Some(held.clone())
    }

    async fn looked_for(&self, book: Uuid) -> io::Result<Option<Held>> {
        let _turn = self.looking.acquire().await.map_err(io::Error::other)?;
        // Whoever had the turn before may have found it.
        if let Some(held) = self.remembered(book) {
            return Ok(Some(held));
        }
        let find = Arc::clone(&self.find);
        let found = spawn_blocking(move || find(book)).await?;
        let found = found.map_err(|error| {
            tracing::warn!(%book, "the certificate of a book is not known: {}", error.told());
            io::Error::other("the certificate of its book is not known")
        })?;
        let Some(credentials) = found else {
            return Ok(None);
        };
        let now = Instant::now();
        let held = Held {
            sealing: credentials.server_config().map_err(io::Error::other)?,
            fingerprint: credentials.fingerprint(),
            since: now,
            used: now,
        };
        self.remember(book, held.clone());
        Ok(Some(held))
    }

    /// Remembers one, and forgets the one that nobody has wanted for longest where there are too many.
    fn remember(&self, book: Uuid, held: Held) {
        let mut all = self.all();
        if all.len() >= BOOK_SEALS_MAX && !all.contains_key(&book) {
            let oldest = all.iter().min_by_key(|(_, held)| held.used);
            if let Some(oldest) = oldest.map(|(book, _)| *book) {
                all.remove(&oldest);
            }
        }
        all.insert(book, held);
    }

    fn all(&self) -> MutexGuard<'_, HashMap<Uuid, Held>> {
        self.held.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

#[cfg(test)]
mod tests;
