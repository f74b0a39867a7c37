//! The ceilings: the same bytes put into a file in groups, one write and one fdatasync a group.
//!
//! Once without anybody who waits, which is the disk alone; once with callers who each wait for the
//! sync of their own line before they give the next. A file that only grows makes each sync write
//! down its new length too; on space made ahead a sync writes the bytes alone.

use std::fs::{File, OpenOptions};
use std::io::{self, Write};
use std::os::unix::fs::FileExt;
use std::path::Path;
use std::sync::Arc;
use std::time::Instant;

use rustix::fs::{FallocateFlags, fallocate};

use crate::Fault;
use crate::grouped::{Given, Grouped, Store};
use crate::measure::{Figures, figures, round};
use crate::plan::Plan;

/// Title of the file that grows.
pub(crate) const APPENDED: &str = "raw append + fdatasync";

/// Title of the file with space made ahead.
pub(crate) const AHEAD: &str = "raw write + fdatasync, space ahead";

/// Space made at once.
const STEP_BYTES: usize = 4 * 1024 * 1024;

/// Groups of as many lines as there are callers, nobody waiting.
pub(crate) fn alone(
    plan: &Plan,
    folder: &Path,
    line: &[u8],
    callers: usize,
) -> io::Result<Figures> {
    let mut file = append_to(&folder.join(format!("alone-{callers}")))?;
    let group = line.repeat(callers);
    let mut rounds = Vec::new();
    for _ in 0..plan.rounds {
        rounds.push(round(|| {
            let (start, mut waits) = (Instant::now(), Vec::new());
            while start.elapsed() < plan.round {
                let begun = Instant::now();
                file.write_all(&group)?;
                file.sync_data()?;
                waits.extend(std::iter::repeat_n(begun.elapsed(), callers));
            }
            Ok::<_, io::Error>(waits)
        })?);
    }
    Ok(figures(&rounds))
}

/// Callers who each wait for the sync of their own line.
pub(crate) fn called(
    plan: &Plan,
    folder: &Path,
    line: &Arc<[u8]>,
    callers: usize,
) -> Result<Figures, Fault> {
    let runtime = tokio::runtime::Runtime::new()?;
    let store = Appended::create(&folder.join(format!("called-{callers}")))?;
    let grouped = Grouped::start(runtime.handle(), line, store)?;
    let mut rounds = Vec::new();
    for _ in 0..plan.rounds {
        rounds.push(round(|| grouped.call(callers, plan.round))?);
    }
    grouped.close()?;
    Ok(figures(&rounds))
}

/// A file that grows with every group.
pub(crate) struct Appended {
    file: File,
    bytes: Vec<u8>,
}

impl Appended {
    /// An empty one.
    pub(crate) fn create(path: &Path) -> io::Result<Self> {
        Ok(Self {
            file: append_to(path)?,
            bytes: Vec::new(),
        })
    }
}

impl Store for Appended {
    fn commit(&mut self, group: &[Given]) -> Result<(), Fault> {
        gather(group, &mut self.bytes);
        self.file.write_all(&self.bytes)?;
        Ok(self.file.sync_data()?)
    }
}

/// A file whose space is made and filled with zeros ahead of the lines.
pub(crate) struct Ahead {
    file: File,
    bytes: Vec<u8>,
    zeros: Vec<u8>,
    end: u64,
    space_end: u64,
}

impl Ahead {
    /// An empty one.
    pub(crate) fn create(path: &Path) -> io::Result<Self> {
        Ok(Self {
            file: File::create(path)?,
            bytes: Vec::new(),
            zeros: vec![0; STEP_BYTES],
            end: 0,
            space_end: 0,
        })
    }
}

impl Store for Ahead {
    fn commit(&mut self, group: &[Given]) -> Result<(), Fault> {
        gather(group, &mut self.bytes);
        let end = self.end + self.bytes.len() as u64;
        while self.space_end < end {
            let (from, step) = (self.space_end, self.zeros.len() as u64);
            fallocate(&self.file, FallocateFlags::empty(), from, step)?;
            // Space that was only promised would be noted as used by the syncs that follow.
            self.file.write_all_at(&self.zeros, from)?;
            self.space_end = from + step;
        }
        self.file.write_all_at(&self.bytes, self.end)?;
        self.end = end;
        Ok(self.file.sync_data()?)
    }
}

fn gather(group: &[Given], bytes: &mut Vec<u8>) {
    bytes.clear();
    for given in group {
        bytes.extend_from_slice(&given.line);
    }
}

fn append_to(path: &Path) -> io::Result<File> {
    OpenOptions::new().create(true).append(true).open(path)
}
