//! Reading a journal in files back, beside whoever appends to it.

use std::path::PathBuf;

use fettlebook_model::Seq;

use super::survey::{Survey, Untaken, survey_until};
use super::sweep::{Reached, ReadThrough, Sweep};
use super::walk::{Stop, Walk};
use super::{JournalError, Lines, Mark, Position, ReadLine, Reader};

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
    fn survey(
        &self,
        from: Option<&Mark>,
        until: Option<Seq>,
        visit: &mut dyn FnMut(&ReadLine) -> Result<(), Untaken>,
    ) -> Result<Survey, JournalError> {
        survey_until(&self.folder, from, until, visit)
    }

    fn read(&self, from: Position, until: Seq) -> Result<Lines, JournalError> {
        let walk = Walk::from(&self.folder, from).map_err(Stop::into_error)?;
        Ok(Box::new(Reading {
            walk: Some(walk),
            next: from.seq,
            until,
        }))
    }

    fn read_through(
        &self,
        from: &Reached,
        until: Seq,
        go_on: &(dyn Fn() -> bool + Sync),
    ) -> Result<ReadThrough, JournalError> {
        Sweep::new(&self.folder, until, go_on).run(from)
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
        let line = self.walk.as_mut()?.expect_line();
        if line.is_err() {
            self.walk = None;
        }
        self.next = self.next.next();
        Some(line)
    }
}
