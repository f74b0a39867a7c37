//! The access folder where files have no modes and no owner that a service could be given.
//!
//! It serves the files of access on such systems. A link that stands there is not followed.

use std::fs::{self, File, FileType, OpenOptions};
use std::io;
use std::path::{Path, PathBuf};

use super::Astray;

/// A folder.
pub(super) struct Folder(PathBuf);

impl Folder {
    /// Takes one that is there.
    pub(super) fn open(path: &Path) -> io::Result<Self> {
        only(path, FileType::is_dir)?;
        Ok(Self(path.to_owned()))
    }

    /// Makes one, or takes one that is there.
    pub(super) fn make(path: &Path) -> io::Result<()> {
        match fs::create_dir(path) {
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {
                only(path, FileType::is_dir)
            }
            made => made,
        }
    }

    /// A new file to write to. What is left of a draft that was cut off goes first.
    pub(super) fn draft(&self, name: &str) -> io::Result<File> {
        match fs::remove_file(self.0.join(name)) {
            Err(error) if error.kind() != io::ErrorKind::NotFound => Err(error),
            Ok(()) | Err(_) => self.new_file(name),
        }
    }

    /// A file that is there, to read.
    pub(super) fn file(&self, name: &str) -> io::Result<File> {
        let path = self.0.join(name);
        only(&path, FileType::is_file)?;
        File::open(path)
    }

    /// A file to lock, made where there is none.
    pub(super) fn lock_file(&self, name: &str) -> io::Result<File> {
        match self.new_file(name) {
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {
                let path = self.0.join(name);
                only(&path, FileType::is_file)?;
                OpenOptions::new().write(true).open(path)
            }
            made => made,
        }
    }

    /// Gives a file the name of another, which is gone then.
    pub(super) fn rename(&self, from: &str, to: &str) -> io::Result<()> {
        fs::rename(self.0.join(from), self.0.join(to))
    }

    /// There is nothing to wait for: a folder cannot be synced here.
    pub(super) const fn sync(&self) -> io::Result<()> {
        Ok(())
    }

    fn new_file(&self, name: &str) -> io::Result<File> {
        let mut new = OpenOptions::new();
        new.write(true).create_new(true).open(self.0.join(name))
    }
}

/// Refuses what is a link, or of another kind.
fn only(path: &Path, kind: fn(&FileType) -> bool) -> io::Result<()> {
    let held = fs::symlink_metadata(path)?.file_type();
    if kind(&held) {
        Ok(())
    } else {
        Err(io::Error::other(Astray))
    }
}
