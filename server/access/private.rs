//! Files that only their owner may read, written whole or not at all.
//!
//! It serves everything that is kept in the access folder. No key and no hash of a secret may ever be
//! there for others to read, not even for the moment in which its file is made; and nothing outside
//! the folder may ever be read, written or given away because a link leads there.

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
use std::io::{self, Read as _, Write as _};
use std::path::Path;

use serde::Serialize;
use serde::de::DeserializeOwned;

use super::error::{AccessError, Astray, failed};
use crate::limits::ACCESS_FILE_BYTES_MAX;

use folder::Folder;

/// Makes the folder, or shuts one that is there to everyone else.
pub(super) fn make_folder(folder: &Path) -> Result<(), AccessError> {
    Folder::make(folder).map_err(failed("made", folder))
}

/// Writes a file durably.
pub(super) fn write(folder: &Path, name: &str, bytes: &[u8]) -> Result<(), AccessError> {
    let draft = format!("{name}.new");
    let held = Folder::open(folder).map_err(failed("opened", folder))?;
    let written = || -> io::Result<()> {
        let mut file = held.draft(&draft)?;
        file.write_all(bytes)?;
        file.sync_all()?;
        held.rename(&draft, name)?;
        held.sync()
    };
    written().map_err(failed("written", &folder.join(name)))
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
