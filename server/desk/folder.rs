//! The folder of a book: its lock, and the file that says which book it is.
//!
//! It serves opening. Only the process that holds the lock may touch anything else in the folder,
//! and the identity of a book must never be made up a second time.
//!
//! ```text
//! book.json   {"format":1,"book_id":"…"}
//! book.lock   who has the book open
//! journal/    the truth, see the journal's module
//! shelf/      a copy for speed, may be deleted
//! ```

use std::fs::{self, File, OpenOptions, TryLockError};
use std::io::{self, Seek, Write};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use fettlebook_model::Moment;
use serde::{Deserialize, Serialize};
use uuid::Uuid;

use super::error::OpenError;
use crate::limits::LOCK_LOOK_EVERY;

/// Format of a book's folder.
const BOOK_FORMAT: u32 = 1;

/// Who has a book open, as they wrote it into the lock file.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Holder {
    /// Number of the process.
    pub process: u32,
    /// When it opened the book.
    pub since: Moment,
}

/// The lock on a book; dropping it lets go.
#[derive(Debug)]
pub(super) struct BookLock {
    _file: File,
}

/// Takes the lock of a book, waiting up to `wait` for another process to let go.
///
/// Where nothing can be written the lock file is only read: the book can still be looked at, and two
/// who cannot write do each other no harm.
pub(super) fn lock(folder: &Path, now: Moment, wait: Duration) -> Result<BookLock, OpenError> {
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
                return Err(OpenError::InUse {
                    folder: folder.to_owned(),
                    holder,
                });
            }
            Err(TryLockError::Error(error)) => return Err(failed("locking", &path)(error)),
        }
    }
    if writable && let Err(error) = sign(&mut file, now) {
        // The lock holds all the same; only the name of its holder is missing.
        tracing::warn!(%error, "book.lock could not be written to");
    }
    Ok(BookLock { _file: file })
}

/// Writes into the lock file who holds it.
fn sign(file: &mut File, now: Moment) -> io::Result<()> {
    let holder = Holder {
        process: std::process::id(),
        since: now,
    };
    let text = serde_json::to_vec(&holder).map_err(io::Error::other)?;
    file.set_len(0)?;
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

#[derive(Debug, Serialize, Deserialize)]
struct Identity {
    format: u32,
    book_id: Uuid,
}

/// The id of the book in a folder; a folder without a book becomes the book `new_id`.
pub(super) fn identity(folder: &Path, new_id: Uuid) -> Result<Uuid, OpenError> {
    let path = folder.join("book.json");
    let text = match fs::read(&path) {
        Ok(text) => text,
        Err(error) if error.kind() == io::ErrorKind::NotFound => {
            return begin(folder, &path, new_id);
        }
        Err(error) => return Err(failed("reading", &path)(error)),
    };
    let identity: Identity =
        serde_json::from_slice(&text).map_err(|error| OpenError::Identity {
            path,
            what: error.to_string(),
        })?;
    if identity.format != BOOK_FORMAT {
        let (format, known) = (identity.format, BOOK_FORMAT);
        return Err(OpenError::Newer {
            folder: folder.to_owned(),
            format,
            known,
        });
    }
    Ok(identity.book_id)
}

/// Begins a book: the journal's folder first, so that an identity always has one.
fn begin(folder: &Path, path: &Path, book_id: Uuid) -> Result<Uuid, OpenError> {
    let journal = journal_folder(folder);
    let mut held = fs::read_dir(&journal).into_iter().flatten();
    if held.next().is_some() {
        return Err(OpenError::NoIdentity {
            folder: folder.to_owned(),
        });
    }
    fs::create_dir_all(&journal).map_err(failed("making", &journal))?;
    let draft = folder.join("book.json.new");
    let written = serde_json::to_vec(&Identity {
        format: BOOK_FORMAT,
        book_id,
    })
    .map_err(io::Error::other)
    .and_then(|text| {
        let mut file = File::create(&draft)?;
        file.write_all(&text)?;
        file.write_all(b"\n")?;
        file.sync_all()?;
        fs::rename(&draft, path)?;
        sync_folder(folder)
    });
    written.map_err(failed("writing", path))?;
    Ok(book_id)
}

fn sync_folder(folder: &Path) -> io::Result<()> {
    if cfg!(unix) {
        File::open(folder)?.sync_all()
    } else {
        Ok(())
    }
}

/// Where the journal of a book is.
pub(super) fn journal_folder(folder: &Path) -> PathBuf {
    folder.join("journal")
}

/// Where the shelf of a book is.
pub(super) fn shelf_folder(folder: &Path) -> PathBuf {
    folder.join("shelf")
}

/// Gives an I/O error its action and its path.
pub(super) fn failed(action: &'static str, path: &Path) -> impl FnOnce(io::Error) -> OpenError {
    let path = path.to_owned();
    move |source| OpenError::Disk {
        action,
        path,
        source,
    }
}
