//! A walk over the lines of a journal, checking each against the format and the one before.
//!
//! It serves opening, reading back and verifying. It only reads; what it cannot account for it
//! names and stops at, and it never skips a line.

use std::collections::VecDeque;
use std::fs::{self, File};
use std::io::{self, BufRead, BufReader, Read, Seek, SeekFrom};
use std::path::{Path, PathBuf};

use fettlebook_model::Seq;

use super::chain::Chain;
use super::line::{AFTER_BYTES_MAX, FRAME_BYTES, parse};
use super::tail::{GROUP_BYTES_LONGEST, Tail, judge};
use super::{Damage, JournalError, Mark, Position, Reached, ReadLine, failed};
use crate::limits::ENTRY_BYTES_MAX;

/// Longest line that is read, in bytes.
pub(crate) const LINE_BYTES_MAX: u64 = (ENTRY_BYTES_MAX + AFTER_BYTES_MAX + FRAME_BYTES) as u64;

/// Bytes read from a segment at a time: a few dozen entries.
const READ_BYTES: usize = 32 * 1024;

/// Why a walk ended before the end of the journal.
#[derive(Debug)]
pub(super) enum Stop {
    /// What follows the last good line is a write that was cut off.
    Torn { byte_count: u64 },
    /// A line is wrong.
    Damaged(Damage),
    /// A file could not be read.
    Failed(JournalError),
}

impl Stop {
    /// The error of a walk that should not have stopped.
    pub(super) fn into_error(self) -> JournalError {
        match self {
            Self::Failed(error) => error,
            Self::Damaged(damage) => damage.into(),
            Self::Torn { byte_count } => {
                JournalError::Stopped(format!("its last line is cut off after {byte_count} bytes"))
            }
        }
    }
}

/// The segment being walked.
struct Open {
    first: u64,
    path: PathBuf,
    reader: BufReader<File>,
    /// Bytes before the next line.
    offset: u64,
}

/// A walk, standing before the entry `expected`.
pub(super) struct Walk {
    ahead: VecDeque<(u64, PathBuf)>,
    open: Option<Open>,
    expected: Seq,
    previous: Option<Chain>,
    unended: bool,
}

impl Walk {
    /// A walk over all entries.
    pub(super) fn from_start(folder: &Path) -> Result<Self, Stop> {
        let ahead = segments(folder).map_err(Stop::Failed)?;
        let (expected, previous) = (Position::START.seq, Some(Chain::ZERO));
        Ok(Self {
            ahead,
            open: None,
            expected,
            previous,
            unended: false,
        })
    }

    /// A walk from the entry at `from`; the chain value of that entry is taken as it stands.
    pub(super) fn from(folder: &Path, from: Position) -> Result<Self, Stop> {
        if from == Position::START {
            return Self::from_start(folder);
        }
        let mut ahead = segments(folder).map_err(Stop::Failed)?;
        while ahead
            .front()
            .is_some_and(|(first, _)| *first < from.segment)
        {
            ahead.pop_front();
        }
        let mut walk = Self {
            ahead,
            open: None,
            expected: from.seq,
            previous: None,
            unended: false,
        };
        match walk.ahead.pop_front() {
            Some((first, path)) if first == from.segment => {
                walk.open_at(first, path, from.offset)?;
                Ok(walk)
            }
            _ => Err(walk.damage(format!(
                "is gone: there is no {}",
                segment_name(from.segment)
            ))),
        }
    }

    /// A walk on from what is known to be whole.
    pub(super) fn after(folder: &Path, reached: &Reached) -> Result<Self, JournalError> {
        let at = reached.next;
        let mut ahead = segments(folder)?;
        ahead.retain(|(first, _)| *first >= at.segment);
        let inside = at.offset > 0 && ahead.front().is_some_and(|(first, _)| *first == at.segment);
        let mut walk = Self {
            ahead,
            open: None,
            expected: at.seq,
            previous: Some(reached.chain),
            unended: false,
        };
        if inside && let Some((first, path)) = walk.ahead.pop_front() {
            walk.open_at(first, path, at.offset)
                .map_err(Stop::into_error)?;
        }
        Ok(walk)
    }

    /// The next line, which has to be there.
    pub(super) fn expect_line(&mut self) -> Result<ReadLine, JournalError> {
        let seq = self.expected;
        let gone = |what: &str| Damage {
            seq,
            what: what.to_owned(),
        };
        match self.advance() {
            Ok(Some(line)) => Ok(line),
            Ok(None) => Err(gone("is missing").into()),
            Err(Stop::Torn { .. }) => Err(gone("is cut off").into()),
            Err(stop) => Err(stop.into_error()),
        }
    }

    /// The next line; `None` at the end of the journal.
    pub(super) fn advance(&mut self) -> Result<Option<ReadLine>, Stop> {
        loop {
            let Some(open) = &mut self.open else {
                let Some((first, path)) = self.ahead.pop_front() else {
                    return Ok(None);
                };
                if first != self.expected.0 {
                    return Err(self.damage(format!(
                        "is missing: the next file is {}",
                        segment_name(first)
                    )));
                }
                self.open_at(first, path, 0)?;
                continue;
            };
            let mut bytes = Vec::new();
            let read = open
                .reader
                .by_ref()
                .take(LINE_BYTES_MAX)
                .read_until(b'\n', &mut bytes);
            if read
                .map_err(failed("reading", &open.path))
                .map_err(Stop::Failed)?
                == 0
            {
                self.open = (self.ahead.is_empty()).then_some(()).and(self.open.take());
                if self.open.is_some() {
                    return Ok(None);
                }
                continue;
            }
            match self.check(&bytes) {
                Ok(line) => return Ok(Some(line)),
                Err(what) => {
                    self.end_at(bytes, what)?;
                    if self.ahead.is_empty() {
                        return Ok(None);
                    }
                    self.open = None;
                }
            }
        }
    }

