//! A real service on a real disk that is full, read-only or out of files: it says so, goes on
//! reading, and records again when there is room.
//!
//! The small disk is a file system in memory (tmpfs), which only root may mount; without that the
//! test says that it is skipped.

use std::fs;
use std::io::Write as _;
use std::net::TcpStream;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use std::time::{Duration, Instant};

use tempfile::TempDir;

use crate::binaries::{Fettled, Shop, done, fettle, json};

/// Longest wait for a disk that has room again to be written to, well above the second between two
/// tries of the shelf.
const WAIT_MAX: Duration = Duration::from_secs(15);

/// Files that a service which is to run out of them may have open.
const FILES_MAX: usize = 64;

/// A disk of 16 MiB, taken down when dropped.
pub(crate) struct SmallDisk(TempDir);

impl SmallDisk {
    pub(crate) fn mount() -> Option<Self> {
        let folder = tempfile::tempdir().unwrap();
        let mut mount = Command::new("mount");
        mount
            .args(["-t", "tmpfs", "-o", "size=16m", "none"])
            .arg(folder.path());
        match mount.output() {
            Ok(output) if output.status.success() => Some(Self(folder)),
            other => {
                let required =
                    std::env::var_os("FETTLEBOOK_REQUIRE_MOUNT").is_some_and(|v| v == "1");
                assert!(!required, "a small disk is required here: {other:?}");
                eprintln!("SKIPPED: no small disk can be mounted here ({other:?})");
                None
            }
        }
    }

    pub(crate) fn path(&self) -> &Path {
        self.0.path()
    }

    fn book(&self) -> PathBuf {
        self.0.path().join("book")
    }

    /// Writes until nothing fits any more.
    pub(crate) fn fill(&self) {
        let mut file = fs::File::create(self.0.path().join("filler")).unwrap();
        while file.write_all(&[7; 4096]).is_ok() {}
    }

    pub(crate) fn make_room(&self) {
        fs::remove_file(self.0.path().join("filler")).unwrap();
    }

    fn remount(&self, how: &str) {
        let mut mount = Command::new("mount");
        mount
            .args(["-o", &format!("remount,{how}")])
            .arg(self.0.path());
        assert!(mount.status().unwrap().success());
    }
}

impl Drop for SmallDisk {
    fn drop(&mut self) {
        let _ = Command::new("umount").arg("-l").arg(self.0.path()).status();
    }
}

fn set_up(shop: Shop<'_>) {
    done(
        shop,
        &[
            "make", "add", "sundry", "gloves", "--name", "gloves", "--holds", "50 pairs",
        ],
    );
    done(shop, &["receive", "gloves"]);
}

fn count(shop: Shop<'_>, pairs: usize) -> Output {
    fettle(
        shop,
        &[
            "--json",
            "count",
            "S-01",
            "--left",
            &format!("{pairs} pairs"),
            "--note",
            &"n".repeat(400),
        ],
    )
}

fn reason(output: &Output) -> String {
    let said = String::from_utf8_lossy(&output.stdout).into_owned()
        + &String::from_utf8_lossy(&output.stderr);
    said.split('"')
        .find(|word| word.starts_with("DISK_") || *word == "READ_ONLY")
        .unwrap_or(&said)
        .to_owned()
}

fn entry_count(shop: Shop<'_>) -> u64 {
    let verified = json(shop, &["book", "verify"]);
    assert_eq!(verified["whole"], true, "{verified}");
    verified["entryCount"].as_str().unwrap().parse().unwrap()
}

/// Counts until it is recorded, and how often that was.
fn count_again(shop: Shop<'_>) {
    let start = Instant::now();
    while !count(shop, 7).status.success() {
        assert!(
            start.elapsed() < WAIT_MAX,
            "there is room, and nothing is recorded"
        );
        std::thread::sleep(Duration::from_millis(200));
    }
}

