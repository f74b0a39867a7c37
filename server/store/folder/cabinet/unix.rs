//! The access folder, held open: whatever is done in it is done in this one folder.
//!
//! It serves the files of access. `fettled pair` may run with the rights of the system's administrator
//! in a folder that belongs to the service's user: no link that stands there is ever followed, and
//! nothing is given to that user but what was made here a moment before.

use std::ffi::OsStr;
use std::fs::{File, Permissions};
use std::io;
use std::os::fd::AsFd;
use std::os::unix::fs::{MetadataExt as _, PermissionsExt as _, fchown};
use std::path::Path;

use rustix::fs::{AtFlags, CWD, Mode, OFlags, mkdirat, openat, renameat, unlinkat};
use rustix::io::Errno;

use super::Astray;

/// What every opening asks for. Opening a pipe does not wait for its other end.
const HERE: OFlags = OFlags::NOFOLLOW
    .union(OFlags::CLOEXEC)
    .union(OFlags::NONBLOCK);

/// A folder that is held open.
pub(super) struct Folder(File);

impl Folder {
    /// Opens one that is there.
    pub(super) fn open(path: &Path) -> io::Result<Self> {
        Self::opened(CWD, path.as_os_str())
    }

    /// Makes one, or takes one that is there, and shuts it to everyone else.
    pub(super) fn make(path: &Path) -> io::Result<()> {
        let (Some(parent), Some(name)) = (path.parent(), path.file_name()) else {
            return Err(io::ErrorKind::InvalidInput.into());
        };
        let parent = File::open(parent)?;
        let made = match mkdirat(&parent, name, Mode::RWXU) {
            Ok(()) => true,
            Err(Errno::EXIST) => false,
            Err(error) => return Err(error.into()),
        };
        let folder = Self::opened(&parent, name)?;
        if made {
            own_like(&parent, &folder.0)?;
        }
        // Where it was there too: whoever made it may have been stopped before that.
        parent.sync_all()?;
        folder.0.set_permissions(Permissions::from_mode(0o700))
    }

    fn opened(at: impl AsFd, name: &OsStr) -> io::Result<Self> {
        let flags = HERE | OFlags::RDONLY | OFlags::DIRECTORY;
        Ok(Self(open_at(at, name, flags)?))
    }

    /// A new file to write to. What is left of a draft that was cut off goes first.
    pub(super) fn draft(&self, name: &str) -> io::Result<File> {
        match unlinkat(&self.0, name, AtFlags::empty()) {
            Ok(()) | Err(Errno::NOENT) => self.new_file(name),
            Err(error) => Err(error.into()),
        }
    }

    /// A file that is there, to read.
    pub(super) fn file(&self, name: &str) -> io::Result<File> {
        open_at(&self.0, name.as_ref(), HERE | OFlags::RDONLY)
    }

    /// A file to lock, made where there is none.
    pub(super) fn lock_file(&self, name: &str) -> io::Result<File> {
        match self.new_file(name) {
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {
                open_at(&self.0, name.as_ref(), HERE | OFlags::WRONLY)
            }
            made => made,
        }
    }

    /// Gives a file the name of another, which is gone then.
    pub(super) fn rename(&self, from: &str, to: &str) -> io::Result<()> {
        Ok(renameat(&self.0, from, &self.0, to)?)
    }

    /// Waits until the names in it are on the disk.
    pub(super) fn sync(&self) -> io::Result<()> {
        self.0.sync_all()
    }

    fn new_file(&self, name: &str) -> io::Result<File> {
        let flags = HERE | OFlags::WRONLY | OFlags::CREATE | OFlags::EXCL;
        let file = open_at(&self.0, name.as_ref(), flags)?;
        own_like(&self.0, &file)?;
        Ok(file)
    }
}

fn open_at(at: impl AsFd, name: &OsStr, flags: OFlags) -> io::Result<File> {
    match openat(at, name, flags, Mode::RUSR | Mode::WUSR) {
        Ok(opened) => Ok(opened.into()),
        // What systems say of a link, of what is no folder, of a folder, of a pipe or a socket.
        Err(Errno::LOOP | Errno::MLINK | Errno::NOTDIR | Errno::ISDIR | Errno::NXIO) => {
            Err(io::Error::other(Astray))
        }
        Err(error) => Err(error.into()),
    }
}

/// Gives what the system's administrator made just now to the owner of the folder it is in, whose
/// service reads it. What was there before may be another name of anybody's file: it stays whose it
/// is.
fn own_like(folder: &File, made: &File) -> io::Result<()> {
    let (owner, held) = (folder.metadata()?, made.metadata()?);
    if (owner.uid(), owner.gid()) == (held.uid(), held.gid()) || held.uid() != 0 {
        return Ok(());
    }
    fchown(made, Some(owner.uid()), Some(owner.gid()))
}
