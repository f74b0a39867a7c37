//! What the desk answers when it does not answer with an entry.
//!
//! It serves the edge, which maps each to a status, and people, who read the sentence. `Refused`
//! comes from the model; everything else is about the book, not about the trade.

use std::io;
use std::path::PathBuf;
use std::sync::Arc;
use std::time::Duration;

use fettlebook_model::{Moment, Refusal, Seq};
use uuid::Uuid;

use crate::journal::{Damage, JournalError};
use crate::shelf::ShelfError;
use crate::store::StoreError;

/// What ended writing in a process that goes on reading.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum StoppedBy {
    /// A write or a sync failed, which the same process never tries again.
    Disk,
    /// A command broke off.
    Program,
}

/// Why the desk did not do what it was asked.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum DeskError {
    /// The model refuses the command. Nothing was recorded.
    #[error(transparent)]
    Refused(Box<Refusal>),
    /// The request id was used before, for another command. Nothing was recorded.
    #[error(
        "Request {request} was used before, for entry {seq}, with another content. Give a new command a new request id."
    )]
    RequestIdReused {
        /// The request id.
        request: Uuid,
        /// The entry it was used for.
        seq: Seq,
    },
    /// The book cannot change. Nothing was recorded.
    #[error("The book is read-only: {reason}.")]
    ReadOnly {
        /// Why, without a full stop.
        reason: Arc<str>,
    },
    /// The process that has the book open ended writing to it. Nothing was recorded, and nothing is
    /// before the book is opened anew.
    #[error("The book is read-only: {reason}.")]
    Stopped {
        /// Why, without a full stop.
        reason: Arc<str>,
        /// What ended it.
        by: StoppedBy,
    },
    /// A later program wrote in the book, so that what follows is not known here. Nothing was recorded.
    #[error("The book is read-only: {reason}.")]
    NewerThanThis {
        /// Which entry shows it, without a full stop.
        reason: Arc<str>,
    },
    /// Too many commands wait. Nothing was recorded.
    #[error("The book has too much to write just now. Send the same request again in a moment.")]
    Busy {
        /// When what waits now should be written.
        retry_after: Duration,
    },
    /// The journal is being read through, and nothing is recorded before that has ended. Nothing was
    /// recorded.
    #[error(
        "The journal is being read through before anything more is recorded. Send the same request again in a moment."
    )]
    Unread {
        /// When it may have ended.
        retry_after: Duration,
    },
    /// The disk failed. Whether the command was recorded is not known.
    #[error(
        "The disk failed: {reason}. It is not known whether this was recorded, and nothing more is before the book is opened anew. A request that is sent again under its old request id is counted once."
    )]
    DiskFailed {
        /// What failed, without a full stop.
        reason: Arc<str>,
    },
    /// Another process has the writer's right now, or is about to. Whether the command was recorded is not
    /// known here.
    #[error("Another machine has the book{}.", place(.at.as_deref()))]
    HeldElsewhere {
        /// Where clients reach it, where that is known.
        at: Option<Arc<str>>,
    },
    /// The disk takes nothing just now: it is full, read-only, or too many files are open. Nothing was
    /// recorded.
    #[error(
        "Nothing can be recorded just now: {reason}. Put that right, as by making room on a full disk, and send the same request again."
    )]
    DiskRefuses {
        /// What it said, without a full stop.
        reason: Arc<str>,
    },
    /// The engine that keeps the book does not answer, or takes nothing, just now. Nothing was recorded.
    #[error("The engine that keeps the book is not ready: {reason}. Nothing was recorded.")]
    EngineUnready {
        /// What it said, or why it said nothing, without a full stop.
        reason: Arc<str>,
    },
    /// A file of the book cannot be read just now.
    #[error("The book cannot be read just now: {reason}.")]
    Unreadable {
        /// What failed, without a full stop.
        reason: String,
    },
    /// The command makes an entry that is too long to keep. Nothing was recorded.
    #[error(
        "This makes an entry of {byte_count} bytes; at most {byte_count_max} can be kept. Split it."
    )]
    TooLong {
        /// Bytes it would have.
        byte_count: usize,
        /// Bytes it may have.
        byte_count_max: usize,
    },
    /// No entry has this number.
    #[error("The book has no entry {seq}.")]
    EntryUnknown {
        /// The number.
        seq: Seq,
    },
    /// What is kept cannot be read back.
    #[error("The book is damaged: {what}. Verify it before going on.")]
    Damaged {
        /// What is wrong, without a full stop.
        what: String,
    },
    /// The clock is so far ahead of the last entry that it may be wrong. Nothing was recorded.
    #[error(
        "The clock of the book shows {now}, {} days after the last entry, which was recorded at {last}. Nothing is recorded before that is settled, because no later entry is recorded at an earlier time.", days(*.last, *.now)
    )]
    ClockAhead {
        /// What the clock shows.
        now: Moment,
        /// When the last entry was recorded.
        last: Moment,
    },
    /// The desk is closed.
    #[error("The book is closed.")]
    Closed,
    /// The desk did not close in time.
    #[error("The book did not close in time. What was acknowledged is kept.")]
    CloseTooSlow,
}

