//! Why a backup, a restore or a mend did not come about.
//!
//! It serves people: each is a sentence that says what was wrong, where, and what to do. None may
//! leave a folder behind that could be taken for a book.

use std::io;
use std::path::{Path, PathBuf};

use fettlebook_model::Seq;

use crate::journal::JournalError;
use crate::store::StoreError;

/// Why it did not come about.
#[derive(Debug, thiserror::Error)]
pub enum KeepError {
    /// The folder to write into holds something.
    #[error("{} is not empty, and nothing is ever written over. Name a new folder.", .folder.display())]
    NotEmpty {
        /// The folder.
        folder: PathBuf,
    },
    /// The folder to write into lies in the one that is read.
    #[error("{} lies in the folder that is read from, in which nothing is ever written. Name a folder elsewhere.", .folder.display())]
    Inside {
        /// The folder.
        folder: PathBuf,
    },
    /// The folder is no backup.
    #[error("{} has no backup.json: it is not a backup, or one that was not finished. Name a folder that 'fettle book backup' has made.", .folder.display())]
    NotABackup {
        /// The folder.
        folder: PathBuf,
    },
    /// The backup was written by a later program.
    #[error("The backup in {} was written by a later fettle: it has format {format}, and this one reads format {known}. Update this one.", .folder.display())]
    Newer {
        /// Folder of the backup.
        folder: PathBuf,
        /// Its format.
        format: u32,
        /// Format known here.
        known: u32,
    },
    /// The backup is not what its manifest says.
    #[error("The backup in {} is damaged: {what}. Use another one.", .folder.display())]
    BackupDamaged {
        /// Folder of the backup.
        folder: PathBuf,
        /// What is wrong, without a full stop.
        what: String,
    },
    /// What arrives is not a backup.
    #[error(
        "What the service sent is not a backup: {what}. Use a fettle and a fettled of the same version."
    )]
    NotOurs {
        /// What is wrong, without a full stop.
        what: String,
    },
    /// The backup is of another book.
    #[error("The backup in {} is of another book. Name one of this book.", .folder.display())]
    OtherBook {
        /// Folder of the backup.
        folder: PathBuf,
    },
    /// The folder holds no journal.
    #[error("{} holds no journal, so there is nothing to mend.", .folder.display())]
    NotABook {
        /// The folder.
        folder: PathBuf,
    },
    /// The end of a journal is not one that a person has to accept.
    #[error("Nothing was changed in {}: {what}. An end is accepted only where fettle asks for it, with the number that it names.", .folder.display())]
    EndNotOpen {
        /// Folder of the book.
        folder: PathBuf,
        /// How its journal ends, without a full stop.
        what: String,
    },
    /// A process has the book open.
    #[error("The book in {} is in use. Stop the program that has it open first.", .folder.display())]
    InUse {
        /// Folder of the book.
        folder: PathBuf,
    },
    /// A process has the outbox open.
    #[error("The outbox in {} is in use by another fettle. Wait until that has ended.", .folder.display())]
    OutboxInUse {
        /// Folder of the outbox.
        folder: PathBuf,
    },
    /// A line of an outbox is wrong.
    #[error("The outbox in {} is damaged: its line {line} {what}.", .folder.display())]
    OutboxDamaged {
        /// Folder of the outbox.
        folder: PathBuf,
        /// The first bad line.
        line: Seq,
        /// What is wrong with it, as the rest of a sentence.
        what: String,
    },
    /// Nothing says whose book it is.
    #[error("Nothing in {} says which book this is: {what}. Name a backup of it with --with.", .folder.display())]
    NoIdentity {
        /// Folder of the book.
        folder: PathBuf,
        /// Why it cannot be said, without a full stop.
        what: String,
    },
    /// Not one entry can be kept.
    #[error("Not one entry of {} can be proved to be what was recorded. Restore a backup instead.", .folder.display())]
    NothingKept {
        /// Folder of the book.
        folder: PathBuf,
    },
    /// What was read twice was not the same twice.
    #[error("{} was changed while it was read. Stop whatever writes to it and do it again.", .folder.display())]
    ChangedMeanwhile {
        /// The folder.
        folder: PathBuf,
    },
    /// The folder holds something that is no copy.
    #[error("{} holds something other than a copy of a shop's book, and nothing of it is thrown away. Name another folder for the copy.", .folder.display())]
    NotACopy {
        /// The folder.
        folder: PathBuf,
    },
    /// What came does not follow on the copy.
    #[error("What the shop sent does not follow on the copy in {}, which ends at entry {head}: {what}. Copy the book again from there, or from its first entry.", .folder.display())]
    CopyNotContinued {
        /// Folder of the copy.
        folder: PathBuf,
        /// The last entry of it.
        head: Seq,
        /// What came instead, without a full stop.
        what: String,
    },
    /// A later program wrote an entry that came.
    #[error("The copy in {} stays as it was: entry {seq} of the shop's book {what}.", .folder.display())]
    NewerEntry {
        /// Folder of the copy.
        folder: PathBuf,
        /// The entry.
        seq: Seq,
        /// What shows it, as the rest of a sentence.
        what: String,
    },
    /// What the shop says of itself or of the device cannot be understood.
    #[error(
        "The shop said {word:?} for {what}, which this program does not understand. Use a fettle and a fettled of the same version."
    )]
    CopyNotUnderstood {
        /// For what.
        what: &'static str,
        /// What it said.
        word: String,
    },
    /// A file or folder could not be used.
    #[error("{action} {} failed: {source}.", .path.display())]
    Disk {
        /// What was tried.
        action: &'static str,
        /// On which file or folder.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// What says whose book it is could not be read.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// A journal could not be read or written.
    #[error("{0}.")]
    Journal(#[from] JournalError),
}

/// Gives an I/O error its action and its path.
pub(super) fn failed(action: &'static str, path: &Path) -> impl FnOnce(io::Error) -> KeepError {
    let path = path.to_owned();
    move |source| KeepError::Disk {
        action,
        path,
        source,
    }
}
