//! The longest beginning of a damaged book that can be proved, with a backup's help.
//!
//! A line is kept when its chain value follows from the line before. Where the damaged book has none, the
//! backup may have it; where the two have different entries, nothing more of the backup is taken.

use std::path::{Path, PathBuf};

use fettlebook_model::Seq;
use fettlebook_solo::{SoloHistories, SoloLeftOut, SoloMended};
use uuid::Uuid;

use super::backup::verify_backup;
use super::damaged_lines::DamagedLines;
use super::error::KeepError;
use super::whole;
use crate::desk::Manifest;
use crate::journal::{Damage, FileReader, Head, JournalError, Lines, Position, Reader as _, parse};
use crate::store::Identity;
use crate::store::folder::journal_folder;

/// A backup that may supply lines.
pub(super) struct Backup {
    folder: PathBuf,
    /// What it holds.
    pub(super) manifest: Manifest,
}

impl Backup {
    /// Opens the backup in a folder, once all of it was verified.
    pub(super) fn open(folder: &Path) -> Result<Self, KeepError> {
        let manifest = verify_backup(folder)?;
        let folder = folder.to_owned();
        Ok(Self { folder, manifest })
    }

    /// Its lines, from the first.
    pub(super) fn lines(&self) -> Result<Lines, KeepError> {
        let reader = FileReader::new(journal_folder(&self.folder));
        Ok(reader.read(Position::START, self.manifest.head.seq)?)
    }

    /// That it is of another book.
    pub(super) fn is_of_another_book(&self) -> KeepError {
        let folder = self.folder.clone();
        KeepError::OtherBook { folder }
    }
}

/// The longest beginning that can be proved.
pub(super) struct Kept {
    /// Its last entry.
    pub(super) head: Head,
    /// Which scraps are in it.
    pub(super) used: Vec<bool>,
    /// First and last of each run of entries that the backup supplies of it.
    pub(super) taken: Vec<(i64, i64)>,
    /// The last entry that the damaged book has itself.
    last_own: Seq,
    /// Whether damaged book and backup have an entry in common.
    met: bool,
    /// How the backup's history stands to the book's; nothing of the backup is taken from where they go
    /// different ways.
    pub(super) histories: SoloHistories,
}

impl Kept {
    /// What can be kept.
    ///
    /// A number is given once within an incarnation. So an entry of a backup of the same incarnation is
    /// the one that the book had; one of another incarnation only up to where that began, or where an
    /// entry of the book itself follows from it.
    pub(super) fn survey(
        damaged: &mut DamagedLines,
        backup: Option<&Backup>,
        identity: Option<Identity>,
    ) -> Result<Self, KeepError> {
        let all = Self::walk(damaged, backup, Seq(u64::MAX), &mut |_| Ok(()))?;
        let other = identity
            .zip(backup)
            .filter(|(identity, backup)| backup.manifest.incarnation_id != identity.incarnation_id);
        let Some((identity, _)) = other else {
            return Ok(all);
        };
        let until = all.last_own.max(identity.since.min(all.head.seq));
        let cut = until < all.head.seq;
        let mut kept = if cut {
            Self::walk(damaged, backup, until, &mut |_| Ok(()))?
        } else {
            all
        };
        let differs_at = match kept.histories {
            SoloHistories::Rewritten(first) => Some(first),
            _ => cut.then(|| whole(until.next().0)),
        };
        if let Some(first) = differs_at {
            kept.histories = if first > whole(identity.since.0) {
                SoloHistories::OtherIncarnation(first)
            } else {
                SoloHistories::Rewritten(first)
            };
        }
        Ok(kept)
    }

    /// Walks over the beginning up to an entry at most, line by line, and gives the entry object of each
    /// to `visit`.
    pub(super) fn walk(
        damaged: &mut DamagedLines,
        backup: Option<&Backup>,
        until: Seq,
        visit: &mut dyn FnMut(Vec<u8>) -> Result<(), KeepError>,
    ) -> Result<Self, KeepError> {
        let mut kept = Self {
            head: Head::EMPTY,
            used: vec![false; damaged.scraps().len()],
            taken: Vec::new(),
            last_own: Seq(0),
            met: false,
            histories: SoloHistories::Agree,
        };
        let mut beside = backup.map(Backup::lines).transpose()?;
        loop {
            let seq = kept.head.seq.next();
            if seq > until {
                return Ok(kept);
            }
            let before = kept.head.chain;
            let spare = line_of(beside.as_mut(), seq)?;
            let own = kept.own(damaged, seq)?;
            if let (Some((own, _)), Some((spare, _))) = (&own, &spare) {
                kept.compare(own, spare);
            }
            let spare = spare.filter(|(head, entry)| before.link(entry) == head.chain);
            let (head, entry) = match (own, spare) {
                (Some(own), _) => {
                    kept.last_own = seq;
                    own
                }
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
    fn own(
        &mut self,
        damaged: &mut DamagedLines,
        seq: Seq,
    ) -> Result<Option<(Head, Vec<u8>)>, KeepError> {
        for at in damaged.of(seq) {
            let Some(scrap) = damaged.scraps().get(at).copied() else {
                continue;
            };
            let line = damaged.line(&scrap)?;
            let Some(parts) = parse(&line) else { continue };
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

    /// Compares an entry of the damaged book with the backup's.
    fn compare(&mut self, own: &Head, spare: &Head) {
        self.met |= own == spare;
        if own != spare && self.histories == SoloHistories::Agree {
            self.histories = SoloHistories::Rewritten(whole(own.seq.0));
        }
    }

    fn take_over(&mut self, seq: Seq) {
        let seq = whole(seq.0);
        match self.taken.last_mut() {
            Some((_, last)) if last.checked_add(1) == Some(seq) => *last = seq,
            _ => self.taken.push((seq, seq)),
        }
    }

    /// What a mended book holds, for whoever asks. `damage` is what is wrong first.
    pub(super) fn told(
        self,
        book_id: Uuid,
        damage: Option<&Damage>,
        left_out: Vec<SoloLeftOut>,
        only_torn: bool,
    ) -> SoloMended {
        SoloMended {
            book_id: book_id.to_string(),
            head_seq: whole(self.head.seq.0),
            head_chain: self.head.chain.to_string(),
            damage: damage.map(ToString::to_string).unwrap_or_default(),
            first_bad_seq: damage.map_or(0, |damage| whole(damage.seq.0)),
            taken: self.taken,
            histories: self.histories,
            left_out,
            only_torn,
        }
    }

    /// Checks that something is kept, and that it is of the book it is said to be.
    pub(super) fn check(
        &self,
        from: &Path,
        backup: Option<&Backup>,
        proved: bool,
    ) -> Result<(), KeepError> {
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

/// The line of an entry in a backup, which is read in step with the book.
pub(super) fn line_of(
    lines: Option<&mut Lines>,
    seq: Seq,
) -> Result<Option<(Head, Vec<u8>)>, JournalError> {
    let line = lines.and_then(Iterator::next).transpose()?;
    let line = line.filter(|line| line.mark.at.seq == seq);
    Ok(line.map(|line| (line.mark.head(), line.entry)))
}
