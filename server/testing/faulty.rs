//! A disk with faults: it loses power, writes short, refuses or forgets, at the operation it is told.
//!
//! It serves the tests of what a book survives. Files are real, so that everything else reads them as
//! ever; beside them it keeps what a real disk would still have after a loss of power. What a process
//! wrote and did not sync is read by every later process, and lost with the power all the same; a sync
//! that failed leaves pages that no later sync writes. The same seed gives the same faults and the same
//! losses.

use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::fs::{self, OpenOptions};
use std::io;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard};

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use crate::journal::{Disk, DiskFile, FileFacts, RealDisk};

/// The smallest piece that a disk writes whole, in bytes.
const SECTOR_BYTES: usize = 512;

/// What goes wrong.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Fault {
    /// The machine loses power: nothing works any more, and what was not synced may be lost.
    PowerLoss,
    /// The process is killed, perhaps in the middle of a write; what the system holds stays.
    Kill,
    /// A write ends half-way.
    ShortWrite,
    /// An operation fails as a broken drive does.
    Broken,
    /// There is no room.
    Full,
    /// A sync fails, and what it should have kept is lost without a further word.
    FailedSync,
}

/// Every fault there is.
pub(crate) const FAULTS: [Fault; 6] = [
    Fault::PowerLoss,
    Fault::Kill,
    Fault::ShortWrite,
    Fault::Broken,
    Fault::Full,
    Fault::FailedSync,
];

/// What a disk really holds of a file.
#[derive(Debug, Default, Clone)]
struct Held {
    /// The bytes that are certain.
    durable: Vec<u8>,
    /// Writes that are not synced yet.
    unsynced: Vec<(u64, Vec<u8>)>,
    /// Whether the file's name is certain.
    named: bool,
}

impl Held {
    /// What was written becomes certain.
    fn settle(&mut self) {
        for (offset, written) in std::mem::take(&mut self.unsynced) {
            lay(&mut self.durable, offset as usize, &written);
        }
    }
}

/// Puts bytes at a place of others; a gap before them reads as zeros.
fn lay(bytes: &mut Vec<u8>, offset: usize, written: &[u8]) {
    let end = offset + written.len();
    bytes.resize(bytes.len().max(end), 0);
    bytes[offset..end].copy_from_slice(written);
}

#[derive(Debug)]
struct State {
    files: HashMap<PathBuf, Held>,
    /// Names that were given and are not certain: the file, and what had the name before.
    renamed: Vec<(PathBuf, PathBuf, Option<Held>)>,
    /// Folders that were made and whose names are not certain.
    made: Vec<PathBuf>,
    operation_count: u64,
    fault: Option<(u64, Fault)>,
    dead: bool,
    /// Whether the power is gone too.
    dark: bool,
    dice: ChaCha8Rng,
}

/// A disk with faults. Clones are the same disk.
#[derive(Debug, Clone)]
pub(crate) struct FaultyDisk(Arc<Mutex<State>>);

impl FaultyDisk {
    pub(crate) fn new(seed: u64) -> Self {
        Self(Arc::new(Mutex::new(State {
            files: HashMap::new(),
            renamed: Vec::new(),
            made: Vec::new(),
            operation_count: 0,
            fault: None,
            dead: false,
            dark: false,
            dice: ChaCha8Rng::seed_from_u64(seed),
        })))
    }

    fn state(&self) -> MutexGuard<'_, State> {
        self.0.lock().unwrap()
    }

    /// How many operations it was asked for.
    pub(crate) fn operation_count(&self) -> u64 {
        self.state().operation_count
    }

    /// Makes the operation after the next `passing` ones fail.
    pub(crate) fn fail_after(&self, passing: u64, fault: Fault) {
        let mut state = self.state();
        state.fault = Some((state.operation_count + passing, fault));
    }

    /// Makes the disk work again for a new process. After a loss of power its files are what a real disk
    /// would have kept of them; else they are as they are, and what is not certain stays so.
    pub(crate) fn recover(&self) {
        let mut state = self.state();
        state.fault = None;
        state.dead = false;
        if std::mem::take(&mut state.dark) {
            state.lose();
        }
    }

    /// Takes the power away, whatever the disk was asked for last.
    pub(crate) fn cut_power(&self) {
        let mut state = self.state();
        (state.dead, state.dark) = (true, true);
    }
}

