//! The mark of a shelf: of which book it is, in which format, and up to which entry it holds.
//!
//! It serves opening. A shelf whose mark cannot be read, or is of another book or format, is
//! thrown away and rebuilt; it must never be read with the wrong format.

use fettlebook_model::{Entry, Moment};
use serde::{Deserialize, Serialize};
use uuid::Uuid;

use super::ShelfError;
use crate::journal::Mark;

/// Format of the shelf. To be raised with any change to what is kept in it, the fields of a record
/// included; the shelf is then rebuilt at the next start.
const SHELF_FORMAT: u32 = 4;

/// The furthest that the entries of a book have come, by time and by request id.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Furthest {
    /// The latest moment at which one was recorded.
    pub recorded_at: Moment,
    /// The greatest request id. Ids begin with the time they were made, so that nearly every new
    /// request has a greater one and need not be looked for.
    pub request: Uuid,
}

impl Furthest {
    /// Before any entry.
    pub const NONE: Self = Self {
        recorded_at: Moment::MIN,
        request: Uuid::nil(),
    };

    /// Takes an entry into account.
    pub fn reach(&mut self, entry: &Entry) {
        self.recorded_at = self.recorded_at.max(entry.recorded_at);
        self.request = self.request.max(entry.request);
    }
}

/// What the shelf holds.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ShelfMark {
    format: u32,
    book_id: Uuid,
    /// The last entry on the shelf.
    pub last: Mark,
    /// How far its entries have come.
    pub furthest: Furthest,
}

impl ShelfMark {
    /// The mark of a shelf of this book that holds everything up to `last`.
    pub const fn new(book_id: Uuid, last: Mark, furthest: Furthest) -> Self {
        Self {
            format: SHELF_FORMAT,
            book_id,
            last,
            furthest,
        }
    }

    /// Why a shelf with this mark cannot serve a book; `None` when it can.
    pub fn unfit_for(&self, book_id: Uuid) -> Option<&'static str> {
        if self.format != SHELF_FORMAT {
            Some("it has another format")
        } else if self.book_id != book_id {
            Some("it belongs to another book")
        } else {
            None
        }
    }
}

/// Bytes of something kept on the shelf.
pub(super) fn encode<T: Serialize>(value: &T) -> Result<Vec<u8>, ShelfError> {
    postcard::to_stdvec(value).map_err(|error| ShelfError::Failed(error.to_string()))
}

/// Something kept on the shelf, from its bytes, all of which it must use.
pub(super) fn decode<'a, T: Deserialize<'a>>(bytes: &'a [u8]) -> Result<T, ShelfError> {
    match postcard::take_from_bytes(bytes) {
        Ok((value, [])) => Ok(value),
        Ok(_) => Err(ShelfError::Damaged(
            "a value on it is longer than it should be".to_owned(),
        )),
        Err(error) => Err(ShelfError::Damaged(format!(
            "a value on it cannot be read: {error}"
        ))),
    }
}
