//! The folder of a book: what lies in it, and the file that says which book it is.
//!
//! Invariant: the identity of a book is never made up a second time.
//!
//! ```text
//! book.json        {"format":1,"book_id":"…","incarnation_id":"…","since_seq":0,"check":"<64 hex digits>"}
//!                  or where the book went, in format 2: see `moved`
//! book.lock        who has the book open
//! journal/         the truth, see the journal's module
//! shelf/           a copy for speed, may be deleted
//! audited.json     what of the journal was read through; may be deleted
//! closed.json      up to which entry the journal was certain when it was last closed
//! damaged.json     only once something was found wrong with the journal
//! upkeep.json      when the book was last verified and backed up; may be deleted
//! unfinished.txt   only while a backup, a restore or a mend writes the folder
//! backup.json      only in a backup, which is never opened as it is
//! copy.json        only in a copy of a shop's book, which is never opened as a book
//! ```

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use fettlebook_model::Seq;
use serde::{Deserialize, Serialize};
use uuid::Uuid;

use super::moved;
pub(crate) use crate::journal::write_whole;
use crate::journal::{Chain, Disk, FileReader, Position, Reader as _, RealDisk};
use crate::store::error::failed;
use crate::store::{Identity, StoreError};

/// Format of a book's folder.
pub(crate) const BOOK_FORMAT: u32 = 1;

/// Says which book a folder holds.
pub(crate) const BOOK_FILE: &str = "book.json";

/// Says what a backup holds.
pub(crate) const BACKUP_FILE: &str = "backup.json";

/// Says what a copy is of.
pub(crate) const COPY_FILE: &str = "copy.json";

/// There while a folder is being written and must not be opened.
pub(crate) const UNFINISHED_FILE: &str = "unfinished.txt";

/// What stands in `book.json`.
#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct IdentityFile {
    format: u32,
    book_id: Uuid,
    /// Absent in the first books: they are as they were begun.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    incarnation_id: Option<Uuid>,
    #[serde(default)]
    since_seq: Seq,
    /// Tells a changed digit, which would make it another book. The first books have none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    check: Option<Chain>,
}

impl IdentityFile {
    /// The file of an identity.
    fn of(identity: &Identity) -> Self {
        let Identity {
            book_id,
            incarnation_id,
            since,
        } = identity;
        let text = format!("{BOOK_FORMAT} {book_id} {incarnation_id} {since}");
        Self {
            format: BOOK_FORMAT,
            book_id: *book_id,
            incarnation_id: Some(*incarnation_id),
            since_seq: *since,
            check: Some(Chain::ZERO.link(text.as_bytes())),
        }
    }
}

/// Refuses a folder that must not be opened as a book, before anything in it is touched.
pub(super) fn refuse_what_is_no_book(folder: &Path) -> Result<(), StoreError> {
    if folder.join(UNFINISHED_FILE).exists() {
        let folder = folder.to_owned();
        return Err(StoreError::Unfinished { folder });
    }
    if folder.join(BACKUP_FILE).exists() && !folder.join(BOOK_FILE).exists() {
        let folder = folder.to_owned();
        return Err(StoreError::Backup { folder });
    }
    if folder.join(COPY_FILE).exists() && !folder.join(BOOK_FILE).exists() {
        let folder = folder.to_owned();
        return Err(StoreError::Copy { folder });
    }
    Ok(())
}

/// The identity of the book in a folder; a folder without a book becomes the book `new_id`.
pub(super) fn identity(
    folder: &Path,
    new_id: Uuid,
    disk: &dyn Disk,
) -> Result<Identity, StoreError> {
    let Some(identity) = read_identity(folder)? else {
        return begin(folder, new_id, disk);
    };
    let journal = journal_folder(folder);
    if journal.is_dir() {
        Ok(identity)
    } else {
        Err(StoreError::NoJournal { path: journal })
    }
}

/// The identity of the book in a folder; none when nothing says whose it is.
///
/// # Errors
/// When what says it cannot be read, or is of a later program.
pub(crate) fn read_identity(folder: &Path) -> Result<Option<Identity>, StoreError> {
    let path = folder.join(BOOK_FILE);
    let text = match fs::read(&path) {
        Ok(text) => text,
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
        Err(error) => return Err(failed("reading", &path)(error)),
    };
    let unreadable = |what: String| StoreError::Identity { path, what };
    if let Some(format) = format_in(&text).filter(|format| *format != BOOK_FORMAT) {
        if let Some((_, moved)) = moved::read(&text) {
            let place = folder.display().to_string();
            return Err(StoreError::Moved { place, moved });
        }
        return Err(StoreError::Newer {
            folder: folder.to_owned(),
            format,
            known: BOOK_FORMAT,
        });
    }
    let found: IdentityFile = match serde_json::from_slice(&text) {
        Ok(found) => found,
        Err(error) => return Err(unreadable(error.to_string())),
    };
    let identity = Identity {
        book_id: found.book_id,
        incarnation_id: found.incarnation_id.unwrap_or(found.book_id),
        since: found.since_seq,
    };
    if found.check.is_some() && found.check != IdentityFile::of(&identity).check {
        return Err(unreadable(
            "its ids are not the ones that were written".to_owned(),
        ));
    }
    Ok(Some(identity))
}

