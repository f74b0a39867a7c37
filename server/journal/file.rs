//! The journal in files: one writer that appends groups of lines, and readers beside it.
//!
//! It serves the desk. A group costs one write and one sync; a failed write or sync stops it for
//! good, because after that nobody can say what is on the disk.

use std::path::PathBuf;
use std::sync::Arc;

use fettlebook_model::Seq;

use super::disk::{AppendFile, Disk};
use super::line::{self, FRAME_BYTES, Line};
use super::survey::{Survey, TornTail};
use super::walk::{Stop, Walk, segment_name};
use super::{Damage, Head, Journal, JournalError, Lines, Mark, Position, ReadLine, Reader, failed};

/// A journal in a folder of segment files.
pub struct FileJournal {
    folder: PathBuf,
    disk: Arc<dyn Disk>,
    segment_bytes_max: u64,
    file: Option<Box<dyn AppendFile>>,
    head: Head,
    /// Where the next line begins.
    end: Position,
    /// True until the name of the current segment is durable.
    folder_unsynced: bool,
    stopped: Option<String>,
    buffer: Vec<u8>,
}

impl FileJournal {
    /// Opens a surveyed journal for writing, and sets right what a torn last line needs.
    ///
    /// # Errors
    /// The survey's damage, if it has one: a damaged journal is never written to. Or what the disk
    /// says.
    pub fn open(
        folder: PathBuf,
        disk: Arc<dyn Disk>,
        survey: &Survey,
        segment_bytes_max: u64,
    ) -> Result<Self, JournalError> {
        if let Some(damage) = &survey.damage {
            return Err(damage.clone().into());
        }
        let mut journal = Self {
            folder,
            disk,
            segment_bytes_max,
            file: None,
            head: survey.head.clone(),
            end: survey.end,
            folder_unsynced: survey.end.offset == 0,
            stopped: None,
            buffer: Vec::new(),
        };
        match &survey.torn {
            None => {}
            Some(TornTail::Cut { .. }) => {
                let path = journal.segment_path();
                journal
                    .disk
                    .cut(&path, journal.end.offset)
                    .map_err(failed("cutting", &path))?;
            }
            Some(TornTail::Unended { .. }) => {
                journal.buffer.push(b'\n');
                journal.write_out()?;
                journal.end.offset += 1;
            }
        }
        Ok(journal)
    }

    /// Begins the next segment when the current one is full.
    fn roll(&mut self) {
        if self.end.offset >= self.segment_bytes_max {
            self.file = None;
            self.end.segment = self.end.seq.0;
            self.end.offset = 0;
            self.folder_unsynced = true;
        }
    }

    /// Puts the lines into the buffer and gives their marks.
    fn lay_out(&mut self, lines: &[Line]) -> Result<Vec<Mark>, JournalError> {
        self.buffer.clear();
        let mut marks = Vec::with_capacity(lines.len());
        let mut at = self.end;
        let mut chain = self.head.chain;
        for line in lines {
            if !line.is_entry(at.seq) {
                return Err(JournalError::Malformed(at.seq));
            }
            chain = chain.link(&line.0);
            line::write(&mut self.buffer, &chain, &line.0);
            marks.push(Mark { at, chain });
            at.offset += (line.0.len() + FRAME_BYTES) as u64;
            at.seq = at.seq.next();
        }
        Ok(marks)
    }

    /// Writes the buffer at the end of the segment and makes it durable.
    fn write_out(&mut self) -> Result<(), JournalError> {
        let path = self.segment_path();
        let file = match &mut self.file {
            Some(file) => file,
            none => none.insert(
                self.disk
                    .append_to(&path)
                    .map_err(failed("opening", &path))?,
            ),
        };
        file.append(&self.buffer)
            .map_err(failed("writing to", &path))?;
        file.sync().map_err(failed("syncing", &path))?;
        if self.folder_unsynced {
            let synced = self.disk.sync_folder(&self.folder);
            synced.map_err(failed("syncing", &self.folder))?;
            self.folder_unsynced = false;
        }
        Ok(())
    }

    fn segment_path(&self) -> PathBuf {
        self.folder.join(segment_name(self.end.segment))
    }
}

impl Journal for FileJournal {
    fn append(&mut self, expected: &Head, lines: &[Line]) -> Result<Vec<Mark>, JournalError> {
        if let Some(reason) = &self.stopped {
            return Err(JournalError::Stopped(reason.clone()));
        }
        if *expected != self.head {
            let (expected, actual) = (expected.seq, self.head.seq);
            return Err(JournalError::HeadMoved { expected, actual });
        }
        self.roll();
        let marks = self.lay_out(lines)?;
        let Some(last) = marks.last() else {
            return Ok(marks);
        };
        if let Err(error) = self.write_out() {
            self.stopped = Some(error.to_string());
            return Err(error);
        }
        self.head = last.head();
        self.end.seq = last.at.seq.next();
        self.end.offset += self.buffer.len() as u64;
        Ok(marks)
    }

    fn head(&self) -> Head {
        self.head.clone()
    }

    fn reader(&self) -> Arc<dyn Reader> {
        Arc::new(FileReader::new(self.folder.clone()))
    }
}

/// Reads a journal in a folder of segment files.
#[derive(Debug, Clone)]
pub struct FileReader {
    folder: PathBuf,
}

impl FileReader {
    /// A reader of the journal in this folder.
    pub const fn new(folder: PathBuf) -> Self {
        Self { folder }
    }
}

impl Reader for FileReader {
    fn read(&self, from: Position, until: Seq) -> Result<Lines, JournalError> {
        let walk = Walk::from(&self.folder, from).map_err(broken)?;
        Ok(Box::new(Reading {
            walk: Some(walk),
            next: from.seq,
            until,
        }))
    }
}

/// A walk that ends after the entry `until`.
struct Reading {
    walk: Option<Walk>,
    next: Seq,
    until: Seq,
}

impl Iterator for Reading {
    type Item = Result<ReadLine, JournalError>;

    fn next(&mut self) -> Option<Self::Item> {
        if self.next > self.until {
            return None;
        }
        let line = match self.walk.as_mut()?.advance() {
            Ok(Some(line)) => Ok(line),
            Ok(None) => Err(Damage {
                seq: self.next,
                what: "is missing".to_owned(),
            }
            .into()),
            Err(Stop::Torn { .. }) => Err(Damage {
                seq: self.next,
                what: "is cut off".to_owned(),
            }
            .into()),
            Err(stop) => Err(broken(stop)),
        };
        if line.is_err() {
            self.walk = None;
        }
        self.next = self.next.next();
        Some(line)
    }
}

/// The error of a walk that should not have stopped.
fn broken(stop: Stop) -> JournalError {
    match stop {
        Stop::Failed(error) => error,
        Stop::Damaged(damage) => damage.into(),
        Stop::Torn { byte_count } => {
            JournalError::Stopped(format!("its last line is cut off after {byte_count} bytes"))
        }
    }
}
