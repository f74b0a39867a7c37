//! From an engine into a new folder.

use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use super::{MoveError, MovedBook, hold, look_over, now, papers, upkeep};
use crate::journal::{Position, RealDisk};
use crate::keep::new_book::NewBook;
use crate::keep::new_folder::refuse_what_holds_something;
use crate::keep::new_incarnation;
use crate::store::folder::{UNFINISHED_FILE, read_identity};
use crate::store::{About, EngineBook, FolderStore, Moved, Store, StoreError};

/// Moves a book out of an engine into a folder, which must be new or empty. What is in the engine stays for
/// whoever looks something up, and says where the book is.
///
/// # Errors
/// When the book is in use or damaged, the folder holds something, or the engine cannot be used. The book
/// stays where it is then, unless it is said that it is on its way: the next move finds out.
pub fn move_down(from: &EngineBook<'_>, to: &Path) -> Result<MovedBook, MoveError> {
    let place = from.place()?;
    let store: Arc<dyn Store> = Arc::new(from.store()?);
    match store.identity() {
        Ok(Some(_)) => {}
        Ok(None) => return Err(MoveError::NoBook { place }),
        Err(StoreError::Moved { moved, .. }) if !moved.arrived => {
            if let Some(there) = find_out(&*store, &place, moved)? {
                return Ok(there);
            }
        }
        Err(error) => return Err(error.into()),
    }
    refuse_what_holds_something(to)?;
    let named = named(to)?;
    look_over(&store)?;
    let (right, head) = hold(&*store, false, &place)?;
    let book_id = right.identity().book_id;
    let incarnation_id = new_incarnation();
    let mut book = NewBook::begin(to, Arc::new(RealDisk))?;
    for line in right.reader().read(Position::START, head.seq)? {
        book.take(line?.entry)?;
    }
    let there = FolderStore::at(book.path());
    let papers = papers(&*store)?;
    if !papers.is_empty() {
        let cabinet = there.cabinet();
        cabinet.open()?;
        for (paper, bytes) in papers {
            cabinet.write(paper, &bytes)?;
        }
    }
    if let Some(noted) = upkeep(&*store, incarnation_id)? {
        there
            .keep_note(About::Upkeep, &noted)
            .map_err(MoveError::Note)?;
    }
    let moved = Moved {
        to: named,
        incarnation_id,
        at: now(),
        arrived: false,
    };
    right.mark_moved(Some(&moved))?;
    let folder = match book.finish(book_id, incarnation_id, &head, to) {
        Ok(folder) => folder,
        Err(error) => {
            right.mark_moved(None)?;
            return Err(error.into());
        }
    };
    right.mark_moved(Some(&Moved {
        arrived: true,
        ..moved.clone()
    }))?;
    Ok(MovedBook {
        book_id,
        entry_count: head.seq.0,
        from: place,
        to: moved.to,
        folder: Some(folder),
    })
}

/// What became of a move that was cut off; nothing where the book is in the engine still.
fn find_out(store: &dyn Store, place: &str, moved: Moved) -> Result<Option<MovedBook>, MoveError> {
    let here = format!("{}:", machine());
    let Some(folder) = moved.to.strip_prefix(&here).map(PathBuf::from) else {
        return Err(MoveError::OnItsWay { to: moved.to });
    };
    let (right, head) = hold(store, true, place)?;
    let is_whole = !folder.join(UNFINISHED_FILE).exists();
    let said = is_whole.then(|| read_identity(&folder)).transpose()?;
    let said = said.flatten().map(|identity| identity.incarnation_id);
    if said != Some(moved.incarnation_id) {
        right.mark_moved(None)?;
        return Ok(None);
    }
    right.mark_moved(Some(&Moved {
        arrived: true,
        ..moved.clone()
    }))?;
    Ok(Some(MovedBook {
        book_id: right.identity().book_id,
        entry_count: head.seq.0,
        from: place.to_owned(),
        to: moved.to,
        folder: Some(folder),
    }))
}

/// A folder with the machine that has it, for whoever reads it elsewhere.
fn named(folder: &Path) -> Result<String, MoveError> {
    let full = std::path::absolute(folder).map_err(|source: io::Error| MoveError::Name {
        folder: folder.to_owned(),
        source,
    })?;
    Ok(format!("{}:{}", machine(), full.display()))
}

/// What this machine is called.
#[cfg(unix)]
fn machine() -> String {
    let names = rustix::system::uname();
    names.nodename().to_string_lossy().into_owned()
}

/// Machines tell it otherwise here.
#[cfg(not(unix))]
fn machine() -> String {
    std::env::var("COMPUTERNAME").unwrap_or_default()
}
