//! A book that comes whole from elsewhere: one transaction, so that all of it is there or nothing.
//!
//! What became of the commit may not be known. It is asked behind whatever still brings the book, and by a
//! write, whose own commit waits for all before it.

use std::sync::Arc;
use std::thread;
use std::time::{Duration, Instant};

use fettlebook_model::Seq;
use serde::Deserialize;
use uuid::Uuid;

use super::cabinet::kind_of;
use super::engine::Engine;
use super::lanes::Lane;
use super::number;
use super::seal::Seal;
use super::session::{ArrivingLines, Before, Over, Session};
use super::trouble::Trouble;
use crate::journal::{Head, LINE_FRAME_BYTES, ReadLine};
use crate::limits::ENGINE_WAIT_MAX;
use crate::store::{About, Identity, Moved, Paper, StoreError};

/// Entries that go in one statement, and bytes behind which no further one does.
const BATCH_COUNT: usize = 1024;
const BATCH_BYTES: u64 = 4 * 1024 * 1024;

/// How long the commit of a whole book may take.
const COMMIT_WAIT_MAX: Duration = Duration::from_secs(120);

/// How long it is tried to find out whether a book came, and how soon again.
const FIND_OUT_MAX: Duration = Duration::from_secs(60);
const FIND_OUT_EVERY: Duration = Duration::from_millis(500);

/// A book on its way into an engine. Dropping it before its commit takes all of it back.
#[derive(Debug)]
pub(crate) struct Arrival {
    engine: Arc<Engine>,
    session: Arc<Session>,
    seal: Seal,
    identity: Identity,
    /// Where it ended there before it went elsewhere.
    left: Option<Head>,
    /// Where it went, as whoever moved it said.
    went: Option<String>,
    lines: ArrivingLines,
    pending_bytes: u64,
    line_bytes: u64,
    end: Head,
}

/// What is read of an entry to keep it.
#[derive(Deserialize)]
struct Kept {
    #[serde(default)]
    after: Option<u64>,
    #[serde(default)]
    request: Option<Uuid>,
}

impl Arrival {
    /// Begins to bring a book.
    pub(super) fn begin(
        engine: Arc<Engine>,
        seal: Seal,
        identity: Identity,
        name: Option<&str>,
    ) -> Result<Self, StoreError> {
        let (book, place) = (identity.book_id, engine.place().to_owned());
        let failed = |trouble: Trouble| StoreError::Engine {
            place: place.clone(),
            what: trouble.to_string(),
        };
        let session = engine.own_session().map_err(failed)?;
        let name = name.map(str::to_owned);
        let begun = engine.ask_on(&session, ENGINE_WAIT_MAX, move |session| async move {
            session.arrive(&identity, name.as_deref()).await
        });
        let (left, went) = match begun.map_err(failed)? {
            Before::Nothing => (None, None),
            Before::Left(left, went) => (left, Some(went)),
            Before::There => return Err(StoreError::There { place, book }),
            Before::Coming => {
                let what = "another brings this book there at this moment".to_owned();
                return Err(StoreError::Engine { place, what });
            }
        };
        Ok(Self {
            engine,
            session,
            seal,
            identity,
            left,
            went,
            lines: ArrivingLines::default(),
            pending_bytes: 0,
            line_bytes: 0,
            end: Head::EMPTY,
        })
    }

    /// Where the book went that was there before; none for one that never was.
    ///
    /// # Errors
    /// When that cannot be read.
    pub(crate) fn went(&self) -> Result<Option<Moved>, StoreError> {
        let said = self.went.as_deref().map(serde_json::from_str).transpose();
        said.map_err(|error| self.failed(format!("where the book went cannot be read: {error}")))
    }

    /// Takes the next line, which was read by the rules of the journal.
    pub(crate) fn take(&mut self, line: ReadLine) -> Result<(), StoreError> {
        let (seq, chain) = (line.mark.at.seq, line.mark.chain);
        let bytes = line.entry.len().saturating_add(LINE_FRAME_BYTES);
        let bytes = u64::try_from(bytes).unwrap_or(u64::MAX);
        self.line_bytes = self.line_bytes.saturating_add(bytes);
        self.end = line.mark.head();
        if let Some(left) = self.left.as_ref().filter(|left| seq <= left.seq) {
            if seq == left.seq && chain != left.chain {
                return Err(self.other_entries(seq));
            }
            return Ok(());
        }
        let kept: Kept = serde_json::from_slice(&line.entry)
            .map_err(|error| self.failed(format!("entry {seq} cannot be read: {error}")))?;
        self.lines.seqs.push(number(seq.0));
        self.lines.chains.push(chain.to_string());
        let after = kept.after.unwrap_or(seq.0.saturating_sub(1));
        self.lines.afters.push(number(after));
        self.lines.requests.push(kept.request);
        self.lines.entries.push(line.entry);
        self.pending_bytes = self.pending_bytes.saturating_add(bytes);
        if self.lines.seqs.len() >= BATCH_COUNT || self.pending_bytes >= BATCH_BYTES {
            self.put()?;
        }
        Ok(())
    }

