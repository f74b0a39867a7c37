//! Mending a damaged book in an engine, where it is.
//!
//! It serves whoever has a book that opens read-only. What is kept is found by the rules by which a damaged folder is
//! mended: all rows are written out as the lines of a journal first, whatever state they are in. They stay there,
//! certain, before a row is changed. Then the rows that are not what was recorded are replaced in one transaction.

use std::path::{Path, PathBuf};

use fettlebook_model::Seq;
use fettlebook_solo::SoloMended;
use uuid::Uuid;

use super::InEngineError;
use super::rows::{Digest, RowsFolder};
use crate::desk::{Clock as _, SystemClock};
use crate::journal::Head;
use crate::keep::damaged_lines::DamagedLines;
use crate::keep::kept::{Backup, Kept};
use crate::keep::new_folder::{refuse_inside, refuse_what_holds_something};
use crate::keep::{KeepError, leave_out, new_incarnation};
use crate::limits::LOCK_WAIT_MAX;
use crate::store::{Asked, DamagedBook, EngineBook, Identity};

/// What is to be mended, and with what.
#[derive(Debug, Clone, Copy)]
pub struct MendInEngine<'a> {
    /// The book.
    pub book: EngineBook<'a>,
    /// Folder of a backup that may have what is damaged.
    pub backup: Option<&'a Path>,
    /// New or empty folder for what was there; none to be told alone what mending it would do.
    pub aside: Option<&'a Path>,
}

/// A book that was mended, or would be.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MendedInEngine {
    /// What it holds, or would.
    pub found: SoloMended,
    /// Where it is, for people.
    pub place: String,
    /// Where what was there is now; none where nothing was changed.
    pub aside: Option<PathBuf>,
}

/// Says what a mended book would hold, and mends it where it is named where the rest goes.
///
/// # Errors
/// When the book is in use, nothing of it can be kept, the backup is damaged or of another book, what was there
/// cannot be put aside, or the engine cannot be used or lets the role in the address change no entry. The book is as
/// it was then, unless it is said that the outcome is not known.
pub fn mend_in_engine(asked: &MendInEngine<'_>) -> Result<MendedInEngine, InEngineError> {
    let place = asked.book.place()?;
    if let Some(aside) = asked.aside {
        refuse_what_holds_something(aside)?;
    }
    if let (Some(aside), Some(backup)) = (asked.aside, asked.backup) {
        refuse_inside(aside, backup)?;
    }
    let backup = asked.backup.map(Backup::open).transpose()?;
    let book = asked.book.damaged(&Asked {
        new_book_id: Uuid::now_v7(),
        now: SystemClock.now(),
        wait: LOCK_WAIT_MAX,
        mid_move: false,
    })?;
    let Some(book) = book else {
        return Err(InEngineError::NoBook { place });
    };
    let before = book.identity();
    if let Some(backup) = backup.as_ref()
        && backup.manifest.book_id != before.book_id
    {
        return Err(backup.is_of_another_book().into());
    }
    let mut rows = match asked.aside {
        Some(aside) => RowsFolder::written(aside, &book)?,
        None => RowsFolder::beside(asked.book.node, &book)?,
    };
    let mut damaged = DamagedLines::survey(&rows.journal())?;
    let kept = Kept::survey(&mut damaged, backup.as_ref(), Some(before))?;
    kept.check(Path::new(&place), backup.as_ref(), true)?;
    let left_out = leave_out::stretches(&damaged, &kept.used, kept.head.seq);
    let damage = book.damage()?;
    if asked.aside.is_some() {
        if !left_out.is_empty() {
            leave_out::write(rows.path(), &mut damaged, &kept.used, &left_out)?;
        }
        rows.finish()?;
        let sources = (&mut damaged, backup.as_ref());
        let replaced = replace(&book, sources, &kept.head, &rows);
        // Where nothing was changed for certain, nothing has to be kept aside.
        if matches!(replaced, Ok(()) | Err(InEngineError::Unknown { .. })) {
            rows.stay();
        }
        replaced?;
        if let Some(damage) = book.read_back(&kept.head)? {
            return Err(InEngineError::ReadBack { place, damage });
        }
    }
    Ok(MendedInEngine {
        found: kept.told(before.book_id, damage.as_ref(), left_out, false),
        place,
        aside: asked.aside.map(Path::to_owned),
    })
}

/// Replaces the rows that are not what is kept, as another life of the book.
fn replace(
    book: &DamagedBook,
    (damaged, backup): (&mut DamagedLines, Option<&Backup>),
    end: &Head,
    rows: &RowsFolder,
) -> Result<(), InEngineError> {
    let (digests, aside) = (rows.digests(), rows.path());
    let mut others = digests.clone();
    walk(damaged, backup, end, aside, |head, entry| {
        let digest = Digest::of(head.chain.digits(), &entry);
        if others.get(&head.seq) == Some(&digest) {
            others.remove(&head.seq);
        }
        Ok(())
    })?;
    let identity = Identity {
        incarnation_id: new_incarnation(),
        since: end.seq,
        ..book.identity()
    };
    let mut arrival = book.mending(identity)?;
    let gone: Vec<Seq> = others.keys().copied().collect();
    arrival.remove(&gone)?;
    walk(damaged, backup, end, aside, |head, entry| {
        let stays = digests.contains_key(&head.seq) && !others.contains_key(&head.seq);
        if stays {
            arrival.pass(head, &entry);
        } else {
            arrival.take(head, entry)?;
        }
        Ok(())
    })?;
    arrival.end()?;
    let place = book.place();
    match arrival.commit() {
        Ok(true) => Ok(()),
        Ok(false) => Err(InEngineError::NotTaken { place }),
        Err(why) => Err(InEngineError::Unknown { place, why }),
    }
}

/// Gives every line that is kept to `visit`, each following from the one before, up to where the book ends.
fn walk(
    damaged: &mut DamagedLines,
    backup: Option<&Backup>,
    end: &Head,
    aside: &Path,
    mut visit: impl FnMut(&Head, Vec<u8>) -> Result<(), KeepError>,
) -> Result<(), KeepError> {
    let mut head = Head::EMPTY;
    Kept::walk(damaged, backup, end.seq, &mut |entry| {
        head = Head {
            seq: head.seq.next(),
            chain: head.chain.link(&entry),
        };
        visit(&head, entry)
    })?;
    if head == *end {
        return Ok(());
    }
    let folder = aside.to_owned();
    Err(KeepError::ChangedMeanwhile { folder })
}
