//! The journal: the one true record of a book, a line for each entry, and all that has to be kept.
//!
//! It serves the desk, which appends, and everything that reads back what happened. It knows bytes
//! and numbers only, never what an entry means, and it must never change, reorder or drop a line
//! that was acknowledged.
//!
//! # Format
//! A journal is a folder of segment files, `000000000001.jsonl` and so on, each named after the
//! first entry in it. A line is
//!
//! ```text
//! {"chain":"<64 hex digits>","entry":{"seq":7,…}}
//! ```
//!
//! and ends with a line feed. `chain` is the lower-case hexadecimal SHA-256 of the chain value of
//! the line before, as its 64 digits, followed by the exact bytes of the entry object; before the
//! first line stand 64 zeros. `seq` is the entry's first member, dense from 1. A line that was
//! written in one go with lines before it tells with its second member, `after`, which entry was
//! on the disk by then; without it that is the entry before. After the last line of a segment
//! zeros may follow: space set aside for the next lines. A folder `cut-off` in it keeps what was cut
//! off its end.
//!
//! `tests/verify_journal.py` checks a folder by these rules alone.

mod certain;
mod chain;
mod closed;
mod cut_off;
mod disk;
mod file;
mod line;
mod proof;
mod reader;
mod survey;
mod sweep;
mod tail;
#[cfg(test)]
mod tests;
mod walk;

use std::fmt::Debug;
use std::io;
use std::path::PathBuf;

use fettlebook_model::Seq;
use serde::{Deserialize, Serialize};

pub use certain::{Uncertain, make_certain};
pub use chain::{Chain, NotAChain};
pub(crate) use closed::CLOSED_FILE;
pub use closed::{Closed, ClosedPlace};
pub(crate) use disk::write_whole;
pub use disk::{Disk, DiskFile, FileFacts, RealDisk};
pub use file::FileJournal;
pub(crate) use line::BEFORE_CHAIN as LINE_BEGINS;
#[cfg(feature = "postgres")]
pub(crate) use line::{FRAME_BYTES as LINE_FRAME_BYTES, is_entry, put_entry, put_frame};
pub use line::{Line, Parts, parse};
pub(crate) use proof::{FileProof, ProofPlace};
pub use reader::FileReader;
pub use survey::{Survey, TornTail, Untaken, survey};
pub use sweep::{Reached, ReadThrough};
pub(crate) use walk::LINE_BYTES_MAX;
#[cfg(feature = "postgres")]
pub(crate) use walk::segment_name;

/// Where a journal stands: its last entry and the chain value up to it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Head {
    /// Number of the last entry; 0 for an empty journal.
    pub seq: Seq,
    /// Chain value of the last entry; 64 zeros for an empty journal.
    pub chain: Chain,
}

impl Head {
    /// The head of a journal without entries.
    pub const EMPTY: Self = Self {
        seq: Seq(0),
        chain: Chain::ZERO,
    };
}

/// Where the line of an entry begins.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Position {
    /// Number of the entry.
    pub seq: Seq,
    /// Number of the first entry of the segment, which names the file.
    pub segment: u64,
    /// Bytes of the segment before the line.
    pub offset: u64,
}

impl Position {
    /// Where the first entry of any journal begins.
    pub const START: Self = Self {
        seq: Seq(1),
        segment: 1,
        offset: 0,
    };

    /// Name of the file it is in.
    pub fn file_name(&self) -> String {
        walk::segment_name(self.segment)
    }
}

/// An entry known to be in the journal: where its line begins and its chain value.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Mark {
    /// Where the line begins.
    pub at: Position,
    /// Chain value of the entry.
    pub chain: Chain,
}

impl Mark {
    /// The head of a journal that ends with this entry.
    pub fn head(&self) -> Head {
        Head {
            seq: self.at.seq,
            chain: self.chain,
        }
    }
}

/// A line as it was read back.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReadLine {
    /// The entry's place and chain value.
    pub mark: Mark,
    /// The exact bytes of the entry object.
    pub entry: Vec<u8>,
}

