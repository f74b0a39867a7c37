//! What of a journal was read through and found whole, kept so that the next process reads only what
//! is new.
//!
//! ```text
//! audited.json  {"format":1,"incarnation_id":"…","end":{…},"files":[{"start":{…},"facts":{…}},…],"check":"<64 hex digits>"}
//! ```
//!
//! Invariant: a file counts as read for as long as all that the disk tells of it, its length, number
//! and times, is what it told before the file was read, or after this process itself wrote to it. From
//! the first file on of which anything differs, all is read again. The proof can be thrown away.

mod kept;

use std::io;
use std::path::PathBuf;
use std::sync::Arc;
use std::time::Instant;

use fettlebook_model::Seq;
use serde::{Deserialize, Serialize};
use uuid::Uuid;

use super::disk::{Disk, FileFacts};
use super::sweep::{Reached, ReadThrough, Sweep};
use super::walk::segments;
use super::{JournalError, Mark, Position, Proof};
use crate::limits::{GROUPS_UNREAD_MAX, LOOK_EVERY};

/// Whose proof it is and where it is kept.
#[derive(Debug, Clone)]
pub(crate) struct ProofPlace {
    /// Folder of the journal.
    pub journal: PathBuf,
    /// Folder of `audited.json`.
    pub folder: PathBuf,
    /// Id of the incarnation: numbers of another mean other entries.
    pub owner: Uuid,
}

/// A file that was read through.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
struct Proven {
    /// Its beginning, and what stands before it.
    start: Reached,
    /// What the disk told of it.
    facts: FileFacts,
}

/// What of a journal in files is proven to be whole.
#[derive(Debug)]
pub(crate) struct FileProof {
    place: ProofPlace,
    disk: Arc<dyn Disk>,
    /// The files in order, from the first.
    files: Vec<Proven>,
    /// Up to where they were read.
    end: Reached,
    /// Whether others have changed the last file, whatever the disk told of it since.
    strange: bool,
    /// Groups that were written since the last file was read.
    group_count: u64,
    /// When the other files were looked at last.
    looked: Option<Instant>,
    /// Whether it is kept as it stands.
    kept: bool,
}

impl FileProof {
    /// What is kept of a proof and still fits the files.
    pub(crate) fn load(place: ProofPlace, disk: Arc<dyn Disk>) -> Self {
        let (files, end) = kept::read(&place).unwrap_or((Vec::new(), Reached::NOTHING));
        let mut proof = Self {
            place,
            disk,
            files,
            end,
            strange: false,
            group_count: 0,
            looked: None,
            kept: true,
        };
        proof.fit();
        proof
    }

    /// Takes in what was read, of files of which this was told before.
    fn take(&mut self, read: ReadThrough, facts: &[(u64, FileFacts)]) {
        let told = |segment: u64| facts.iter().find(|(first, _)| *first == segment);
        self.kept = false;
        if let Some(last) = self.files.last_mut()
            && let Some((_, facts)) = told(last.start.next.segment)
        {
            last.facts = *facts;
        }
        for start in read.segments {
            let Some((_, facts)) = told(start.next.segment) else {
                self.end = start;
                return;
            };
            let facts = *facts;
            self.files.push(Proven { start, facts });
        }
        self.end = read.end;
        self.group_count = 0;
        self.strange = false;
    }

    /// Reads again what others have changed.
    fn read_again(&mut self) -> Result<(), JournalError> {
        let until = self.until();
        if self.strange {
            self.cut(self.files.len().saturating_sub(1));
        }
        self.fit();
        self.bring_up(until, &|| true)
    }

    /// Lets go of everything from the first file on of which the disk tells anything else now, or in
    /// whose place there is another.
    fn fit(&mut self) {
        let here = segments(&self.place.journal).unwrap_or_default();
        let fits = |file: &Proven, first: Option<u64>| {
            first == Some(file.start.next.segment) && self.told(file).ok() == Some(file.facts)
        };
        let mut firsts = here.iter().map(|(first, _)| *first);
        let differs = self
            .files
            .iter()
            .position(|file| !fits(file, firsts.next()));
        if let Some(at) = differs {
            self.cut(at);
        }
    }