impl State {
    /// Counts an operation, and says what goes wrong with it.
    fn next(&mut self) -> io::Result<Option<Fault>> {
        if self.dead {
            return Err(io::Error::other("the power is gone"));
        }
        let now = self.operation_count;
        self.operation_count += 1;
        let fault = self.fault.take_if(|(at, _)| *at == now);
        let fault = fault.map(|(_, fault)| fault);
        self.dark = fault == Some(Fault::PowerLoss);
        self.dead = self.dark || fault == Some(Fault::Kill);
        Ok(fault)
    }

    /// The state of a file; one that was there before is certain.
    fn held(&mut self, path: &Path) -> &mut Held {
        self.files.entry(path.to_owned()).or_insert_with(|| {
            let found = fs::read(path);
            Held {
                named: found.is_ok(),
                durable: found.unwrap_or_default(),
                unsynced: Vec::new(),
            }
        })
    }

    /// Puts in place of every file what the disk would have kept of it.
    fn lose(&mut self) {
        let mut standing = BTreeSet::new();
        for (from, to, before) in std::mem::take(&mut self.renamed).into_iter().rev() {
            // A name that stands was given after every earlier one.
            if standing.contains(&to) || self.dice.random() {
                standing.insert(to);
            } else {
                let moved = self
                    .files
                    .insert(to.clone(), before.clone().unwrap_or_default());
                self.files.insert(from, moved.unwrap_or_default());
                if before.is_none() {
                    self.files.remove(&to);
                    let _ = fs::remove_file(&to);
                }
            }
        }
        for folder in std::mem::take(&mut self.made) {
            if self.dice.random() {
                let _ = fs::remove_dir_all(&folder);
                self.files.retain(|path, _| !path.starts_with(&folder));
            }
        }
        let files: BTreeMap<PathBuf, Held> = std::mem::take(&mut self.files).into_iter().collect();
        for (path, held) in files {
            if !held.named && self.dice.random() {
                let _ = fs::remove_file(&path);
                continue;
            }
            let kept = self.kept(held);
            // The folder may be gone meanwhile, by other ways than this disk.
            let _ = fs::write(&path, kept);
        }
    }

    /// What is left of a file: all that was synced, and any sectors of what was not.
    fn kept(&mut self, held: Held) -> Vec<u8> {
        let mut bytes = held.durable;
        let share: f64 = [0.0, 0.3, 0.8, 1.0][self.dice.random_range(0..4)];
        let longer = self.dice.random();
        for (offset, written) in held.unsynced {
            let end = offset as usize + written.len();
            let mut at = offset as usize;
            while at < end {
                let until = (at / SECTOR_BYTES + 1) * SECTOR_BYTES;
                let until = until.min(end);
                if self.dice.random_bool(share) {
                    bytes.resize(bytes.len().max(until), 0);
                    bytes[at..until]
                        .copy_from_slice(&written[at - offset as usize..][..until - at]);
                }
                at = until;
            }
            if longer {
                bytes.resize(bytes.len().max(end), 0);
            }
        }
        bytes
    }
}

/// The error of a fault that does nothing else.
fn error_of(fault: Fault) -> io::Error {
    match fault {
        Fault::Full => io::Error::from(io::ErrorKind::StorageFull),
        Fault::ShortWrite => io::Error::from(io::ErrorKind::WriteZero),
        Fault::PowerLoss => io::Error::other("the power is gone"),
        Fault::Kill => io::Error::other("the process was killed"),
        Fault::Broken | Fault::FailedSync => io::Error::other("the drive does not answer"),
    }
}

impl FaultyDisk {
    /// Counts an operation that either works or does nothing.
    fn pass(&self) -> io::Result<MutexGuard<'_, State>> {
        let mut state = self.state();
        match state.next()? {
            None => Ok(state),
            Some(fault) => Err(error_of(fault)),
        }
    }
}

