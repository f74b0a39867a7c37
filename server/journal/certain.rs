//! The end of a journal made certain before anybody relies on it.
//!
//! A process that was stopped between a write and its sync leaves lines that every later process can
//! read and that a loss of power may still take away; after a failed sync the system may even hold
//! them for written. So unless the mark of a clean close names the very end, the last lines are
//! written again, byte for byte as they were read and where they were: what is written anew is
//! synced anew. Each group was synced before the next was written, so that only the last can be in
//! doubt; two are written again.

use std::fs::File;
use std::io::{self, Read as _, Seek as _, SeekFrom};
use std::path::{Path, PathBuf};

use fettlebook_model::Seq;

use super::closed::Closed;
use super::disk::Disk;
use super::line::parse;
use super::tail::GROUP_BYTES_LONGEST;
use super::walk::{segments, without_zeros};
use super::{JournalError, failed};

/// Groups that are written again: the one that may be in doubt, and one more.
const GROUPS_AGAIN: usize = 2;

/// Bytes read from the end of a segment at first: some dozen entries, more than most groups.
const TAIL_BYTES: u64 = 64 * 1024;

/// Why the end of a journal could not be made certain.
#[derive(Debug)]
pub struct Uncertain {
    /// The last entry that is certain all the same; none where nothing can be written at all, so that
    /// nobody here can have left it half done.
    pub until: Option<Seq>,
    /// What went wrong.
    pub error: JournalError,
}

/// The end of a segment.
struct Tail {
    path: PathBuf,
    offset: u64,
    bytes: Vec<u8>,
    /// Whole groups in it, at most as many as were wanted.
    group_count: usize,
    /// The entry that was on the disk when its last group was written.
    after: Option<Seq>,
}

/// Makes sure that what a journal ends with is on the disk.
///
/// # Errors
/// When it cannot be read, or the disk does not take it.
pub fn make_certain(
    journal: &Path,
    disk: &dyn Disk,
    closed: Option<&Closed>,
) -> Result<(), Uncertain> {
    if closed.is_some_and(|closed| closed.is_the_end_of(journal)) {
        return Ok(());
    }
    let known = closed.map_or(Seq(0), |closed| closed.head.seq);
    let unread = |error| Uncertain {
        until: Some(known),
        error,
    };
    let mut tails = Vec::new();
    let mut wanted = GROUPS_AGAIN;
    for (_, path) in segments(journal).map_err(unread)?.into_iter().rev() {
        if wanted == 0 {
            break;
        }
        let tail = tail(&path, wanted).map_err(|error| unread(failed("reading", &path)(error)))?;
        wanted = wanted.saturating_sub(tail.group_count);
        tails.push(tail);
    }
    if tails.is_empty() {
        return Ok(());
    }
    let proven = tails.iter().find_map(|tail| tail.after).unwrap_or(Seq(0));
    // The older first: what follows on it must not be there without it.
    let again = tails.iter().rev().try_for_each(|tail| tail.write(disk));
    let again = again.and_then(|()| {
        let synced = disk.sync_folder(journal);
        synced.map_err(failed("syncing", journal))
    });
    again.map_err(|error| Uncertain {
        until: (!error.nobody_writes()).then_some(proven.max(known)),
        error,
    })
}

impl Tail {
    /// Writes it where it stands already, and syncs it.
    fn write(&self, disk: &dyn Disk) -> Result<(), JournalError> {
        let mut file = disk
            .open(&self.path)
            .map_err(failed("opening", &self.path))?;
        if !self.bytes.is_empty() {
            file.write_at(self.offset, &self.bytes)
                .map_err(failed("writing again the end of", &self.path))?;
        }
        file.sync().map_err(failed("syncing", &self.path))
    }
}

/// The last groups of a segment, as many as are wanted or as it has.
fn tail(path: &Path, wanted: usize) -> io::Result<Tail> {
    let mut file = File::open(path)?;
    let end = written_bytes(&mut file)?;
    let mut byte_count = TAIL_BYTES;
    loop {
        let offset = end.saturating_sub(byte_count);
        let bytes = read(&mut file, offset, end)?;
        let whole = offset == 0;
        let (start, group_count, after) = groups(&bytes, whole, wanted);
        let longest = byte_count > GROUP_BYTES_LONGEST.saturating_mul(GROUPS_AGAIN as u64);
        if whole || longest || group_count >= wanted {
            return Ok(Tail {
                path: path.to_owned(),
                offset: offset + start as u64,
                bytes: bytes.get(start..).unwrap_or_default().to_vec(),
                group_count,
                after,
            });
        }
        byte_count = byte_count.saturating_mul(4);
    }
}

/// How many bytes of a segment stand before the zeros at its end.
fn written_bytes(file: &mut File) -> io::Result<u64> {
    let mut end = file.metadata()?.len();
    while end > 0 {
        let from = end.saturating_sub(TAIL_BYTES);
        let bytes = read(file, from, end)?;
        let written = without_zeros(&bytes).len() as u64;
        if written > 0 {
            return Ok(from + written);
        }
        end = from;
    }
    Ok(0)
}

fn read(file: &mut File, from: u64, until: u64) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    file.seek(SeekFrom::Start(from))?;
    file.take(until - from).read_to_end(&mut bytes)?;
    Ok(bytes)
}

/// Where the last groups begin in the end of a segment, how many of them are whole there, and which
/// entry was on the disk before the last. `whole` says that nothing of the segment stands before.
fn groups(bytes: &[u8], whole: bool, wanted: usize) -> (usize, usize, Option<Seq>) {
    let mut before: Option<Seq> = None;
    let (mut last_after, mut count, mut start) = (None, 0, bytes.len());
    let mut lines = Vec::new();
    let mut at = 0;
    for line in bytes.split_inclusive(|byte| *byte == b'\n') {
        lines.push((at, line));
        at += line.len();
    }
    for (at, line) in lines.iter().rev() {
        if *at == 0 && !whole {
            return (0, count, last_after);
        }
        let parts = parse(line.strip_suffix(b"\n").unwrap_or(line));
        let Some(parts) = parts else {
            start = *at;
            continue;
        };
        match before {
            Some(after) if parts.seq > after => {}
            None => before = Some(parts.after),
            Some(_) => {
                count += 1;
                if count >= wanted {
                    return (start, count, last_after);
                }
                before = Some(parts.after);
            }
        }
        last_after = last_after.or(Some(parts.after));
        start = *at;
    }
    (0, count + usize::from(before.is_some()), last_after)
}
