//! A book that comes whole from elsewhere: one transaction, so that all of it is there or nothing.
//!
//! What became of the commit may not be known. It is asked behind whatever still brings the book, and by a
//! write, whose own commit waits for all before it.

use std::sync::Arc;
use std::thread;
use std::time::{Duration, Instant};

use fettlebook_model::Seq;
use serde::Deserialize;
use tokio_postgres::error::SqlState;
use uuid::Uuid;

use super::cabinet::kind_of;
use super::engine::Engine;
use super::lanes::Lane;
use super::number;
use super::right::TAKEN_OVER;
use super::seal::Seal;
use super::session::{ArrivingLines, Before, Over, Session};
use super::trouble::Trouble;
use crate::journal::{Head, LINE_FRAME_BYTES};
use crate::limits::ENGINE_WAIT_MAX;
use crate::store::{About, Identity, Moved, Paper, StoreError};

/// Entries that go in one statement, and bytes behind which no further one does.
const BATCH_COUNT: usize = 1024;
const BATCH_BYTES: usize = 4 * 1024 * 1024;

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
    /// Whether it is there, and some of its entries are replaced.
    mends: bool,
    lines: ArrivingLines,
    pending_bytes: usize,
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
            mends: false,
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

    /// Begins to put other entries in the place of some of a book, which this holder has the right to.
    pub(super) fn over(
        engine: Arc<Engine>,
        seal: Seal,
        identity: Identity,
        holder: &str,
    ) -> Result<Self, StoreError> {
        let (book, holder) = (identity.book_id, holder.to_owned());
        let failed = |what: String| StoreError::Engine {
            place: engine.place().to_owned(),
            what,
        };
        let session = engine.own_session();
        let session = session.map_err(|trouble| failed(trouble.to_string()))?;
        let begun = engine.ask_on(&session, ENGINE_WAIT_MAX, move |session| async move {
            session.mend(book, &holder).await
        });
        if !begun.map_err(|trouble| failed(trouble.to_string()))? {
            return Err(failed(TAKEN_OVER.to_owned()));
        }
        Ok(Self {
            engine,
            session,
            seal,
            identity,
            left: None,
            went: None,
            mends: true,
            lines: ArrivingLines::default(),
            pending_bytes: 0,
            line_bytes: 0,
            end: Head::EMPTY,
        })
    }

    /// Removes rows, before any other is put in their place.
    ///
    /// # Errors
    /// `MayNotReplace` where the role in the address may not.
    pub(crate) fn remove(&self, seqs: &[Seq]) -> Result<(), StoreError> {
        for some in seqs.chunks(BATCH_COUNT) {
            let (book, some) = (self.identity.book_id, some.iter());
            let some: Vec<i64> = some.map(|seq| number(seq.0)).collect();
            let removed =
                self.engine
                    .ask_on(&self.session, ENGINE_WAIT_MAX, move |session| async move {
                        session.remove_lines(book, &some).await
                    });
            removed.map_err(|trouble| match trouble {
                Trouble::Refused { code, .. } if code == SqlState::INSUFFICIENT_PRIVILEGE => {
                    let place = self.engine.place().to_owned();
                    StoreError::MayNotReplace { place }
                }
                trouble => self.failed(trouble.to_string()),
            })?;
        }
        Ok(())
    }

    /// Passes over the next line, which is there as it should be.
    pub(crate) fn pass(&mut self, head: &Head, entry: &[u8]) {
        let bytes = entry.len().saturating_add(LINE_FRAME_BYTES);
        let bytes = u64::try_from(bytes).unwrap_or(u64::MAX);
        self.line_bytes = self.line_bytes.saturating_add(bytes);
        self.end = head.clone();
    }

    /// Takes the next line, which was read by the rules of the journal.
    pub(crate) fn take(&mut self, head: &Head, entry: Vec<u8>) -> Result<(), StoreError> {
        self.pass(head, &entry);
        let (seq, chain) = (head.seq, head.chain);
        if let Some(left) = self.left.as_ref().filter(|left| seq <= left.seq) {
            if seq == left.seq && chain != left.chain {
                return Err(self.other_entries(seq));
            }
            return Ok(());
        }
        let kept: Kept = serde_json::from_slice(&entry)
            .map_err(|error| self.failed(format!("entry {seq} cannot be read: {error}")))?;
        self.pending_bytes = self.pending_bytes.saturating_add(entry.len());
        self.lines.seqs.push(number(seq.0));
        self.lines.chains.push(chain.to_string());
        let after = kept.after.unwrap_or(seq.0.saturating_sub(1));
        self.lines.afters.push(number(after));
        self.lines.requests.push(kept.request);
        self.lines.entries.push(entry);
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
        self.asked(move |session| async move {
            let written = session.write_paper((book, kind), &held, Over::Anything);
            written.await.map(drop)
        })
    }

    /// Takes a note about the book.
    pub(crate) fn take_note(&self, about: About, bytes: Vec<u8>) -> Result<(), StoreError> {
        let book = self.identity.book_id;
        self.asked(
            move |session| async move { session.keep_note(book, about.kind(), &bytes).await },
        )
    }

    /// Puts what is left of it there, so that only its commit is missing.
    pub(crate) fn end(&mut self) -> Result<(), StoreError> {
        self.put()?;
        let (identity, end) = (self.identity, self.end.clone());
        if self.left.as_ref().is_some_and(|left| left.seq > end.seq) {
            return Err(self.other_entries(end.seq.next()));
        }
        if self.mends {
            let (book, last) = (identity.book_id, number(end.seq.0));
            let are_all =
                self.asked(move |session| async move { session.are_all(book, last).await });
            if !are_all? {
                return Err(self.failed("entries were changed meanwhile".to_owned()));
            }
        }
        let bytes = number(self.line_bytes);
        self.asked(move |session| async move { session.end_arrival(&identity, &end, bytes).await })
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
        self.asked(move |session| async move { session.put_lines(book, &lines).await })
    }

    fn asked<T, F>(
        &self,
        work: impl FnOnce(Arc<Session>) -> F + Send + 'static,
    ) -> Result<T, StoreError>
    where
        T: Send + 'static,
        F: Future<Output = Result<T, tokio_postgres::Error>> + Send + 'static,
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
