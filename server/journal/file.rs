//! The journal in files: one writer that appends groups of lines.
//!
//! It serves the desk. A group costs one write and one sync; a failed write or sync stops it for
//! good, because after that nobody can say what is on the disk. What has to be there before a line
//! is written, a file and the space in it, is made first: when that fails nothing was written, and
//! it may be tried again.

use std::io;
use std::path::PathBuf;
use std::sync::Arc;

use fettlebook_model::Seq;

use super::chain::Chain;
use super::closed::{Closed, ClosedPlace};
use super::cut_off::put_aside;
use super::disk::{Disk, DiskFile};
use super::line::{self, Line};
use super::survey::{Survey, TornTail};
use super::sweep::Reached;
use super::walk::segment_name;
use super::{Damage, Head, Journal, JournalError, Mark, Position, failed};
use crate::limits::{SET_ASIDE_BYTES, SET_ASIDE_GROUPS_MIN};

/// How a line is written: into what, after which chain value, which line, its number, and the entry
/// that is on the disk by then. None where it is no line of this number.
type Write = fn(&mut Vec<u8>, &Chain, &Line, Seq, Seq) -> Option<Chain>;

/// A journal in a folder of segment files.
#[derive(Debug)]
pub struct FileJournal {
    folder: PathBuf,
    disk: Arc<dyn Disk>,
    segment_bytes_max: u64,
    /// The current segment, once it has been written to.
    file: Option<Box<dyn DiskFile>>,
    /// How long the current segment is, space set aside included.
    file_bytes: u64,
    head: Head,
    /// Where the next line begins.
    end: Position,
    /// Bytes written since the journal was opened.
    written_bytes: u64,
    stopped: Option<String>,
    buffer: Vec<u8>,
    /// Where it is said how the journal was closed, and what was said last.
    closes: Option<(ClosedPlace, Option<Closed>)>,
}

impl FileJournal {
    /// Opens a surveyed journal for writing, and sets right what a torn last line needs.
    ///
    /// # Errors
    /// The survey's damage, or what a later program wrote, if it has one: neither is ever written
    /// behind. Or what the disk says.
    pub fn open(
        folder: PathBuf,
        disk: Arc<dyn Disk>,
        survey: &Survey,
        segment_bytes_max: u64,
    ) -> Result<Self, JournalError> {
        if let Some(damage) = &survey.damage {
            return Err(damage.clone().into());
        }
        if let Some(newer) = &survey.newer {
            return Err(JournalError::Stopped(newer.to_string()));
        }
        let mut journal = Self {
            folder,
            disk,
            segment_bytes_max,
            file: None,
            file_bytes: 0,
            head: survey.head.clone(),
            end: survey.end,
            written_bytes: 0,
            stopped: None,
            buffer: Vec::new(),
            closes: None,
        };
        if journal.end.offset > 0 {
            let path = journal.segment_path();
            let facts = journal.disk.facts(&path);
            journal.file_bytes = facts.map_err(failed("looking at", &path))?.byte_count;
        }
        match &survey.torn {
            None => {}
            Some(TornTail::Cut { byte_count, .. }) => {
                put_aside(
                    &journal.folder,
                    journal.disk.as_ref(),
                    &journal.end,
                    *byte_count,
                )?;
                journal.cut()?;
            }
            Some(TornTail::Unended { .. }) => {
                journal.buffer.push(b'\n');
                journal.make_room()?;
                journal.write_out()?;
                journal.end.offset += 1;
            }
        }
        Ok(journal)
    }

    /// Says in a place, whenever the journal is closed, up to where it is certain; and at once where
    /// nothing was said yet, so that an end that is not whole can be told from one that was lost.
    pub fn marked_in(&mut self, place: ClosedPlace) {
        let said = place.read();
        let unsaid = said.is_none();
        self.closes = Some((place, said));
        if unsaid && let Err(error) = self.say_closed() {
            tracing::warn!(%error, "it could not be said up to where the journal is certain");
        }
    }

    /// Writes down that everything up to here is on the disk, unless that was said already.
    fn say_closed(&mut self) -> Result<(), JournalError> {
        let now = Closed {
            head: self.head.clone(),
            end: self.end,
        };
        let Some((place, said)) = &mut self.closes else {
            return Ok(());
        };
        if said.as_ref() != Some(&now) {
            let written = place.write(&now, self.disk.as_ref());
            written.map_err(failed(
                "saying how the journal was closed in",
                &place.folder,
            ))?;
            *said = Some(now);
        }
        Ok(())
    }

    /// Cuts what follows the last line off the current segment.
    fn cut(&mut self) -> Result<(), JournalError> {
        let (path, end) = (self.segment_path(), self.end.offset);
        let cut = self.segment()?.cut(end).map_err(failed("cutting", &path));
        if let Err(error) = &cut {
            self.stopped = Some(error.to_string());
        }
        self.file_bytes = end;
        cut
    }

