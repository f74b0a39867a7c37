//! A folder on a disk with faults, for files that get their names only once they are whole.

use std::io::{self, Write};
use std::path::PathBuf;

use super::faulty::FaultyDisk;
use crate::journal::{Disk as _, DiskFile};

/// A folder on a disk with faults.
pub(crate) struct FaultyFolder {
    pub(crate) disk: FaultyDisk,
    pub(crate) folder: PathBuf,
}

/// A file in it that is being written.
pub(crate) struct FaultyDraft {
    file: Box<dyn DiskFile>,
    offset: u64,
}

impl FaultyFolder {
    pub(crate) fn draft(&self, name: &str) -> io::Result<FaultyDraft> {
        let mut file = self.disk.open(&self.folder.join(name))?;
        if file.byte_count()? > 0 {
            file.cut(0)?;
        }
        Ok(FaultyDraft { file, offset: 0 })
    }

    pub(crate) fn rename(&self, from: &str, to: &str) -> io::Result<()> {
        let (from, to) = (self.folder.join(from), self.folder.join(to));
        self.disk.rename(&from, &to)
    }

    pub(crate) fn sync(&self) -> io::Result<()> {
        self.disk.sync_folder(&self.folder)
    }
}

impl FaultyDraft {
    pub(crate) fn sync(&mut self) -> io::Result<()> {
        self.file.sync()
    }
}

impl Write for FaultyDraft {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.file.write_at(self.offset, bytes)?;
        self.offset += bytes.len() as u64;
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}
