//! A book that is made from lines that were recorded before.
//!
//! It serves restoring and mending. The lines go in as they were, chain values included; the book
//! gets a new incarnation id, so that a number is never given twice, and gets it last.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use uuid::Uuid;

use super::error::{KeepError, failed};
use super::new_folder::NewFolder;
use crate::journal::{ClosedPlace, Disk, FileJournal, Head, Journal as _, Line, survey};
use crate::limits::{GROUP_BYTES_MAX, SEGMENT_BYTES_MAX};
use crate::store::Identity;
use crate::store::folder::{BOOK_FILE, journal_folder, write_identity};

/// A book that is being made.
pub(super) struct NewBook {
    folder: NewFolder,
    disk: Arc<dyn Disk>,
    journal: FileJournal,
    pending: Vec<Line>,
    pending_bytes: usize,
}

impl NewBook {
    /// Begins a book in a folder that must be new or empty.
    pub(super) fn begin(path: &Path, disk: Arc<dyn Disk>) -> Result<Self, KeepError> {
        let folder = NewFolder::begin(path, Arc::clone(&disk))?;
        let journal = journal_folder(path);
        fs::create_dir(&journal).map_err(failed("making", &journal))?;
        let empty = survey(&journal, None, &mut |_| Ok(()))?;
        let journal = FileJournal::open(journal, Arc::clone(&disk), &empty, SEGMENT_BYTES_MAX)?;
        Ok(Self {
            folder,
            disk,
            journal,
            pending: Vec::new(),
            pending_bytes: 0,
        })
    }

    /// Where it is.
    pub(super) fn path(&self) -> &Path {
        self.folder.path()
    }

    /// Takes the entry object of the next line, which must have been checked.
    pub(super) fn take(&mut self, entry: Vec<u8>) -> Result<(), KeepError> {
        self.pending_bytes += entry.len();
        self.pending.push(Line::of(entry));
        if self.pending_bytes >= GROUP_BYTES_MAX {
            self.write()?;
        }
        Ok(())
    }

    /// Ends it as an incarnation of a book, and gives where it is. The journal has worked every
    /// chain value out again, so that it ends at `head` only if every line is what it was.
    pub(super) fn finish(
        mut self,
        book_id: Uuid,
        incarnation_id: Uuid,
        head: &Head,
        read_from: &Path,
    ) -> Result<PathBuf, KeepError> {
        self.write()?;
        if self.journal.head() != *head {
            let folder = read_from.to_owned();
            return Err(KeepError::ChangedMeanwhile { folder });
        }
        let path = self.folder.path();
        self.journal.marked_in(ClosedPlace {
            folder: path.to_owned(),
            owner: incarnation_id,
        });
        self.journal.close()?;
        let identity = Identity {
            book_id,
            incarnation_id,
            since: head.seq,
        };
        let written = write_identity(path, &identity, self.disk.as_ref());
        written.map_err(failed("writing", &path.join(BOOK_FILE)))?;
        self.folder.finish()
    }

    fn write(&mut self) -> Result<(), KeepError> {
        let head = self.journal.head();
        self.journal.append_copies(&head, &self.pending)?;
        self.pending.clear();
        self.pending_bytes = 0;
        Ok(())
    }
}
