//! The copy of a shop's book on a device: begun, gone on with, thrown away.
//!
//! It serves a device that looks at the book without a signal. What the shop sends is chained anew,
//! for it may be sent without prices. A copy is never the only place where anything is known: what
//! cannot be gone on with is thrown away and copied again.

use std::fs;
use std::io;
use std::path::Path;
use std::sync::Arc;

use fettlebook_model::{Entry, Moment, Seq};
use fettlebook_solo::SoloCopy;
use uuid::Uuid;

use super::error::{KeepError, failed};
use super::whole;
use crate::access::Role;
use crate::desk::copy::CopyNote;
use crate::desk::{Clock as _, CopyOf, SystemClock};
use crate::journal::{
    Disk, FileJournal, Journal as _, Line, Mark, RealDisk, Survey, make_certain, survey,
};
use crate::limits::{ENTRY_BYTES_MAX, LOCK_WAIT_MAX, SEGMENT_BYTES_MAX};
use crate::shelf::Shelf;
use crate::store::folder::{self, COPY_FILE, journal_folder, lock_folder, shelf_folder};

/// How a copy of this stands whose last entry is this one; 0 for none.
fn standing(of: &CopyOf, head: Seq) -> SoloCopy {
    SoloCopy {
        book_id: of.book_id.to_string(),
        incarnation_id: of.incarnation_id.to_string(),
        head_seq: whole(head.0),
        as_of_time: of.as_of_time,
    }
}

/// What a copy is to be of, as the shop said it of itself and of the device.
///
/// # Errors
/// When an id or the role is none that is known here.
pub fn copy_of(
    book_id: &str,
    incarnation_id: &str,
    caller: &str,
    role: &str,
    as_of_time: Moment,
) -> Result<CopyOf, KeepError> {
    let unknown = |what, word: &str| KeepError::CopyNotUnderstood {
        what,
        word: word.to_owned(),
    };
    let id = |what, word: &str| Uuid::try_parse(word).map_err(|_| unknown(what, word));
    Ok(CopyOf {
        book_id: id("the id of the book", book_id)?,
        incarnation_id: id("the id of its incarnation", incarnation_id)?,
        caller: caller.to_owned(),
        role: Role::from_word(role).ok_or_else(|| unknown("the role", role))?,
        as_of_time,
    })
}

/// How the copy in a folder stands; `None` where there is none that could be gone on with.
///
/// # Errors
/// When the folder holds something else, or cannot be read.
pub fn copy_standing(folder: &Path) -> Result<Option<SoloCopy>, KeepError> {
    refuse_what_is_no_copy(folder)?;
    let found = look(folder)?;
    Ok(found.map(|(note, survey)| standing(&note.of, survey.head.seq)))
}

/// Goes on with the copy in a folder, or begins it, with entries as the shop sent them. A copy that is
/// of something else, or of which less may be seen now, is thrown away first.
///
/// # Errors
/// `CopyNotContinued` when the entries do not follow on what there is; `NewerEntry` when a later program
/// wrote one of them; when the folder holds something else or another process holds it, or the disk
/// fails. None of the entries was taken then.
pub fn extend_copy(folder: &Path, of: &CopyOf, entries: &[Vec<u8>]) -> Result<SoloCopy, KeepError> {
    extend_copy_on(folder, of, entries, &RealDisk)
}

/// Goes on with it or begins it in a folder on a disk.
pub(super) fn extend_copy_on(
    folder: &Path,
    of: &CopyOf,
    entries: &[Vec<u8>],
    disk: &dyn Disk,
) -> Result<SoloCopy, KeepError> {
    refuse_what_is_no_copy(folder)?;
    if !folder.join(COPY_FILE).exists() {
        folder::make_folder(folder, disk).map_err(failed("making", folder))?;
    }
    let _lock = lock_folder(folder, SystemClock.now(), LOCK_WAIT_MAX)?;
    let kept = look(folder)?.filter(|(note, _)| of.goes_on(&note.of));
    // What is behind the end that the note names was never said to be on the disk.
    if (kept.as_ref()).is_some_and(|(note, found)| found.torn.is_some() || found.last != note.end) {
        make_certain(&journal_folder(folder), disk, None).map_err(|uncertain| uncertain.error)?;
    }
    let head = kept.as_ref().map_or(Seq(0), |(_, survey)| survey.head.seq);
    let lines = match lines(folder, of, head, entries) {
        // Nothing is thrown away for what cannot be copied here.
        Err(newer @ KeepError::NewerEntry { .. }) => return Err(newer),
        lines => lines,
    };
    let survey = match kept {
        Some((_, survey)) => survey,
        None => begin(folder, of)?,
    };
    let lines = lines?;
    let end = append(folder, &survey, &lines)?.or(survey.last);
    let note = CopyNote {
        of: of.clone(),
        end,
    };
    write(&note, folder)?;
    let head = note.end.map_or(Seq(0), |end| end.at.seq);
    Ok(standing(&note.of, head))
}