    /// Lets go of the file at this place and all after it.
    fn cut(&mut self, at: usize) {
        if let Some(file) = self.files.get(at) {
            self.end = file.start.clone();
            self.files.truncate(at);
            self.kept = false;
        }
    }

    /// What the disk tells of a file now.
    fn told(&self, file: &Proven) -> io::Result<FileFacts> {
        self.disk.facts(&path_of(&self.place, file.start.next))
    }
}

impl Proof for FileProof {
    fn until(&self) -> Seq {
        Seq(self.end.next.seq.0.saturating_sub(1))
    }

    fn unread_bytes(&self) -> u64 {
        let here = segments(&self.place.journal).unwrap_or_default();
        let from = self.end.next.segment;
        let unread = here.iter().filter(|(first, _)| *first >= from);
        let lengths = unread.filter_map(|(_, path)| Some(self.disk.facts(path).ok()?.byte_count));
        lengths.sum::<u64>().saturating_sub(self.end.next.offset)
    }

    fn bring_up(
        &mut self,
        until: Seq,
        go_on: &(dyn Fn() -> bool + Sync),
    ) -> Result<(), JournalError> {
        if self.until() >= until {
            return Ok(());
        }
        // Before they are read: what is changed meanwhile is to be noticed later.
        let mut facts = Vec::new();
        for (first, path) in segments(&self.place.journal)? {
            if first >= self.end.next.segment
                && let Ok(told) = self.disk.facts(&path)
            {
                facts.push((first, told));
            }
        }
        let read = Sweep::new(&self.place.journal, until, go_on).run(&self.end)?;
        self.take(read, &facts);
        Ok(())
    }

    fn look(&mut self) -> Result<(), JournalError> {
        self.notice();
        if self.looked.is_some_and(|then| then.elapsed() < LOOK_EVERY) {
            return Ok(());
        }
        self.looked = None;
        self.read_again()?;
        self.looked = Some(Instant::now());
        Ok(())
    }

    fn notice(&mut self) {
        if let Some(last) = self.files.last() {
            self.strange |= self.told(last).ok() != Some(last.facts);
        }
    }

    fn refresh(&mut self) {
        let told = self.files.last().map(|last| self.told(last));
        match (told, self.files.last_mut()) {
            (Some(Ok(facts)), Some(last)) => {
                self.kept &= last.facts == facts;
                last.facts = facts;
            }
            (Some(Err(_)), _) => self.strange = true,
            _ => {}
        }
    }

    fn extend(&mut self, marks: &[Mark], end: Reached) {
        let Some(first) = marks
            .first()
            .filter(|first| first.at.seq == self.end.next.seq)
        else {
            return;
        };
        let segment = first.at.segment;
        let here = self.files.last().map(|last| last.start.next.segment);
        if here != Some(segment) {
            if first.at.offset > 0 {
                return;
            }
            // Space set aside in the file before was given back.
            self.refresh();
            let path = self.place.journal.join(first.at.file_name());
            let Ok(facts) = self.disk.facts(&path) else {
                return;
            };
            let start = Reached {
                next: first.at,
                chain: self.end.chain,
            };
            self.files.push(Proven { start, facts });
            self.group_count = 0;
        }
        self.end = end;
        self.kept = false;
        self.group_count += 1;
        self.refresh();
    }

    fn keep(&mut self) -> Result<(), JournalError> {
        if self.kept {
            return Ok(());
        }
        self.strange |= self.group_count > GROUPS_UNREAD_MAX;
        self.read_again()?;
        match kept::write(&self.place, &self.files, &self.end) {
            Ok(()) => self.kept = true,
            Err(error) => tracing::debug!(%error, "the proof of the journal is not kept"),
        }
        Ok(())
    }
}

fn path_of(place: &ProofPlace, at: Position) -> PathBuf {
    place.journal.join(at.file_name())
}
