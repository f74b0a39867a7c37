//! The outbox of a device: lines of a client's own, kept in a journal until a shop has them.
//!
//! It serves people without signal. The lines are the client's; here they are only numbered, chained,
//! made durable and read back. A damaged outbox is never written to, and never thrown away.
//!
//! A line is the entry object `{"seq":N,"check":"<64 hex digits>","line":{…}}`. `check` is the
//! SHA-256 of 64 zeros and the exact bytes of the line, so that each can be trusted by itself when
//! those around it are damaged.

use std::fs::{self, File, OpenOptions, TryLockError};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::{Duration, Instant};

use fettlebook_model::Seq;
use serde::Deserialize;
use serde_json::value::RawValue;
use uuid::Uuid;

use super::damaged_lines::DamagedLines;
use super::error::{KeepError, failed};
use crate::journal::{
    Chain, ClosedPlace, Damage, Disk, FileJournal, Journal as _, JournalError, Line, RealDisk,
    Survey, TornTail, make_certain, parse, survey,
};
use crate::limits::{ENTRY_BYTES_MAX, LOCK_LOOK_EVERY, LOCK_WAIT_MAX, SEGMENT_BYTES_MAX};
use crate::store::folder::make_folder;

/// An outbox that is open for writing; dropping it lets go of it.
pub struct Outbox {
    journal: FileJournal,
    lines: Vec<Vec<u8>>,
    _held: File,
}

/// The entry object of a line.
#[derive(Deserialize)]
struct Entry<'a> {
    check: String,
    #[serde(borrow)]
    line: &'a RawValue,
}

impl Outbox {
    /// Opens the outbox in a folder, and begins one where there is none.
    ///
    /// # Errors
    /// When another process has it for longer than five seconds, its lines are damaged, or the disk
    /// fails.
    pub fn open(folder: &Path) -> Result<Self, KeepError> {
        Self::open_on(folder, Arc::new(RealDisk), LOCK_WAIT_MAX)
    }

    /// Opens it on a disk, waiting so long for others.
    pub(super) fn open_on(
        folder: &Path,
        disk: Arc<dyn Disk>,
        wait: Duration,
    ) -> Result<Self, KeepError> {
        let held = hold(folder, &*disk, wait)?;
        finish_replacing(folder)?;
        if !folder.is_dir() {
            begin(folder, &*disk)?;
        }
        let place = mark_of(folder);
        let closed = place.read();
        if closed.is_none() {
            sync_parent(folder, &*disk)?;
        }
        // Where nothing can be written nobody leaves anything half done.
        if let Err(uncertain) = make_certain(folder, &*disk, closed.as_ref())
            && uncertain.until.is_some()
        {
            return Err(uncertain.error.into());
        }
        let mut lines = Vec::new();
        let found = survey(folder, None, &mut |line| {
            let body = body(&line.entry).ok_or("is not a line of an outbox")?;
            lines.push(body);
            Ok(())
        })?;
        let lost = closed.as_ref().and_then(|closed| closed.missing_in(&found));
        let cut = unexplained(&found).filter(|_| closed.is_none());
        if let Some(damage) = found.damage.clone().or(lost).or(cut) {
            return Err(damaged(folder, &damage));
        }
        let mut journal = FileJournal::open(folder.to_owned(), disk, &found, SEGMENT_BYTES_MAX)?;
        journal.marked_in(place);
        Ok(Self {
            journal,
            lines,
            _held: held,
        })
    }

    /// The lines, in order.
    pub fn lines(&self) -> &[Vec<u8>] {
        &self.lines
    }

    /// Writes lines behind the others; when it returns they are durable.
    ///
    /// # Errors
    /// When a line is not JSON on one line or too long, or the disk refuses or fails.
    pub fn append(&mut self, lines: &[Vec<u8>]) -> Result<(), KeepError> {
        let head = self.journal.head();
        let numbered = lines.iter().zip(head.seq.0.saturating_add(1)..);
        let numbered: Result<Vec<Line>, KeepError> =
            numbered.map(|(line, seq)| entry(line, seq)).collect();
        self.journal.append(&head, &numbered?)?;
        self.lines.extend_from_slice(lines);
        Ok(())
    }
}

impl Drop for Outbox {
    fn drop(&mut self) {
        // What was appended is durable already; room that was set aside is given back, and the end
        // marked.
        let _ = self.journal.close();
    }
}

/// An outbox that no other process opens; dropping it lets go of it.
pub struct OutboxHold {
    _held: File,
}

/// Keeps other processes from opening the outbox in a folder, which need not be there.
///
/// # Errors
/// When another process has it for longer than five seconds, or the disk fails.
pub fn hold_outbox(folder: &Path) -> Result<OutboxHold, KeepError> {
    let held = hold(folder, &RealDisk, LOCK_WAIT_MAX)?;
    Ok(OutboxHold { _held: held })
}

/// Reads what can still be read of a damaged outbox: its lines in order, nothing in the place of one
/// that cannot be trusted.
///
/// # Errors
/// When another process has it open, or a file cannot be read.
pub fn rescue_outbox(folder: &Path) -> Result<Vec<Option<Vec<u8>>>, KeepError> {
    let _held = hold(folder, &RealDisk, LOCK_WAIT_MAX)?;
    finish_replacing(folder)?;
    let mut damaged = DamagedLines::survey(folder)?;
    let scraps = damaged.scraps().to_vec();
    let read = scraps.iter().map(|scrap| {
        let line = damaged.line(scrap)?;
        Ok(parse(&line).and_then(|parts| body(parts.entry)))
    });
    read.collect()
}

