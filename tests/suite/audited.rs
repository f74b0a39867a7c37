//! A journal too long to be read through at every command: what others did to it is found by whoever
//! writes next, alone and in a service, and it is not read again when nobody did anything.
//!
//! Goal: nothing is acknowledged behind a changed byte. Method: a book of more than eight megabytes is
//! written by the real client and the server's own desk; one bit is changed, near its beginning or its
//! end, with the shelf left whole; then the real binaries are asked to record.

use std::fs::{self, OpenOptions};
use std::io::{Read as _, Seek as _, SeekFrom, Write as _};
use std::path::{Path, PathBuf};
use std::process::{Command as Program, Output};
use std::sync::{Arc, OnceLock};

use fettlebook_model::command::{Counted, Said};
use fettlebook_model::{BodyHash, Command};
use fettlebook_server::desk::{Desk, DeskOptions, Order, SystemClock};
use fettlebook_server::store::FolderStore;
use tempfile::TempDir;
use uuid::Uuid;

use crate::binaries::{Fettled, Shop, done, fettle_of};

/// Counts in the book, each with a long note.
const COUNTS: i64 = 3_800;

/// Signs of each note, of four bytes each: as many as a note may have.
const NOTE_SIGNS: usize = 500;

/// Least length of the journal.
const JOURNAL_BYTES_MIN: u64 = 8 * 1024 * 1024;

/// A book whose journal is long, closed and proven to be whole.
struct Long {
    folder: TempDir,
}

/// Such a book, made once, for each test to copy.
fn original() -> &'static Path {
    static BOOK: OnceLock<TempDir> = OnceLock::new();
    let made = || {
        let folder = tempfile::tempdir().unwrap();
        let book = folder.path().join("book");
        let solo = Shop::Solo(&book);
        done(
            solo,
            &[
                "make", "add", "sundry", "gloves", "--name", "gloves", "--holds", "50 pairs",
            ],
        );
        done(solo, &["receive", "gloves"]);
        let runtime = tokio::runtime::Runtime::new().unwrap();
        runtime.block_on(fill(&book));
        folder
    };
    BOOK.get_or_init(made).path()
}

impl Long {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let mut copy = Program::new("cp");
        copy.arg("-r")
            .arg(original().join("book"))
            .arg(folder.path());
        assert!(copy.status().unwrap().success());
        let long = Self { folder };
        assert!(fs::metadata(long.segment()).unwrap().len() > JOURNAL_BYTES_MIN);
        // The files of a copy are others: from here on they are proven.
        assert!(long.counted(Shop::Solo(&long.book())));
        long
    }

    fn book(&self) -> PathBuf {
        self.folder.path().join("book")
    }

    /// Runs the client of a machine that has seen this copy of the book and no other.
    fn run(&self, shop: Shop<'_>, args: &[&str]) -> Output {
        fettle_of(self.folder.path(), shop, args)
    }

    /// Counts the gloves: whether that was recorded, or refused because the book is damaged.
    fn counted(&self, shop: Shop<'_>) -> bool {
        let output = self.run(shop, &["--json", "count", "S-01", "--left", "7 pairs"]);
        let said = String::from_utf8_lossy(&output.stdout).into_owned()
            + &String::from_utf8_lossy(&output.stderr);
        assert!(
            output.status.success() || said.contains("READ_ONLY"),
            "{said}"
        );
        output.status.success()
    }

    fn segment(&self) -> PathBuf {
        self.book().join("journal/000000000001.jsonl")
    }

    /// Changes one bit so many thousandths into the journal.
    fn flip(&self, thousandths: u64) {
        let mut file = OpenOptions::new();
        let mut file = file.read(true).write(true).open(self.segment()).unwrap();
        let at = file.metadata().unwrap().len() * thousandths / 1000;
        let mut byte = [0];
        file.seek(SeekFrom::Start(at)).unwrap();
        file.read_exact(&mut byte).unwrap();
        byte[0] ^= 1;
        file.seek(SeekFrom::Start(at)).unwrap();
        file.write_all(&byte).unwrap();
    }
}

/// Counts the gloves again and again.
async fn fill(book: &Path) {
    let options = DeskOptions::new(Arc::new(SystemClock), Uuid::now_v7());
    let (desk, _) = Desk::open(Arc::new(FolderStore::at(book)), &options).unwrap();
    let mut counting = tokio::task::JoinSet::new();
    for left in 0..COUNTS {
        let desk = desk.clone();
        counting.spawn(async move { desk.submit(count(left)).await.unwrap() });
        if counting.len() > 200 {
            counting.join_next().await.unwrap().unwrap();
        }
    }
    counting.join_all().await;
    desk.close().await.unwrap();
}

fn count(left: i64) -> Order {
    let said = Said {
        note: "🧽".repeat(NOTE_SIGNS),
        ..Said::default()
    };
    Order {
        request: Uuid::now_v7(),
        body: BodyHash([0; 16]),
        by: "bench".to_owned(),
        command: Command::Count {
            said,
            tag: "S-01".parse().unwrap(),
            count: Counted {
                quantity: Some(left % 50),
                ..Counted::default()
            },
        },
    }
}

#[test]
fn alone_nothing_is_recorded_behind_a_changed_byte_of_a_long_journal() {
    for thousandths in [3, 500, 997] {
        let long = Long::new();
        long.flip(thousandths);
        let book = long.book();
        for _ in 0..2 {
            assert!(
                !long.counted(Shop::Solo(&book)),
                "at {thousandths} thousandths"
            );
        }
        // Not by a process that finds the shelf gone either.
        fs::remove_dir_all(book.join("shelf")).unwrap();
        assert!(
            !long.counted(Shop::Solo(&book)),
            "at {thousandths} thousandths"
        );
    }
}

#[test]
fn a_service_records_nothing_behind_a_changed_byte_of_a_long_journal() {
    let long = Long::new();
    long.flip(3);
    let book = long.book();
    let fettled = Fettled::serve(&book);
    assert!(!long.counted(Shop::At(&fettled.url)));
    fettled.stop();
    let fettled = Fettled::serve(&book);
    assert!(!long.counted(Shop::At(&fettled.url)), "it is remembered");
    fettled.kill();
}

#[test]
fn a_running_service_that_comes_upon_damage_records_nothing_more() {
    let long = Long::new();
    let book = long.book();
    let fettled = Fettled::serve(&book);
    let served = Shop::At(&fettled.url);
    assert!(long.counted(served));
    long.flip(3);
    let shown = long.run(served, &["book", "show", "20"]);
    assert!(!shown.status.success());
    assert!(!long.counted(served));
    fettled.kill();
    assert!(!long.counted(Shop::Solo(&book)), "it is remembered");
}

/// What is proven is not read again: a book that nobody touched goes on, and says what it is worth.
#[test]
fn a_long_journal_that_nobody_touched_goes_on() {
    let long = Long::new();
    let book = long.book();
    let solo = Shop::Solo(&book);
    for _ in 0..2 {
        assert!(long.counted(solo));
    }
    fs::remove_file(book.join("audited.json")).unwrap();
    assert!(long.counted(solo));
    let verified = long.run(solo, &["book", "verify"]);
    assert!(verified.status.success(), "{verified:?}");
}
