//! Why a book did not move.

use std::io;
use std::path::PathBuf;
use std::sync::Arc;

use crate::desk::{DeskError, OpenError};
use crate::journal::JournalError;
use crate::keep::KeepError;
use crate::store::{CabinetError, StoreError};

/// Why not.
#[derive(Debug, thiserror::Error)]
pub enum MoveError {
    /// There is nothing to move.
    #[error("There is no book in {place} to move.")]
    NoBook {
        /// Where it would be.
        place: String,
    },
    /// Nothing could be recorded in it.
    #[error(
        "The book stays where it is: nothing can be recorded in it, {reason}. Mend it or bring it back from a backup first."
    )]
    ReadOnly {
        /// Why, without a full stop.
        reason: Arc<str>,
    },
    /// Somebody worked on it.
    #[error(
        "The book in {place} was changed while it was read, and stays where it is. Stop whatever works on it and say it again."
    )]
    ChangedMeanwhile {
        /// Where it is.
        place: String,
    },
    /// A move to elsewhere was cut off.
    #[error(
        "The book was on its way to {to}, and only a move to there finds out whether it arrived. Say the same 'fettled move' again, there."
    )]
    OnItsWay {
        /// Where it went.
        to: String,
    },
    /// It is not known whether it came.
    #[error("It is not known whether the book arrived: {why} Nothing is recorded in {}, and nothing is lost: say the same 'fettled move' again, which finds out.", .folder.display())]
    Unknown {
        /// Where it was.
        folder: PathBuf,
        /// What went wrong, as a sentence.
        why: StoreError,
    },
    /// The engine took nothing.
    #[error("The book did not arrive in {to}, and stays where it is. Say it again.")]
    NotThere {
        /// Where it would be.
        to: String,
    },
    /// The name of the folder or of this machine cannot be told.
    #[error("{} cannot be named: {source}.", .folder.display())]
    Name {
        /// The folder.
        folder: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// What was noted about it cannot be read.
    #[error("What is noted about the book cannot be read: {0}.")]
    Note(io::Error),
    /// The system gave no threads.
    #[error("The book cannot be looked over: {0}.")]
    Runtime(io::Error),
    /// It could not be opened where it is.
    #[error(transparent)]
    Open(#[from] OpenError),
    /// It could not be closed where it is.
    #[error("The book could not be closed: {0}.")]
    Close(#[from] DeskError),
    /// It cannot be had where it is, or not be kept where it goes.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// Its folder could not be written.
    #[error(transparent)]
    Keep(#[from] KeepError),
    /// Its journal could not be read.
    #[error("{0}.")]
    Journal(#[from] JournalError),
    /// What lets devices in could not be read or written.
    #[error("{0}")]
    Cabinet(#[from] CabinetError),
}
