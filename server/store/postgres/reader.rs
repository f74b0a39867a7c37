//! Reading a journal in PostgreSQL back, beside whoever appends to it.
//!
//! It reads some entries at a time, each behind the one before: no statement stays open while they are
//! looked at. What it believes is the chain, never the engine.

use std::collections::VecDeque;
use std::sync::Arc;
use std::thread;
use std::time::{Duration, Instant};

use fettlebook_model::Seq;
use uuid::Uuid;

use super::engine::Engine;
use super::group::behind;
use super::lanes::Lane;
use super::number;
use super::session::Stored;
use super::trouble::Trouble;
use crate::journal::{
    Chain, Damage, JournalError, Lines, Mark, Newer, Position, Reached, ReadLine, ReadThrough,
    Reader, Survey, Untaken, is_entry,
};
use crate::limits::ENGINE_WAIT_MAX;

/// Most entries read at once, and bytes behind which no further one is. An entry has a thousand bytes as a
/// rule, and may have millions.
const BATCH_COUNT: u64 = 256;
const BATCH_BYTES: i64 = 1024 * 1024;

/// Up to the end, wherever that is.
const ALL: Seq = Seq(u64::MAX);

/// How soon entries are read again whose reading ended half-way.
const AGAIN_AFTER: Duration = Duration::from_millis(100);

/// Reads the journal of a book in PostgreSQL.
#[derive(Debug, Clone)]
pub(super) struct PostgresReader {
    engine: Arc<Engine>,
    book: Uuid,
    /// An entry that was recorded for certain: an engine that does not know of it is not asked again.
    recorded: Seq,
}

impl PostgresReader {
    pub(super) const fn new(engine: Arc<Engine>, book: Uuid, recorded: Seq) -> Self {
        Self {
            engine,
            book,
            recorded,
        }
    }

    fn failed(&self, trouble: &Trouble) -> JournalError {
        JournalError::Engine {
            action: "reading",
            place: self.engine.place().to_owned(),
            what: trouble.to_string(),
        }
    }

    /// The next entries from a number on, up to and with another that was recorded, where one is named; numbers
    /// are dense.
    ///
    /// A leader that was replaced may answer for a moment when it comes back, without what was recorded since:
    /// what it lacks says nothing of the book.
    fn batch(&self, from: Seq, until: Seq) -> Result<Vec<Stored>, JournalError> {
        let last = until.0.min(from.0.saturating_add(BATCH_COUNT - 1));
        let (book, range) = (self.book, (number(from.0), number(last)));
        let recorded = match until {
            ALL => self.recorded,
            until => until.max(self.recorded),
        };
        let start = Instant::now();
        loop {
            let read =
                self.engine.ask(
                    Lane::Read(book),
                    ENGINE_WAIT_MAX,
                    move |session| async move {
                        session.lines(book, range, BATCH_BYTES, recorded).await
                    },
                );
            let trouble = match read {
                Ok(Some(stored)) => return Ok(stored),
                Ok(None) => Trouble::Unknown(format!(
                    "what answers there does not know of entry {recorded}, which was recorded"
                )),
                Err(trouble) => trouble,
            };
            // What is read may be read again, and a session that ended tells nothing of the book.
            if !matches!(trouble, Trouble::Unknown(_)) || start.elapsed() >= ENGINE_WAIT_MAX {
                return Err(self.failed(&trouble));
            }
            tracing::debug!(%trouble, "entries are read again");
            thread::sleep(AGAIN_AFTER);
        }
    }

    /// A walk from where a line begins, up to and with an entry. `before` is the chain value of the entry
    /// before it, where that is known.
    fn walk(&self, from: Position, before: Option<Chain>, until: Option<Seq>) -> Walk {
        Walk {
            reader: self.clone(),
            next: from,
            chain: before,
            until: until.unwrap_or(ALL),
            batch: VecDeque::new(),
        }
    }
}

/// Why a walk does not go on.
enum Stop {
    Damaged(Damage),
    Failed(JournalError),
}

impl From<Stop> for JournalError {
    fn from(stop: Stop) -> Self {
        match stop {
            Stop::Damaged(damage) => damage.into(),
            Stop::Failed(error) => error,
        }
    }
}

/// Entries in order, each looked at before it is given.
#[derive(Debug)]
struct Walk {
    reader: PostgresReader,
    /// Where the next line begins.
    next: Position,
    /// Chain value of the entry before it, where that is known.
    chain: Option<Chain>,
    until: Seq,
    batch: VecDeque<Stored>,
}

