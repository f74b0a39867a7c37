//! Whom a book is opened for: a device that its papers know.
//!
//! It serves a node with several books. Whoever has learnt a book's id could have it opened again and again else, in
//! the place of one that somebody uses. What is said to strangers is what the book itself would say, and however
//! often they come they cost the engine one look a second for a book.

use std::collections::HashMap;
use std::net::IpAddr;
use std::sync::{Arc, Mutex, PoisonError};

use uuid::Uuid;

use super::last_said::LastSaid;
use super::off_the_runtime;
use crate::access::{AccessError, Callers, Token, Tries};
use crate::desk::{Clock as _, SystemClock};
use crate::edge::NoBook;
use crate::limits::BOOKS_LOOK_AGAIN_AFTER;
use crate::store::PostgresStore;

/// Who asks for a book that is not open.
pub(super) struct Caller {
    pub(super) token: String,
    pub(super) from: IpAddr,
}

/// Looks at whoever asks for a book that is not open.
pub(super) struct Doorstep {
    store: PostgresStore,
    /// Devices of the books that were asked for lately.
    lately: Mutex<HashMap<Uuid, Arc<LastSaid<Callers>>>>,
    tries: Tries,
}

impl Doorstep {
    /// In front of the books of this engine.
    pub(super) fn of(store: &PostgresStore) -> Self {
        Self {
            store: store.clone(),
            lately: Mutex::default(),
            tries: Tries::default(),
        }
    }

    /// Lets a device of the book pass, and nobody else.
    pub(super) async fn pass(&self, book: Uuid, caller: &Caller) -> Result<(), NoBook> {
        let passed = match caller.token.parse() {
            Ok(token) => self.look(book, &token).await?,
            Err(_) => Err(AccessError::TokenUnknown),
        };
        let tried = |refused| {
            let tries = self.tries.wrong(caller.from, SystemClock.now());
            NoBook::NotLetIn(tries.err().unwrap_or(refused))
        };
        passed.map_err(tried)
    }

    async fn look(&self, book: Uuid, token: &Token) -> Result<Result<(), AccessError>, NoBook> {
        if token.book_id != book {
            return Ok(Err(AccessError::TokenOtherBook));
        }
        let store = self.store.clone();
        let read = off_the_runtime(move || Callers::read(&*store.cabinet_of(book)));
        let known = |callers: &Callers| match callers.admit(token) {
            Err(AccessError::TokenUnknown) => None,
            known => Some(known),
        };
        let found = self.of_book(book).find(known, read).await;
        let found = found.map_err(|error| {
            tracing::warn!(%book, "the devices of a book are not known: {}", error.told());
            NoBook::Unknown
        })?;
        Ok(found.unwrap_or(Err(AccessError::TokenUnknown)))
    }

    fn of_book(&self, book: Uuid) -> Arc<LastSaid<Callers>> {
        let mut lately = self.lately.lock().unwrap_or_else(PoisonError::into_inner);
        lately.retain(|_, said| {
            Arc::strong_count(said) > 1 || said.is_from_within(BOOKS_LOOK_AGAIN_AFTER)
        });
        Arc::clone(lately.entry(book).or_default())
    }
}