    /// Where the next line begins: the number of its segment and the bytes before it.
    pub(super) fn end(&self) -> Position {
        let (segment, offset) = match &self.open {
            Some(open) => (open.first, open.offset),
            None => (self.expected.0, 0),
        };
        Position {
            seq: self.expected,
            segment,
            offset,
        }
    }

    /// True when the last line is whole but for its line feed.
    pub(super) const fn is_unended(&self) -> bool {
        self.unended
    }

    /// Takes the line just read apart and checks it; what is wrong with it, as the rest of a
    /// sentence.
    fn check(&mut self, bytes: &[u8]) -> Result<ReadLine, String> {
        let Some(open) = &mut self.open else {
            return Err("is missing".to_owned());
        };
        let at = Position {
            seq: self.expected,
            segment: open.first,
            offset: open.offset,
        };
        let ended = bytes.strip_suffix(b"\n");
        let line = ended.unwrap_or_else(|| without_zeros(bytes));
        // Whatever stands in place of the last line's end: its chain value says whether it is whole.
        let bare = line.split_last().map(|(_, bare)| bare);
        let (line, parts) = (parse(line).map(|parts| (line, parts)))
            .or_else(|| {
                let bare = bare.filter(|_| ended.is_none())?;
                parse(bare).map(|parts| (bare, parts))
            })
            .ok_or("cannot be read: its line is not one that was written here".to_owned())?;
        let chain = self
            .previous
            .map_or(parts.chain, |before| before.link(parts.entry));
        if parts.seq != self.expected {
            return Err(format!(
                "is missing: entry {} stands in its place",
                parts.seq
            ));
        }
        if parts.chain != chain {
            return Err("does not fit the chain: it, or one before it, was changed".to_owned());
        }
        open.offset += (line.len() + usize::from(ended.is_some())) as u64;
        self.unended = ended.is_none();
        self.previous = Some(chain);
        self.expected = self.expected.next();
        Ok(ReadLine {
            mark: Mark { at, chain },
            entry: parts.entry.to_vec(),
        })
    }

    /// Comes back when what begins with `bytes`, which are no good line, is space set aside.
    fn end_at(&mut self, mut bytes: Vec<u8>, what: String) -> Result<(), Stop> {
        let last = self.ahead.is_empty();
        let Some(open) = &mut self.open else {
            return Err(self.damage(what));
        };
        let mut rest = open.reader.by_ref().take(GROUP_BYTES_LONGEST);
        rest.read_to_end(&mut bytes)
            .map_err(failed("reading", &open.path))
            .map_err(Stop::Failed)?;
        let long = bytes.len() as u64 > GROUP_BYTES_LONGEST;
        match judge(&bytes, open.offset, self.expected) {
            Tail::Aside => Ok(()),
            Tail::Torn { byte_count } if last && !long => Err(Stop::Torn { byte_count }),
            Tail::Torn { .. } | Tail::Damage => Err(self.damage(what)),
        }
    }

    fn open_at(&mut self, first: u64, path: PathBuf, offset: u64) -> Result<(), Stop> {
        let file = File::open(&path)
            .map_err(failed("opening", &path))
            .map_err(Stop::Failed)?;
        let mut reader = BufReader::with_capacity(READ_BYTES, file);
        // What follows on a line that is known to be whole may be the next file.
        let may_end = self.previous.is_some();
        if offset > 0 && !follows_a_line(&mut reader, offset, may_end) {
            let name = segment_name(first);
            return Err(self.damage(format!("is not where it was, at byte {offset} of {name}")));
        }
        self.open = Some(Open {
            first,
            path,
            reader,
            offset,
        });
        Ok(())
    }

    fn damage(&self, what: impl Into<String>) -> Stop {
        Stop::Damaged(Damage {
            seq: self.expected,
            what: what.into(),
        })
    }
}

/// Bytes without the zeros at their end.
pub(super) fn without_zeros(bytes: &[u8]) -> &[u8] {
    let zeros = bytes.iter().rev().take_while(|byte| **byte == 0).count();
    let (written, _) = bytes.split_at(bytes.len() - zeros);
    written
}

/// Moves a reader to `offset`, and says whether a line ends just before and something follows, unless
/// the file `may_end` there.
fn follows_a_line(reader: &mut BufReader<File>, offset: u64, may_end: bool) -> bool {
    let mut before = [0];
    reader.seek(SeekFrom::Start(offset - 1)).is_ok()
        && reader.read_exact(&mut before).is_ok()
        && before == *b"\n"
        && (reader.fill_buf()).is_ok_and(|rest| may_end || !rest.is_empty())
}

/// The file name of the segment whose first entry has this number.
pub(crate) fn segment_name(first: u64) -> String {
    format!("{first:012}.jsonl")
}

/// The segments of a journal in order, each with the number of its first entry.
pub(super) fn segments(folder: &Path) -> Result<VecDeque<(u64, PathBuf)>, JournalError> {
    let mut found = Vec::new();
    let entries = match fs::read_dir(folder) {
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(VecDeque::new()),
        read => read.map_err(failed("listing", folder))?,
    };
    for entry in entries {
        let path = entry.map_err(failed("listing", folder))?.path();
        let first = path
            .file_stem()
            .and_then(|stem| stem.to_str()?.parse().ok());
        if let Some(first) = first
            && path
                .file_name()
                .is_some_and(|name| *name == *segment_name(first))
        {
            found.push((first, path));
        }
    }
    found.sort_unstable();
    Ok(found.into())
}