/// Which book a folder held before it went elsewhere.
///
/// # Errors
/// What the system says; `Identity` where it says nothing of a book that went.
pub(super) fn before_move(folder: &Path) -> Result<Identity, StoreError> {
    let path = folder.join(BOOK_FILE);
    let text = fs::read(&path).map_err(failed("reading", &path))?;
    match moved::read(&text) {
        Some((identity, _)) => Ok(identity),
        None => Err(StoreError::Identity {
            path,
            what: "it was written meanwhile".to_owned(),
        }),
    }
}

/// What is read of a small file that is not understood.
#[derive(Deserialize)]
struct Formatted {
    format: u32,
}

/// The format that a small file says it has, however much else of it is understood.
pub(crate) fn format_in(text: &[u8]) -> Option<u32> {
    let said: Option<Formatted> = serde_json::from_slice(text).ok();
    said.map(|said| said.format)
}

/// What is read of a journal's first entry.
#[derive(Deserialize)]
struct Begins {
    #[serde(default)]
    book_id: Option<Uuid>,
}

/// The book that the first entry of a journal names; none where it names none, as in the first books,
/// or cannot be read.
pub(crate) fn book_named_in(journal: &Path) -> Option<Uuid> {
    let reader = FileReader::new(journal.to_owned());
    let mut lines = reader.read(Position::START, Position::START.seq).ok()?;
    let first = lines.next()?.ok()?;
    let Begins { book_id } = serde_json::from_slice(&first.entry).ok()?;
    book_id
}

/// Refuses a journal that is of another book than what lies beside it says.
///
/// # Errors
/// `OtherBook` when its first entry names another.
pub(crate) fn refuse_another_book(folder: &Path, said: Uuid) -> Result<(), StoreError> {
    match book_named_in(&journal_folder(folder)) {
        Some(found) if found != said => Err(StoreError::OtherBook {
            folder: folder.to_owned(),
            said,
            found,
        }),
        _ => Ok(()),
    }
}

/// Begins a book: the journal's folder first, so that an identity always has one.
fn begin(folder: &Path, book_id: Uuid, disk: &dyn Disk) -> Result<Identity, StoreError> {
    let journal = journal_folder(folder);
    let mut held = fs::read_dir(&journal).into_iter().flatten();
    if held.next().is_some() {
        return Err(StoreError::NoIdentity {
            folder: folder.to_owned(),
        });
    }
    make_folder(&journal, disk).map_err(failed("making", &journal))?;
    let identity = Identity::begun(book_id);
    let written = write_identity(folder, &identity, disk);
    written.map_err(failed("writing", &folder.join(BOOK_FILE)))?;
    Ok(identity)
}

/// Makes a folder the book of this identity, durably.
///
/// # Errors
/// What the system says.
pub(crate) fn write_identity(
    folder: &Path,
    identity: &Identity,
    disk: &dyn Disk,
) -> io::Result<()> {
    let text = serde_json::to_vec(&IdentityFile::of(identity)).map_err(io::Error::other)?;
    write_whole(folder, BOOK_FILE, &text, disk)
}

/// Makes the names in a folder durable.
///
/// # Errors
/// What the system says.
pub(crate) fn sync_folder(folder: &Path) -> io::Result<()> {
    RealDisk.sync_folder(folder)
}

/// Makes a folder, and those above it that are missing; the name of each is durable.
///
/// The folder's own name is made durable too where the folder was there: whoever made it may have
/// been stopped before that.
///
/// # Errors
/// What the system says.
pub(crate) fn make_folder(folder: &Path, disk: &dyn Disk) -> io::Result<()> {
    let is_missing = |folder: &&Path| !folder.as_os_str().is_empty() && !folder.exists();
    let missing = folder.ancestors().take_while(is_missing).count();
    disk.make_folder(folder)?;
    for made in folder.ancestors().take(missing.max(1)) {
        disk.sync_folder(folder_above(made))?;
    }
    Ok(())
}

/// The folder that holds the name of a path: for a bare name the one that the process is in.
fn folder_above(path: &Path) -> &Path {
    match path.parent() {
        Some(above) if above.as_os_str().is_empty() => Path::new("."),
        Some(above) => above,
        None => path,
    }
}

/// Where the journal of a book is.
pub(crate) fn journal_folder(folder: &Path) -> PathBuf {
    folder.join("journal")
}

/// Where the shelf of a book is.
pub(crate) fn shelf_folder(folder: &Path) -> PathBuf {
    folder.join("shelf")
}
