//! Files that only their owner may read, written whole or not at all.
//!
//! It serves everything that is kept in the access folder. No key and no hash of a secret may ever be
//! there for others to read, not even for the moment in which its file is made.

use std::fs::{self, File, OpenOptions};
use std::io::{self, Read as _, Write as _};
use std::path::Path;

use serde::Serialize;
use serde::de::DeserializeOwned;

use super::error::{AccessError, failed};
use crate::limits::ACCESS_FILE_BYTES_MAX;

/// Makes the folder, or shuts one that is there to everyone else.
pub(super) fn make_folder(folder: &Path) -> Result<(), AccessError> {
    let made = || -> io::Result<()> {
        if !folder.is_dir() {
            create_shut(folder)?;
            if let Some(parent) = folder.parent() {
                own_like(parent, folder)?;
                sync_folder(parent)?;
            }
        }
        shut(folder, 0o700)
    };
    made().map_err(failed("made", folder))
}

/// Writes a file durably.
pub(super) fn write(folder: &Path, name: &str, bytes: &[u8]) -> Result<(), AccessError> {
    let path = folder.join(name);
    let draft = folder.join(format!("{name}.new"));
    let written = || -> io::Result<()> {
        let mut file = open_shut(OpenOptions::new().write(true).create(true), &draft)?;
        shut(&draft, 0o600)?;
        own_like(folder, &draft)?;
        file.set_len(0)?;
        file.write_all(bytes)?;
        file.sync_all()?;
        fs::rename(&draft, &path)?;
        sync_folder(folder)
    };
    written().map_err(failed("written", &path))
}

/// Reads a file; nothing where there is none.
pub(super) fn read(folder: &Path, name: &str) -> Result<Option<Vec<u8>>, AccessError> {
    let path = folder.join(name);
    let file = match File::open(&path) {
        Ok(file) => file,
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
        Err(error) => return Err(failed("read", &path)(error)),
    };
    let mut bytes = Vec::new();
    let read = file.take(ACCESS_FILE_BYTES_MAX).read_to_end(&mut bytes);
    read.map_err(failed("read", &path))?;
    Ok(Some(bytes))
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
    let path = folder.join("access.lock");
    let locked = || -> io::Result<File> {
        let file = open_shut(OpenOptions::new().write(true).create(true), &path)?;
        own_like(folder, &path)?;
        file.lock()?;
        Ok(file)
    };
    locked().map_err(failed("locked", &path))
}

fn sync_folder(folder: &Path) -> io::Result<()> {
    #[cfg(unix)]
    File::open(folder)?.sync_all()?;
    #[cfg(not(unix))]
    let _ = folder;
    Ok(())
}

#[cfg(unix)]
fn create_shut(folder: &Path) -> io::Result<()> {
    use std::os::unix::fs::DirBuilderExt as _;
    fs::DirBuilder::new().mode(0o700).create(folder)
}

#[cfg(not(unix))]
fn create_shut(folder: &Path) -> io::Result<()> {
    fs::create_dir(folder)
}

#[cfg(unix)]
fn open_shut(options: &mut OpenOptions, path: &Path) -> io::Result<File> {
    use std::os::unix::fs::OpenOptionsExt as _;
    options.mode(0o600).open(path)
}

#[cfg(not(unix))]
fn open_shut(options: &mut OpenOptions, path: &Path) -> io::Result<File> {
    options.open(path)
}

/// Takes away what others were let do, on a system where files say so.
#[cfg(unix)]
fn shut(path: &Path, mode: u32) -> io::Result<()> {
    use std::os::unix::fs::PermissionsExt as _;
    fs::set_permissions(path, fs::Permissions::from_mode(mode))
}

#[cfg(not(unix))]
fn shut(_: &Path, _: u32) -> io::Result<()> {
    Ok(())
}

/// Gives what the system's administrator wrote to the owner of the folder, whose service reads it.
#[cfg(unix)]
fn own_like(folder: &Path, path: &Path) -> io::Result<()> {
    use std::os::unix::fs::{MetadataExt as _, chown};
    let (owner, held) = (fs::metadata(folder)?, fs::metadata(path)?);
    if (owner.uid(), owner.gid()) == (held.uid(), held.gid()) || held.uid() != 0 {
        return Ok(());
    }
    chown(path, Some(owner.uid()), Some(owner.gid()))
}

#[cfg(not(unix))]
fn own_like(_: &Path, _: &Path) -> io::Result<()> {
    Ok(())
}
