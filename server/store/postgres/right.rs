//! The writer's right to a book in PostgreSQL.

use std::sync::Arc;

use uuid::Uuid;

use super::engine::Engine;
use super::journal::PostgresJournal;
use super::lanes::Lane;
use super::office::PostgresOffice;
use super::proof::PostgresProof;
use super::reader::PostgresReader;
use super::session::Held;
use super::trouble::Trouble;
use crate::journal::{Closed, Journal, JournalError, Position, Proof, Reader, Survey};
use crate::limits::ENGINE_WAIT_MAX;
use crate::store::{End, Identity, Moved, Office, StoreError, WritersRight};

/// The right, as the engine gave it.
#[derive(Debug)]
pub(super) struct PostgresRight {
    pub(super) engine: Arc<Engine>,
    pub(super) book: Uuid,
    pub(super) identity: Identity,
    /// Who has it, as it was said: this right's alone.
    pub(super) holder: String,
    pub(super) held: Held,
}

impl PostgresRight {
    fn end(&self) -> Position {
        Position {
            seq: self.held.head.seq.next(),
            segment: Position::START.segment,
            offset: self.held.line_bytes,
        }
    }
}

impl WritersRight for PostgresRight {
    fn identity(&self) -> Identity {
        self.identity
    }

    /// The take-over was a commit behind all others, and after it no group of anyone else counts: what it
    /// gave is certain.
    fn settle(&self) -> End {
        End {
            closed: Some(Closed {
                head: self.held.head.clone(),
                end: self.end(),
            }),
            is_as_closed: true,
            uncertain: None,
        }
    }

    fn reader(&self) -> Arc<dyn Reader> {
        let (engine, recorded) = (Arc::clone(&self.engine), self.held.head.seq);
        Arc::new(PostgresReader::new(engine, self.book, recorded))
    }

    fn proof(&self) -> Box<dyn Proof> {
        let engine = Arc::clone(&self.engine);
        Box::new(PostgresProof::load(
            engine,
            self.book,
            self.identity.incarnation_id,
        ))
    }

    fn journal(&self, found: &Survey) -> Result<Box<dyn Journal>, JournalError> {
        if let Some(damage) = &found.damage {
            return Err(damage.clone().into());
        }
        if let Some(newer) = &found.newer {
            return Err(JournalError::Stopped(newer.to_string()));
        }
        if found.head != self.held.head {
            return Err(JournalError::HeadMoved {
                expected: found.head.seq,
                actual: self.held.head.seq,
            });
        }
        Ok(Box::new(PostgresJournal::new(
            (Arc::clone(&self.engine), self.book),
            self.holder.clone(),
            self.held.epoch,
            (found.head.clone(), self.end()),
        )))
    }

    fn office(&self) -> Option<Arc<dyn Office>> {
        let engine = Arc::clone(&self.engine);
        let office = PostgresOffice::new(engine, self.book, self.holder.clone());
        Some(Arc::new(office))
    }

    fn mark_moved(&self, moved: Option<&Moved>) -> Result<(), StoreError> {
        let place = self.engine.place();
        let failed = |what: String| StoreError::Engine {
            place: place.to_owned(),
            what,
        };
        let said = moved.map(serde_json::to_string).transpose();
        let said = said.map_err(|error| failed(error.to_string()))?;
        let mut unknown = String::new();
        for _ in 0..SAYS_MAX {
            let (book, holder, said) = (self.book, self.holder.clone(), said.clone());
            let marked =
                self.engine.ask(
                    Lane::Write(book),
                    ENGINE_WAIT_MAX,
                    move |session| async move {
                        session.mark_moved((book, &holder), said.as_deref()).await
                    },
                );
            match marked {
                Ok(true) => return Ok(()),
                Ok(false) => return Err(failed(TAKEN_OVER.to_owned())),
                // Said twice it is no other.
                Err(Trouble::Unknown(what)) => unknown = what,
                Err(trouble) => return Err(failed(trouble.to_string())),
            }
        }
        Err(failed(unknown))
    }
}

/// Why whoever lost the right is not heard.
pub(super) const TAKEN_OVER: &str = "another took the book over meanwhile";

/// How often it is said where a book went, while it is not known whether that was heard.
const SAYS_MAX: u32 = 3;

impl Drop for PostgresRight {
    /// Whoever waits sees it free. A right that is another's by now stays theirs.
    fn drop(&mut self) {
        let (book, holder) = (self.book, self.holder.clone());
        let given = self.engine.ask(
            Lane::Write(book),
            ENGINE_WAIT_MAX,
            move |session| async move { session.give_back(book, &holder).await },
        );
        if let Err(error) = given {
            tracing::warn!(%error, "the engine was not told that the right was given back");
        }
        self.engine.be_gone(book);
    }
}