/// Puts a new outbox of these lines in the place of a damaged one, and gives where that one is now.
///
/// The new one is written beside it, whole, before any name changes; a rename that was cut off
/// between the two is finished when the outbox is opened again.
///
/// # Errors
/// When another process has it open, or the disk fails.
pub fn replace_outbox(folder: &Path, lines: &[Vec<u8>]) -> Result<PathBuf, KeepError> {
    let _held = hold(folder, &RealDisk, LOCK_WAIT_MAX)?;
    finish_replacing(folder)?;
    let new = beside(folder, "new");
    if new.exists() {
        fs::remove_dir_all(&new).map_err(failed("removing", &new))?;
    }
    begin(&new, &RealDisk)?;
    let empty = survey(&new, None, &mut |_| Ok(()))?;
    let disk: Arc<dyn Disk> = Arc::new(RealDisk);
    let mut journal = FileJournal::open(new.clone(), disk, &empty, SEGMENT_BYTES_MAX)?;
    journal.marked_in(mark_of(&new));
    let numbered: Result<Vec<Line>, KeepError> = lines
        .iter()
        .zip(1..)
        .map(|(line, seq)| entry(line, seq))
        .collect();
    let head = journal.head();
    journal.append(&head, &numbered?)?;
    journal.close()?;
    let mut kept = (1_u32..).map(|number| beside(folder, &format!("damaged-{number}")));
    let aside = kept.find(|path| !path.exists()).unwrap_or_default();
    fs::rename(folder, &aside).map_err(failed("renaming", folder))?;
    fs::rename(&new, folder).map_err(failed("renaming", &new))?;
    sync_parent(folder, &RealDisk)?;
    Ok(aside)
}

/// Where it is marked up to which line an outbox is certain: inside it, as it may get another name. An
/// outbox has one life only.
fn mark_of(folder: &Path) -> ClosedPlace {
    ClosedPlace {
        folder: folder.to_owned(),
        owner: Uuid::nil(),
    }
}

/// An end that is not whole, for an outbox of which nothing says whether it ever was.
fn unexplained(found: &Survey) -> Option<Damage> {
    let cut = matches!(found.torn, Some(TornTail::Cut { .. }));
    cut.then(|| Damage {
        seq: found.head.seq.next(),
        what: "is not whole, and nothing tells whether it ever was".to_owned(),
    })
}

/// The bytes of an entry object that carries a line.
fn entry(line: &[u8], seq: u64) -> Result<Line, KeepError> {
    let check = Chain::ZERO.link(line);
    let mut bytes = format!("{{\"seq\":{seq},\"check\":\"{check}\",\"line\":").into_bytes();
    bytes.extend_from_slice(line);
    bytes.push(b'}');
    let read_back = body(&bytes).is_some_and(|body| body == line);
    if bytes.len() > ENTRY_BYTES_MAX || !read_back {
        return Err(JournalError::Malformed(Seq(seq)).into());
    }
    Ok(Line::of(bytes))
}

/// The line in an entry object; nothing when it is not one that was written here.
fn body(entry: &[u8]) -> Option<Vec<u8>> {
    let found: Entry<'_> = serde_json::from_slice(entry).ok()?;
    let line = found.line.get().as_bytes();
    let check = Chain::from_digits(found.check.as_bytes())?;
    (check == Chain::ZERO.link(line)).then(|| line.to_vec())
}

/// Keeps other processes off the outbox. The lock lies beside it, because the outbox itself may be
/// replaced.
fn hold(folder: &Path, disk: &dyn Disk, wait: Duration) -> Result<File, KeepError> {
    let path = beside(folder, "lock");
    if let Some(parent) = path.parent().filter(|parent| !parent.is_dir()) {
        make_folder(parent, disk).map_err(failed("making", parent))?;
    }
    let mut options = OpenOptions::new();
    options.read(true).write(true).create(true).truncate(false);
    let file = options.open(&path).map_err(failed("opening", &path))?;
    let start = Instant::now();
    loop {
        match file.try_lock() {
            Ok(()) => return Ok(file),
            Err(TryLockError::WouldBlock) if start.elapsed() < wait => {
                std::thread::sleep(LOCK_LOOK_EVERY);
            }
            Err(TryLockError::WouldBlock) => {
                let folder = folder.to_owned();
                return Err(KeepError::OutboxInUse { folder });
            }
            Err(TryLockError::Error(error)) => return Err(failed("locking", &path)(error)),
        }
    }
}

/// Makes the folder of an outbox, durably.
fn begin(folder: &Path, disk: &dyn Disk) -> Result<(), KeepError> {
    disk.make_folder(folder).map_err(failed("making", folder))?;
    sync_parent(folder, disk)
}

/// Ends a replacement that was cut off between its two renames.
fn finish_replacing(folder: &Path) -> Result<(), KeepError> {
    let new = beside(folder, "new");
    if new.is_dir() && !folder.exists() {
        fs::rename(&new, folder).map_err(failed("renaming", &new))?;
        sync_parent(folder, &RealDisk)?;
    }
    Ok(())
}

fn sync_parent(folder: &Path, disk: &dyn Disk) -> Result<(), KeepError> {
    let Some(parent) = folder.parent() else {
        return Ok(());
    };
    disk.sync_folder(parent).map_err(failed("syncing", parent))
}

/// A path beside the outbox: `outbox.lock`.
fn beside(folder: &Path, ending: &str) -> PathBuf {
    let mut name = folder.file_name().unwrap_or_default().to_owned();
    name.push(".");
    name.push(ending);
    folder.with_file_name(name)
}

fn damaged(folder: &Path, damage: &Damage) -> KeepError {
    KeepError::OutboxDamaged {
        folder: folder.to_owned(),
        what: damage.what.clone(),
        line: damage.seq,
    }
}
