//! Which book it is, and which life of it.

use fettlebook_model::Seq;
use uuid::Uuid;

/// Which book it is, and which life of it.
///
/// Invariant: a number of an entry is given once within an incarnation, and only there: a book that
/// was restored or mended goes on from what it has under a new one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Identity {
    /// Id of the book, made when it was begun.
    pub book_id: Uuid,
    /// Id of this life of it; the book's own for a book as it was begun.
    pub incarnation_id: Uuid,
    /// The last entry this life began with; 0 for a book as it was begun.
    pub since: Seq,
}

impl Identity {
    /// The identity of a book that begins.
    pub const fn begun(book_id: Uuid) -> Self {
        Self {
            book_id,
            incarnation_id: book_id,
            since: Seq(0),
        }
    }
}