    /// Begins the next segment when the current one is full.
    fn roll(&mut self) -> Result<(), JournalError> {
        if self.end.offset >= self.segment_bytes_max {
            self.give_back()?;
            self.file = None;
            self.end.segment = self.end.seq.0;
            self.end.offset = 0;
        }
        Ok(())
    }

    /// Cuts off the space that was set aside and is not needed.
    fn give_back(&mut self) -> Result<(), JournalError> {
        if self.file_bytes > self.end.offset {
            self.cut()?;
        }
        Ok(())
    }

    /// The current segment, opened when it is not; its name is durable then.
    fn segment(&mut self) -> Result<&mut Box<dyn DiskFile>, JournalError> {
        let path = self.segment_path();
        match &mut self.file {
            Some(file) => Ok(file),
            none => {
                let file = self.disk.open(&path).map_err(failed("opening", &path))?;
                self.file_bytes = file.byte_count().map_err(failed("reading", &path))?;
                if self.end.offset == 0
                    && let Err(error) = self.disk.sync_folder(&self.folder)
                {
                    let error = failed("syncing", &self.folder)(error);
                    self.stopped = Some(error.to_string());
                    return Err(error);
                }
                Ok(none.insert(file))
            }
        }
    }

    /// Refuses to write to a file that is not, under its name, the one that was written to before: what
    /// would be acknowledged could not be found again.
    fn check_file(&mut self) -> Result<(), JournalError> {
        if self.end.offset == 0 {
            return Ok(());
        }
        let path = self.segment_path();
        let named = match self.disk.facts(&path) {
            Err(error) if error.kind() == io::ErrorKind::NotFound => {
                return Err(self.meddled(Seq(self.end.segment), "was removed"));
            }
            facts => facts.map_err(failed("looking at", &path))?,
        };
        let known_bytes = self.file_bytes;
        let held = self.segment()?.facts();
        let held = held.map_err(failed("looking at", &path))?;
        if !held.is_same_file(&named) {
            return Err(self.meddled(Seq(self.end.segment), "was replaced by another file"));
        }
        if held.byte_count < known_bytes {
            return Err(self.meddled(self.head.seq, "was cut shorter"));
        }
        if held.byte_count > known_bytes {
            return Err(self.meddled(self.end.seq, "was written to by another program"));
        }
        Ok(())
    }

    /// Stops the journal because of what somebody else did to its file.
    fn meddled(&mut self, seq: Seq, what: &str) -> JournalError {
        let name = segment_name(self.end.segment);
        let what = format!("cannot be relied on: {name} {what} while the book was open");
        let damage = Damage { seq, what };
        self.stopped = Some(damage.to_string());
        damage.into()
    }

    /// Fills the place where the buffer will be written with zeros, so that a disk without room says
    /// so before anything is written; and more than that where it makes the next syncs cheaper.
    fn make_room(&mut self) -> Result<(), JournalError> {
        let (path, end) = (self.segment_path(), self.end.offset);
        self.segment()?;
        let needed = self.buffer.len() as u64;
        let (from, until) = (self.file_bytes.max(end), end + needed);
        if until <= from {
            return Ok(());
        }
        let pays = needed * SET_ASIDE_GROUPS_MIN <= SET_ASIDE_BYTES;
        let aside = self.written_bytes.min(SET_ASIDE_BYTES) * u64::from(pays);
        let made = self.fill(from, until + aside);
        // The zeros that were written may stay: they are space set aside.
        made.or_else(|_| self.fill(from, until))
            .map_err(failed("making room in", &path))
    }

    /// Fills the current segment with zeros.
    fn fill(&mut self, from: u64, until: u64) -> io::Result<()> {
        let Some(file) = &mut self.file else {
            return Err(io::Error::other("it is not open"));
        };
        let filled = fill(&mut **file, from, until);
        // Zeros that were written before it failed stay there, as space set aside: they are no other
        // program's.
        let there = match &filled {
            Ok(()) => until,
            Err(_) => file.byte_count().unwrap_or_default(),
        };
        self.file_bytes = self.file_bytes.max(there);
        filled
    }

    /// Appends lines of another journal of the book, byte for byte as they were there.
    ///
    /// # Errors
    /// Those of [`Journal::append`].
    pub fn append_copies(
        &mut self,
        expected: &Head,
        lines: &[Line],
    ) -> Result<Vec<Mark>, JournalError> {
        self.put(expected, lines, line::copy)
    }

