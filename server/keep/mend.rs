//! Mending a damaged book: a new one of everything in it that is provably what was recorded.
//!
//! It serves whoever has a book that opens read-only. A line is kept when its chain value follows
//! from the line before, from the first one on; where the damaged book has none, a backup of the
//! same book may have it. The damaged folder is never written to, and nothing is made unless asked.

use std::fs::{File, TryLockError};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use fettlebook_model::Seq;
use uuid::Uuid;

use super::backup::verify_backup;
use super::error::{KeepError, failed};
use super::leave_out::{self, LeftOut};
use super::new_book::NewBook;
use super::new_folder::{refuse_inside, refuse_what_holds_something};
use super::quarry::Quarry;
use crate::desk::folder::{journal_folder, read_identity};
use crate::desk::{Manifest, OpenError};
use crate::journal::{
    Damage, FileReader, Head, JournalError, Lines, Position, Reader as _, RealDisk, parse, survey,
};

/// What is to be mended, and how.
#[derive(Debug, Clone)]
pub struct MendAsked {
    /// Folder of the damaged book.
    pub from: PathBuf,
    /// Folder for the mended one, new or empty.
    pub to: PathBuf,
    /// Folder of a backup of the same book.
    pub backup: Option<PathBuf>,
    /// Whether to make the mended book; otherwise only what it would hold is told.
    pub write: bool,
    /// Id of the incarnation that is made.
    pub incarnation_id: Uuid,
}

/// Entries that were taken from the backup.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Taken {
    /// The first of them.
    pub first: Seq,
    /// The last of them.
    pub last: Seq,
}

/// What is kept and what is left out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mended {
    /// The book.
    pub book_id: Uuid,
    /// The last entry that is kept.
    pub head: Head,
    /// What is wrong with the damaged journal first.
    pub damage: Option<Damage>,
    /// Entries that the backup has to supply.
    pub taken: Vec<Taken>,
    /// What is left out, in the order of the files.
    pub left_out: Vec<LeftOut>,
    /// True when the only thing wrong is a last write that was cut off, which opening the book sets
    /// right by itself.
    pub only_torn: bool,
}

/// Says what a mended book would hold, and makes it when asked to.
///
/// # Errors
/// When the book is open elsewhere, nothing of it can be kept, the backup is damaged or of another
/// book, or `to` holds something. Nothing but `to` was written to, and unless it is whole it cannot
/// be opened.
pub fn mend(asked: &MendAsked) -> Result<Mended, KeepError> {
    let from = &asked.from;
    let journal = journal_folder(from);
    if !journal.is_dir() {
        let folder = from.clone();
        return Err(KeepError::NotABook { folder });
    }
    refuse_inside(&asked.to, from)?;
    refuse_what_holds_something(&asked.to)?;
    let _held = hold(from)?;
    let backup = asked.backup.as_deref().map(Backup::open).transpose()?;
    let said = read_identity(from);
    let book_id = book_id(from, said, backup.as_ref())?;
    let mut quarry = Quarry::survey(&journal)?;
    let kept = Kept::walk(&mut quarry, backup.as_ref(), &mut |_| Ok(()))?;
    kept.check(from, backup.as_ref(), book_id.proved)?;
    let found = survey(&journal, None, &mut |_| Ok(()))?;
    let left_out = leave_out::stretches(&quarry, &kept.used, kept.head.seq);
    let unended = |at: &usize| quarry.scraps().get(*at).is_some_and(|scrap| !scrap.ended);
    let unused: Vec<usize> = (0..kept.used.len())
        .filter(|at| kept.used.get(*at) == Some(&false))
        .collect();
    let only_torn = found.damage.is_none()
        && kept.taken.is_empty()
        && unused.len() == 1
        && unused.iter().all(unended);
    if asked.write {
        let mut book = NewBook::begin(&asked.to, Arc::new(RealDisk))?;
        Kept::walk(&mut quarry, backup.as_ref(), &mut |entry| book.take(entry))?;
        if !left_out.is_empty() {
            leave_out::write(book.path(), &mut quarry, &kept.used, &left_out)?;
        }
        book.finish(book_id.id, asked.incarnation_id, &kept.head, from)?;
    }
    Ok(Mended {
        book_id: book_id.id,
        head: kept.head,
        damage: found.damage,
        taken: kept.taken,
        left_out,
        only_torn,
    })
}

/// Keeps others from opening the book meanwhile, without writing to its lock.
fn hold(folder: &Path) -> Result<Option<File>, KeepError> {
    let path = folder.join("book.lock");
    let Ok(file) = File::open(&path) else {
        return Ok(None);
    };
    match file.try_lock() {
        Ok(()) => Ok(Some(file)),
        Err(TryLockError::WouldBlock) => {
            let folder = folder.to_owned();
            Err(KeepError::InUse { folder })
        }
        Err(TryLockError::Error(error)) => Err(failed("locking", &path)(error)),
    }
}

/// A backup that may supply lines.
struct Backup {
    folder: PathBuf,
    manifest: Manifest,
}

