//! What tests of the server share: a disk that counts, waits and fails on demand, and a small shop.
//!
//! It serves tests only, and lies about nothing that it was not told to.

pub(crate) mod cuts;
pub(crate) mod faulty;
pub(crate) mod faulty_folder;
#[cfg(all(unix, feature = "postgres"))]
pub(crate) mod postgres;
#[cfg(all(unix, feature = "postgres"))]
pub(crate) mod relay;
pub(crate) mod stores;

use std::io;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicI64, AtomicUsize, Ordering};
use std::sync::{Arc, Condvar, Mutex};

use fettlebook_model::car::CarClass;
use fettlebook_model::command::{Counted, Receipt, Said};
use fettlebook_model::film::FilmReadings;
use fettlebook_model::job::Car;
use fettlebook_model::make::{Figures, Make, SundryFigures, Unit};
use fettlebook_model::{BodyHash, Command, Moment, Seq};
use sha2::{Digest, Sha256};
use uuid::Uuid;

use crate::desk::{Clock, Order};
use crate::journal::{
    Disk, DiskFile, FileFacts, FileJournal, Journal as _, Line, RealDisk, survey,
};
use crate::limits::SEGMENT_BYTES_MAX;

/// What a [`TestDisk`] was asked to do and what it shall do.
#[derive(Debug, Default)]
pub(crate) struct DiskState {
    pub(crate) appends: AtomicUsize,
    pub(crate) syncs: AtomicUsize,
    pub(crate) folder_syncs: AtomicUsize,
    synced_folders: Mutex<Vec<PathBuf>>,
    /// Appends to let pass before one writes half its bytes and fails; negative: none fails.
    appends_to_failure: AtomicI64,
    /// Syncs to let pass before one fails; negative: none fails.
    syncs_to_failure: AtomicI64,
    held: Mutex<bool>,
    released: Condvar,
}

/// The machine's disk, counted, and failing or waiting when told to.
#[derive(Debug, Clone)]
pub(crate) struct TestDisk(pub(crate) Arc<DiskState>);

impl TestDisk {
    pub(crate) fn new() -> Self {
        let state = DiskState::default();
        state.appends_to_failure.store(-1, Ordering::SeqCst);
        state.syncs_to_failure.store(-1, Ordering::SeqCst);
        Self(Arc::new(state))
    }

    /// Makes the append after the next `passing` ones write half its bytes and fail.
    pub(crate) fn fail_append_after(&self, passing: i64) {
        self.0.appends_to_failure.store(passing, Ordering::SeqCst);
    }

    /// Makes the sync after the next `passing` ones fail.
    pub(crate) fn fail_sync_after(&self, passing: i64) {
        self.0.syncs_to_failure.store(passing, Ordering::SeqCst);
    }

    /// Makes every sync wait until it is released.
    pub(crate) fn hold(&self) {
        *self.0.held.lock().unwrap() = true;
    }

    /// Lets syncs go on.
    pub(crate) fn release(&self) {
        *self.0.held.lock().unwrap() = false;
        self.0.released.notify_all();
    }

    /// The folders whose names were made durable, in that order.
    pub(crate) fn synced_folders(&self) -> Vec<PathBuf> {
        self.0.synced_folders.lock().unwrap().clone()
    }

    pub(crate) fn append_count(&self) -> usize {
        self.0.appends.load(Ordering::SeqCst)
    }

    pub(crate) fn sync_count(&self) -> usize {
        self.0.syncs.load(Ordering::SeqCst)
    }
}

impl Disk for TestDisk {
    /// Only what a segment is asked for counts, waits and fails.
    fn open(&self, path: &Path) -> io::Result<Box<dyn DiskFile>> {
        let file = RealDisk.open(path)?;
        if path.extension().is_none_or(|ending| ending != "jsonl") {
            return Ok(file);
        }
        let state = Arc::clone(&self.0);
        Ok(Box::new(TestFile { file, state }))
    }

    fn make_folder(&self, folder: &Path) -> io::Result<()> {
        RealDisk.make_folder(folder)
    }

    fn rename(&self, from: &Path, to: &Path) -> io::Result<()> {
        RealDisk.rename(from, to)
    }

    fn sync_folder(&self, folder: &Path) -> io::Result<()> {
        self.0
            .synced_folders
            .lock()
            .unwrap()
            .push(folder.to_owned());
        self.0.folder_syncs.fetch_add(1, Ordering::SeqCst);
        RealDisk.sync_folder(folder)
    }

    fn facts(&self, path: &Path) -> io::Result<FileFacts> {
        RealDisk.facts(path)
    }
}

#[derive(Debug)]
struct TestFile {
    file: Box<dyn DiskFile>,
    state: Arc<DiskState>,
}

impl DiskFile for TestFile {
    fn byte_count(&self) -> io::Result<u64> {
        self.file.byte_count()
    }

    fn facts(&self) -> io::Result<FileFacts> {
        self.file.facts()
    }