    /// Puts the lines into the buffer and gives their marks.
    fn lay_out(&mut self, lines: &[Line], write: Write) -> Result<Vec<Mark>, JournalError> {
        self.buffer.clear();
        let mut marks = Vec::with_capacity(lines.len());
        let mut at = self.end;
        let mut chain = self.head.chain;
        for line in lines {
            let before = self.buffer.len();
            chain = write(&mut self.buffer, &chain, line, at.seq, self.head.seq)
                .ok_or(JournalError::Malformed(at.seq))?;
            marks.push(Mark { at, chain });
            at.offset += (self.buffer.len() - before) as u64;
            at.seq = at.seq.next();
        }
        Ok(marks)
    }

    /// Writes the buffer at the end of the segment and makes it durable.
    fn write_out(&mut self) -> Result<(), JournalError> {
        let (path, end) = (self.segment_path(), self.end.offset);
        let Some(file) = &mut self.file else {
            let gone = io::Error::other("it is not open");
            return Err(failed("writing to", &path)(gone));
        };
        if let Err(error) = file.write_at(end, &self.buffer) {
            let full = is_full(&error);
            let error = failed("writing to", &path)(error);
            return Err(if full { self.take_back(error) } else { error });
        }
        file.sync().map_err(failed("syncing", &path))
    }

    /// Takes a group back of which the disk had no room for all, though space was set aside: some file
    /// systems need room to write over what is there. Once it is off again, durably, nothing of the
    /// group is there, and it may be tried again.
    fn take_back(&mut self, error: JournalError) -> JournalError {
        match self.cut() {
            Ok(()) => self.unready(error),
            Err(_) => error,
        }
    }

    /// Lays lines out, writes them and makes them durable.
    fn put(
        &mut self,
        expected: &Head,
        lines: &[Line],
        write: Write,
    ) -> Result<Vec<Mark>, JournalError> {
        if let Some(reason) = &self.stopped {
            return Err(JournalError::Stopped(reason.clone()));
        }
        if *expected != self.head {
            let (expected, actual) = (expected.seq, self.head.seq);
            return Err(JournalError::HeadMoved { expected, actual });
        }
        if lines.is_empty() {
            return Ok(Vec::new());
        }
        self.roll().map_err(|error| self.unready(error))?;
        let marks = self.lay_out(lines, write)?;
        self.check_file().map_err(|error| self.unready(error))?;
        self.make_room().map_err(|error| self.unready(error))?;
        if let Err(error) = self.write_out() {
            if !matches!(error, JournalError::Unready { .. }) {
                self.stopped = Some(error.to_string());
            }
            return Err(error);
        }
        let byte_count = self.buffer.len() as u64;
        self.written_bytes = self.written_bytes.saturating_add(byte_count);
        self.end.offset += byte_count;
        if let Some(last) = marks.last() {
            self.head = last.head();
            self.end.seq = last.at.seq.next();
        }
        Ok(marks)
    }

    /// The error for what could not be made ready, unless it stopped the journal.
    fn unready(&self, error: JournalError) -> JournalError {
        match error {
            JournalError::Disk {
                action,
                path,
                source,
            } if self.stopped.is_none() => JournalError::Unready {
                action,
                path,
                source,
            },
            error => error,
        }
    }

    fn segment_path(&self) -> PathBuf {
        self.folder.join(segment_name(self.end.segment))
    }
}

impl Journal for FileJournal {
    fn append(&mut self, expected: &Head, lines: &[Line]) -> Result<Vec<Mark>, JournalError> {
        self.put(expected, lines, line::write)
    }

    fn head(&self) -> Head {
        self.head.clone()
    }

    fn reached(&self) -> Reached {
        Reached {
            next: self.end,
            chain: self.head.chain,
        }
    }

    fn close(&mut self) -> Result<(), JournalError> {
        if self.stopped.is_some() {
            return Ok(());
        }
        if self.file.is_some() {
            self.give_back()?;
        }
        self.say_closed()
    }
}

/// What a file is filled with, and no more at a time: a list of all zeros would be memory that the system has to give
/// anew each time.
static ZEROS: [u8; 64 * 1024] = [0; 64 * 1024];

/// Fills a file with zeros.
fn fill(file: &mut dyn DiskFile, mut from: u64, until: u64) -> io::Result<()> {
    while from < until {
        let left = usize::try_from(until - from).unwrap_or(usize::MAX);
        let zeros = ZEROS.get(..left).unwrap_or(&ZEROS);
        file.write_at(from, zeros)?;
        from += zeros.len() as u64;
    }
    Ok(())
}

/// Whether a disk refused for want of room.
fn is_full(error: &io::Error) -> bool {
    use io::ErrorKind::{QuotaExceeded, StorageFull};
    matches!(error.kind(), StorageFull | QuotaExceeded)
}
