//! The mark of a clean close: up to which entry a journal was certainly on the disk.
//!
//! ```text
//! closed.json  {"format":1,"incarnation_id":"…","seq":41,"chain":"…","segment":1,"offset":9120,"check":"<64 hex digits>"}
//! ```
//!
//! Invariant: it is written only once all that it names was synced, so that it stays true whatever
//! happens later: a journal that has less was harmed. A journal that ends right there needs nothing
//! before it is gone on with; one that goes on behind it was written to and not closed.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use fettlebook_model::Seq;
use serde::{Deserialize, Serialize};
use uuid::Uuid;

use super::disk::{Disk, write_whole};
use super::walk::segments;
use super::{Chain, Damage, Head, Position, Survey};

/// Says how a journal was closed.
pub(crate) const CLOSED_FILE: &str = "closed.json";

/// Format of that file.
const CLOSED_FORMAT: u32 = 1;

/// Where the mark of a journal is kept, and of which life of a book it is.
#[derive(Debug, Clone)]
pub struct ClosedPlace {
    /// The folder with the mark.
    pub folder: PathBuf,
    /// Id of the incarnation.
    pub owner: Uuid,
}

/// What a journal certainly held when it was closed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Closed {
    /// The last entry.
    pub head: Head,
    /// Where the next line belonged.
    pub end: Position,
}

/// What stands in `closed.json`.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct ClosedFile {
    format: u32,
    incarnation_id: Uuid,
    seq: Seq,
    chain: Chain,
    segment: u64,
    offset: u64,
    /// Tells a changed digit.
    check: Chain,
}

impl ClosedFile {
    /// The check of the other fields.
    fn sum(&self) -> Chain {
        let Self {
            format,
            incarnation_id,
            seq,
            chain,
            segment,
            offset,
            ..
        } = self;
        let text = format!("{format} {incarnation_id} {seq} {chain} {segment} {offset}");
        Chain::ZERO.link(text.as_bytes())
    }
}

impl ClosedPlace {
    /// The mark, unless there is none for this owner. One that cannot be read proves nothing.
    pub fn read(&self) -> Option<Closed> {
        let path = self.folder.join(CLOSED_FILE);
        let text = fs::read(&path).ok()?;
        let file = serde_json::from_slice::<ClosedFile>(&text);
        let file = file.ok().filter(|file| file.check == file.sum());
        if file.is_none() {
            tracing::warn!(path = %path.display(), "the mark of the last close cannot be read");
        }
        let file = file.filter(|file| file.format == CLOSED_FORMAT)?;
        (file.incarnation_id == self.owner).then(|| Closed {
            head: Head {
                seq: file.seq,
                chain: file.chain,
            },
            end: Position {
                seq: file.seq.next(),
                segment: file.segment,
                offset: file.offset,
            },
        })
    }

    /// Writes the mark, durably.
    ///
    /// # Errors
    /// What the system says.
    pub(super) fn write(&self, closed: &Closed, disk: &dyn Disk) -> io::Result<()> {
        let mut file = ClosedFile {
            format: CLOSED_FORMAT,
            incarnation_id: self.owner,
            seq: closed.head.seq,
            chain: closed.head.chain,
            segment: closed.end.segment,
            offset: closed.end.offset,
            check: Chain::ZERO,
        };
        file.check = file.sum();
        let text = serde_json::to_vec(&file).map_err(io::Error::other)?;
        write_whole(&self.folder, CLOSED_FILE, &text, disk)
    }
}

impl Closed {
    /// Whether the files of the journal end exactly where it was closed.
    pub fn is_the_end_of(&self, journal: &Path) -> bool {
        let Ok(segments) = segments(journal) else {
            return false;
        };
        match segments.back() {
            None => self.end == Position::START,
            Some((first, path)) => {
                let byte_count = fs::metadata(path).map(|file| file.len());
                *first == self.end.segment && byte_count.is_ok_and(|count| count == self.end.offset)
            }
        }
    }

    /// What a journal lacks that it held when it was closed, when it was found whole as far as it
    /// goes.
    pub fn missing_in(&self, found: &Survey) -> Option<Damage> {
        let newer = found.newer.as_ref().map(|newer| &newer.until);
        let head = newer.unwrap_or(&found.head);
        let closed = self.head.seq;
        if head.seq < closed {
            let end = head.seq;
            let what = format!(
                "is missing: it ends at entry {end}, but it was closed with entry {closed} in it"
            );
            let seq = end.next();
            return Some(Damage { seq, what });
        }
        let is_another = head.seq == closed && head.chain != self.head.chain;
        is_another.then(|| Damage {
            seq: closed,
            what: "is not the one with which it was closed".to_owned(),
        })
    }
}
