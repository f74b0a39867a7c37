//! Which books the engine has, as it last said.
//!
//! It serves the way of a request: a book that is on the list costs no question, and one that is not costs one a
//! second, however many ids a stranger makes up.

use std::sync::Arc;
use std::time::Instant;

use arc_swap::ArcSwap;
use tokio::sync::Mutex;
use tokio::time::sleep;
use uuid::Uuid;

use crate::edge::NoBook;
use crate::limits::{BOOKS_LOOK_AGAIN_AFTER, ENGINE_SILENT_MAX};
use crate::store::{Listed, PostgresStore, StoreError};

/// Which books there are.
pub(super) struct Known {
    store: PostgresStore,
    last: ArcSwap<List>,
    /// Whoever asks has the turn.
    turn: Mutex<()>,
}

/// What the engine said.
#[derive(Debug)]
struct List {
    /// By their ids.
    books: Vec<Listed>,
    /// Those that have not moved, the first begun first.
    here: Vec<Uuid>,
    /// When that was asked.
    asked: Instant,
}

impl List {
    fn of(listed: Vec<Listed>, asked: Instant) -> Self {
        let here = listed.iter().filter(|book| !book.has_moved);
        let here = here.map(|book| book.id).collect();
        let mut books = listed;
        books.sort_unstable_by_key(|book| book.id);
        Self { books, here, asked }
    }

    fn find(&self, id: Uuid) -> Option<Listed> {
        let place = self.books.binary_search_by_key(&id, |book| book.id).ok()?;
        self.books.get(place).copied()
    }
}

impl Known {
    /// Asks for the first time.
    pub(super) async fn of(store: &PostgresStore) -> Result<Self, StoreError> {
        let asked = Instant::now();
        let list = List::of(store.listed().await?, asked);
        Ok(Self {
            store: store.clone(),
            last: ArcSwap::from_pointee(list),
            turn: Mutex::default(),
        })
    }

    /// The books that have not moved, the first begun first.
    pub(super) fn here(&self) -> Vec<Uuid> {
        self.last.load().here.clone()
    }

    /// Whether there are several, by the last list, or were: one that moved away counts, so that what everyone is
    /// shown stays what it was.
    pub(super) fn has_several(&self) -> bool {
        self.last.load().books.len() > 1
    }

    /// Whether a book is there or was, by the last list.
    pub(super) fn has(&self, id: Uuid) -> bool {
        self.last.load().find(id).is_some()
    }

    /// Whether the engine told lately.
    pub(super) fn is_lately(&self) -> bool {
        self.last.load().asked.elapsed() <= ENGINE_SILENT_MAX
    }

    /// Asks again.
    pub(super) async fn look(&self) -> Result<(), StoreError> {
        let _turn = self.turn.lock().await;
        self.ask().await
    }

    async fn ask(&self) -> Result<(), StoreError> {
        let asked = Instant::now();
        let listed = self.store.listed().await?;
        self.last.store(Arc::new(List::of(listed, asked)));
        Ok(())
    }

    /// Whether a book is there now: by the last list where it is on it, else by one that is asked for from now on.
    pub(super) async fn look_up(&self, id: Uuid) -> Result<(), NoBook> {
        let is_here = |found: Option<Listed>| found.is_some_and(|book| !book.has_moved);
        if is_here(self.last.load().find(id)) {
            return Ok(());
        }
        let came = Instant::now();
        let _turn = self.turn.lock().await;
        let last = self.last.load().asked;
        if last < came {
            sleep(BOOKS_LOOK_AGAIN_AFTER.saturating_sub(last.elapsed())).await;
            if let Err(error) = self.ask().await {
                tracing::warn!(%error, "the engine does not say which books there are");
                return Err(NoBook::Unknown);
            }
        }
        match self.last.load().find(id) {
            Some(book) if book.has_moved => Err(NoBook::Moved),
            Some(_) => Ok(()),
            None => Err(NoBook::Other),
        }
    }
}
