//! The few things the journal asks of a disk, behind a trait so that a disk that fails can stand in.
//!
//! It serves the file journal, the identity of a book, and their fault tests. The real disk must
//! never report a write or a sync as done that the system did not confirm.

use std::fmt::Debug;
use std::fs::{self, File, OpenOptions};
use std::io::{self, Seek, SeekFrom, Write};
use std::path::Path;

/// A disk that a book is written to.
pub trait Disk: Debug + Send + Sync {
    /// Opens a file to write to, making it when there is none.
    ///
    /// # Errors
    /// What the system says.
    fn open(&self, path: &Path) -> io::Result<Box<dyn DiskFile>>;

    /// Makes a folder and those above it, where they are missing.
    ///
    /// # Errors
    /// What the system says.
    fn make_folder(&self, folder: &Path) -> io::Result<()>;

    /// Gives a file another name, in place of whatever had that name.
    ///
    /// The name is durable once its folder has been synced.
    ///
    /// # Errors
    /// What the system says.
    fn rename(&self, from: &Path, to: &Path) -> io::Result<()>;

    /// Makes the names in a folder durable.
    ///
    /// # Errors
    /// What the system says.
    fn sync_folder(&self, folder: &Path) -> io::Result<()>;
}

/// A file that is being written.
pub trait DiskFile: Send {
    /// How long the file is, in bytes.
    ///
    /// # Errors
    /// What the system says.
    fn byte_count(&self) -> io::Result<u64>;

    /// Writes all bytes from `offset` on. A gap before them reads as zeros.
    ///
    /// # Errors
    /// What the system says; some of the bytes may have been written.
    fn write_at(&mut self, offset: u64, bytes: &[u8]) -> io::Result<()>;

    /// Cuts the file to its first `byte_count` bytes, durably.
    ///
    /// # Errors
    /// What the system says.
    fn cut(&mut self, byte_count: u64) -> io::Result<()>;

    /// Makes everything written so far durable.
    ///
    /// # Errors
    /// What the system says; after that nothing is known about what was written since the last sync.
    fn sync(&mut self) -> io::Result<()>;
}

/// The machine's own disk.
#[derive(Debug, Clone, Copy, Default)]
pub struct RealDisk;

impl Disk for RealDisk {
    fn open(&self, path: &Path) -> io::Result<Box<dyn DiskFile>> {
        let mut options = OpenOptions::new();
        let file = options
            .write(true)
            .create(true)
            .truncate(false)
            .open(path)?;
        Ok(Box::new(file))
    }

    fn make_folder(&self, folder: &Path) -> io::Result<()> {
        fs::create_dir_all(folder)
    }

    fn rename(&self, from: &Path, to: &Path) -> io::Result<()> {
        fs::rename(from, to)
    }

    fn sync_folder(&self, folder: &Path) -> io::Result<()> {
        if cfg!(unix) {
            File::open(folder)?.sync_all()
        } else {
            Ok(())
        }
    }
}

impl DiskFile for File {
    fn byte_count(&self) -> io::Result<u64> {
        self.metadata().map(|file| file.len())
    }

    fn write_at(&mut self, offset: u64, bytes: &[u8]) -> io::Result<()> {
        self.seek(SeekFrom::Start(offset))?;
        self.write_all(bytes)
    }

    fn cut(&mut self, byte_count: u64) -> io::Result<()> {
        self.set_len(byte_count)?;
        self.sync_all()
    }

    fn sync(&mut self) -> io::Result<()> {
        self.sync_data()
    }
}
