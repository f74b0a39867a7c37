//! Files that only their owner may read, written whole or not at all.
//!
//! It serves everything that is kept in the access folder. No key and no hash of a secret may ever be
//! there for others to read, not even for the moment in which its file is made; and nothing outside
//! the folder may ever be read, written or given away because a link leads there.

#[cfg(test)]
mod cuts;
#[cfg(not(unix))]
#[path = "private/elsewhere.rs"]
mod folder;
#[cfg(unix)]
#[path = "private/unix.rs"]
mod folder;
#[cfg(test)]
#[cfg(unix)]
mod tests;

use std::fs::File;
use std::io::{self, Read as _, Write};
use std::path::Path;

use serde::Serialize;
use serde::de::DeserializeOwned;

use super::error::{AccessError, Astray, failed};
use crate::limits::ACCESS_FILE_BYTES_MAX;

use folder::Folder;

/// Makes the folder, or shuts one that is there to everyone else; what is in it is certain then.
pub(super) fn make_folder(folder: &Path) -> Result<(), AccessError> {
    Folder::make(folder).map_err(failed("made", folder))?;
    let held = Folder::open(folder).map_err(failed("opened", folder))?;
    settle(&held).map_err(failed("synced", folder))
}

/// Writes a file durably.
pub(super) fn write(folder: &Path, name: &str, bytes: &[u8]) -> Result<(), AccessError> {
    let held = Folder::open(folder).map_err(failed("opened", folder))?;
    write_whole(&held, name, bytes).map_err(failed("written", &folder.join(name)))
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

/// Reads a file; nothing where there is none.
pub(super) fn read(folder: &Path, name: &str) -> Result<Option<Vec<u8>>, AccessError> {
    let held = found(Folder::open(folder)).map_err(failed("opened", folder))?;
    let Some(held) = held else {
        return Ok(None);
    };
    let read = || -> io::Result<Option<Vec<u8>>> {
        let Some(file) = found(held.file(name))? else {
            return Ok(None);
        };
        let mut bytes = Vec::new();
        regular(file)?
            .take(ACCESS_FILE_BYTES_MAX)
            .read_to_end(&mut bytes)?;
        Ok(Some(bytes))
    };
    read().map_err(failed("read", &folder.join(name)))
}

/// Writes what a file holds, as JSON.
pub(super) fn write_json(
    folder: &Path,
    name: &str,
    held: &impl Serialize,
) -> Result<(), AccessError> {
    let mut text = serde_json::to_vec_pretty(held)
        .map_err(|error| failed("written", &folder.join(name))(error.into()))?;
    text.push(b'\n');
    write(folder, name, &text)
}

/// Reads what a file holds, as JSON; nothing where there is none.
pub(super) fn read_json<T: DeserializeOwned>(
    folder: &Path,
    name: &str,
) -> Result<Option<T>, AccessError> {
    let Some(text) = read(folder, name)? else {
        return Ok(None);
    };
    let held = serde_json::from_slice(&text);
    held.map(Some).map_err(|error| AccessError::Damaged {
        path: folder.join(name).display().to_string(),
        what: error.to_string(),
    })
}

/// Waits for the turn to write codes or certificates; dropping it gives the turn back. `fettled pair`
/// writes beside a running service.
pub(super) fn lock(folder: &Path) -> Result<File, AccessError> {
    const NAME: &str = "access.lock";
    let held = Folder::open(folder).map_err(failed("opened", folder))?;
    let locked = || -> io::Result<File> {
        let file = regular(held.lock_file(NAME)?)?;
        file.lock()?;
        Ok(file)
    };
    locked().map_err(failed("locked", &folder.join(NAME)))
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
