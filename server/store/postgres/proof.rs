//! What of a journal in PostgreSQL is proven to be whole, kept beside it.
//!
//! ```text
//! {"format":1,"incarnation_id":"…","end":{"next":{…},"chain":"…"}}
//! ```
//!
//! The engine tells nothing of when a row was changed, so nothing is noticed of what others do to entries
//! that were read through. What keeps them is that no role which serves may change one; and every group
//! counts only behind the chain value that was proven. Verifying reads all of it again.

use std::sync::Arc;

use fettlebook_model::Seq;
use serde::{Deserialize, Serialize};
use uuid::Uuid;

use super::engine::Engine;
use super::lanes::Lane;
use super::number;
use super::reader::PostgresReader;
use crate::journal::{JournalError, Mark, Proof, Reached, Reader as _};
use crate::limits::ENGINE_WAIT_MAX;

/// Format of what is kept.
const PROOF_FORMAT: u32 = 1;

/// What it is called in the table of notes.
const PROOF: &str = "proof";

/// What is kept.
#[derive(Serialize, Deserialize)]
struct Kept {
    format: u32,
    incarnation_id: Uuid,
    end: Reached,
}

/// What of a journal in PostgreSQL is proven to be whole.
#[derive(Debug)]
pub(super) struct PostgresProof {
    engine: Arc<Engine>,
    book: Uuid,
    /// Numbers of another incarnation mean other entries.
    incarnation_id: Uuid,
    end: Reached,
    /// Whether it is kept as it stands.
    kept: bool,
}

impl PostgresProof {
    /// What is kept of a proof and still fits the journal.
    pub(super) fn load(engine: Arc<Engine>, book: Uuid, incarnation_id: Uuid) -> Self {
        let end = kept(&engine, book, incarnation_id).unwrap_or(Reached::NOTHING);
        Self {
            engine,
            book,
            incarnation_id,
            end,
            kept: true,
        }
    }
}

/// What is kept, when the entry it ends with is still the one that was read.
fn kept(engine: &Engine, book: Uuid, incarnation_id: Uuid) -> Option<Reached> {
    let text = engine.note(book, PROOF).ok()??;
    let kept: Kept = serde_json::from_slice(&text).ok()?;
    if kept.format != PROOF_FORMAT || kept.incarnation_id != incarnation_id {
        return None;
    }
    let last = number(proven(&kept.end).0);
    if last == 0 {
        return None;
    }
    let found = engine.ask(
        Lane::Read(book),
        ENGINE_WAIT_MAX,
        move |session| async move { session.chain_at(book, last).await },
    );
    let is_there = found
        .ok()?
        .is_some_and(|found| found.as_bytes() == kept.end.chain.digits());
    is_there.then_some(kept.end)
}

/// The last entry that is proven.
fn proven(end: &Reached) -> Seq {
    Seq(end.next.seq.0.saturating_sub(1))
}

impl Proof for PostgresProof {
    fn until(&self) -> Seq {
        proven(&self.end)
    }

    fn unread_bytes(&self) -> u64 {
        match self.engine.look(self.book) {
            Ok(Some(stands)) => stands.line_bytes.saturating_sub(self.end.next.offset),
            // As much as there can be, so that nothing is recorded before it was read.
            Ok(None) | Err(_) => u64::MAX,
        }
    }

    fn bring_up(
        &mut self,
        until: Seq,
        go_on: &(dyn Fn() -> bool + Sync),
    ) -> Result<(), JournalError> {
        if self.until() >= until {
            return Ok(());
        }
        let reader = PostgresReader::new(Arc::clone(&self.engine), self.book, until);
        self.end = reader.read_through(&self.end, until, go_on)?.end;
        self.kept = false;
        Ok(())
    }

    fn look(&mut self) -> Result<(), JournalError> {
        Ok(())
    }

    fn notice(&mut self) {}

    fn refresh(&mut self) {}

    fn extend(&mut self, marks: &[Mark], end: Reached) {
        let is_next = marks.first().is_some_and(|first| first.at == self.end.next);
        if is_next {
            self.end = end;
            self.kept = false;
        }
    }

    fn keep(&mut self) -> Result<(), JournalError> {
        if self.kept {
            return Ok(());
        }
        let kept = Kept {
            format: PROOF_FORMAT,
            incarnation_id: self.incarnation_id,
            end: self.end.clone(),
        };
        let Ok(text) = serde_json::to_vec(&kept) else {
            return Ok(());
        };
        match self.engine.keep_note(self.book, PROOF, text) {
            Ok(()) => self.kept = true,
            Err(error) => tracing::warn!(%error, "what was read through is not kept"),
        }
        Ok(())
    }
}
