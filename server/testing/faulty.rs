//! A disk with faults: it loses power, writes short, refuses or forgets, at the operation it is told.
//!
//! It serves the tests of what a book survives. Files are real, so that everything else reads them as
//! ever; beside them it keeps what a real disk would still have after a loss of power. The same seed
//! gives the same faults and the same losses.

use std::collections::HashMap;
use std::fs;
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
pub(crate) const FAULTS: [Fault; 5] = [
    Fault::PowerLoss,
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

#[derive(Debug)]
struct State {
    files: HashMap<PathBuf, Held>,
    /// Names that were given and are not certain: the file, and what had the name before.
    renamed: Vec<(PathBuf, PathBuf, Option<Held>)>,
    operation_count: u64,
    fault: Option<(u64, Fault)>,
    dead: bool,
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
            operation_count: 0,
            fault: None,
            dead: false,
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

    /// Makes the disk work again. After a loss of power its files are what a real disk would have
    /// kept of them; else they are as they are.
    pub(crate) fn recover(&self) {
        let mut state = self.state();
        state.fault = None;
        if std::mem::take(&mut state.dead) {
            state.lose();
        }
        state.files.clear();
        state.renamed.clear();
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
        Ok(fault.map(|(_, fault)| fault))
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
        for (from, to, before) in std::mem::take(&mut self.renamed).into_iter().rev() {
            if self.dice.random() {
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
        for (path, held) in std::mem::take(&mut self.files) {
            if !held.named && self.dice.random() {
                let _ = fs::remove_file(&path);
                continue;
            }
            fs::write(&path, self.kept(held)).unwrap();
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
        Fault::Broken | Fault::FailedSync => io::Error::other("the drive does not answer"),
    }
}

impl FaultyDisk {
    /// Counts an operation that either works or does nothing.
    fn pass(&self) -> io::Result<MutexGuard<'_, State>> {
        let mut state = self.state();
        match state.next()? {
            None => Ok(state),
            Some(fault) => {
                state.dead = fault == Fault::PowerLoss;
                Err(error_of(fault))
            }
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
        drop(self.pass()?);
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
        RealDisk.sync_folder(folder)
    }

    fn facts(&self, path: &Path) -> io::Result<FileFacts> {
        let _counted = self.pass()?;
        RealDisk.facts(path)
    }
}

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
            Some(Fault::ShortWrite | Fault::PowerLoss | Fault::Full) => &bytes[..bytes.len() / 2],
            Some(Fault::Broken | Fault::FailedSync) => &[],
        };
        let unsynced = &mut state.held(&self.path).unsynced;
        unsynced.push((offset, part.to_vec()));
        state.dead = fault == Some(Fault::PowerLoss);
        self.file.write_at(offset, part)?;
        fault.map_or(Ok(()), |fault| Err(error_of(fault)))
    }

    fn cut(&mut self, byte_count: u64) -> io::Result<()> {
        let mut state = self.disk.pass()?;
        self.file.cut(byte_count)?;
        let held = state.held(&self.path);
        held.durable = fs::read(&self.path)?;
        held.unsynced.clear();
        Ok(())
    }

    fn sync(&mut self) -> io::Result<()> {
        let mut state = self.disk.state();
        let fault = state.next()?;
        let kept = match fault {
            None => true,
            // The last moment: it may have been in time.
            Some(Fault::PowerLoss) => state.dice.random(),
            Some(_) => false,
        };
        let held = state.held(&self.path);
        if kept {
            held.durable = fs::read(&self.path)?;
        }
        if fault != Some(Fault::PowerLoss) || kept {
            held.unsynced.clear();
        }
        state.dead = fault == Some(Fault::PowerLoss);
        fault.map_or(Ok(()), |fault| Err(error_of(fault)))
    }
}