#[test]
fn a_full_disk_is_told_reads_go_on_and_writes_resume() {
    let Some(disk) = SmallDisk::mount() else {
        return;
    };
    let fettled = Fettled::serve(&disk.book());
    let shop = Shop::At(&fettled.url);
    set_up(shop);
    for _ in 0..2 {
        disk.fill();
        let before = entry_count_read(shop);
        let mut recorded = 0;
        let refused = loop {
            let output = count(shop, recorded % 50);
            if !output.status.success() {
                break output;
            }
            recorded += 1;
            assert!(recorded < 100, "a full disk takes everything");
        };
        assert_eq!(reason(&refused), "DISK_REFUSES");
        assert_eq!(refused.status.code(), Some(1));
        assert!(done(shop, &["kit", "list"]).contains("S-01"));
        assert_eq!(entry_count_read(shop), before + recorded);
        disk.make_room();
        count_again(shop);
        assert_eq!(entry_count(shop), before as u64 + recorded as u64 + 1);
    }
    fettled.stop();
    let fettled = Fettled::serve(&disk.book());
    count_again(Shop::At(&fettled.url));
}

/// How many entries can be read.
fn entry_count_read(shop: Shop<'_>) -> usize {
    let listed = done(shop, &["--json", "book", "entries"]);
    listed.matches("\"seq\"").count()
}

#[test]
fn a_book_that_can_only_be_read_is_read() {
    let Some(disk) = SmallDisk::mount() else {
        return;
    };
    let (book, shop) = (disk.book(), disk.book());
    let shop = Shop::Solo(&shop);
    set_up(shop);
    let before = entry_count(shop);
    disk.remount("ro");
    assert!(done(shop, &["kit", "list"]).contains("S-01"));
    assert_eq!(reason(&count(shop, 3)), "DISK_REFUSES");
    // The book is answered for, and that the shelf was not looked at is only told.
    let verified = fettle(shop, &["book", "verify"]);
    let (page, talk) = (
        String::from_utf8_lossy(&verified.stdout).into_owned(),
        String::from_utf8_lossy(&verified.stderr).into_owned(),
    );
    assert_eq!(verified.status.code(), Some(0), "{page}{talk}");
    assert!(
        page.contains(&format!("{before} entries read, nothing wrong")),
        "{page}"
    );
    assert!(!page.contains("shelf"), "{page}");
    assert!(talk.contains("The shelf was not looked at"), "{talk}");
    assert!(talk.contains("read from its journal alone"), "{talk}");
    assert!(!talk.contains("built again"), "it was not: {talk}");
    disk.remount("rw");
    count_again(Shop::Solo(&book));
    assert_eq!(entry_count(shop), before + 1);
}

#[test]
fn a_service_out_of_files_answers_again_when_some_are_closed() {
    let folder = tempfile::tempdir().unwrap();
    let book = folder.path().join("book");
    set_up(Shop::Solo(&book));
    let fettled = Fettled::serve_with_files(&book, FILES_MAX);
    let shop = Shop::At(&fettled.url);
    assert!(count(shop, 1).status.success());
    let held: Vec<TcpStream> = (0..80)
        .filter_map(|_| TcpStream::connect(fettled.address()).ok())
        .collect();
    assert!(held.len() > 60, "only {} connections", held.len());
    let start = Instant::now();
    while fettled.open_file_count() < FILES_MAX {
        assert!(start.elapsed() < WAIT_MAX, "it is not out of files");
        std::thread::yield_now();
    }
    let before = entry_count_on_disk(&book);
    drop(held);
    count_again(shop);
    assert_eq!(entry_count(shop), before + 1);
}

/// Lines of the journal.
fn entry_count_on_disk(book: &Path) -> u64 {
    let bytes = fs::read(book.join("journal/000000000001.jsonl")).unwrap();
    bytes.iter().filter(|byte| **byte == b'\n').count() as u64
}