/// The note of a copy and what its journal has, unless there is none, or it is not whole.
fn look(folder: &Path) -> Result<Option<(CopyNote, Survey)>, KeepError> {
    let Some(note) = CopyNote::read(folder)? else {
        return Ok(None);
    };
    let Some(end) = &note.end else {
        return Ok(None);
    };
    let found = survey(&journal_folder(folder), Some(end), &mut |_| Ok(()))?;
    let another = folder::refuse_another_book(folder, note.of.book_id).is_err();
    if !found.start_found || found.damage.is_some() || another {
        tracing::warn!(folder = %folder.display(), "the copy is damaged; it has to begin anew");
        return Ok(None);
    }
    Ok(Some((note, found)))
}

/// Throws away what there is of a copy and begins an empty one. The note comes first: it says that
/// nothing beside it counts.
fn begin(folder: &Path, of: &CopyOf) -> Result<Survey, KeepError> {
    let note = CopyNote {
        of: of.clone(),
        end: None,
    };
    write(&note, folder)?;
    let (journal, shelf) = (journal_folder(folder), shelf_folder(folder));
    Shelf::throw_away(&shelf).map_err(failed("removing", &shelf))?;
    match fs::remove_dir_all(&journal) {
        Err(error) if error.kind() == io::ErrorKind::NotFound => {}
        removed => removed.map_err(failed("removing", &journal))?,
    }
    fs::create_dir(&journal).map_err(failed("making", &journal))?;
    folder::sync_folder(folder).map_err(failed("syncing", folder))?;
    Ok(survey(&journal, None, &mut |_| Ok(()))?)
}

/// The lines of entries that follow on `head`.
fn lines(
    folder: &Path,
    of: &CopyOf,
    head: Seq,
    entries: &[Vec<u8>],
) -> Result<Vec<Line>, KeepError> {
    let mut next = head.next();
    let mut lines = Vec::with_capacity(entries.len());
    for bytes in entries {
        let unfit = |what: String| KeepError::CopyNotContinued {
            folder: folder.to_owned(),
            head,
            what,
        };
        if bytes.len() > ENTRY_BYTES_MAX {
            return Err(unfit(format!("what should be entry {next} is too long")));
        }
        let entry = Entry::read(bytes).map_err(|unread| {
            if unread.is_newer() {
                let (folder, seq, what) = (folder.to_owned(), next, unread.to_string());
                KeepError::NewerEntry { folder, seq, what }
            } else {
                unfit(format!("what should be entry {next} {unread}"))
            }
        })?;
        if entry.seq != next {
            let came = entry.seq;
            return Err(unfit(format!(
                "entry {came} came, and entry {next} is next"
            )));
        }
        if let Some(book_id) = entry.book_id.filter(|book_id| *book_id != of.book_id) {
            return Err(unfit(format!("entry {next} is of another book, {book_id}")));
        }
        lines.push(Line::of(bytes.clone()));
        next = next.next();
    }
    Ok(lines)
}

/// Appends lines durably, and gives the place of the last.
fn append(folder: &Path, survey: &Survey, lines: &[Line]) -> Result<Option<Mark>, KeepError> {
    let path = journal_folder(folder);
    let mut journal = FileJournal::open(path, Arc::new(RealDisk), survey, SEGMENT_BYTES_MAX)?;
    let mut marks = journal.append(&survey.head, lines)?;
    journal.close()?;
    Ok(marks.pop())
}

fn write(note: &CopyNote, folder: &Path) -> Result<(), KeepError> {
    let written = note.write(folder);
    written.map_err(failed("writing", &folder.join(COPY_FILE)))
}

/// Refuses a folder that holds anything but a copy: nothing of it may be thrown away.
fn refuse_what_is_no_copy(folder: &Path) -> Result<(), KeepError> {
    if folder.join(COPY_FILE).is_file() {
        return Ok(());
    }
    let held = match fs::read_dir(folder) {
        Ok(held) => held,
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(()),
        Err(error) => return Err(failed("listing", folder)(error)),
    };
    for entry in held {
        let name = entry.map_err(failed("listing", folder))?.file_name();
        // What a copy that was stopped at its very beginning leaves.
        if name != "book.lock" && name != "copy.json.new" {
            let folder = folder.to_owned();
            return Err(KeepError::NotACopy { folder });
        }
    }
    Ok(())
}