    /// Takes a paper of the book; the key of its authority is sealed.
    pub(crate) fn take_paper(&self, paper: Paper, bytes: Vec<u8>) -> Result<(), StoreError> {
        let (book, Some(kind)) = (self.identity.book_id, kind_of(paper)) else {
            return Ok(());
        };
        let held = match paper {
            Paper::AuthorityKey => {
                let sealed = self.seal.close(book, &bytes);
                sealed.map_err(|error| self.failed(error.to_string()))?
            }
            _ => bytes,
        };
        self.ask(move |session| async move {
            let written = session.write_paper((book, kind), &held, Over::Anything);
            written.await.map(drop)
        })
    }

    /// Takes a note about the book.
    pub(crate) fn take_note(&self, about: About, bytes: Vec<u8>) -> Result<(), StoreError> {
        let book = self.identity.book_id;
        self.ask(move |session| async move { session.keep_note(book, about.kind(), &bytes).await })
    }

    /// Puts what is left of it there, so that only its commit is missing.
    pub(crate) fn end(&mut self) -> Result<(), StoreError> {
        self.put()?;
        let (identity, end) = (self.identity, self.end.clone());
        if self.left.as_ref().is_some_and(|left| left.seq > end.seq) {
            return Err(self.other_entries(end.seq.next()));
        }
        let bytes = number(self.line_bytes);
        self.ask(move |session| async move { session.end_arrival(&identity, &end, bytes).await })
    }

    /// Commits it, and finds out whether it counts: for as long as that is not known, an error is no answer.
    ///
    /// # Errors
    /// When the engine does not tell.
    pub(crate) fn commit(self) -> Result<bool, StoreError> {
        let (engine, identity) = (Arc::clone(&self.engine), self.identity);
        let done = engine.ask_on(&self.session, COMMIT_WAIT_MAX, |session| async move {
            session.commit().await
        });
        if let Err(error) = done {
            tracing::warn!(%error, "it is looked up whether the book came");
        }
        // Its session ends, and whatever it still had under way.
        drop(self);
        has_arrived(&engine, identity)
    }

    fn put(&mut self) -> Result<(), StoreError> {
        let (book, lines) = (self.identity.book_id, std::mem::take(&mut self.lines));
        self.pending_bytes = 0;
        if lines.seqs.is_empty() {
            return Ok(());
        }
        self.ask(move |session| async move { session.put_lines(book, &lines).await })
    }

    fn ask<F>(
        &self,
        work: impl FnOnce(Arc<Session>) -> F + Send + 'static,
    ) -> Result<(), StoreError>
    where
        F: Future<Output = Result<(), tokio_postgres::Error>> + Send + 'static,
    {
        let asked = self.engine.ask_on(&self.session, ENGINE_WAIT_MAX, work);
        asked.map_err(|trouble| self.failed(trouble.to_string()))
    }

    fn failed(&self, what: String) -> StoreError {
        StoreError::Engine {
            place: self.engine.place().to_owned(),
            what,
        }
    }

    fn other_entries(&self, seq: Seq) -> StoreError {
        StoreError::OtherEntries {
            place: self.engine.place().to_owned(),
            book: self.identity.book_id,
            seq,
        }
    }
}

/// Whether a book certainly came as this life of it.
pub(super) fn has_arrived(engine: &Engine, identity: Identity) -> Result<bool, StoreError> {
    let start = Instant::now();
    loop {
        let asked = engine.ask(
            Lane::Write(identity.book_id),
            ENGINE_WAIT_MAX,
            move |session| async move { session.has_arrived(identity).await },
        );
        match asked {
            Ok(found) => return Ok(found),
            Err(trouble) if start.elapsed() >= FIND_OUT_MAX => {
                return Err(StoreError::Engine {
                    place: engine.place().to_owned(),
                    what: trouble.to_string(),
                });
            }
            Err(trouble) => tracing::warn!(error = %trouble, "the engine is asked again"),
        }
        thread::sleep(FIND_OUT_EVERY);
    }
}
