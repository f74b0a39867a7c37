//! The book that is harmed: a long history of every kind of entry in many small segments.
//!
//! It serves the trials, which copy it. It is the same on every run, and is never harmed itself.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;
use std::sync::Arc;

use fettlebook_model::command::{FilmRead, JobLog, Said};
use fettlebook_model::film::{OfJob, PanelSpots};
use fettlebook_model::job::{Job, SecondDay};
use fettlebook_model::panel::Panel;
use fettlebook_model::{BodyHash, Book, Command, Entry, Moment, Tag};
use fettlebook_quantity::{Thickness, Volume};
use fettlebook_server::desk::{Clock, Desk, DeskOptions};
use fettlebook_server::journal::{FileJournal, Head, Journal as _, Line, RealDisk, survey};
use fettlebook_server::store::FolderStore;
use jiff::SignedDuration;
use proptest::strategy::{Strategy as _, ValueTree as _};
use proptest::test_runner::TestRunner;
use tempfile::TempDir;
use uuid::Uuid;

use crate::laws::act::acts;
use crate::shop::{Shop, at, battery, delivery_of, id, make, saloon_job, tag, tern_quay};

/// Entries the book has at least.
const ENTRIES_MIN: usize = 300;
/// Bytes after which its journal begins a file.
const SEGMENT_BYTES_MAX: u64 = 12_000;
/// Kinds of deeds it has.
const DEED_KINDS: usize = 43;
/// Which book it is.
pub(crate) const BOOK_ID: Uuid = Uuid::from_u128(0x0192_4f00_0000_7000_8000_0000_0000_0001);

/// A clock that stands where the history ends.
struct Evening(Moment);

impl Clock for Evening {
    fn now(&self) -> Moment {
        self.0
    }
}

/// A segment as it was.
pub(crate) struct Segment {
    pub(crate) name: String,
    /// Its lines, line feeds included.
    pub(crate) lines: Vec<Vec<u8>>,
}

/// The book as it was.
pub(crate) struct Base {
    folder: TempDir,
    pub(crate) book: Book,
    pub(crate) entries: Vec<Entry>,
    /// Where the journal stood after each entry, the first before any.
    pub(crate) heads: Vec<Head>,
    pub(crate) segments: Vec<Segment>,
    now: Moment,
}

impl Base {
    /// Says random things to a shop in memory until its history is long enough, and makes a book
    /// of it.
    pub(crate) fn new() -> Self {
        let shop = told();
        let entries: Vec<Entry> = shop.entries.into_iter().map(requested).collect();
        let kinds: BTreeSet<String> = entries.iter().flat_map(kinds).collect();
        assert_eq!(kinds.len(), DEED_KINDS, "kinds of deeds: {kinds:?}");
        let mut base = Self {
            folder: tempfile::tempdir().unwrap(),
            book: Book::new(),
            entries,
            heads: Vec::new(),
            segments: Vec::new(),
            now: shop.now,
        };
        base.open_and_close();
        fs::remove_dir_all(base.folder.path().join("shelf")).unwrap();
        base.book = shop.book;
        base.heads = written(&base.folder.path().join("journal"), &base.entries);
        base.open_and_close();
        base.open_and_close();
        base.segments = segments(&base.folder.path().join("journal"));
        assert!(base.segments.len() >= 5, "{}", base.segments.len());
        base
    }

    /// What every opener gives the desk.
    pub(crate) fn options(&self) -> DeskOptions {
        DeskOptions::new(Arc::new(Evening(self.now)), BOOK_ID)
    }

    /// What says which book it is.
    pub(crate) fn identity(&self) -> Vec<u8> {
        fs::read(self.folder.path().join("book.json")).unwrap()
    }

    /// Copies the book.
    pub(crate) fn copy_to(&self, folder: &Path) {
        copy(self.folder.path(), folder);
    }

    /// Opens the book, which must be what it is, and closes it.
    fn open_and_close(&self) {
        let runtime = tokio::runtime::Builder::new_current_thread()
            .enable_all()
            .build()
            .unwrap();
        let (desk, report) = Desk::open(stored(self.folder.path()), &self.options()).unwrap();
        assert_eq!(report.read_only, None);
        assert_eq!(*desk.book(), self.book);
        runtime.block_on(desk.close()).unwrap();
    }
}

/// The book in a folder, whose journal is of several files.
pub(crate) fn stored(folder: &Path) -> Arc<FolderStore> {
    Arc::new(FolderStore::at(folder).in_files_of(SEGMENT_BYTES_MAX))
}

