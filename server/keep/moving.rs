//! Moving a book between a folder and an engine: all of it, with what lets devices in.
//!
//! It serves a shop that grows, or shrinks. Entries go byte for byte, chain values and request ids among
//! them; the book gets a new incarnation where it goes, so that a number is never given twice. It is never in
//! two places where it can be opened: where it was, it is said where it goes before it can be opened there. A
//! move that was cut off at that moment is found out about by the next.

mod down;
mod error;
mod up;

use std::path::PathBuf;
use std::sync::Arc;

use uuid::Uuid;

use crate::desk::{Desk, DeskOptions, SystemClock, upkeep_carried};
use crate::journal::Head;
use crate::limits::LOCK_WAIT_MAX;
use crate::store::{About, Asked, Paper, Store, WritersRight};

pub use down::move_down;
pub use error::MoveError;
pub use up::move_up;

/// A book that moved.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MovedBook {
    /// Its id.
    pub book_id: Uuid,
    /// How many entries it has.
    pub entry_count: u64,
    /// Where it was, for people.
    pub from: String,
    /// Where it is, for people.
    pub to: String,
    /// Its folder, where it is in one.
    pub folder: Option<PathBuf>,
}

/// Opens a book as it would be served, and closes it: what is wrong with it comes to light, and its end is
/// set right. Only what could be recorded in goes anywhere.
fn look_over(store: &Arc<dyn Store>) -> Result<(), MoveError> {
    let options = DeskOptions::new(Arc::new(SystemClock), Uuid::now_v7());
    let (desk, report) = Desk::open(Arc::clone(store), &options)?;
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()
        .map_err(MoveError::Runtime)?;
    runtime.block_on(desk.close())?;
    match report.read_only {
        Some(reason) => Err(MoveError::ReadOnly { reason }),
        None => Ok(()),
    }
}

/// The writer's right to a book that nobody has open, and where its journal ends.
fn hold(
    store: &dyn Store,
    mid_move: bool,
    wanted: &str,
) -> Result<(Box<dyn WritersRight>, Head), MoveError> {
    let right = store.take(&Asked {
        new_book_id: Uuid::now_v7(),
        now: now(),
        wait: LOCK_WAIT_MAX,
        mid_move,
    })?;
    let end = right.settle();
    let closed = end.closed.filter(|_| end.is_as_closed);
    let closed = closed.ok_or_else(|| MoveError::ChangedMeanwhile {
        place: wanted.to_owned(),
    })?;
    Ok((right, closed.head))
}

/// The papers that go with a book.
fn papers(store: &dyn Store) -> Result<Vec<(Paper, Vec<u8>)>, MoveError> {
    let cabinet = store.cabinet();
    let mut papers = Vec::new();
    for paper in Paper::OF_THE_BOOK {
        if let Some(bytes) = cabinet.read(paper)? {
            papers.push((paper, bytes));
        }
    }
    Ok(papers)
}

/// When the book was verified and backed up, as it is noted where it goes.
fn upkeep(store: &dyn Store, incarnation_id: Uuid) -> Result<Option<Vec<u8>>, MoveError> {
    let noted = store.note(About::Upkeep).map_err(MoveError::Note)?;
    Ok(noted.and_then(|noted| upkeep_carried(&noted, incarnation_id)))
}

fn now() -> fettlebook_model::Moment {
    use crate::desk::Clock as _;
    SystemClock.now()
}