impl ReadLine {
    /// Writes the line as it stands in its file, line feed included.
    pub fn write_to(&self, out: &mut Vec<u8>) {
        line::frame(out, &self.mark.chain, &self.entry);
    }

    /// The bytes of the entry object as it was given to the journal, without the journal's own member.
    pub fn given(&self) -> Vec<u8> {
        line::given(&self.entry)
    }
}

/// Lines in order, each checked for its number and, after the first, for its chain value.
pub type Lines = Box<dyn Iterator<Item = Result<ReadLine, JournalError>> + Send>;

/// What the desk needs of a journal. Kept this narrow so that another store can take its place.
pub trait Journal: Debug + Send {
    /// Appends lines after `expected`, all or, on failure, none that counts.
    ///
    /// When it returns, the lines are durable: they survive loss of power. It gives the mark of
    /// each line, in order.
    ///
    /// # Errors
    /// `HeadMoved` when the journal does not end at `expected`, `Unready` when there is no room or
    /// no file to write to; nothing was written, and it may be tried again. Any failed write or
    /// sync stops the journal for good: the lines may or may not be there, and a sync is
    /// never tried again.
    fn append(&mut self, expected: &Head, lines: &[Line]) -> Result<Vec<Mark>, JournalError>;

    /// Where the journal ends.
    fn head(&self) -> Head;

    /// Where the journal ends, and the place right behind its last line.
    fn reached(&self) -> Reached;

    /// Gives back what was set aside for lines to come.
    ///
    /// # Errors
    /// What the disk says. What was appended is kept all the same.
    fn close(&mut self) -> Result<(), JournalError>;
}

/// Reads entries back, beside whoever appends to the journal.
pub trait Reader: Debug + Send + Sync {
    /// Reads on from just after `from`, or from the beginning, to wherever the journal ends now or to
    /// entry `until`, and gives each line to `visit`, whoever appended it.
    ///
    /// `from` itself is checked but not given to `visit`. A line that `visit` does not take counts as
    /// damaged or as a later program's, with its sentence; of lines behind a later program's only the
    /// chain is checked.
    ///
    /// # Errors
    /// When it cannot be read. What is wrong inside is in the survey instead.
    fn survey(
        &self,
        from: Option<&Mark>,
        until: Option<Seq>,
        visit: &mut dyn FnMut(&ReadLine) -> Result<(), Untaken>,
    ) -> Result<Survey, JournalError>;

    /// The lines from `from` up to and with entry `until`, which must have been acknowledged.
    ///
    /// # Errors
    /// When a file cannot be read, or the lines are not what the format says.
    fn read(&self, from: Position, until: Seq) -> Result<Lines, JournalError>;

    /// Reads from what is known to be whole up to and with entry `until`, which must have been
    /// acknowledged, for nothing but to know that it is whole too; on all processors. It comes less
    /// far when `go_on`, which is asked now and then, says no.
    ///
    /// # Errors
    /// Those of [`Reader::read`] and of its lines, the first of them.
    fn read_through(
        &self,
        from: &Reached,
        until: Seq,
        go_on: &(dyn Fn() -> bool + Sync),
    ) -> Result<ReadThrough, JournalError>;
}

/// What of a journal is proven to be whole, and how far others could have changed it since.
pub trait Proof: Debug + Send {
    /// The last entry that is proven.
    fn until(&self) -> Seq;

    /// Bytes of the journal that are not proven.
    fn unread_bytes(&self) -> u64;

    /// Reads what is not proven up to and with an entry that was acknowledged. It comes less far when
    /// `go_on` says no.
    ///
    /// # Errors
    /// What is wrong first, or that it cannot be read; what was proven before stays so.
    fn bring_up(
        &mut self,
        until: Seq,
        go_on: &(dyn Fn() -> bool + Sync),
    ) -> Result<(), JournalError>;

