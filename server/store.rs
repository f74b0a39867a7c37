//! The store of a book: all of it that has to be shared, wherever that is kept.
//!
//! It serves the desk, which records, and access, which lets devices in. A store is of one book; what
//! it gives is which book that is, the writer's right, the journal with what proves it, notes about the
//! book, and the cabinet with devices, codes and keys. The shelf is not among it: each machine has its
//! own, which can be thrown away. [`FolderStore`] is a folder of files; with the feature `postgres` a book may
//! be in an engine that other machines share.
//!
//! Every store promises two things:
//!
//! 1. What [`Journal::append`] acknowledged is there for every later process, whatever fails meanwhile,
//!    and what it did not is there whole or not at all.
//! 2. One process has the writer's right. A group of whoever lost it is refused, never recorded.
//!
//! It is not async: the writer, the audit and each look back are threads that wait for nothing else,
//! and a group waits for its disk far longer than for a call through a trait object.

mod cabinet;
mod error;
pub(crate) mod folder;
mod identity;
mod moved;
#[cfg(feature = "postgres")]
mod office;
#[cfg(feature = "postgres")]
mod postgres;
mod space;
#[cfg(test)]
mod tests;

use std::fmt::Debug;
use std::io;
use std::path::PathBuf;
use std::sync::Arc;
use std::time::Duration;

use fettlebook_model::{Moment, Seq};
use serde::{Deserialize, Serialize};
use uuid::Uuid;

use crate::journal::{Closed, Journal, JournalError, Proof, Reader, Survey, Uncertain};

#[cfg(feature = "postgres")]
pub use cabinet::CodePapers;
pub use cabinet::{Cabinet, CabinetError, Paper, Turn};
pub use error::StoreError;
pub use folder::FolderStore;
pub use identity::Identity;
pub use moved::Moved;
#[cfg(feature = "postgres")]
pub use office::{Office, OfficeRow, ShopLine};
#[cfg(feature = "postgres")]
pub(crate) use postgres::{BookEnd, DamagedBook};
#[cfg(feature = "postgres")]
pub use postgres::{
    Claim, EngineBook, EngineCounts, Listed, NamedBook, PostgresStore, Right, Seen, Sessions,
    shelves_space, tables,
};
pub use space::Space;

/// Where one book is kept.
pub trait Store: Debug + Send + Sync {
    /// Which book it is, and which life of it; none where nothing says so.
    ///
    /// # Errors
    /// When what says it cannot be read, or is of a later program; `Moved` when the book went elsewhere.
    fn identity(&self) -> Result<Option<Identity>, StoreError>;

    /// Takes the writer's right, and begins a book where there is none.
    ///
    /// # Errors
    /// `InUse` when another still has it after the wait; when what is there is no book, or not all of
    /// it is of one book, or cannot be used; `Moved` when the book went elsewhere. Nothing of it was
    /// changed then.
    fn take(&self, asked: &Asked) -> Result<Box<dyn WritersRight>, StoreError>;

    /// What was noted about the book; none where nothing was.
    ///
    /// # Errors
    /// What the system says.
    fn note(&self, about: About) -> io::Result<Option<Vec<u8>>>;

    /// Notes something about the book, durably, in place of what was noted before.
    ///
    /// # Errors
    /// What the system says; what was noted before is there still.
    fn keep_note(&self, about: About, text: &[u8]) -> io::Result<()>;

    /// The cabinet with its devices, codes and keys. It wants no writer's right: whoever may open it owns
    /// the book.
    fn cabinet(&self) -> Arc<dyn Cabinet>;

    /// How much room the book takes, and how much is left, looked at now.
    fn space(&self) -> Space;

    /// Where this machine has its shelf of the book.
    fn shelf_folder(&self) -> PathBuf;

    /// The lines of all shops whose books are kept together, as many as that, by the ids of the books and after
    /// one of them; none where this one is kept alone.
    ///
    /// # Errors
    /// When they cannot be read.
    #[cfg(feature = "postgres")]
    fn shops(&self, _after: Option<Uuid>, _count: usize) -> io::Result<Option<Vec<ShopLine>>> {
        Ok(None)
    }

    /// Whether the machine has many books open beside this one, so that each is to take little memory.
    fn is_one_of_many(&self) -> bool {
        false
    }
}

/// Who asks for the writer's right.
#[derive(Debug, Clone, Copy)]
pub struct Asked {
    /// Id of the book, should there be none yet.
    pub new_book_id: Uuid,
    /// The moment, which others are told for as long as the right is held.
    pub now: Moment,
    /// How long to wait for another process to let go.
    pub wait: Duration,
    /// Whether a book may be taken whose move was cut off, to find out what became of it.
    pub mid_move: bool,
}

/// The right to write in a book, and what only whoever has it may do. Dropping it lets go.
pub trait WritersRight: Debug + Send {
    /// Which book it is, and which life of it.
    fn identity(&self) -> Identity;

    /// Makes certain what the journal ends with, and says what is known of its end. Nothing is read of
    /// a journal before.
    fn settle(&self) -> End;

    /// A reader of the journal, for any thread.
    fn reader(&self) -> Arc<dyn Reader>;

    /// What of the journal is proven to be whole.
    fn proof(&self) -> Box<dyn Proof>;

    /// The journal, to be gone on with as it was found.
    ///
    /// # Errors
    /// What was found wrong, if anything was, or is of a later program: neither is ever written behind.
    /// Or that what it ends with could not be set right.
    fn journal(&self, found: &Survey) -> Result<Box<dyn Journal>, JournalError>;

    /// Where what the book answers is laid out for the office; none where nobody looks for it.
    #[cfg(feature = "postgres")]
    fn office(&self) -> Option<Arc<dyn Office>> {
        None
    }

    /// Says durably where the book went, after which nobody opens it here; or that it did not go.
    ///
    /// # Errors
    /// When that cannot be said, or the right is another's by now.
    #[cfg(feature = "postgres")]
    fn mark_moved(&self, moved: Option<&Moved>) -> Result<(), StoreError>;
}

/// What is known of the end of a journal before anything of it is read.
#[derive(Debug)]
pub struct End {
    /// What it certainly held when that was last said; none where it never was.
    pub closed: Option<Closed>,
    /// Whether it ends exactly there.
    pub is_as_closed: bool,
    /// Why what it ends with is not certain all the same.
    pub uncertain: Option<Uncertain>,
}

impl End {
    /// The last entry that may be shown; none where all may be.
    pub(crate) fn until(&self) -> Option<Seq> {
        self.uncertain.as_ref().and_then(|what| what.until)
    }
}

/// What a note is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum About {
    /// What was found wrong with the journal.
    Damage,
    /// When the book was last verified and backed up.
    Upkeep,
}

/// Who has the writer's right, as they said themselves.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Holder {
    /// Number of the process.
    pub process: u32,
    /// When it took it.
    pub since: Moment,
    /// Where clients reach it, for books that other machines share.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub address: Option<String>,
    /// An id that is this right's alone, where it is known by that.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub right: Option<Uuid>,
    /// An id of the run of the process, which its sessions with an engine have too.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub node: Option<Uuid>,
}
