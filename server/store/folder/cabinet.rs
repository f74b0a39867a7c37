//! Files that only their owner may read, written whole or not at all.
//!
//! The cabinet of a book in a folder is its folder `access`. No key and no hash of a secret may ever be
//! there for others to read, not even for the moment in which its file is made; and nothing outside
//! the folder may ever be read, written or given away because a link leads there.

#[cfg(test)]
mod cuts;
#[cfg(not(unix))]
#[path = "cabinet/elsewhere.rs"]
mod folder;
#[cfg(unix)]
#[path = "cabinet/unix.rs"]
mod folder;
#[cfg(test)]
#[cfg(unix)]
mod tests;

use std::fs::File;
use std::io::{self, Read as _, Write};
use std::path::{Path, PathBuf};

use crate::limits::ACCESS_FILE_BYTES_MAX;
use crate::store::cabinet::{Cabinet, CabinetError, Paper, Turn};

use folder::Folder;

/// A folder for its owner alone.
#[derive(Debug)]
pub(super) struct FolderCabinet {
    folder: PathBuf,
}

impl FolderCabinet {
    /// The cabinet of the book in a folder.
    pub(super) fn of(book: &Path) -> Self {
        Self {
            folder: book.join("access"),
        }
    }

    fn opened(&self) -> Result<Folder, CabinetError> {
        Folder::open(&self.folder).map_err(failed("opened", &self.folder))
    }
}

impl Cabinet for FolderCabinet {
    fn open(&self) -> Result<(), CabinetError> {
        Folder::make(&self.folder).map_err(failed("made", &self.folder))?;
        settle(&self.opened()?).map_err(failed("synced", &self.folder))
    }

    fn read(&self, paper: Paper) -> Result<Option<Vec<u8>>, CabinetError> {
        let held = found(Folder::open(&self.folder)).map_err(failed("opened", &self.folder))?;
        let Some(held) = held else {
            return Ok(None);
        };
        let read = || -> io::Result<Option<Vec<u8>>> {
            let Some(file) = found(held.file(paper.name()))? else {
                return Ok(None);
            };
            let mut bytes = Vec::new();
            regular(file)?
                .take(ACCESS_FILE_BYTES_MAX)
                .read_to_end(&mut bytes)?;
            Ok(Some(bytes))
        };
        read().map_err(failed("read", &self.folder.join(paper.name())))
    }

    fn write(&self, paper: Paper, bytes: &[u8]) -> Result<(), CabinetError> {
        let written = write_whole(&self.opened()?, paper.name(), bytes);
        written.map_err(failed("written", &self.folder.join(paper.name())))
    }

    fn turn(&self) -> Result<Turn, CabinetError> {
        let held = self.opened()?;
        let locked = || -> io::Result<File> {
            let file = regular(held.lock_file(LOCK_FILE)?)?;
            file.lock()?;
            Ok(file)
        };
        let locked = locked().map_err(failed("locked", &self.folder.join(LOCK_FILE)))?;
        Ok(Turn::with(locked))
    }

    fn place(&self, paper: Paper) -> String {
        self.folder.join(paper.name()).display().to_string()
    }
}

/// Locked by whoever changes codes or certificates.
const LOCK_FILE: &str = "access.lock";

/// Something else stands where a file or folder of our own should.
#[derive(Debug, thiserror::Error)]
#[error("it is a link or something else that does not belong there")]
struct Astray;

/// Gives an I/O error its action and its path.
fn failed(action: &'static str, path: &Path) -> impl FnOnce(io::Error) -> CabinetError {
    let path = path.display().to_string();
    move |error| {
        if error.get_ref().is_some_and(|inner| inner.is::<Astray>()) {
            return CabinetError::Astray { path };
        }
        CabinetError::Failed {
            path,
            action,
            why: error.to_string(),
        }
    }
}

/// Where files get their names only once they are whole.
trait Drafts {
    /// A file to write to.
    type Draft: Write;

    /// A new file to write to, in place of what is left of an earlier draft.
    fn draft(&self, name: &str) -> io::Result<Self::Draft>;

    /// Waits until a file is on the disk.
    fn sync_draft(&self, draft: &mut Self::Draft) -> io::Result<()>;

    /// Gives a file the name of another, which is gone then.
    fn rename(&self, from: &str, to: &str) -> io::Result<()>;

    /// Waits until the names are on the disk.
    fn sync(&self) -> io::Result<()>;
}

impl Drafts for Folder {
    type Draft = File;

    fn draft(&self, name: &str) -> io::Result<File> {
        Self::draft(self, name)
    }

    fn sync_draft(&self, draft: &mut File) -> io::Result<()> {
        draft.sync_all()
    }

    fn rename(&self, from: &str, to: &str) -> io::Result<()> {
        Self::rename(self, from, to)
    }

    fn sync(&self) -> io::Result<()> {
        Self::sync(self)
    }
}

/// Writes a file so that it is there whole or not at all, durably.
fn write_whole(held: &impl Drafts, name: &str, bytes: &[u8]) -> io::Result<()> {
    let draft = format!("{name}.new");
    let mut file = held.draft(&draft)?;
    file.write_all(bytes)?;
    held.sync_draft(&mut file)?;
    held.rename(&draft, name)?;
    held.sync()
}

/// Takes what has a name for certain from now on: a process that was stopped may have left names that
/// a loss of power would still take back.
fn settle(held: &impl Drafts) -> io::Result<()> {
    held.sync()
}

/// Nothing for what is not there.
fn found<T>(opened: io::Result<T>) -> io::Result<Option<T>> {
    match opened {
        Ok(opened) => Ok(Some(opened)),
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(None),
        Err(error) => Err(error),
    }
}

/// The file, unless it is a pipe, a folder or a machine.
fn regular(file: File) -> io::Result<File> {
    if file.metadata()?.is_file() {
        Ok(file)
    } else {
        Err(io::Error::other(Astray))
    }
}
