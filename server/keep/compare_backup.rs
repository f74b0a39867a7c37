//! A book's history beside a backup's, entry by entry, up to where the two go different ways.
//!
//! A chain value stands for every entry before it. So the first line with another one names the first
//! entry that differs, also where somebody wrote one of the two anew so that its lines fit each other.
//! The book is taken as the service sends it for a backup; both are only read.

use std::path::Path;

use fettlebook_model::Seq;
use fettlebook_solo::{SoloBeside, SoloHistories};
use uuid::Uuid;

use super::backup::said;
use super::error::KeepError;
use super::kept::{Backup, line_of};
use super::whole;
use crate::journal::{Head, LINE_BYTES_MAX, Lines, parse};
use crate::store::folder::BACKUP_FILE;

/// What a service says of its book.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct BookSaid {
    /// Id of the book.
    pub book_id: Uuid,
    /// Id of its incarnation.
    pub incarnation_id: Uuid,
    /// The last entry that the incarnation began with.
    pub since: Seq,
}

impl BookSaid {
    /// What it says, in words; a book without an incarnation id is as it was begun.
    ///
    /// # Errors
    /// When an id is none.
    pub fn parse(book_id: &str, incarnation_id: &str, since: u64) -> Result<Self, KeepError> {
        let id = |word: &str| {
            Uuid::try_parse(word).map_err(|_| KeepError::NotOurs {
                what: format!("{word:?} is not the id of a book"),
            })
        };
        let own = if incarnation_id.is_empty() {
            book_id
        } else {
            incarnation_id
        };
        Ok(Self {
            book_id: id(book_id)?,
            incarnation_id: id(own)?,
            since: Seq(since),
        })
    }
}

/// A book that is being compared with a backup.
pub struct BackupComparison {
    book: BookSaid,
    backup: Backup,
    lines: Lines,
    /// The last entry of the book so far.
    head: Head,
    /// The beginning of a line whose end has not come yet.
    pending: Vec<u8>,
    /// The first entry that both have, each otherwise.
    differs_at: Option<Seq>,
}

impl BackupComparison {
    /// Verifies the backup in a folder and begins to compare a book with it.
    ///
    /// # Errors
    /// When it is not whole, or is of another book.
    pub fn begin(backup: &Path, book: BookSaid) -> Result<Self, KeepError> {
        let backup = Backup::open(backup)?;
        if backup.manifest.book_id != book.book_id {
            return Err(backup.is_of_another_book());
        }
        Ok(Self {
            book,
            lines: backup.lines()?,
            backup,
            head: Head::EMPTY,
            pending: Vec::new(),
            differs_at: None,
        })
    }

    /// Takes the next bytes of a file of the book, as they come for a backup.
    ///
    /// # Errors
    /// When they are not lines of a journal, each following from the one before; or when the backup
    /// cannot be read.
    pub fn take(&mut self, file: &str, content: &[u8]) -> Result<(), KeepError> {
        if file == BACKUP_FILE {
            return Ok(());
        }
        for part in content.split_inclusive(|byte| *byte == b'\n') {
            self.pending.extend_from_slice(part);
            if self.pending.pop_if(|byte| *byte == b'\n').is_some() {
                let line = std::mem::take(&mut self.pending);
                self.take_line(&line)?;
            } else if self.pending.len() as u64 > LINE_BYTES_MAX {
                return Err(self.not_a_line());
            }
        }
        Ok(())
    }

    fn take_line(&mut self, line: &[u8]) -> Result<(), KeepError> {
        let seq = self.head.seq.next();
        let parts = parse(line)
            .filter(|parts| parts.seq == seq && parts.chain == self.head.chain.link(parts.entry));
        let chain = parts.ok_or_else(|| self.not_a_line())?.chain;
        self.head = Head { seq, chain };
        if self.differs_at.is_none()
            && let Some((other, _)) = line_of(Some(&mut self.lines), seq)?
            && other != self.head
        {
            self.differs_at = Some(seq);
        }
        Ok(())
    }

    fn not_a_line(&self) -> KeepError {
        KeepError::NotOurs {
            what: format!("no whole entry {} comes", self.head.seq.next()),
        }
    }

    /// How the book, which ends here, stands to the backup.
    pub fn finish(self) -> SoloBeside {
        let backup = &self.backup.manifest;
        let other = backup.incarnation_id != self.book.incarnation_id;
        let own_way = |first: Seq| other && first > self.book.since;
        let missing = (backup.head.seq > self.head.seq).then(|| self.head.seq.next());
        let histories = match (self.differs_at, missing) {
            (Some(first), _) | (None, Some(first)) if own_way(first) => {
                SoloHistories::OtherIncarnation(whole(first.0))
            }
            (Some(first), _) => SoloHistories::Rewritten(whole(first.0)),
            (None, Some(first)) => SoloHistories::Lacks(whole(first.0)),
            (None, None) => SoloHistories::Agree,
        };
        SoloBeside {
            backup: said(backup),
            book_head_seq: whole(self.head.seq.0),
            histories,
        }
    }
}
