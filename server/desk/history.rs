//! What happened, read back from the journal by way of the shelf's indexes.
//!
//! It serves lists, look-ups of single entries, retries and reversals. It sees only what is
//! published, and changes nothing. Without a shelf it reads the journal from the start: slow, but
//! right.

use std::collections::BTreeSet;
use std::sync::Arc;

use fettlebook_model::{BodyHash, Entry, Past, Seq, Subject};
use uuid::Uuid;

use super::error::DeskError;
use crate::journal::{Damage, Newer, Position, ReadLine, Reader};
use crate::limits::PLACE_STEP;
use crate::shelf::{KeeperLine, Shelf, subjects};

/// The journal's reader and, but for a book whose shelf cannot be trusted, the shelf's keeper.
pub(super) struct History {
    pub(super) reader: Arc<dyn Reader>,
    pub(super) keeper: Option<KeeperLine>,
    /// What a later program wrote behind the last entry that was read.
    pub(super) newer: Option<Newer>,
}

/// Which entries are wanted.
pub(super) struct Wanted {
    pub(super) subject: Option<Subject>,
    pub(super) newest_first: bool,
    pub(super) after: Option<Seq>,
    pub(super) limit: usize,
}

impl History {
    /// The shelf once it holds everything up to an entry that is published; `None` when there is none
    /// for the time being.
    fn shelf(&self, until: Seq) -> Option<Arc<Shelf>> {
        let keeper = self.keeper.as_ref()?;
        if keeper.shelved() < until {
            keeper.settle().ok()?;
        }
        keeper.shelf()
    }

    /// One entry of a book that ends at `head`.
    pub(super) fn entry(&self, seq: Seq, head: Seq) -> Result<Entry, DeskError> {
        if seq == Seq(0) || seq > head {
            return Err(DeskError::EntryUnknown { seq });
        }
        let mut entries = self.read(&[seq])?;
        entries.pop().ok_or(DeskError::EntryUnknown { seq })
    }

    /// The entry that answered a request, as far as the shelf knows. Without a keeper nothing can be
    /// recorded, so that nobody needs to know; a shelf that is lost for a time must not be passed
    /// over.
    pub(super) fn answer(&self, request: Uuid) -> Result<Option<Entry>, DeskError> {
        let Some(keeper) = &self.keeper else {
            return Ok(None);
        };
        let shelf = keeper.shelf().ok_or_else(|| without_shelf(keeper))?;
        match shelf.answer(request)? {
            Some((seq, _)) => self.entry(seq, seq).map(Some),
            None => Ok(None),
        }
    }

    /// The entry that a request with this body was answered with, in a book that ends at `head`.
    pub(super) fn answered(
        &self,
        request: Uuid,
        body: BodyHash,
        head: Seq,
    ) -> Result<Option<Entry>, DeskError> {
        if let Some(keeper) = &self.keeper
            && self.shelf(head).is_none()
        {
            return Err(without_shelf(keeper));
        }
        match self.answer(request)? {
            Some(entry) if entry.body == body => Ok(Some(entry)),
            Some(Entry { seq, .. }) => Err(DeskError::RequestIdReused { request, seq }),
            None => Ok(None),
        }
    }

    /// An entry and everything that ever touched what it touched.
    pub(super) fn past(&self, seq: Seq, head: Seq) -> Result<Past, DeskError> {
        let target = self.entry(seq, head)?;
        let mut seqs = BTreeSet::new();
        for subject in subjects(&target).collect::<BTreeSet<_>>() {
            seqs.extend(self.touched(&subject, false, None, usize::MAX, head)?);
        }
        let seqs: Vec<Seq> = seqs.into_iter().collect();
        Ok(Past {
            target,
            entries: self.read(&seqs)?,
        })
    }

    /// The entries wanted of a book that ends at `head`.
    pub(super) fn list(&self, wanted: &Wanted, head: Seq) -> Result<Vec<Entry>, DeskError> {
        let Wanted {
            subject,
            newest_first,
            after,
            limit,
        } = wanted;
        let mut seqs = match subject {
            Some(subject) => self.touched(subject, *newest_first, *after, *limit, head)?,
            None if *newest_first => {
                let first = after.map_or(head.0, |after| after.0.saturating_sub(1).min(head.0));
                (1..=first).rev().take(*limit).map(Seq).collect()
            }
            None => {
                let first = after.map_or(1, |after| after.next().0);
                (first..=head.0).take(*limit).map(Seq).collect()
            }
        };
        if *newest_first {
            seqs.reverse();
        }
        let mut entries = self.read(&seqs)?;
        if *newest_first {
            entries.reverse();
        }
        Ok(entries)
    }

