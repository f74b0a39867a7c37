//! The folder that a machine keeps its own in: one process has it.

use std::fs::{File, OpenOptions, TryLockError, create_dir_all};
use std::io;
use std::path::Path;

use crate::serve::ServeError;

/// Name of the file whose lock says that the folder is in use.
const LOCK: &str = "node.lock";

/// Takes the folder, which is made where there is none. It is let go of with what this gives.
pub(super) fn hold(folder: &Path) -> Result<File, ServeError> {
    let unusable = |source: io::Error| ServeError::NodeUnusable {
        folder: folder.to_owned(),
        source,
    };
    create_dir_all(folder).map_err(unusable)?;
    let mut options = OpenOptions::new();
    options.read(true).write(true).create(true).truncate(false);
    let file = options.open(folder.join(LOCK)).map_err(unusable)?;
    match file.try_lock() {
        Ok(()) => Ok(file),
        Err(TryLockError::WouldBlock) => Err(ServeError::NodeInUse {
            folder: folder.to_owned(),
        }),
        Err(TryLockError::Error(error)) => Err(unusable(error)),
    }
}