impl Disk for FaultyDisk {
    fn open(&self, path: &Path) -> io::Result<Box<dyn DiskFile>> {
        let mut state = self.pass()?;
        state.held(path);
        Ok(Box::new(FaultyFile {
            disk: self.clone(),
            path: path.to_owned(),
            file: RealDisk.open(path)?,
        }))
    }

    fn make_folder(&self, folder: &Path) -> io::Result<()> {
        let mut state = self.pass()?;
        let missing = folder.ancestors().take_while(|folder| !folder.exists());
        state.made.extend(missing.map(Path::to_owned));
        RealDisk.make_folder(folder)
    }

    fn rename(&self, from: &Path, to: &Path) -> io::Result<()> {
        let mut state = self.pass()?;
        let before = to.exists().then(|| state.held(to).clone());
        let mut held = state.held(from).clone();
        held.named = true;
        state.files.remove(from);
        state.files.insert(to.to_owned(), held);
        state.renamed.push((from.to_owned(), to.to_owned(), before));
        RealDisk.rename(from, to)
    }

    fn sync_folder(&self, folder: &Path) -> io::Result<()> {
        let mut state = self.pass()?;
        state
            .renamed
            .retain(|(_, to, _)| to.parent() != Some(folder));
        for (path, held) in &mut state.files {
            held.named |= path.parent() == Some(folder);
        }
        state.made.retain(|made| made.parent() != Some(folder));
        Ok(())
    }

    fn facts(&self, path: &Path) -> io::Result<FileFacts> {
        let _counted = self.pass()?;
        RealDisk.facts(path)
    }
}

#[derive(Debug)]
struct FaultyFile {
    disk: FaultyDisk,
    path: PathBuf,
    file: Box<dyn DiskFile>,
}

impl DiskFile for FaultyFile {
    fn byte_count(&self) -> io::Result<u64> {
        let _counted = self.disk.pass()?;
        self.file.byte_count()
    }

    fn facts(&self) -> io::Result<FileFacts> {
        let _counted = self.disk.pass()?;
        self.file.facts()
    }

    fn write_at(&mut self, offset: u64, bytes: &[u8]) -> io::Result<()> {
        let mut state = self.disk.state();
        let fault = state.next()?;
        let part = match fault {
            None => bytes,
            Some(Fault::Kill) => &bytes[..bytes.len() * state.dice.random_range(0..=4) / 4],
            Some(Fault::ShortWrite | Fault::PowerLoss | Fault::Full) => &bytes[..bytes.len() / 2],
            Some(Fault::Broken | Fault::FailedSync) => &[],
        };
        let unsynced = &mut state.held(&self.path).unsynced;
        unsynced.push((offset, part.to_vec()));
        self.file.write_at(offset, part)?;
        fault.map_or(Ok(()), |fault| Err(error_of(fault)))
    }

    fn cut(&mut self, byte_count: u64) -> io::Result<()> {
        let mut state = self.disk.pass()?;
        // Not synced in truth: what counts is what is held here.
        OpenOptions::new()
            .write(true)
            .open(&self.path)?
            .set_len(byte_count)?;
        let held = state.held(&self.path);
        held.settle();
        held.durable.resize(byte_count as usize, 0);
        Ok(())
    }

    fn sync(&mut self) -> io::Result<()> {
        let mut state = self.disk.state();
        let fault = state.next()?;
        let kept = match fault {
            None => true,
            // The last moment: it may have been in time.
            Some(Fault::PowerLoss | Fault::Kill) => state.dice.random(),
            Some(_) => false,
        };
        let held = state.held(&self.path);
        if kept {
            held.settle();
        } else if !matches!(fault, Some(Fault::PowerLoss | Fault::Kill)) {
            // The system holds it for written, and it is not.
            held.unsynced.clear();
        }
        fault.map_or(Ok(()), |fault| Err(error_of(fault)))
    }
}
