//! From a folder into an engine.

use std::path::Path;
use std::sync::Arc;

use super::{MoveError, MovedBook, hold, look_over, now, papers, upkeep};
use crate::journal::{Head, Position};
use crate::keep::new_incarnation;
use crate::store::{
    About, EngineBook, FolderStore, Identity, Moved, Store, StoreError, WritersRight,
};

/// Moves the book in a folder into an engine. The folder stays for whoever looks something up, and says where
/// the book is.
///
/// # Errors
/// When the book is in use, damaged, or there already, or the engine cannot be used. Nothing was changed
/// then, unless it is said that the outcome is not known: the next move finds out.
pub fn move_up(from: &Path, to: &EngineBook<'_>) -> Result<MovedBook, MoveError> {
    let store: Arc<dyn Store> = Arc::new(FolderStore::at(from));
    let place = from.display().to_string();
    match store.identity() {
        Ok(Some(_)) => {}
        Ok(None) => return Err(MoveError::NoBook { place }),
        Err(StoreError::Moved { moved, .. }) if !moved.arrived => {
            if let Some(there) = find_out(&*store, &place, to, &moved)? {
                return Ok(there);
            }
        }
        Err(error) => return Err(error.into()),
    }
    look_over(&store)?;
    let (right, head) = hold(&*store, false, &place)?;
    let before = right.identity();
    let identity = Identity {
        book_id: before.book_id,
        incarnation_id: new_incarnation(),
        since: head.seq,
    };
    let mut arrival = to.arrival(identity, None)?;
    for line in right.reader().read(Position::START, head.seq)? {
        let line = line?;
        arrival.take(&line.mark.head(), line.entry)?;
    }
    for (paper, bytes) in papers(&*store)? {
        arrival.take_paper(paper, bytes)?;
    }
    if let Some(noted) = upkeep(&*store, identity.incarnation_id)? {
        arrival.take_note(About::Upkeep, noted)?;
    }
    arrival.end()?;
    let moved = Moved {
        to: to.place()?,
        incarnation_id: identity.incarnation_id,
        at: now(),
        arrived: false,
    };
    right.mark_moved(Some(&moved))?;
    let came = arrival.commit();
    end(&*right, (from, &head), came, moved)
}

/// Says in the folder what became of the book.
fn end(
    right: &dyn WritersRight,
    (from, head): (&Path, &Head),
    came: Result<bool, StoreError>,
    moved: Moved,
) -> Result<MovedBook, MoveError> {
    match came {
        Ok(true) => {
            right.mark_moved(Some(&Moved {
                arrived: true,
                ..moved.clone()
            }))?;
            Ok(MovedBook {
                book_id: right.identity().book_id,
                entry_count: head.seq.0,
                from: from.display().to_string(),
                to: moved.to,
                folder: None,
            })
        }
        Ok(false) => {
            right.mark_moved(None)?;
            Err(MoveError::NotThere { to: moved.to })
        }
        Err(why) => Err(MoveError::Unknown {
            folder: from.to_owned(),
            why,
        }),
    }
}

/// What became of a move that was cut off; nothing where the book is here still.
fn find_out(
    store: &dyn Store,
    place: &str,
    to: &EngineBook<'_>,
    moved: &Moved,
) -> Result<Option<MovedBook>, MoveError> {
    if to.place()? != moved.to {
        let to = moved.to.clone();
        return Err(MoveError::OnItsWay { to });
    }
    let (right, head) = hold(store, true, place)?;
    let identity = Identity {
        incarnation_id: moved.incarnation_id,
        since: head.seq,
        ..right.identity()
    };
    match to.has_arrived(identity) {
        Ok(false) => {
            right.mark_moved(None)?;
            Ok(None)
        }
        came => end(&*right, (Path::new(place), &head), came, moved.clone()).map(Some),
    }
}
