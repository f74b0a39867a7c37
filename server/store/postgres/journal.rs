//! The journal in PostgreSQL: groups that count only while the right is still the writer's.
//!
//! A group whose outcome is not known is never guessed at, and never sent again before it is: the right is
//! taken again from oneself, after which nothing of it comes any more, and the head tells whether it is
//! there. For as long as the engine does not answer, the writer waits: the book can be read meanwhile.

use std::sync::Arc;
use std::thread;
use std::time::Duration;

use fettlebook_model::Seq;
use tokio_postgres::error::SqlState;
use uuid::Uuid;

use super::engine::Engine;
use super::group::Group;
use super::lanes::Lane;
use super::session::Held;
use super::trouble::Trouble;
use crate::journal::{Head, Journal, JournalError, Line, Mark, Position, Reached};
use crate::limits::ENGINE_WAIT_MAX;

/// How long to wait before the engine is asked again that did not answer: at first, and at most.
const AGAIN_AFTER: Duration = Duration::from_millis(50);
const AGAIN_AFTER_MAX: Duration = Duration::from_secs(2);

/// How often a group is sent whose outcome is not known, once it was found not to be there.
const SENDS_MAX: u32 = 3;

/// A journal in PostgreSQL.
#[derive(Debug)]
pub(super) struct PostgresJournal {
    engine: Arc<Engine>,
    book: Uuid,
    /// Who has the right, as it was said: this right's alone.
    holder: String,
    /// The number with which groups count.
    epoch: i64,
    head: Head,
    /// Where the next line would begin.
    end: Position,
    /// Why nothing is written any more.
    stopped: Option<JournalStopped>,
}

/// Why a journal takes nothing more in this process.
#[derive(Debug, Clone)]
enum JournalStopped {
    /// Another has the right.
    Lost { by: String },
    /// Something is wrong that waiting does not help.
    Wrong(String),
}

impl JournalStopped {
    fn error(&self) -> JournalError {
        match self {
            Self::Lost { by } => JournalError::RightLost { by: by.clone() },
            Self::Wrong(reason) => JournalError::Stopped(reason.clone()),
        }
    }
}

/// What became of a group.
enum Outcome {
    There,
    /// It is not, and will not be.
    NotThere,
}

impl PostgresJournal {
    /// The journal of a book that is held, which ends at `head` and before `end`.
    pub(super) fn new(
        (engine, book): (Arc<Engine>, Uuid),
        holder: String,
        epoch: i64,
        (head, end): (Head, Position),
    ) -> Self {
        Self {
            engine,
            book,
            holder,
            epoch,
            head,
            end,
            stopped: None,
        }
    }

    /// Sends a group until it is known what became of it.
    fn put(&mut self, group: &Arc<Group>) -> Result<(), JournalError> {
        let mut why = String::new();
        for _ in 0..SENDS_MAX {
            match self.send(group) {
                Ok(1..) => return Ok(()),
                Ok(0) => "it counted for nothing".clone_into(&mut why),
                Err(Trouble::Unknown(what)) => why = what,
                Err(Trouble::Unreached(what)) => return Err(self.unready("reaching", what)),
                Err(Trouble::Refused { what, code }) => return Err(self.refused(what, &code)),
            }
            tracing::warn!(why, "the outcome of a group is looked up");
            match self.settle(group)? {
                Outcome::There => return Ok(()),
                Outcome::NotThere => {}
            }
        }
        // Nothing of it counts, for certain.
        Err(self.unready("recording in", why))
    }

    /// Sends a group once; how many of its entries counted.
    fn send(&self, group: &Arc<Group>) -> Result<u64, Trouble> {
        let (book, epoch, group) = (self.book, self.epoch, Arc::clone(group));
        self.engine.ask(
            Lane::Write(book),
            ENGINE_WAIT_MAX,
            move |session| async move { session.append(book, epoch, &group).await },
        )
    }

    /// Finds out what became of a group, however long that takes. No earlier sending of it counts after.
    fn settle(&mut self, group: &Group) -> Result<Outcome, JournalError> {
        let held = self.held_again()?;
        self.epoch = held.epoch;
        if held.head == group.head() {
            return Ok(Outcome::There);
        }
        if held.head == group.before {
            return Ok(Outcome::NotThere);
        }
        let (expected, actual) = (group.before.seq, held.head.seq);
        let moved = JournalError::HeadMoved { expected, actual };
        self.stopped = Some(JournalStopped::Wrong(moved.to_string()));
        Err(moved)
    }

    /// The right once more, with where the journal ends.
    fn held_again(&mut self) -> Result<Held, JournalError> {
        let mut wait = AGAIN_AFTER;
        loop {
            match self.engine.settle(self.book, &self.holder) {
                Ok(Some(held)) => return Ok(held),
                Ok(None) => return Err(self.lost()),
                // A role that lost its rights meanwhile may get them back; nothing is known till then.
                Err(error) => tracing::warn!(%error, "the engine is asked again"),
            }
            thread::sleep(wait);
            wait = (wait * 2).min(AGAIN_AFTER_MAX);
        }
    }

    /// Stops because another has the right now.
    fn lost(&mut self) -> JournalError {
        let stands = self.engine.look(self.book).ok().flatten();
        let by = stands.and_then(|stands| stands.holder).unwrap_or_default();
        self.engine.be_gone(self.book);
        self.stop(JournalStopped::Lost { by })
    }

    fn stop(&mut self, why: JournalStopped) -> JournalError {
        let error = why.error();
        self.stopped = Some(why);
        error
    }

    /// What a refusal comes to. The engine took all of the group back, so that it may be tried again.
    fn refused(&mut self, what: String, code: &SqlState) -> JournalError {
        if *code == SqlState::UNIQUE_VIOLATION {
            // The shelf did not know of it, and would not the next time.
            let reason = format!("a request was answered before, and is not known here ({what})");
            return self.stop(JournalStopped::Wrong(reason));
        }
        self.unready("recording in", what)
    }

    fn unready(&self, action: &'static str, what: String) -> JournalError {
        JournalError::Engine {
            action,
            place: self.place().to_owned(),
            what,
        }
    }

    fn place(&self) -> &str {
        self.engine.place()
    }
}

impl Journal for PostgresJournal {
    fn append(&mut self, expected: &Head, lines: &[Line]) -> Result<Vec<Mark>, JournalError> {
        if let Some(stopped) = &self.stopped {
            return Err(stopped.error());
        }
        if *expected != self.head {
            let (expected, actual): (Seq, Seq) = (expected.seq, self.head.seq);
            return Err(JournalError::HeadMoved { expected, actual });
        }
        if lines.is_empty() {
            return Ok(Vec::new());
        }
        let group = Arc::new(Group::lay_out(&self.reached(), lines)?);
        self.put(&group)?;
        self.head = group.head();
        self.end = group.end;
        Ok(group.marks.clone())
    }

    fn head(&self) -> Head {
        self.head.clone()
    }

    fn reached(&self) -> Reached {
        Reached {
            next: self.end,
            chain: self.head.chain,
        }
    }

    fn close(&mut self) -> Result<(), JournalError> {
        // Nothing is set aside, and the book's row says where it ends.
        Ok(())
    }
}
