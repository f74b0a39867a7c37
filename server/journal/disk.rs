//! The few things the journal asks of a disk, behind a trait so that a disk that fails can stand in.
//!
//! It serves the file journal and its fault tests. The real disk must never report a write or a
//! sync as done that the system did not confirm.

use std::fmt::Debug;
use std::fs::{File, OpenOptions};
use std::io::{self, Write};
use std::path::Path;

/// A disk that segments are written to.
pub trait Disk: Debug + Send + Sync {
    /// Opens a file to append to it, making it when there is none.
    ///
    /// # Errors
    /// What the system says.
    fn append_to(&self, path: &Path) -> io::Result<Box<dyn AppendFile>>;

    /// Makes the names in a folder durable.
    ///
    /// # Errors
    /// What the system says.
    fn sync_folder(&self, folder: &Path) -> io::Result<()>;

    /// Cuts a file to its first `byte_count` bytes, durably.
    ///
    /// # Errors
    /// What the system says.
    fn cut(&self, path: &Path, byte_count: u64) -> io::Result<()>;
}

/// A file that is only ever appended to.
pub trait AppendFile: Send {
    /// Writes all bytes at the end.
    ///
    /// # Errors
    /// What the system says; some of the bytes may have been written.
    fn append(&mut self, bytes: &[u8]) -> io::Result<()>;

    /// Makes everything appended so far durable.
    ///
    /// # Errors
    /// What the system says; after that nothing about the file's end is known.
    fn sync(&mut self) -> io::Result<()>;
}

/// The machine's own disk.
#[derive(Debug, Clone, Copy, Default)]
pub struct RealDisk;

impl Disk for RealDisk {
    fn append_to(&self, path: &Path) -> io::Result<Box<dyn AppendFile>> {
        Ok(Box::new(
            OpenOptions::new().append(true).create(true).open(path)?,
        ))
    }

    fn sync_folder(&self, folder: &Path) -> io::Result<()> {
        if cfg!(unix) {
            File::open(folder)?.sync_all()
        } else {
            Ok(())
        }
    }

    fn cut(&self, path: &Path, byte_count: u64) -> io::Result<()> {
        let file = OpenOptions::new().write(true).open(path)?;
        file.set_len(byte_count)?;
        file.sync_all()
    }
}

impl AppendFile for File {
    fn append(&mut self, bytes: &[u8]) -> io::Result<()> {
        self.write_all(bytes)
    }

    fn sync(&mut self) -> io::Result<()> {
        self.sync_data()
    }
}