    /// The numbers of the entries up to `head` that touched a subject, in the order wanted.
    fn touched(
        &self,
        subject: &Subject,
        newest_first: bool,
        after: Option<Seq>,
        limit: usize,
        head: Seq,
    ) -> Result<Vec<Seq>, DeskError> {
        let before = after.unwrap_or(head.next()).min(head.next());
        let after = after.unwrap_or_default();
        let Some(shelf) = self.shelf(head) else {
            let mut seqs = self.scan(subject, head)?;
            if newest_first {
                seqs.reverse();
                seqs.retain(|seq| *seq < before);
            } else {
                seqs.retain(|seq| *seq > after);
            }
            seqs.truncate(limit);
            return Ok(seqs);
        };
        let mut seqs = if newest_first {
            shelf.touched_before(subject, before, limit)?
        } else {
            shelf.touched_after(subject, after, limit)?
        };
        seqs.retain(|seq| *seq <= head);
        Ok(seqs)
    }

    /// The numbers of the entries that touched a subject, from the journal alone.
    fn scan(&self, subject: &Subject, head: Seq) -> Result<Vec<Seq>, DeskError> {
        let mut found = Vec::new();
        for line in self.reader.read(Position::START, head)? {
            let entry = parse(&line?)?;
            if subjects(&entry).any(|touched| touched == *subject) {
                found.push(entry.seq);
            }
        }
        Ok(found)
    }

    /// A place in the journal at or before an entry, as near as is known.
    pub(super) fn place_before(&self, seq: Seq) -> Result<Position, DeskError> {
        match self.shelf(seq) {
            Some(shelf) => Ok(shelf.place_before(seq)?),
            None => Ok(Position::START),
        }
    }

    /// The entries after one, up to and with `until`, and the place of the last. A reader that goes
    /// on gives the place it was given, and needs the shelf no more.
    pub(super) fn follow(
        &self,
        place: Option<Position>,
        after: Seq,
        until: Seq,
    ) -> Result<(Vec<Entry>, Position), DeskError> {
        let mut last = match place {
            Some(place) => place,
            None => self.place_before(after.next())?,
        };
        let mut entries = Vec::new();
        for line in self.reader.read(last, until)? {
            let line = line?;
            last = line.mark.at;
            if last.seq > after {
                entries.push(parse(&line)?);
            }
        }
        Ok((entries, last))
    }

    /// The bytes of up to `limit` entries after one, up to and with `head`, as they were given to the
    /// journal.
    pub(super) fn given(
        &self,
        after: Seq,
        limit: usize,
        head: Seq,
    ) -> Result<Vec<Vec<u8>>, DeskError> {
        let first = after.next();
        if first > head {
            return Ok(Vec::new());
        }
        let mut given = Vec::new();
        for line in self.reader.read(self.place_before(first)?, head)? {
            let line = line?;
            if line.mark.at.seq >= first {
                given.push(line.given());
            }
            if given.len() >= limit {
                break;
            }
        }
        Ok(given)
    }

    /// Reads entries, given in rising order. Those near each other are read in one go.
    fn read(&self, seqs: &[Seq]) -> Result<Vec<Entry>, DeskError> {
        let mut entries = Vec::with_capacity(seqs.len());
        for run in seqs.chunk_by(|a, b| b.0.saturating_sub(a.0) <= PLACE_STEP) {
            let (Some(first), Some(last)) = (run.first(), run.last()) else {
                continue;
            };
            let from = self.place_before(*first)?;
            let mut wanted = run.iter().peekable();
            for line in self.reader.read(from, *last)? {
                let line = line?;
                if wanted.next_if(|seq| **seq == line.mark.at.seq).is_some() {
                    entries.push(parse(&line)?);
                }
            }
        }
        Ok(entries)
    }
}

/// The refusal while the shelf is lost: whether a request was answered before cannot be told.
pub(super) fn without_shelf(keeper: &KeeperLine) -> DeskError {
    let why = keeper.failure();
    let reason = why.map_or("the shelf is being opened".to_owned(), |why| {
        why.to_string()
    });
    DeskError::DiskRefuses {
        reason: reason.into(),
    }
}

/// The entry in a line.
pub(super) fn parse(line: &ReadLine) -> Result<Entry, DeskError> {
    Entry::read(&line.entry).map_err(|unread| {
        // What was published was understood when it was taken in.
        let what = if unread.is_newer() {
            "is not the one that was read before".to_owned()
        } else {
            unread.to_string()
        };
        let seq = line.mark.at.seq;
        let damage = Damage { seq, what };
        DeskError::Damaged {
            what: damage.to_string(),
        }
    })
}
