//! The lock of a book's folder, and who holds it.
//!
//! Invariant: only the process that holds the lock touches anything else in the folder.

use std::fs::{self, File, OpenOptions, TryLockError};
use std::io::{self, Seek, Write};
use std::path::Path;
use std::time::{Duration, Instant};

use fettlebook_model::Moment;

use crate::limits::LOCK_LOOK_EVERY;
use crate::store::error::failed;
use crate::store::{Holder, StoreError};

/// Bytes that any holder has room in: a number of ten digits, a moment and the names of both.
const HOLDER_BYTES: usize = 80;

/// The lock on a book; dropping it lets go.
#[derive(Debug)]
pub(crate) struct FolderLock {
    _file: File,
}

/// Takes the lock of a book, waiting up to `wait` for another process to let go.
///
/// Where nothing can be written the lock file is only read: the book can still be looked at, and two
/// who cannot write do each other no harm.
pub(crate) fn lock_folder(
    folder: &Path,
    now: Moment,
    wait: Duration,
) -> Result<FolderLock, StoreError> {
    let path = folder.join("book.lock");
    let mut options = OpenOptions::new();
    options.read(true).write(true).create(true).truncate(false);
    let (mut file, writable) = match options.open(&path) {
        Ok(file) => (file, true),
        Err(error) if refuses_writing(&error) => {
            let readable = File::open(&path).or_else(|_| File::open(folder.join("book.json")));
            (
                readable.map_err(|_| failed("opening", &path)(error))?,
                false,
            )
        }
        Err(error) => return Err(failed("opening", &path)(error)),
    };
    let start = Instant::now();
    loop {
        match file.try_lock() {
            Ok(()) => break,
            Err(TryLockError::WouldBlock) if start.elapsed() < wait => {
                std::thread::sleep(LOCK_LOOK_EVERY);
            }
            Err(TryLockError::WouldBlock) => {
                let holder = fs::read(&path)
                    .ok()
                    .and_then(|b| serde_json::from_slice(&b).ok());
                return Err(StoreError::InUse {
                    place: folder.display().to_string(),
                    holder,
                });
            }
            Err(TryLockError::Error(error)) => return Err(failed("locking", &path)(error)),
        }
    }
    if writable && let Err(error) = shut_to_readers(&file) {
        tracing::warn!(%error, "others may read book.lock, and lock it");
    }
    if writable && let Err(error) = sign(&mut file, now) {
        // The lock holds all the same; only the name of its holder is missing.
        tracing::warn!(%error, "book.lock could not be written to");
    }
    Ok(FolderLock { _file: file })
}

/// Takes the right to read the lock file from whoever may not write to it: whoever may read a file may
/// lock it, and would keep its owner out. Programs before this one made it for all to read.
#[cfg(unix)]
fn shut_to_readers(file: &File) -> io::Result<()> {
    use std::os::unix::fs::PermissionsExt as _;
    const OTHERS_WRITE: u32 = 0o022;
    const OTHERS_READ: u32 = 0o044;
    let mut permissions = file.metadata()?.permissions();
    let mode = permissions.mode();
    let who_writes_reads = (mode & OTHERS_WRITE) << 1;
    let shut = mode & !(OTHERS_READ & !who_writes_reads);
    if shut == mode {
        return Ok(());
    }
    permissions.set_mode(shut);
    file.set_permissions(permissions)
}

/// Files have no modes here.
#[cfg(not(unix))]
const fn shut_to_readers(_: &File) -> io::Result<()> {
    Ok(())
}

/// Writes into the lock file who holds it.
fn sign(file: &mut File, now: Moment) -> io::Result<()> {
    let holder = Holder {
        process: std::process::id(),
        since: now,
        address: None,
        right: None,
        node: None,
    };
    let mut text = serde_json::to_vec(&holder).map_err(io::Error::other)?;
    // Blanks in place of what a longer holder left: a file that is emptied first has its data written out by
    // some systems when it is closed, which costs each start milliseconds.
    text.resize(text.len().max(HOLDER_BYTES), b' ');
    if file.metadata()?.len() > text.len().try_into().unwrap_or(u64::MAX) {
        file.set_len(0)?;
    }
    file.rewind()?;
    file.write_all(&text)
}

/// True when the system lets a file be read perhaps, but not written.
fn refuses_writing(error: &io::Error) -> bool {
    matches!(
        error.kind(),
        io::ErrorKind::PermissionDenied
            | io::ErrorKind::ReadOnlyFilesystem
            | io::ErrorKind::StorageFull
            | io::ErrorKind::QuotaExceeded
    )
}
