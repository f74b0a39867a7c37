//! A folder that is being written: empty at first, and not to be opened before it is whole.
//!
//! It serves backups, restores and mends. Whenever the program is stopped, the folder either is
//! whole or says that it was not finished; it must never pass for an empty book.

use std::fs::{self, File};
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use super::error::{KeepError, failed};
use crate::journal::Disk;
use crate::store::folder::{UNFINISHED_FILE, make_folder};

const SAYS: &[u8] = b"This folder was not finished. Throw it away and do it again.\n";

/// A folder that is not finished yet.
#[derive(Debug)]
pub(super) struct NewFolder {
    path: PathBuf,
    disk: Arc<dyn Disk>,
}

impl NewFolder {
    /// Begins to write a folder, which must be new or empty. Its name is durable then.
    pub(super) fn begin(path: &Path, disk: Arc<dyn Disk>) -> Result<Self, KeepError> {
        refuse_what_holds_something(path)?;
        make_folder(path, disk.as_ref()).map_err(failed("making", path))?;
        let says = path.join(UNFINISHED_FILE);
        File::create_new(&says)
            .and_then(|mut file| {
                file.write_all(SAYS)?;
                file.sync_all()?;
                disk.sync_folder(path)
            })
            .map_err(failed("writing", &says))?;
        let path = path.to_owned();
        Ok(Self { path, disk })
    }

    /// Where it is.
    pub(super) fn path(&self) -> &Path {
        &self.path
    }

    /// Says that it is whole. Everything in it must be durable.
    pub(super) fn finish(self) -> Result<PathBuf, KeepError> {
        let says = self.path.join(UNFINISHED_FILE);
        fs::remove_file(&says)
            .and_then(|()| self.disk.sync_folder(&self.path))
            .map_err(failed("removing", &says))?;
        Ok(self.path)
    }
}

/// Refuses a folder to write into that holds anything.
pub(super) fn refuse_what_holds_something(path: &Path) -> Result<(), KeepError> {
    let held = match fs::read_dir(path) {
        Ok(mut held) => held.next().is_some(),
        Err(error) if error.kind() == io::ErrorKind::NotFound => false,
        Err(error) => return Err(failed("listing", path)(error)),
    };
    if held {
        let folder = path.to_owned();
        return Err(KeepError::NotEmpty { folder });
    }
    Ok(())
}

/// Refuses to write into what is read from, by whatever name it goes.
pub(super) fn refuse_inside(to: &Path, from: &Path) -> Result<(), KeepError> {
    let from = fs::canonicalize(from).map_err(failed("opening", from))?;
    let full = std::path::absolute(to).map_err(failed("naming", to))?;
    let there = full.ancestors().find_map(|up| fs::canonicalize(up).ok());
    if there.is_some_and(|there| there.starts_with(&from)) {
        let folder = to.to_owned();
        return Err(KeepError::Inside { folder });
    }
    Ok(())
}