    /// Looks before a group is written whether others have changed what is proven, and reads again what
    /// they changed: what is written to at every group, all of it now and then.
    ///
    /// # Errors
    /// What is wrong first, or that it cannot be looked at or read.
    fn look(&mut self) -> Result<(), JournalError>;

    /// Notices whether others have changed what is written to.
    fn notice(&mut self);

    /// Takes in that this process itself changed what is written to, behind what is proven of it.
    fn refresh(&mut self);

    /// Takes in a group that was written by this process, which ends the journal at `end`.
    fn extend(&mut self, marks: &[Mark], end: Reached);

    /// Keeps the proof for the next process. What could have been changed unseen is read again first.
    ///
    /// # Errors
    /// What is wrong first. That the proof could not be kept is none.
    fn keep(&mut self) -> Result<(), JournalError>;
}

/// A line that is wrong, and how.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("entry {seq} of the journal {what}")]
pub struct Damage {
    /// Number of the first bad entry.
    pub seq: Seq,
    /// What is wrong with it, as the rest of a sentence.
    pub what: String,
}

/// An entry that a later program wrote: whole, but not understood here.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("entry {seq} of the journal {what}")]
pub struct Newer {
    /// Number of the first such entry.
    pub seq: Seq,
    /// What shows it, as the rest of a sentence.
    pub what: String,
    /// The last entry of the journal, to which every line fits the one before.
    pub until: Head,
}

/// Why a journal could not be read or written.
#[derive(Debug, thiserror::Error)]
pub enum JournalError {
    /// The journal ends elsewhere than the caller thought.
    #[error(
        "the journal ends at entry {actual}, not at entry {expected}; something else has written to it"
    )]
    HeadMoved {
        /// Where the caller thought it ends.
        expected: Seq,
        /// Where it ends.
        actual: Seq,
    },
    /// Another has the right to write now. What was given last is recorded only if it was before that.
    #[error("another has the right to write in the book now")]
    RightLost {
        /// What they said of themselves; empty where that is not known.
        by: String,
    },
    /// A line that does not follow the format was given.
    #[error("entry {0} does not begin with its number or is not one line; nothing was written")]
    Malformed(Seq),
    /// A write or a sync failed before, or a later program wrote here, so nothing is written any more.
    #[error("the journal stopped: {0}")]
    Stopped(String),
    /// What has to be there before a line is written could not be made. Nothing was written.
    #[error("{action} {} failed: {source}", .path.display())]
    Unready {
        /// What was tried.
        action: &'static str,
        /// On which file or folder.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// The engine that keeps the journal does not answer, or takes nothing, just now. Nothing was written.
    #[error("{action} {place} failed: {what}")]
    Engine {
        /// What was tried.
        action: &'static str,
        /// Where the engine is.
        place: String,
        /// What it said, or why it said nothing.
        what: String,
    },
    /// A file could not be used.
    #[error("{action} {} failed: {source}", .path.display())]
    Disk {
        /// What was tried.
        action: &'static str,
        /// On which file or folder.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// A line is wrong.
    #[error(transparent)]
    Damaged(#[from] Damage),
}

impl JournalError {
    /// Whether it says nothing of the journal: what keeps it did not take or give something just now.
    pub(crate) const fn passes(&self) -> bool {
        matches!(self, Self::Unready { .. } | Self::Engine { .. })
    }

    /// Whether nothing at all can be written there, so that nobody can have left it half done.
    pub(crate) fn nobody_writes(&self) -> bool {
        use io::ErrorKind::{PermissionDenied, ReadOnlyFilesystem};
        matches!(self, Self::Disk { source, .. }
            if matches!(source.kind(), PermissionDenied | ReadOnlyFilesystem))
    }
}

/// Gives an I/O error its action and its path.
fn failed(action: &'static str, path: &std::path::Path) -> impl FnOnce(io::Error) -> JournalError {
    let path = path.to_owned();
    move |source| JournalError::Disk {
        action,
        path,
        source,
    }
}
