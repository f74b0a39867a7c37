//! A folder whose book went elsewhere: `book.json` in a format that programs before this one refuse.
//!
//! ```text
//! {"format":2,"book_id":"…","incarnation_id":"…","since_seq":0,"moved":{"to":"…","incarnation_id":"…","at":"…","arrived":true}}
//! ```
//!
//! The journal beside it stays as it was, for whoever looks something up in it.

#[cfg(feature = "postgres")]
use std::io;
#[cfg(feature = "postgres")]
use std::path::Path;

use fettlebook_model::Seq;
use serde::{Deserialize, Serialize};
use uuid::Uuid;

#[cfg(feature = "postgres")]
use super::book_file::{BOOK_FILE, write_whole};
#[cfg(feature = "postgres")]
use crate::journal::Disk;
use crate::store::{Identity, Moved};

/// Format of a folder whose book went elsewhere.
const MOVED_FORMAT: u32 = 2;

/// What stands in `book.json` then.
#[derive(Debug, Serialize, Deserialize)]
struct MovedFile {
    format: u32,
    book_id: Uuid,
    incarnation_id: Uuid,
    since_seq: Seq,
    moved: Moved,
}

/// What a file says of a book that went elsewhere, and which book it was; none where it says something else.
pub(super) fn read(text: &[u8]) -> Option<(Identity, Moved)> {
    let found: MovedFile = serde_json::from_slice(text).ok()?;
    let identity = Identity {
        book_id: found.book_id,
        incarnation_id: found.incarnation_id,
        since: found.since_seq,
    };
    (found.format == MOVED_FORMAT).then_some((identity, found.moved))
}

/// Says durably that the book of a folder went elsewhere.
#[cfg(feature = "postgres")]
pub(super) fn write(
    folder: &Path,
    identity: &Identity,
    moved: &Moved,
    disk: &dyn Disk,
) -> io::Result<()> {
    let file = MovedFile {
        format: MOVED_FORMAT,
        book_id: identity.book_id,
        incarnation_id: identity.incarnation_id,
        since_seq: identity.since,
        moved: moved.clone(),
    };
    let text = serde_json::to_vec(&file).map_err(io::Error::other)?;
    write_whole(folder, BOOK_FILE, &text, disk)
}
