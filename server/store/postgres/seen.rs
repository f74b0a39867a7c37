//! Which books an engine has, and what it sees of whoever has the right to them.
//!
//! It serves whoever waits for some, and whoever has some: they ask about all at once. Only the engine is asked: a
//! holder that it does not hear from cannot write, however well it answers others; one that it hears from can,
//! however little of it is heard here.

use uuid::Uuid;

use super::PostgresStore;
use super::lanes::Lane;
use super::session::SeenRow;
use crate::limits::ENGINE_WAIT_MAX;
use crate::store::{Holder, StoreError};

/// A book that is there.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Listed {
    /// Its id.
    pub id: Uuid,
    /// Whether it went elsewhere, or is about to.
    pub has_moved: bool,
}

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

/// A book that this process had, as the engine knows it now.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Claim {
    /// Its id.
    pub id: Uuid,
    /// Whether it is still this process's.
    pub right: Right,
    /// Bytes of all its lines.
    pub line_bytes: u64,
}

impl PostgresStore {
    /// All books that are there, the first begun first.
    ///
    /// # Errors
    /// When the engine does not answer.
    pub async fn listed(&self) -> Result<Vec<Listed>, StoreError> {
        let listed = self
            .engine
            .ask_beside(Lane::Look, ENGINE_WAIT_MAX, |session| async move {
                session.ids().await
            });
        listed.await.map_err(|trouble| self.unreached(&trouble))
    }

    /// Who has the right to each of these, and what the engine sees of them. One that is not there is left out.
    ///
    /// # Errors
    /// When the engine does not answer.
    pub async fn seen_of(&self, books: Vec<Uuid>) -> Result<Vec<(Uuid, Seen)>, StoreError> {
        let rows = self
            .engine
            .ask_beside(Lane::Look, ENGINE_WAIT_MAX, move |session| async move {
                session.seen(&books).await
            });
        let rows = rows.await.map_err(|trouble| self.unreached(&trouble))?;
        let own = self.engine.node();
        Ok(rows
            .iter()
            .map(|row| (row.book, Seen::of(row, own)))
            .collect())
    }

    /// Whether each of these is still this process's; or whose it is.
    ///
    /// # Errors
    /// When the engine does not answer.
    pub async fn confirm_of(&self, books: Vec<Uuid>) -> Result<Vec<Claim>, StoreError> {
        let rows = self
            .engine
            .ask_beside(Lane::Look, ENGINE_WAIT_MAX, move |session| async move {
                session.holders(&books).await
            });
        let rows = rows.await.map_err(|trouble| self.unreached(&trouble))?;
        let own = self.engine.node();
        let claims = rows.into_iter().map(|(id, said, line_bytes)| {
            let holder: Option<Holder> = said.and_then(|said| serde_json::from_str(&said).ok());
            let node = holder.as_ref().and_then(|holder| holder.node);
            Claim {
                id,
                right: if node == Some(own) {
                    Right::Own
                } else {
                    Right::Lost(holder)
                },
                line_bytes,
            }
        });
        Ok(claims.collect())
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
