//! Bringing a book back from a backup, into a new folder.
//!
//! It serves whoever lost the book. The backup is verified before anything is written, and it is
//! only read; the book that comes of it is another incarnation of the same book.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use uuid::Uuid;

use super::backup::verify_backup;
use super::error::KeepError;
use super::new_book::NewBook;
use super::new_folder::{refuse_inside, refuse_what_holds_something};
use crate::desk::Manifest;
use crate::journal::{Disk, FileReader, Position, Reader as _, RealDisk};
use crate::store::folder::journal_folder;

/// A book that was brought back.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Restored {
    /// Where it is.
    pub folder: PathBuf,
    /// What the backup held, and the book holds now.
    pub backup: Manifest,
}

/// Restores the backup in `from` into `to`, as the incarnation `incarnation_id`.
///
/// # Errors
/// When the backup is not whole, or `to` holds something or cannot be written. Nothing but `to` was
/// written to, and unless it is whole it cannot be opened.
pub fn restore(from: &Path, to: &Path, incarnation_id: Uuid) -> Result<Restored, KeepError> {
    restore_on(from, to, incarnation_id, Arc::new(RealDisk))
}

/// Restores it on a disk.
pub(super) fn restore_on(
    from: &Path,
    to: &Path,
    incarnation_id: Uuid,
    disk: Arc<dyn Disk>,
) -> Result<Restored, KeepError> {
    refuse_what_holds_something(to)?;
    let backup = verify_backup(from)?;
    refuse_inside(to, from)?;
    let mut book = NewBook::begin(to, disk)?;
    let reader = FileReader::new(journal_folder(from));
    for line in reader.read(Position::START, backup.head.seq)? {
        book.take(line?.entry)?;
    }
    let folder = book.finish(backup.book_id, incarnation_id, &backup.head, from)?;
    Ok(Restored { folder, backup })
}
