//! What an engine says of all its books, and what those have in common.
//!
//! It serves nodes that have several: which books there are, one more of them, whose code a device has that names no
//! book, and the papers of what everyone is shown, which stand under an id that no book has.

use std::fmt;
use std::sync::Arc;

use fettlebook_model::Seq;
use uuid::Uuid;

use super::engine::Engine;
use super::lanes::Lane;
use super::trouble::Trouble;
use super::{EngineBook, PostgresStore};
use crate::limits::{CODES_LOOKED_AT_FOR, CODES_LOOKED_AT_MAX, ENGINE_WAIT_MAX};
use crate::store::{Cabinet, CabinetError, CodePapers, Store as _, StoreError};

/// Whose papers those are that all books have in common.
const ALL: Uuid = Uuid::nil();

/// A book, as it is told to people who have to name one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NamedBook {
    /// Its id.
    pub id: Uuid,
    /// What people call the shop, where somebody has said so.
    pub name: Option<String>,
    /// Entries in it.
    pub entry_count: u64,
    /// The day on which it began there.
    pub begun: String,
}

impl fmt::Display for NamedBook {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let entries = match self.entry_count {
            1 => "1 entry".to_owned(),
            count => format!("{count} entries"),
        };
        let name = self.name.as_deref().unwrap_or("no name");
        write!(f, "{}  {name}, {entries}, since {}", self.id, self.begun)
    }
}

/// Where a book ends, and what was noted of its upkeep.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct BookEnd {
    /// Its id.
    pub(crate) id: Uuid,
    /// Which life of it this is.
    pub(crate) incarnation_id: Uuid,
    /// Its last entry.
    pub(crate) head: Seq,
    /// The note, as whoever had the book wrote it.
    pub(crate) upkeep: Option<Vec<u8>>,
}

impl PostgresStore {
    /// The cabinet of a book by its id, whether it is there or not.
    pub(crate) fn cabinet_of(&self, book: Uuid) -> Arc<dyn Cabinet> {
        self.of_book(book).cabinet()
    }

    /// The cabinet with the authority of what everyone is shown where there are several books.
    pub(crate) fn cabinet_of_all(&self) -> Arc<dyn Cabinet> {
        self.cabinet_of(ALL)
    }

    /// The books that are there, the oldest first.
    ///
    /// # Errors
    /// When the engine does not answer.
    pub(crate) fn books(&self) -> Result<Vec<NamedBook>, StoreError> {
        let ask =
            |session: Arc<super::session::Session>| async move { session.named_books().await };
        let books = self.engine.ask(Lane::Any, ENGINE_WAIT_MAX, ask);
        books.map_err(|trouble| self.unreached(&trouble))
    }

    /// Whether there are several books, or were: one that moved away counts.
    ///
    /// # Errors
    /// When the engine does not answer.
    pub(crate) fn has_several(&self) -> Result<bool, StoreError> {
        Ok(self.book_count()? > 1)
    }

    /// How many books there are or were.
    ///
    /// # Errors
    /// When the engine does not answer.
    pub(crate) fn book_count(&self) -> Result<usize, StoreError> {
        let ask = |session: Arc<super::session::Session>| async move { session.ids().await };
        let listed = self.engine.ask(Lane::Any, ENGINE_WAIT_MAX, ask);
        let listed = listed.map_err(|trouble| self.unreached(&trouble))?;
        Ok(listed.len())
    }

    /// Where each book ends that has entries, whoever has it.
    ///
    /// # Errors
    /// When the engine does not answer.
    pub(crate) async fn ends(&self) -> Result<Vec<BookEnd>, StoreError> {
        let ask = |session: Arc<super::session::Session>| async move { session.ends().await };
        let ends = self.engine.ask_beside(Lane::Office, ENGINE_WAIT_MAX, ask);
        ends.await.map_err(|trouble| self.unreached(&trouble))
    }

    /// The codes of all its books.
    pub(crate) fn code_papers(&self) -> Arc<dyn CodePapers> {
        Arc::new(EngineCodes(Arc::clone(&self.engine)))
    }
}

impl EngineBook<'_> {
    /// Begins one more book, called so.
    ///
    /// # Errors
    /// Those of [`Self::store`].
    pub(crate) fn begin_another(&self, name: Option<&str>) -> Result<Uuid, StoreError> {
        let engine = self.engine()?;
        let (new, name) = (Uuid::now_v7(), name.map(str::to_owned));
        let begun = engine.ask(Lane::Any, ENGINE_WAIT_MAX, move |session| async move {
            session.begin_another(new, name.as_deref()).await
        });
        begun.map_err(|trouble| StoreError::Engine {
            place: engine.place().to_owned(),
            what: trouble.to_string(),
        })?;
        Ok(new)
    }
}

/// The codes of all books of an engine.
#[derive(Debug)]
struct EngineCodes(Arc<Engine>);

impl CodePapers for EngineCodes {
    fn lately(&self) -> Result<Vec<(Uuid, Vec<u8>)>, CabinetError> {
        let (within, most) = (CODES_LOOKED_AT_FOR.as_secs_f64(), CODES_LOOKED_AT_MAX);
        let read = self
            .0
            .ask(Lane::Any, ENGINE_WAIT_MAX, move |session| async move {
                session.codes_lately(within, most).await
            });
        read.map_err(|trouble: Trouble| CabinetError::Failed {
            path: format!("code in {}", self.0.place()),
            action: "read",
            why: trouble.to_string(),
        })
    }
}
