//! Whose deeds the outbox holds, and putting those of another book aside.
//!
//! It serves pairing with a second shop, and with a first one again. What was kept for one book is never
//! sent to another, and waits under the id of its own until that is paired again. Nothing is put aside
//! whose book is not known.
//!
//! ```text
//! outbox.book    id of the book that outbox/ is for
//! outbox.of-ID   the outbox of the book ID, while another is paired
//! ```

use std::fs;
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

use crate::fault::Fault;
use crate::file;
use crate::outbox::Outbox;
use crate::shop::folder;
use crate::solo::Solo;

/// Name of the file that says whose the outbox is.
const MARK: &str = "outbox.book";

/// What was put aside or taken back.
#[derive(Debug, Default)]
pub(crate) struct Settled {
    /// Where deeds of another book lie that were never sent.
    pub(crate) aside: Option<PathBuf>,
    /// Whether deeds that were put aside wait here again.
    pub(crate) is_back: bool,
}

/// Whether an id can be part of a name.
pub(crate) fn is_plain(id: &str) -> bool {
    !id.is_empty() && id.chars().all(|c| c.is_ascii_alphanumeric() || c == '-')
}

/// Notes whose the outbox is, where that is not noted yet and can still be known: from what was
/// paired, or else from the copy.
///
/// # Errors
/// What the system says.
pub(crate) fn note_known(folder: &Path, solo: &dyn Solo) -> io::Result<()> {
    if marked(folder).is_some() {
        return Ok(());
    }
    let copied = || {
        let copy = solo.copy_standing(&folder::copy(folder)).ok().flatten();
        copy.map(|copy| copy.book_id)
    };
    let known = folder::book_id(folder).or_else(copied);
    known
        .filter(|id| is_plain(id))
        .map_or(Ok(()), |id| note(folder, &id))
}

/// Whether what waits here is, or may be, for another book than this one.
pub(crate) fn is_of_another(folder: &Path, book_id: &str) -> bool {
    let is_put_aside = || of(folder, book_id).exists() && !folder::outbox(folder).exists();
    marked(folder).is_some_and(|id| id != book_id) || is_put_aside()
}

/// Whether nothing is left to settle.
pub(crate) fn is_settled(folder: &Path, book_id: &str) -> bool {
    marked(folder).is_some() && !is_of_another(folder, book_id)
}

/// Brings outbox and copy in line with the book that is paired: puts away those of another, and takes
/// back what was put aside of this one. Wherever it is broken off, it can be done again.
///
/// # Errors
/// When another process has the outbox, or the disk fails.
pub(crate) fn settle(folder: &Path, solo: &dyn Solo) -> Result<Settled, Fault> {
    let outbox = folder::outbox(folder);
    let unsent_before = unsent(folder, solo);
    let _held = solo.hold_outbox(&outbox)?;
    let book_id = folder::read(folder)?.book_id;
    let failed = |error| Fault::file(&folder.display().to_string(), &error);
    throw_away_other_copy(folder, solo, &book_id).map_err(failed)?;
    let mut settled = Settled::default();
    let other = marked(folder).filter(|id| *id != book_id);
    if let Some(other) = other.filter(|_| outbox.exists()) {
        let aside = free(folder, &other);
        rename(folder, &outbox, &aside).map_err(failed)?;
        settled.aside = Some(aside).filter(|_| unsent_before != Some(0));
    }
    // Before anything is taken back: an outbox without its note would be put aside again.
    note(folder, &book_id).map_err(failed)?;
    let kept = of(folder, &book_id);
    if kept.exists() && !outbox.exists() {
        rename(folder, &kept, &outbox).map_err(failed)?;
        settled.is_back = true;
    }
    Ok(settled)
}

/// Deeds in the outbox that the shop does not have; nothing when that cannot be read. A replacement
/// of the outbox that was cut off is finished by looking.
fn unsent(folder: &Path, solo: &dyn Solo) -> Option<usize> {
    let outbox = folder::outbox(folder);
    if !outbox.exists() && !folder.join("outbox.new").exists() {
        return Some(0);
    }
    let open = Outbox::open(solo, &outbox).ok()?;
    let folded = open.folded();
    Some(folded.waiting().chain(folded.parked()).count())
}

/// Throws away a copy of another book; it can be had again.
fn throw_away_other_copy(folder: &Path, solo: &dyn Solo, book_id: &str) -> io::Result<()> {
    let copy = folder::copy(folder);
    let standing = solo.copy_standing(&copy).ok().flatten();
    if standing.is_none_or(|standing| standing.book_id == book_id) {
        return Ok(());
    }
    match fs::remove_dir_all(&copy) {
        Err(error) if error.kind() != io::ErrorKind::NotFound => Err(error),
        _ => Ok(()),
    }
}

/// The book that the note beside the outbox names.
fn marked(folder: &Path) -> Option<String> {
    let text = fs::read_to_string(folder.join(MARK)).ok()?;
    Some(text.trim().to_owned()).filter(|id| is_plain(id))
}

/// Notes whose the outbox is; when it returns that survives loss of power.
fn note(folder: &Path, book_id: &str) -> io::Result<()> {
    let mut draft = tempfile::NamedTempFile::new_in(folder)?;
    draft.write_all(format!("{book_id}\n").as_bytes())?;
    draft.as_file().sync_all()?;
    draft.persist(folder.join(MARK))?;
    file::sync_folder(folder)
}

/// Where the outbox of a book is put aside.
fn of(folder: &Path, book_id: &str) -> PathBuf {
    folder.join(format!("outbox.of-{book_id}"))
}

/// A name that is free for the outbox of a book; its own unless something lies there already.
fn free(folder: &Path, book_id: &str) -> PathBuf {
    let own = of(folder, book_id);
    let further = (2_u32..).map(|number| folder.join(format!("outbox.of-{book_id}.{number}")));
    let mut names = std::iter::once(own).chain(further);
    names.find(|path| !path.exists()).unwrap_or_default()
}

fn rename(folder: &Path, from: &Path, to: &Path) -> io::Result<()> {
    fs::rename(from, to)?;
    file::sync_folder(folder)
}
