//! Why a book was not made in an engine.

use crate::journal::{Damage, JournalError};
use crate::keep::KeepError;
use crate::store::StoreError;

/// Why not.
#[derive(Debug, thiserror::Error)]
pub enum InEngineError {
    /// There is nothing to mend.
    #[error("There is no book in {place} to mend.")]
    NoBook {
        /// Where it would be.
        place: String,
    },
    /// What was put there is not what is there.
    #[error(
        "The book in {place} was mended, and is not whole when it is read back: {damage}. Have a look at that database, and say it again."
    )]
    ReadBack {
        /// Where it is.
        place: String,
        /// What is wrong.
        damage: Damage,
    },
    /// The engine took nothing.
    #[error("Nothing was changed in {place}, which did not take it. Say it again.")]
    NotTaken {
        /// Where it would be.
        place: String,
    },
    /// It is not known whether it came.
    #[error(
        "It is not known whether {place} took the book: {why} It took all or nothing: say it again, which finds out."
    )]
    Unknown {
        /// Where it would be.
        place: String,
        /// What went wrong, as a sentence.
        why: StoreError,
    },
    /// What the book is made of cannot be used.
    #[error(transparent)]
    Keep(#[from] KeepError),
    /// The engine cannot be used, or refuses.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// Entries could not be read.
    #[error("{0}.")]
    Journal(#[from] JournalError),
}
