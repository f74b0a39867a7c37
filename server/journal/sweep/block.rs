//! Blocks of whole lines of a journal, handed out in order, and the check of one.

use std::collections::VecDeque;
use std::fs::File;
use std::io::{Read as _, Seek as _, SeekFrom};
use std::path::{Path, PathBuf};

use fettlebook_model::Seq;
use memchr::{memchr, memrchr};

use super::Reached;
use crate::journal::chain::Chain;
use crate::journal::line::parse;
use crate::journal::walk::{LINE_BYTES_MAX, segments, without_zeros};
use crate::journal::{JournalError, Position};

/// Lines that follow on each other, to be checked by themselves.
pub(super) struct Block {
    /// What they follow on, as the line before states it.
    pub(super) from: Reached,
    /// Whether no block follows on this one.
    pub(super) last: bool,
}

/// What is read next.
pub(super) enum Next {
    Block(Block),
    /// Nothing: what was to be read is, or what follows is for the walk to judge.
    End,
}

/// The blocks of a journal up to an entry.
pub(super) struct Blocks {
    ahead: VecDeque<(u64, PathBuf)>,
    open: Option<File>,
    /// What the next block follows on.
    reached: Reached,
    /// What the block before followed on.
    before: Reached,
    until: Seq,
    block_bytes: usize,
    /// Bytes read of a line that is not whole yet.
    rest: Vec<u8>,
    ended: bool,
    /// The beginning of each segment that was come to.
    pub(super) segments: Vec<Reached>,
    /// From where on the walk has to judge.
    pub(super) doubtful: Option<Reached>,
}

impl Blocks {
    pub(super) fn new(
        folder: &Path,
        from: &Reached,
        until: Seq,
        block_bytes: usize,
    ) -> Result<Self, JournalError> {
        let mut ahead = segments(folder)?;
        ahead.retain(|(first, _)| *first >= from.next.segment);
        let mut blocks = Self {
            ahead,
            open: None,
            reached: from.clone(),
            before: from.clone(),
            until,
            block_bytes,
            rest: Vec::new(),
            ended: false,
            segments: Vec::new(),
            doubtful: None,
        };
        if from.next.offset > 0 && from.next.seq <= until {
            blocks.open_inside(from.next);
        }
        Ok(blocks)
    }

    /// Hands out no more.
    pub(super) const fn end(&mut self) {
        self.ended = true;
    }

    /// Reads the next block into `buffer`.
    pub(super) fn next(&mut self, buffer: &mut Vec<u8>) -> Next {
        while !self.ended && self.reached.next.seq <= self.until {
            let Some(file) = &mut self.open else {
                self.open_next();
                continue;
            };
            buffer.clear();
            buffer.append(&mut self.rest);
            let mut more = file.take(self.block_bytes as u64);
            let read = more.read_to_end(buffer);
            let Some(end) = memrchr(b'\n', buffer).map(|at| at + 1) else {
                self.keep(buffer, read.is_ok_and(|read_count| read_count > 0));
                continue;
            };
            if read.is_err() {
                self.doubt();
                continue;
            }
            self.rest
                .extend_from_slice(buffer.get(end..).unwrap_or_default());
            buffer.truncate(end);
            return Next::Block(self.hand_out(buffer));
        }
        Next::End
    }

    /// Keeps what has no line feed yet for the next block; at the end of a file nothing may be left
    /// but space set aside.
    fn keep(&mut self, buffer: &mut Vec<u8>, more: bool) {
        if more && buffer.len() as u64 <= LINE_BYTES_MAX {
            self.rest.append(buffer);
        } else if !more && without_zeros(buffer).is_empty() {
            self.open = None;
        } else {
            self.doubt();
        }
    }

    /// The block of these lines. Where its last line cannot be read, perhaps because it is being
    /// written just now, it is the last block: what counts must stand before.
    fn hand_out(&mut self, lines: &[u8]) -> Block {
        let from = self.reached.clone();
        let last = last_line(lines).and_then(parse);
        self.before = from.clone();
        match last.filter(|last| last.seq >= from.next.seq) {
            Some(last) => {
                self.reached.chain = last.chain;
                self.reached.next.seq = last.seq.next();
                self.reached.next.offset += lines.len() as u64;
            }
            None => self.ended = true,
        }
        let last = self.ended || self.reached.next.seq > self.until;
        Block { from, last }
    }

    fn open_next(&mut self) {
        let next = self.ahead.pop_front();
        let Some((first, path)) = next.filter(|(first, _)| *first == self.reached.next.seq.0)
        else {
            return self.doubt();
        };
        let Ok(file) = File::open(path) else {
            return self.doubt();
        };
        self.open = Some(file);
        self.reached.next.segment = first;
        self.reached.next.offset = 0;
        self.segments.push(self.reached.clone());
    }

    /// Opens the segment that is known up to a place inside it.
    fn open_inside(&mut self, at: Position) {
        let next = self.ahead.pop_front();
        let next = next.filter(|(first, _)| *first == at.segment);
        let opened = next.and_then(|(_, path)| {
            let mut file = File::open(path).ok()?;
            file.seek(SeekFrom::Start(at.offset)).ok()?;
            Some(file)
        });
        match opened {
            None => self.doubt(),
            open => self.open = open,
        }
    }

    /// Leaves it to the walk, from before the last block: there is something to read there.
    fn doubt(&mut self) {
        self.doubtful = Some(self.before.clone());
        self.ended = true;
    }
}

/// The last of whole lines, without its line feed.
fn last_line(lines: &[u8]) -> Option<&[u8]> {
    let line = lines.strip_suffix(b"\n")?;
    let start = memrchr(b'\n', line).map_or(0, |at| at + 1);
    line.get(start..)
}

impl Block {
    /// Up to where its lines are whole, up to and with entry `until`; `None` when they are not.
    pub(super) fn check(&self, lines: &[u8], until: Seq) -> Option<Reached> {
        let (mut at, mut chain) = (self.from.next, self.from.chain);
        let mut rest = lines;
        while at.seq <= until
            && let Some(end) = memchr(b'\n', rest)
        {
            let (line, after) = rest.split_at_checked(end)?;
            chain = follow(line, at.seq, &chain)?;
            at.offset += end as u64 + 1;
            at.seq = at.seq.next();
            rest = after.get(1..)?;
        }
        let ended = at.seq > until || !self.last;
        ended.then_some(Reached { next: at, chain })
    }
}

/// The chain value of a line that is entry `seq` and follows on the chain.
fn follow(line: &[u8], seq: Seq, before: &Chain) -> Option<Chain> {
    if line.len() as u64 >= LINE_BYTES_MAX {
        return None;
    }
    let parts = parse(line).filter(|parts| parts.seq == seq)?;
    let chain = before.link(parts.entry);
    (parts.chain == chain).then_some(chain)
}
