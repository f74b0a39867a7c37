//! The mark of a shelf: of which book it is, in which format, and up to which entry it holds.
//!
//! It serves opening. A shelf whose mark cannot be read, or is of another book or format, is
//! thrown away and rebuilt; it must never be read with the wrong format.

use fettlebook_model::format::DEED_KINDS;
use fettlebook_model::{Entry, Format, Moment};
use serde::{Deserialize, Serialize};
use sha2::{Digest as _, Sha256};
use uuid::Uuid;

use super::ShelfError;
use crate::journal::Mark;

/// Layout of the shelf. To be raised with any change to what is kept in it, the fields of a record
/// included; the shelf is then rebuilt at the next start.
pub(super) const LAYOUT: u32 = 20;

/// Format of a shelf that this program writes.
///
/// The kinds of deeds are in it: a shelf of a program that knows others may hold what followed from
/// them, and a book that is opened from it would pass over entries that are not understood here.
fn shelf_format() -> u32 {
    format_of(LAYOUT, Format::NEWEST, &DEED_KINDS)
}

/// The first bytes of the SHA-256 of all that makes a shelf's format.
fn format_of(layout: u32, newest: Format, kinds: &[&str]) -> u32 {
    let text = format!("{layout} {newest} {}", kinds.join(" "));
    let digest = Sha256::digest(text);
    digest
        .iter()
        .take(4)
        .fold(0, |format, byte| format << 8 | u32::from(*byte))
}

/// The furthest that the entries of a book have come, by time and by request id.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Furthest {
    /// When the last one was recorded.
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
        self.recorded_at = entry.recorded_at;
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
    pub fn new(book_id: Uuid, last: Mark, furthest: Furthest) -> Self {
        Self {
            format: shelf_format(),
            book_id,
            last,
            furthest,
        }
    }

    /// Why a shelf with this mark cannot serve a book; `None` when it can.
    pub fn unfit_for(&self, book_id: Uuid) -> Option<&'static str> {
        if self.format != shelf_format() {
            Some("another version of this program made it")
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_shelf_of_a_program_that_knows_other_deeds_or_another_layout_has_another_format() {
        let mine = shelf_format();
        assert_eq!(mine, format_of(LAYOUT, Format::NEWEST, &DEED_KINDS));
        let mut more = DEED_KINDS.to_vec();
        more.push("lent");
        assert_ne!(mine, format_of(LAYOUT, Format::NEWEST, &more));
        assert_ne!(mine, format_of(LAYOUT + 1, Format::NEWEST, &DEED_KINDS));
    }
}