impl Backup {
    fn open(folder: &Path) -> Result<Self, KeepError> {
        let manifest = verify_backup(folder)?;
        let folder = folder.to_owned();
        Ok(Self { folder, manifest })
    }

    fn lines(&self) -> Result<Lines, KeepError> {
        let reader = FileReader::new(journal_folder(&self.folder));
        Ok(reader.read(Position::START, self.manifest.head.seq)?)
    }

    fn is_of_another_book(&self) -> KeepError {
        let folder = self.folder.clone();
        KeepError::OtherBook { folder }
    }
}

/// Which book it is.
struct BookId {
    id: Uuid,
    /// Whether its own folder says so; else the backup does, and its entries have to bear it out.
    proved: bool,
}

fn book_id(
    from: &Path,
    said: Result<Option<crate::desk::Identity>, OpenError>,
    backup: Option<&Backup>,
) -> Result<BookId, KeepError> {
    let what = match said {
        Ok(Some(identity)) => {
            let (id, proved) = (identity.book_id, true);
            return match backup {
                Some(backup) if backup.manifest.book_id != id => Err(backup.is_of_another_book()),
                _ => Ok(BookId { id, proved }),
            };
        }
        Ok(None) => "it has no book.json".to_owned(),
        Err(OpenError::Identity { what, .. }) => format!("its book.json cannot be read: {what}"),
        Err(other) => return Err(other.into()),
    };
    match backup {
        Some(backup) => Ok(BookId {
            id: backup.manifest.book_id,
            proved: false,
        }),
        None => Err(KeepError::NoIdentity {
            folder: from.to_owned(),
            what,
        }),
    }
}

/// The longest beginning that can be proved.
struct Kept {
    head: Head,
    /// Which scraps are in it.
    used: Vec<bool>,
    taken: Vec<Taken>,
    /// Whether damaged book and backup have an entry in common.
    met: bool,
}

impl Kept {
    /// Walks over the beginning, line by line, and gives the entry object of each to `visit`.
    fn walk(
        quarry: &mut Quarry,
        backup: Option<&Backup>,
        visit: &mut dyn FnMut(Vec<u8>) -> Result<(), KeepError>,
    ) -> Result<Self, KeepError> {
        let mut kept = Self {
            head: Head::EMPTY,
            used: vec![false; quarry.scraps().len()],
            taken: Vec::new(),
            met: false,
        };
        let mut beside = backup.map(Backup::lines).transpose()?;
        loop {
            let seq = kept.head.seq.next();
            let before = kept.head.chain;
            let spare = line_of(beside.as_mut(), seq)?
                .filter(|(head, entry)| before.link(entry) == head.chain);
            let own = kept.own(quarry, seq)?;
            if let (Some((own, _)), Some((spare, _))) = (&own, &spare) {
                kept.met |= own == spare;
            }
            let (head, entry) = match (own, spare) {
                (Some(own), _) => own,
                (None, Some(spare)) => {
                    kept.take_over(seq);
                    spare
                }
                (None, None) => return Ok(kept),
            };
            kept.head = head;
            visit(entry)?;
        }
    }

    /// The damaged book's own line of the next entry, wherever in its files it lies.
    fn own(&mut self, quarry: &mut Quarry, seq: Seq) -> Result<Option<(Head, Vec<u8>)>, KeepError> {
        for at in quarry.of(seq) {
            let Some(scrap) = quarry.scraps().get(at).copied() else {
                continue;
            };
            let bytes = quarry.bytes(&scrap)?;
            let line = bytes.strip_suffix(b"\n").unwrap_or(&bytes);
            let Some(parts) = parse(line) else { continue };
            let chain = self.head.chain.link(parts.entry);
            if parts.seq == seq && parts.chain == chain {
                if let Some(used) = self.used.get_mut(at) {
                    *used = true;
                }
                return Ok(Some((Head { seq, chain }, parts.entry.to_vec())));
            }
        }
        Ok(None)
    }

    fn take_over(&mut self, seq: Seq) {
        match self.taken.last_mut() {
            Some(taken) if taken.last.next() == seq => taken.last = seq,
            _ => self.taken.push(Taken {
                first: seq,
                last: seq,
            }),
        }
    }

    /// Checks that something is kept, and that it is of the book it is said to be.
    fn check(&self, from: &Path, backup: Option<&Backup>, proved: bool) -> Result<(), KeepError> {
        if self.head == Head::EMPTY {
            let folder = from.to_owned();
            return Err(KeepError::NothingKept { folder });
        }
        match backup {
            Some(backup) if !proved && !self.met && self.taken.is_empty() => {
                Err(backup.is_of_another_book())
            }
            _ => Ok(()),
        }
    }
}

/// The line of an entry in a backup, which is read in step with the damaged book.
fn line_of(lines: Option<&mut Lines>, seq: Seq) -> Result<Option<(Head, Vec<u8>)>, JournalError> {
    let line = lines.and_then(Iterator::next).transpose()?;
    let line = line.filter(|line| line.mark.at.seq == seq);
    Ok(line.map(|line| (line.mark.head(), line.entry)))
}
