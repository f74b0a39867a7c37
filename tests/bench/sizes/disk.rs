//! Folders on disk: what they take, and copies of them.
//!
//! It serves the sizes of books and stores. It counts what a folder takes and never changes it.

use std::fs;
use std::io;
use std::os::unix::fs::MetadataExt;
use std::path::Path;

/// Bytes in a block as the system counts them. Source: stat(2).
const BLOCK_BYTES: u64 = 512;

/// What files take.
#[derive(Default)]
pub(crate) struct Space {
    /// Their lengths.
    pub(crate) byte_count: u64,
    /// The blocks that hold them, which are fewer for a hole and more for room made ahead.
    pub(super) allocated_bytes: u64,
}

/// What a file, or the files in a folder and below it, take.
pub(crate) fn space(path: &Path) -> io::Result<Space> {
    let found = fs::metadata(path)?;
    if found.is_file() {
        return Ok(Space {
            byte_count: found.len(),
            allocated_bytes: found.blocks() * BLOCK_BYTES,
        });
    }
    let mut all = Space::default();
    for entry in fs::read_dir(path)? {
        let each = space(&entry?.path())?;
        all.byte_count += each.byte_count;
        all.allocated_bytes += each.allocated_bytes;
    }
    Ok(all)
}

/// Copies a folder and all below it.
pub(super) fn copy(from: &Path, to: &Path) -> io::Result<()> {
    fs::create_dir_all(to)?;
    for entry in fs::read_dir(from)? {
        let entry = entry?;
        let to = to.join(entry.file_name());
        if entry.file_type()?.is_dir() {
            copy(&entry.path(), &to)?;
        } else {
            fs::copy(entry.path(), &to)?;
        }
    }
    Ok(())
}