/// What random things seldom come to: a delivery, a towel that is binned, a label, a film that was read, a bottle
/// filled from another, a battery charged, for the jobs to run on, the first day of a job of two, a job called off, an
/// order of which no more is expected.
fn seldom(shop: &mut Shop) -> [Command; 9] {
    let said = Said::default;
    let came = shop.order_packs("tern-quay", "coarse-foam-150", 1);
    let order = id(&shop.order_packs("tern-quay", "coarse-foam-150", 1));
    shop.book_saloon("job-0", "2026-03-06 08:00");
    let second_day = Some(SecondDay {
        starts_at: at("2026-03-06 08:00"),
        from_step: None,
    });
    let job = Job {
        second_day,
        ..saloon_job("two-days", "2026-03-05 08:00")
    };
    shop.say(Command::BookJob { job });
    shop.receive_as("coarse-compound-1l", 1, |receipt| {
        receipt.volume_ul = Some(Volume::from_ul(200_000));
    });
    let bottles = shop
        .book
        .pieces()
        .filter(|piece| piece.make == id("coarse-compound-1l"));
    let bottles: Vec<Tag> = bottles.map(|piece| piece.tag).collect();
    let make = make("battery-18", battery(&["orbital-150"], 900));
    shop.say(Command::CreateMake { make });
    shop.receive("battery-18", 1);
    let (from, bottle) = (bottles[0], bottles[bottles.len() - 1]);
    [
        Command::ReceiveOrder(Box::new(delivery_of(&came))),
        Command::Bin {
            said: said(),
            tags: vec![tag("T-01")],
            reason: "lost".parse().unwrap(),
            count: Some(1),
        },
        Command::MarkLabelled {
            said: said(),
            tags: vec![bottle],
        },
        Command::RecordFilm(Box::new(FilmRead {
            said: said(),
            car: id("medium-saloon-silver"),
            of_job: Some(OfJob::Before(id("job-0"))),
            panels: vec![PanelSpots {
                panel: Panel::Bonnet,
                spots_um: [112, 115, 118].map(Thickness::from_um).to_vec(),
            }],
        })),
        Command::Charge {
            said: said(),
            tags: vec![tag("BT-01")],
        },
        Command::Fill {
            said: said(),
            bottle,
            from,
            volume_ul: Some(Volume::from_ul(100_000)),
        },
        Command::CloseOrder {
            said: said(),
            order,
        },
        Command::LogJob(Box::new(JobLog {
            job: Some(id("two-days")),
            first_day: true,
            ..JobLog::default()
        })),
        Command::CallOff {
            said: said(),
            job: id("job-0"),
        },
    ]
}

/// A shop to which random things were said, the same on every run.
fn told() -> Shop {
    let mut shop = Shop::stocked();
    shop.supply(tern_quay());
    shop.order_packs("tern-quay", "coarse-foam-150", 3);
    shop.book_saloon("job-1", "2026-03-05 08:00");
    for command in seldom(&mut shop) {
        shop.say(command);
    }
    let mut runner = TestRunner::deterministic();
    while shop.entries.len() < ENTRIES_MIN {
        for act in acts().new_tree(&mut runner).unwrap().current() {
            shop.now += SignedDuration::from_hours(act.wait_h);
            let command = act.command(&shop);
            let _ = shop.try_say(command);
        }
    }
    shop
}

/// The entry with a request of its own.
fn requested(mut entry: Entry) -> Entry {
    entry.request = Uuid::from_u128(BOOK_ID.as_u128() + u128::from(entry.seq.0));
    entry.body = BodyHash(u128::from(entry.seq.0).to_be_bytes());
    entry
}

/// The words for what an entry's deeds did.
fn kinds(entry: &Entry) -> Vec<String> {
    let json = serde_json::to_value(entry).unwrap();
    let deeds = json["deeds"].as_array().unwrap();
    deeds
        .iter()
        .map(|deed| deed["did"].as_str().unwrap().to_owned())
        .collect()
}

/// Writes a journal; where it stood after each entry.
fn written(folder: &Path, entries: &[Entry]) -> Vec<Head> {
    fs::create_dir_all(folder).unwrap();
    let found = survey(folder, None, &mut |_| Ok(())).unwrap();
    let disk = Arc::new(RealDisk);
    let mut journal =
        FileJournal::open(folder.to_owned(), disk, &found, SEGMENT_BYTES_MAX).unwrap();
    let mut heads = vec![journal.head()];
    for group in entries.chunks(3) {
        let lines: Vec<Line> = group
            .iter()
            .map(|entry| Line::of(serde_json::to_vec(entry).unwrap()))
            .collect();
        let marks = journal.append(&journal.head(), &lines).unwrap();
        heads.extend(marks.iter().map(fettlebook_server::journal::Mark::head));
    }
    heads
}

/// The segments of a journal.
fn segments(journal: &Path) -> Vec<Segment> {
    let mut names: Vec<String> = fs::read_dir(journal)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    names
        .into_iter()
        .map(|name| Segment {
            lines: lines(&fs::read(journal.join(&name)).unwrap()),
            name,
        })
        .collect()
}

/// The lines of a segment, without the zeros that may stand after the last.
pub(crate) fn lines(bytes: &[u8]) -> Vec<Vec<u8>> {
    let end = bytes
        .iter()
        .rposition(|byte| *byte != 0)
        .map_or(0, |at| at + 1);
    bytes[..end]
        .split_inclusive(|byte| *byte == b'\n')
        .map(<[u8]>::to_vec)
        .collect()
}

fn copy(from: &Path, to: &Path) {
    fs::create_dir_all(to).unwrap();
    for entry in fs::read_dir(from).unwrap() {
        let entry = entry.unwrap();
        let target = to.join(entry.file_name());
        if entry.file_type().unwrap().is_dir() {
            copy(&entry.path(), &target);
        } else {
            fs::copy(entry.path(), target).unwrap();
        }
    }
}