impl DeskError {
    /// What helps, in the order in which it does; empty where the sentence itself says it.
    pub const fn todo(&self) -> &'static str {
        match self {
            Self::DiskFailed { .. }
            | Self::Stopped {
                by: StoppedBy::Disk,
                ..
            } => AFTER_A_FAILED_DISK,
            Self::Stopped {
                by: StoppedBy::Program,
                ..
            } => AFTER_A_FAULT,
            Self::HeldElsewhere { .. } => ELSEWHERE,
            Self::EngineUnready { .. } => ONCE_THE_ENGINE_IS_READY,
            Self::Unreadable { .. } => "Put the disk right and ask again.",
            Self::ClockAhead { .. } => AFTER_A_JUMP,
            Self::Refused(_)
            | Self::RequestIdReused { .. }
            | Self::ReadOnly { .. }
            | Self::NewerThanThis { .. }
            | Self::Busy { .. }
            | Self::Unread { .. }
            | Self::DiskRefuses { .. }
            | Self::TooLong { .. }
            | Self::EntryUnknown { .. }
            | Self::Damaged { .. }
            | Self::Closed
            | Self::CloseTooSlow => "",
        }
    }
}

/// A process that met a failed write or sync never writes again: the system may have dropped what it
/// did not write, and would call the next sync a success.
const AFTER_A_FAILED_DISK: &str = "Look at the disk first, and bring the book to another one if this \
    one goes on failing. Only then start fettled again, where one serves the book: it proves the end \
    of the journal before it takes more.";

/// What a process that lost the right was answering may be recorded all the same.
const ELSEWHERE: &str =
    "Send the same request there, under its old request id: it is counted once.";

/// An engine that begins anew, or gets another leader, is ready again by itself.
const ONCE_THE_ENGINE_IS_READY: &str = "Send the same request again in a moment, under its old request \
    id. Where that goes on, look at the engine: whether it runs, whether it has room, and whether the role \
    of fettled may still write there.";

/// Where it is, as the end of a clause.
fn place(address: Option<&str>) -> String {
    address.map_or_else(String::new, |address| format!(": {address}"))
}

/// A clock is set, or its time is taken over once.
const AFTER_A_JUMP: &str = "Set the clock of the machine that has the book, where it is wrong. Where \
    it is right, because the book rested so long, open the book with --accept-clock once.";

/// Whole days from one moment to a later one.
fn days(from: Moment, to: Moment) -> i64 {
    let seconds = to.as_second().saturating_sub(from.as_second());
    seconds.div_euclid(86_400)
}

const AFTER_A_FAULT: &str = "Start fettled again, where one serves the book, and tell whoever looks \
    after it what was being recorded.";

impl From<Refusal> for DeskError {
    fn from(refusal: Refusal) -> Self {
        Self::Refused(Box::new(refusal))
    }
}

impl From<JournalError> for DeskError {
    fn from(error: JournalError) -> Self {
        match error {
            JournalError::Damaged(Damage { .. }) => Self::Damaged {
                what: error.to_string(),
            },
            JournalError::Engine { .. } => Self::EngineUnready {
                reason: error.to_string().into(),
            },
            _ => Self::Unreadable {
                reason: error.to_string(),
            },
        }
    }
}

impl From<ShelfError> for DeskError {
    fn from(error: ShelfError) -> Self {
        Self::Damaged {
            what: format!("{error}; it is rebuilt when the book is opened again"),
        }
    }
}

/// Why a book could not be opened.
#[derive(Debug, thiserror::Error)]
pub enum OpenError {
    /// What holds the book does not give it.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// The folder holds no copy that could be looked at.
    #[error("{} holds no copy of the shop's book. Make one while the shop can be reached, with: fettle shop sync.", .folder.display())]
    NoCopy {
        /// The folder.
        folder: PathBuf,
    },
    /// The copy is not what was copied.
    #[error("The copy of the shop's book in {} is damaged: {what}. Make it anew while the shop can be reached, with: fettle shop sync.", .folder.display())]
    CopyDamaged {
        /// The folder.
        folder: PathBuf,
        /// What is wrong, without a full stop.
        what: String,
    },
    /// A later program made the copy.
    #[error("The copy of the shop's book in {} cannot be looked at: {what}.", .folder.display())]
    NewerCopy {
        /// The folder.
        folder: PathBuf,
        /// What shows it, without a full stop.
        what: String,
    },
    /// The journal could not be read or set right.
    #[error("The book cannot be opened: {0}.")]
    Journal(#[from] JournalError),
    /// The shelf could not be opened or rebuilt.
    #[error("The book cannot be opened: {0}.")]
    Shelf(#[from] ShelfError),
    /// The system gave no thread.
    #[error("The book cannot be opened: the system gives no thread: {0}.")]
    Thread(io::Error),
}
