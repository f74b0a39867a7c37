//! What the engine sees of whoever has the right to a book.
//!
//! It serves whoever waits for one. Only the engine is asked: a holder that it does not hear from cannot
//! write, however well it answers others; one that it hears from can, however little of it is heard here.

use uuid::Uuid;

use super::PostgresStore;
use super::session::SeenRow;
use crate::store::{Holder, StoreError};

/// Who has the right, and what the engine sees of them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Seen {
    /// What they said of themselves; none once the right was given back.
    pub holder: Option<Holder>,
    /// Whether this run of this process has it.
    pub is_own: bool,
    /// How it stands with their sessions.
    pub sessions: Sessions,
}

/// How it stands with the sessions of whoever has the right.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sessions {
    /// There is none: the process ended, or the engine is another.
    Gone,
    /// When one of them last asked something, by the engine's clock: it is looked at only for whether it changes.
    AskedAt(i64),
    /// That is not shown to the role that asks, or the holder says not which are its own.
    Hidden,
}

/// Whether a process still has the right that it had.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Right {
    /// It has.
    Own,
    /// Another has it, or nobody.
    Lost(Option<Holder>),
}

impl PostgresStore {
    /// Who has the right, and what the engine sees of them; none where there is no book yet.
    ///
    /// # Errors
    /// When the engine does not answer, or has no such book.
    pub fn seen(&self) -> Result<Option<Seen>, StoreError> {
        let Some(book) = self.book()? else {
            return Ok(None);
        };
        let row = self.engine.seen(book);
        let row = row.map_err(|trouble| self.unreached(&trouble))?;
        Ok(row.map(|row| Seen::of(&row, self.engine.node())))
    }

    /// Whether the book is still this process's; or whose it is.
    ///
    /// # Errors
    /// When the engine does not answer.
    pub fn confirm(&self) -> Result<Right, StoreError> {
        let Some(book) = self.book()? else {
            return Ok(Right::Lost(None));
        };
        let said = self.stands(book)?.and_then(|stands| stands.holder);
        let holder: Option<Holder> = said.and_then(|said| serde_json::from_str(&said).ok());
        let node = holder.as_ref().and_then(|holder| holder.node);
        let is_own = node == Some(self.engine.node());
        Ok(if is_own {
            Right::Own
        } else {
            Right::Lost(holder)
        })
    }
}

impl Seen {
    /// What a row says, read by this run of this process.
    pub(super) fn of(row: &SeenRow, own: Uuid) -> Self {
        let said = row.holder.as_deref();
        let holder: Option<Holder> = said.and_then(|said| serde_json::from_str(said).ok());
        let node = holder.as_ref().and_then(|holder| holder.node);
        let sessions = match (node, row.session_count, row.asked_us) {
            (Some(_), 0, _) => Sessions::Gone,
            (Some(_), _, Some(at)) => Sessions::AskedAt(at),
            (Some(_), _, None) | (None, ..) => Sessions::Hidden,
        };
        Self {
            is_own: node == Some(own),
            holder,
            sessions,
        }
    }
}