    fn write_at(&mut self, offset: u64, bytes: &[u8]) -> io::Result<()> {
        if bytes.iter().all(|byte| *byte == 0) {
            return self.file.write_at(offset, bytes);
        }
        self.state.appends.fetch_add(1, Ordering::SeqCst);
        if self.state.appends_to_failure.fetch_sub(1, Ordering::SeqCst) == 0 {
            self.file.write_at(offset, &bytes[..bytes.len() / 2])?;
            return Err(io::Error::from(io::ErrorKind::StorageFull));
        }
        self.file.write_at(offset, bytes)
    }

    fn cut(&mut self, byte_count: u64) -> io::Result<()> {
        self.file.cut(byte_count)
    }

    fn sync(&mut self) -> io::Result<()> {
        let mut held = self.state.held.lock().unwrap();
        while *held {
            held = self.state.released.wait(held).unwrap();
        }
        drop(held);
        self.state.syncs.fetch_add(1, Ordering::SeqCst);
        if self.state.syncs_to_failure.fetch_sub(1, Ordering::SeqCst) == 0 {
            return Err(io::Error::other("the drive does not answer"));
        }
        self.file.sync()
    }
}

/// A clock that stands until it is moved.
#[derive(Debug)]
pub(crate) struct TestClock(AtomicI64);

impl TestClock {
    /// A clock that stands at this second.
    pub(crate) fn at(text: &str) -> Arc<Self> {
        let moment: Moment = text.parse().unwrap();
        Arc::new(Self(AtomicI64::new(moment.as_second())))
    }

    /// Moves the clock by so many seconds, either way.
    pub(crate) fn shift(&self, seconds: i64) {
        self.0.fetch_add(seconds, Ordering::SeqCst);
    }
}

impl Clock for TestClock {
    fn now(&self) -> Moment {
        Moment::from_second(self.0.load(Ordering::SeqCst)).unwrap()
    }
}

/// A car to be set up, the smallest command there is.
pub(crate) fn new_car(id: &str) -> Command {
    let (note, dimensions, panels) = (String::new(), None, Vec::new());
    let car = Car {
        id: id.parse().unwrap(),
        class: CarClass::MediumSaloon,
        note,
        dimensions,
        panels,
        film: FilmReadings::default(),
    };
    Command::CreateCar { car }
}

/// An order for a command, with a new request id and a body hash that follows from the command.
pub(crate) fn order(command: Command) -> Order {
    let digest = Sha256::digest(format!("{command:?}"));
    let body = BodyHash(digest[..16].try_into().unwrap());
    Order {
        request: Uuid::now_v7(),
        body,
        by: "bench".to_owned(),
        command,
    }
}

/// Sets up gloves and receives one box of them, `S-01`: two entries.
pub(crate) fn gloves() -> [Command; 2] {
    let figures = SundryFigures {
        unit: Unit::Pair,
        pack_quantity: 50,
    };
    let make = Make {
        name: "nitrile gloves, box of 50 pairs".to_owned(),
        ..fettlebook_shed::make("nitrile-gloves", Figures::Sundry(figures))
    };
    let receipt = Receipt {
        tags: vec!["S-01".parse().unwrap()],
        ..fettlebook_shed::receipt(make.id.as_str(), 1)
    };
    [
        Command::CreateMake { make },
        Command::Receive(Box::new(receipt)),
    ]
}

/// A count of the gloves.
pub(crate) fn count_gloves(left: i64) -> Command {
    let count = Counted {
        quantity: Some(left),
        ..Counted::default()
    };
    Command::Count {
        said: Said::default(),
        tag: "S-01".parse().unwrap(),
        count,
    }
}

/// Appends entry objects to the journal of a book that nobody has open, as another program would: with
/// a chain that fits, whatever they say. Each is given without its number.
pub(crate) fn append_raw(book: &Path, entries: &[&str]) {
    let journal = book.join("journal");
    let found = survey(&journal, None, &mut |_| Ok(())).unwrap();
    let disk = Arc::new(RealDisk);
    let mut journal = FileJournal::open(journal, disk, &found, SEGMENT_BYTES_MAX).unwrap();
    for entry in entries {
        let (head, members) = (journal.head(), entry.strip_prefix('{').unwrap());
        let line = format!("{{\"seq\":{},{members}", head.seq.next());
        journal
            .append(&head, &[Line::of(line.into_bytes())])
            .unwrap();
    }
    journal.close().unwrap();
}

/// An entry object without its number, with these deeds, and further members before it.
pub(crate) fn raw_entry(members: &str, deeds: &str) -> String {
    let request = Uuid::now_v7();
    format!(
        "{{{members}\"recorded_at\":\"2026-03-02T08:00:00Z\",\"done_at\":\"2026-03-02T08:00:00Z\",\
         \"request\":\"{request}\",\"body\":\"00000000000000000000000000000000\",\"by\":\"bench\",\
         \"deeds\":{deeds}}}"
    )
}

/// An entry object of a kind of deed that comes later.
pub(crate) fn later_entry() -> String {
    raw_entry("", r#"[{"did":"lent","tag":"S-01","to":"van-b"}]"#)
}

/// A reversal of an entry.
pub(crate) fn reverse(seq: u64) -> Command {
    Command::Reverse {
        said: Said::default(),
        seq: Seq(seq),
        past: None,
    }
}
