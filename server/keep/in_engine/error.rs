//! Why a book was not made in an engine.

use crate::journal::JournalError;
use crate::keep::KeepError;
use crate::store::StoreError;

/// Why not.
#[derive(Debug, thiserror::Error)]
pub enum InEngineError {
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
