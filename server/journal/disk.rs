//! The few things the journal asks of a disk, behind a trait so that a disk that fails can stand in.
//!
//! It serves the file journal, the identity of a book, and their fault tests. The real disk must
//! never report a write or a sync as done that the system did not confirm.

use std::fmt::Debug;
use std::fs::{self, File, Metadata, OpenOptions};
use std::io::{self, Seek, SeekFrom, Write};
use std::path::Path;

use serde::{Deserialize, Serialize};

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

    /// What is told of the file that has this name now.
    ///
    /// # Errors
    /// What the system says.
    fn facts(&self, path: &Path) -> io::Result<FileFacts>;
}

/// What a disk tells of a file without reading it. A file of which all of this is as it was has not
/// been written to by the usual ways: nobody sets the time of the last change but the system.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct FileFacts {
    /// The file system it is on.
    pub device: u64,
    /// Its number there.
    pub inode: u64,
    /// How many names it has; none once it was removed.
    pub link_count: u64,
    /// Its length.
    pub byte_count: u64,
    /// When its bytes were last changed, in nanoseconds since 1970.
    pub modified_ns: i64,
    /// When anything about it was last changed, in nanoseconds since 1970.
    pub changed_ns: i64,
}

impl FileFacts {
    /// Whether both are about the same file, however it was changed meanwhile.
    pub const fn is_same_file(&self, other: &Self) -> bool {
        self.device == other.device && self.inode == other.inode
    }

    #[cfg(unix)]
    fn of(file: &Metadata) -> Self {
        use std::os::unix::fs::MetadataExt as _;
        let ns = |seconds: i64, ns: i64| seconds.saturating_mul(NS_PER_SECOND).saturating_add(ns);
        Self {
            device: file.dev(),
            inode: file.ino(),
            link_count: file.nlink(),
            byte_count: file.len(),
            modified_ns: ns(file.mtime(), file.mtime_nsec()),
            changed_ns: ns(file.ctime(), file.ctime_nsec()),
        }
    }

    /// Elsewhere only length and time are told alike everywhere.
    #[cfg(not(unix))]
    fn of(file: &Metadata) -> Self {
        let since = file.modified().ok();
        let since = since.and_then(|at| at.duration_since(std::time::UNIX_EPOCH).ok());
        let modified_ns = since.and_then(|since| i64::try_from(since.as_nanos()).ok());
        Self {
            device: 0,
            inode: 0,
            link_count: 1,
            byte_count: file.len(),
            modified_ns: modified_ns.unwrap_or_default(),
            changed_ns: modified_ns.unwrap_or_default(),
        }
    }
}

/// Nanoseconds in a second.
#[cfg(unix)]
const NS_PER_SECOND: i64 = 1_000_000_000;

/// A file that is being written.
pub trait DiskFile: Debug + Send {
    /// How long the file is, in bytes.
    ///
    /// # Errors
    /// What the system says.
    fn byte_count(&self) -> io::Result<u64>;

    /// What is told of the file, whatever has its name now.
    ///
    /// # Errors
    /// What the system says.
    fn facts(&self) -> io::Result<FileFacts>;

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

    fn facts(&self, path: &Path) -> io::Result<FileFacts> {
        fs::metadata(path).map(|file| FileFacts::of(&file))
    }
}

impl DiskFile for File {
    fn byte_count(&self) -> io::Result<u64> {
        self.metadata().map(|file| file.len())
    }

    fn facts(&self) -> io::Result<FileFacts> {
        self.metadata().map(|file| FileFacts::of(&file))
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

/// Writes a small file so that it is there whole or not at all, durably.
///
/// # Errors
/// What the system says.
pub(crate) fn write_whole(
    folder: &Path,
    name: &str,
    text: &[u8],
    disk: &dyn Disk,
) -> io::Result<()> {
    let draft = folder.join(format!("{name}.new"));
    let mut file = disk.open(&draft)?;
    if file.byte_count()? > 0 {
        file.cut(0)?;
    }
    file.write_at(0, &[text, b"\n"].concat())?;
    file.sync()?;
    disk.rename(&draft, &folder.join(name))?;
    disk.sync_folder(folder)
}
