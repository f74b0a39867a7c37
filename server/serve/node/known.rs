//! Which books the engine has, as it last said.
//!
//! It serves the way of a request: a book that is on the list costs no question, and one that is not costs one a
//! second, however many ids a stranger makes up.

use uuid::Uuid;

use super::last_said::LastSaid;
use crate::edge::NoBook;
use crate::limits::ENGINE_SILENT_MAX;
use crate::store::{Listed, PostgresStore, StoreError};

/// Which books there are.
pub(super) struct Known {
    store: PostgresStore,
    said: LastSaid<List>,
}

/// What the engine said.
#[derive(Debug)]
struct List {
    /// By their ids.
    books: Vec<Listed>,
    /// Those that have not moved, the first begun first.
    here: Vec<Uuid>,
}

impl List {
    fn of(listed: Vec<Listed>) -> Self {
        let here = listed.iter().filter(|book| !book.has_moved);
        let here = here.map(|book| book.id).collect();
        let mut books = listed;
        books.sort_unstable_by_key(|book| book.id);
        Self { books, here }
    }

    fn find(&self, id: Uuid) -> Option<Listed> {
        let place = self.books.binary_search_by_key(&id, |book| book.id).ok()?;
        self.books.get(place).copied()
    }
}

impl Known {
    /// Asks for the first time.
    pub(super) async fn of(store: &PostgresStore) -> Result<Self, StoreError> {
        let known = Self {
            store: store.clone(),
            said: LastSaid::default(),
        };
        known.look().await?;
        Ok(known)
    }

    /// The books that have not moved, the first begun first.
    pub(super) fn here(&self) -> Vec<Uuid> {
        self.said.see(|list| list.here.clone()).unwrap_or_default()
    }

    /// Whether there are several, by the last list, or were: one that moved away counts, so that what everyone is
    /// shown stays what it was.
    pub(super) fn has_several(&self) -> bool {
        self.said.see(|list| list.books.len() > 1) == Some(true)
    }

    /// Whether a book is there or was, by the last list.
    pub(super) fn has(&self, id: Uuid) -> bool {
        self.find(id).is_some()
    }

    fn find(&self, id: Uuid) -> Option<Listed> {
        self.said.see(|list| list.find(id)).flatten()
    }

    /// Whether the engine told lately.
    pub(super) fn is_lately(&self) -> bool {
        self.said.is_from_within(ENGINE_SILENT_MAX)
    }

    /// Asks again.
    pub(super) async fn look(&self) -> Result<(), StoreError> {
        self.said.ask(self.list()).await
    }

    async fn list(&self) -> Result<List, StoreError> {
        self.store.listed().await.map(List::of)
    }

    /// Whether a book is there now: by the last list where it is on it, else by one that is asked for from now on.
    pub(super) async fn look_up(&self, id: Uuid) -> Result<(), NoBook> {
        let is_here = |list: &List| list.find(id).filter(|book| !book.has_moved);
        match self.said.find(is_here, self.list()).await {
            Ok(Some(_)) => Ok(()),
            Ok(None) if self.has(id) => Err(NoBook::Moved),
            Ok(None) => Err(NoBook::Other),
            Err(error) => {
                tracing::warn!(%error, "the engine does not say which books there are");
                Err(NoBook::Unknown)
            }
        }
    }
}
