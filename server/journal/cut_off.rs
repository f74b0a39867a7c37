//! What is cut off the end of a journal is kept, byte for byte, in the folder `cut-off` inside it.
//!
//! A file there is named after the segment and the place that its bytes stood at:
//! `cut-off/000000000001-9120-1.part`. Nothing here is ever written over or removed.

use std::fs::{self, File};
use std::io::{self, Read as _, Seek as _, SeekFrom};
use std::path::{Path, PathBuf};

use super::disk::Disk;
use super::{JournalError, Position, failed};

const CUT_OFF_FOLDER: &str = "cut-off";

/// Copies the bytes that follow on the end of a journal into a file of their own, durably.
pub(super) fn put_aside(
    journal: &Path,
    disk: &dyn Disk,
    end: &Position,
    byte_count: u64,
) -> Result<(), JournalError> {
    let path = journal.join(end.file_name());
    let bytes = bytes_at(&path, end.offset, byte_count).map_err(failed("reading", &path))?;
    let folder = journal.join(CUT_OFF_FOLDER);
    let to = place_for(&folder, end, &bytes);
    let kept = || -> io::Result<()> {
        disk.make_folder(&folder)?;
        disk.sync_folder(journal)?;
        let mut file = disk.open(&to)?;
        file.write_at(0, &bytes)?;
        file.sync()?;
        disk.sync_folder(&folder)
    };
    kept().map_err(failed("putting aside what is cut off, in", &to))
}

fn bytes_at(path: &Path, offset: u64, byte_count: u64) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    let mut file = File::open(path)?;
    file.seek(SeekFrom::Start(offset))?;
    file.take(byte_count).read_to_end(&mut bytes)?;
    Ok(bytes)
}

/// A file for these bytes: one that is not there, or holds nothing else because it was not finished.
fn place_for(folder: &Path, end: &Position, bytes: &[u8]) -> PathBuf {
    let name = format!("{:012}-{}", end.segment, end.offset);
    let mut names = (1_u32..).map(|number| folder.join(format!("{name}-{number}.part")));
    let fits = |path: &PathBuf| fs::read(path).map_or(true, |held| bytes.starts_with(&held));
    names.find(fits).unwrap_or_default()
}
