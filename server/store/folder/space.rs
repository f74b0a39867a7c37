//! How much room a folder takes, and how much its disk has left.

use std::fs;
use std::path::Path;

use super::book_file::{journal_folder, shelf_folder};
use crate::store::Space;

/// That of the book in a folder, looked at now.
pub(super) fn of(folder: &Path) -> Space {
    let (free_bytes, size_bytes) = of_disk(folder).unzip();
    Space {
        journal_bytes: byte_count(&journal_folder(folder)),
        shelf_bytes: byte_count(&shelf_folder(folder)),
        free_bytes,
        size_bytes,
    }
}

/// What is free for this user, and the size of the file system.
#[cfg(unix)]
fn of_disk(folder: &Path) -> Option<(u64, u64)> {
    let said = rustix::fs::statvfs(folder).ok()?;
    let bytes = |blocks: u64| blocks.saturating_mul(said.f_frsize);
    Some((bytes(said.f_bavail), bytes(said.f_blocks)))
}

/// The system is not asked here.
#[cfg(not(unix))]
const fn of_disk(_: &Path) -> Option<(u64, u64)> {
    None
}

/// Bytes of the files below a folder; what cannot be looked at, or is just going, counts as nothing.
pub(in crate::store) fn byte_count(folder: &Path) -> u64 {
    let Ok(entries) = fs::read_dir(folder) else {
        return 0;
    };
    let bytes = entries.flatten().map(|entry| match entry.metadata() {
        Ok(metadata) if metadata.is_dir() => byte_count(&entry.path()),
        Ok(metadata) => metadata.len(),
        Err(_) => 0,
    });
    bytes.sum()
}