impl Walk {
    /// The next entry; none where there is no further one.
    fn advance(&mut self) -> Result<Option<ReadLine>, Stop> {
        if self.next.seq > self.until {
            return Ok(None);
        }
        if self.batch.is_empty() {
            let read = self.reader.batch(self.next.seq, self.until);
            self.batch = read.map_err(Stop::Failed)?.into();
        }
        let Some(stored) = self.batch.pop_front() else {
            return Ok(None);
        };
        let at = self.next;
        let chain = self.fit(&stored).map_err(|what| {
            Stop::Damaged(Damage {
                seq: at.seq,
                what: what.to_owned(),
            })
        })?;
        self.next = behind(at, stored.bytes.len());
        self.chain = Some(chain);
        Ok(Some(ReadLine {
            mark: Mark { at, chain },
            entry: stored.bytes,
        }))
    }

    /// The chain value of an entry that is what it should be here, or what is wrong with it.
    fn fit(&self, stored: &Stored) -> Result<Chain, &'static str> {
        if stored.seq != self.next.seq {
            return Err("is missing");
        }
        if !is_entry(&stored.bytes, stored.seq) {
            return Err("does not begin with its number, or is not one line");
        }
        let chain = Chain::from_digits(stored.chain.as_bytes());
        let chain = chain.ok_or("has a chain value that is none")?;
        match self.chain {
            Some(before) if before.link(&stored.bytes) != chain => {
                Err("does not fit the chain: it, or one before it, was changed")
            }
            _ => Ok(chain),
        }
    }

    /// The next entry, which must be there.
    fn expect(&mut self) -> Result<ReadLine, Stop> {
        let seq = self.next.seq;
        self.advance()?.ok_or_else(|| {
            Stop::Damaged(Damage {
                seq,
                what: "is missing".to_owned(),
            })
        })
    }
}

impl Reader for PostgresReader {
    fn survey(
        &self,
        from: Option<&Mark>,
        until: Option<Seq>,
        visit: &mut dyn FnMut(&ReadLine) -> Result<(), Untaken>,
    ) -> Result<Survey, JournalError> {
        let mut found = Survey::begun(from);
        let (start, before) = match from {
            None => (Position::START, Some(Chain::ZERO)),
            Some(mark) => (mark.at, None),
        };
        let mut walk = self.walk(start, before, until);
        match follow(&mut found, &mut walk, from, visit) {
            Ok(()) => found.end = walk.next,
            Err(Stop::Damaged(damage)) => found.damage = Some(damage),
            Err(Stop::Failed(error)) => return Err(error),
        }
        Ok(found)
    }

    fn read(&self, from: Position, until: Seq) -> Result<Lines, JournalError> {
        let before = (from.seq == Position::START.seq).then_some(Chain::ZERO);
        let mut walk = Some(self.walk(from, before, Some(until)));
        Ok(Box::new(std::iter::from_fn(move || {
            let going = walk.as_mut()?;
            if going.next.seq > until {
                return None;
            }
            let line = going.expect().map_err(JournalError::from);
            if line.is_err() {
                walk = None;
            }
            Some(line)
        })))
    }

    fn read_through(
        &self,
        from: &Reached,
        until: Seq,
        go_on: &(dyn Fn() -> bool + Sync),
    ) -> Result<ReadThrough, JournalError> {
        let mut walk = self.walk(from.next, Some(from.chain), Some(until));
        while walk.next.seq <= until {
            if walk.batch.is_empty() && !go_on() {
                break;
            }
            walk.expect()?;
        }
        Ok(ReadThrough {
            segments: Vec::new(),
            end: Reached {
                next: walk.next,
                chain: walk.chain.unwrap_or(from.chain),
            },
        })
    }
}

/// Walks to the end, or to what stops the walk.
fn follow(
    found: &mut Survey,
    walk: &mut Walk,
    from: Option<&Mark>,
    visit: &mut dyn FnMut(&ReadLine) -> Result<(), Untaken>,
) -> Result<(), Stop> {
    if let Some(mark) = from {
        match walk.advance() {
            Ok(Some(line)) if line.mark == *mark => found.end = walk.next,
            Err(Stop::Failed(error)) => return Err(Stop::Failed(error)),
            other => {
                found.start_found = false;
                let changed = Stop::Damaged(Damage {
                    seq: mark.at.seq,
                    what: "is not the one that was there before".to_owned(),
                });
                return Err(other.err().unwrap_or(changed));
            }
        }
    }
    while let Some(line) = walk.advance()? {
        found.end = walk.next;
        if let Some(newer) = &mut found.newer {
            newer.until = line.mark.head();
            continue;
        }
        let (seq, until) = (line.mark.at.seq, line.mark.head());
        match visit(&line) {
            Ok(()) => {
                found.head = until;
                found.last = Some(line.mark);
            }
            Err(Untaken::Damaged(what)) => return Err(Stop::Damaged(Damage { seq, what })),
            Err(Untaken::Newer(what)) => found.newer = Some(Newer { seq, what, until }),
        }
    }
    Ok(())
}
