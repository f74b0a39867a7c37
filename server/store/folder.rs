//! A book in a folder of files, on one machine.
//!
//! The writer's right is a lock on a file, which the system takes back from a process that ends,
//! however it ends.

mod book_file;
mod cabinet;
mod lock;
mod moved;
mod space;

use std::fs;
use std::io;
use std::path::PathBuf;
use std::sync::Arc;

pub(crate) use super::error::failed;
use super::{About, Asked, Cabinet, End, Identity, Space, Store, StoreError, WritersRight};
use crate::journal::{
    ClosedPlace, Disk, FileJournal, FileProof, FileReader, Journal, JournalError, Proof,
    ProofPlace, Reader, RealDisk, Survey, make_certain,
};
use crate::limits::SEGMENT_BYTES_MAX;
#[cfg(feature = "postgres")]
use crate::store::Moved;

pub(crate) use book_file::{
    BACKUP_FILE, BOOK_FILE, BOOK_FORMAT, COPY_FILE, UNFINISHED_FILE, book_named_in, format_in,
    journal_folder, make_folder, read_identity, refuse_another_book, shelf_folder, sync_folder,
    write_identity, write_whole,
};
use cabinet::FolderCabinet;
pub(crate) use lock::{FolderLock, lock_folder};
#[cfg(feature = "postgres")]
pub(in crate::store) use space::byte_count;

/// A book in a folder.
#[derive(Debug, Clone)]
pub struct FolderStore {
    folder: PathBuf,
    disk: Arc<dyn Disk>,
    segment_bytes_max: u64,
}

impl FolderStore {
    /// The book in this folder, on the machine's own disk.
    pub fn at(folder: impl Into<PathBuf>) -> Self {
        Self {
            folder: folder.into(),
            disk: Arc::new(RealDisk),
            segment_bytes_max: SEGMENT_BYTES_MAX,
        }
    }

    /// The same on another disk.
    #[cfg(test)]
    pub(crate) fn on(self, disk: Arc<dyn Disk>) -> Self {
        Self { disk, ..self }
    }

    /// The same, whose journal begins its next file after so many bytes.
    #[must_use]
    pub fn in_files_of(self, segment_bytes_max: u64) -> Self {
        Self {
            segment_bytes_max,
            ..self
        }
    }

    /// What may be done with the folder by whoever has its lock.
    pub(crate) fn held(self, identity: Identity, lock: FolderLock) -> Box<dyn WritersRight> {
        Box::new(FolderRight {
            store: self,
            identity,
            _lock: lock,
        })
    }

    fn journal_folder(&self) -> PathBuf {
        journal_folder(&self.folder)
    }
}

impl Store for FolderStore {
    fn identity(&self) -> Result<Option<Identity>, StoreError> {
        read_identity(&self.folder)
    }

    fn take(&self, asked: &Asked) -> Result<Box<dyn WritersRight>, StoreError> {
        let (folder, disk) = (&*self.folder, &*self.disk);
        if !folder.join(BOOK_FILE).exists() {
            make_folder(folder, disk).map_err(failed("making", folder))?;
        }
        book_file::refuse_what_is_no_book(folder)?;
        let lock = lock_folder(folder, asked.now, asked.wait)?;
        let identity = match book_file::identity(folder, asked.new_book_id, disk) {
            Err(StoreError::Moved { .. }) if asked.mid_move => book_file::before_move(folder)?,
            found => found?,
        };
        refuse_another_book(folder, identity.book_id)?;
        Ok(self.clone().held(identity, lock))
    }

    fn note(&self, about: About) -> io::Result<Option<Vec<u8>>> {
        match fs::read(self.folder.join(about.file_name())) {
            Ok(text) => Ok(Some(text)),
            Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(None),
            Err(error) => Err(error),
        }
    }

    fn keep_note(&self, about: About, text: &[u8]) -> io::Result<()> {
        write_whole(&self.folder, about.file_name(), text, &*self.disk)
    }

    fn cabinet(&self) -> Arc<dyn Cabinet> {
        Arc::new(FolderCabinet::of(&self.folder))
    }

    fn space(&self) -> Space {
        space::of(&self.folder)
    }

    fn shelf_folder(&self) -> PathBuf {
        shelf_folder(&self.folder)
    }
}

impl About {
    /// The file in a book's folder.
    const fn file_name(self) -> &'static str {
        match self {
            Self::Damage => "damaged.json",
            Self::Upkeep => "upkeep.json",
        }
    }
}

/// The lock of a book's folder, and what it allows.
#[derive(Debug)]
struct FolderRight {
    store: FolderStore,
    identity: Identity,
    _lock: FolderLock,
}

impl FolderRight {
    /// Where it is said how the journal was closed.
    fn closed_place(&self) -> ClosedPlace {
        ClosedPlace {
            folder: self.store.folder.clone(),
            owner: self.identity.incarnation_id,
        }
    }
}

impl WritersRight for FolderRight {
    fn identity(&self) -> Identity {
        self.identity
    }

    fn settle(&self) -> End {
        let (journal, closed) = (self.store.journal_folder(), self.closed_place().read());
        let is_as_closed = closed
            .as_ref()
            .is_some_and(|closed| closed.is_the_end_of(&journal));
        let certain = if is_as_closed {
            Ok(())
        } else {
            make_certain(&journal, &*self.store.disk, closed.as_ref())
        };
        End {
            closed,
            is_as_closed,
            uncertain: certain.err(),
        }
    }

    fn reader(&self) -> Arc<dyn Reader> {
        Arc::new(FileReader::new(self.store.journal_folder()))
    }

    fn proof(&self) -> Box<dyn Proof> {
        let place = ProofPlace {
            journal: self.store.journal_folder(),
            folder: self.store.folder.clone(),
            owner: self.identity.incarnation_id,
        };
        Box::new(FileProof::load(place, Arc::clone(&self.store.disk)))
    }

    #[cfg(feature = "postgres")]
    fn mark_moved(&self, moved: Option<&Moved>) -> Result<(), StoreError> {
        let (folder, disk) = (&*self.store.folder, &*self.store.disk);
        let written = match moved {
            Some(moved) => moved::write(folder, &self.identity, moved, disk),
            None => write_identity(folder, &self.identity, disk),
        };
        written.map_err(failed("writing", &folder.join(BOOK_FILE)))
    }

    fn journal(&self, found: &Survey) -> Result<Box<dyn Journal>, JournalError> {
        let (folder, disk) = (self.store.journal_folder(), Arc::clone(&self.store.disk));
        let mut journal = FileJournal::open(folder, disk, found, self.store.segment_bytes_max)?;
        journal.marked_in(self.closed_place());
        Ok(Box::new(journal))
    }
}
