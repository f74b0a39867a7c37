//! Opening a book only to look at it: a short journal is read through, and the shelf left alone.
//!
//! It serves the commands that only show something, for which opening the shelf and closing it again
//! is most of the work. It must never show what a usual start would not: wherever anything is not as
//! the last close left it, the usual start decides.

use std::sync::Arc;

use fettlebook_model::Book;

use super::{CaughtUp, ShelfFound};
use crate::desk::error::OpenError;
use crate::desk::proof_state::ProofState;
use crate::desk::replay::Replay;
use crate::journal::Reader;
use crate::limits::LOOK_BYTES_MAX;
use crate::shelf::Furthest;
use crate::store::End;

/// The book as its journal has it; nothing where the journal is long, or is not exactly what the last
/// close left.
pub(super) fn read(reader: &dyn Reader, end: &End) -> Result<Option<CaughtUp>, OpenError> {
    let Some(closed) = end.closed.as_ref().filter(|_| end.is_as_closed) else {
        return Ok(None);
    };
    // A second segment means that the first was full.
    if closed.end.segment != 1 || closed.end.offset > LOOK_BYTES_MAX {
        return Ok(None);
    }
    let mut replay = Replay::new(Book::new(), Furthest::NONE, None);
    let found = reader.survey(None, None, &mut |line| replay.take(line).map(drop))?;
    let is_as_left = found.damage.is_none()
        && found.newer.is_none()
        && found.torn.is_none()
        && found.head == closed.head;
    Ok(is_as_left.then(|| CaughtUp {
        book: Arc::new(replay.book),
        furthest: replay.furthest,
        read_only: None,
        stopped_by: None,
        first_bad: None,
        survey: found,
        shelf: ShelfFound::Unopened,
        keeper: None,
        is_copy: false,
        proof_state: ProofState::Nowhere,
        findings: None,
    }))
}
