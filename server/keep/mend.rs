//! Mending a damaged book: a new one of everything in it that is provably what was recorded.
//!
//! It serves whoever has a book that opens read-only. A line is kept when its chain value follows
//! from the line before, from the first one on; where the damaged book has none, a backup of the
//! same book may have it. The damaged folder is never written to, and nothing is made unless asked.

use std::fs::{File, TryLockError};
use std::path::Path;
use std::sync::Arc;

use fettlebook_solo::{SoloMend, SoloMended};
use uuid::Uuid;

use super::damaged_lines::DamagedLines;
use super::error::{KeepError, failed};
use super::kept::{Backup, Kept};
use super::leave_out;
use super::new_book::NewBook;
use super::new_folder::{refuse_inside, refuse_what_holds_something};
use crate::journal::{RealDisk, survey};
use crate::store::folder::{book_named_in, journal_folder, refuse_another_book};
use crate::store::{FolderStore, Identity, Store as _, StoreError};

/// Says what a mended book would hold, and makes it, of this incarnation, when asked to.
///
/// # Errors
/// When the book is open elsewhere, nothing of it can be kept, the backup is damaged or of another
/// book, or `to` holds something. Nothing but `to` was written to, and unless it is whole it cannot
/// be opened.
pub fn mend(asked: &SoloMend, incarnation_id: Uuid) -> Result<SoloMended, KeepError> {
    let from = &asked.from;
    let journal = journal_folder(from);
    if !journal.is_dir() {
        let folder = from.clone();
        return Err(KeepError::NotABook { folder });
    }
    refuse_inside(&asked.to, from)?;
    refuse_what_holds_something(&asked.to)?;
    let _held = hold(from)?;
    let backup = asked.backup.as_deref().map(Backup::open).transpose()?;
    let said = FolderStore::at(from).identity();
    let book_id = book_id(from, said, backup.as_ref())?;
    let mut damaged = DamagedLines::survey(&journal)?;
    let kept = Kept::survey(&mut damaged, backup.as_ref(), book_id.identity)?;
    kept.check(from, backup.as_ref(), book_id.identity.is_some())?;
    let found = survey(&journal, None, &mut |_| Ok(()))?;
    let left_out = leave_out::stretches(&damaged, &kept.used, kept.head.seq);
    let unended = |at: &usize| damaged.scraps().get(*at).is_some_and(|scrap| !scrap.ended);
    let unused: Vec<usize> = (0..kept.used.len())
        .filter(|at| kept.used.get(*at) == Some(&false))
        .collect();
    let only_torn = found.damage.is_none()
        && kept.taken.is_empty()
        && unused.len() == 1
        && unused.iter().all(unended);
    if asked.write {
        let mut book = NewBook::begin(&asked.to, Arc::new(RealDisk))?;
        let until = kept.head.seq;
        Kept::walk(&mut damaged, backup.as_ref(), until, &mut |entry| {
            book.take(entry)
        })?;
        if !left_out.is_empty() {
            leave_out::write(book.path(), &mut damaged, &kept.used, &left_out)?;
        }
        book.finish(book_id.id, incarnation_id, &kept.head, from)?;
    }
    Ok(kept.told(book_id.id, found.damage.as_ref(), left_out, only_torn))
}

/// Keeps others from opening the book meanwhile, without writing to its lock.
fn hold(folder: &Path) -> Result<Option<File>, KeepError> {
    let path = folder.join("book.lock");
    let Ok(file) = File::open(&path) else {
        return Ok(None);
    };
    match file.try_lock() {
        Ok(()) => Ok(Some(file)),
        Err(TryLockError::WouldBlock) => {
            let folder = folder.to_owned();
            Err(KeepError::InUse { folder })
        }
        Err(TryLockError::Error(error)) => Err(failed("locking", &path)(error)),
    }
}

/// Which book it is.
struct BookId {
    id: Uuid,
    /// What its own folder says of it; where that says nothing its first entry names the book, or else the
    /// backup does, whose entries have to bear it out.
    identity: Option<Identity>,
}

fn book_id(
    from: &Path,
    said: Result<Option<Identity>, StoreError>,
    backup: Option<&Backup>,
) -> Result<BookId, KeepError> {
    let what = match said {
        Ok(Some(identity)) => {
            let id = identity.book_id;
            refuse_another_book(from, id)?;
            return match backup {
                Some(backup) if backup.manifest.book_id != id => Err(backup.is_of_another_book()),
                _ => Ok(BookId {
                    id,
                    identity: Some(identity),
                }),
            };
        }
        Ok(None) => "it has no book.json".to_owned(),
        Err(StoreError::Identity { what, .. }) => format!("its book.json cannot be read: {what}"),
        Err(other) => return Err(other.into()),
    };
    let book_named = book_named_in(&journal_folder(from));
    let id = match (backup, book_named) {
        (Some(backup), Some(book_named)) if backup.manifest.book_id != book_named => {
            return Err(backup.is_of_another_book());
        }
        (Some(backup), _) => backup.manifest.book_id,
        (None, Some(book_named)) => book_named,
        (None, None) => {
            let folder = from.to_owned();
            return Err(KeepError::NoIdentity { folder, what });
        }
    };
    Ok(BookId { id, identity: None })
}
