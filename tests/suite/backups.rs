//! A real service that backs its book up by itself: each backup is whole, the oldest go, and a disk without room is
//! told and takes no older backup away.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::{Duration, Instant};

use crate::binaries::{Fettled, Shop, done, fettle, json, kept_demo};
use crate::disk::SmallDisk;
use crate::metrics::page_figure;

/// Longest wait for a backup that is due every second.
const WAIT_MAX: Duration = Duration::from_secs(20);

/// Serves a book, backs it up into a folder every second, and tells metrics.
fn serve(book: &Path, into: &Path) -> (Fettled, String) {
    let mut command = Command::new(env!("CARGO_BIN_EXE_fettled"));
    command.arg("--backup-to").arg(into);
    command.args(["--backup-every", "1s", "--keep", "2"]);
    Fettled::serve_measured_by(command, book)
}

/// The folders there, sorted.
fn listed(folder: &Path) -> Vec<PathBuf> {
    let held = fs::read_dir(folder).unwrap();
    let mut paths: Vec<PathBuf> = held.map(|entry| entry.unwrap().path()).collect();
    paths.sort();
    paths
}

/// Waits until a figure of the metrics is at least so much.
fn wait_for(url: &str, name: &str, least: f64) {
    let start = Instant::now();
    while page_figure(url, name) < least {
        assert!(start.elapsed() < WAIT_MAX, "{name} is never {least}");
        std::thread::sleep(Duration::from_millis(50));
    }
}

/// What the client says of backups, and how it ends.
fn doctor(shop: Shop<'_>) -> (Option<i32>, String) {
    let output = fettle(shop, &["doctor"]);
    let page = String::from_utf8(output.stdout).unwrap();
    let (_, told) = page.split_once("Backup").unwrap();
    let told = told.lines().take(3).collect::<Vec<_>>().join(" ");
    (output.status.code(), told)
}

#[test]
fn a_service_backs_its_book_up_by_itself_and_keeps_the_newest() {
    let folder = tempfile::tempdir().unwrap();
    let (book, into) = (kept_demo(folder.path(), &[]), folder.path().join("backups"));
    fs::create_dir(&into).unwrap();
    fs::write(into.join("mine.txt"), "not a backup").unwrap();
    let (fettled, url) = serve(&book, &into);
    let shop = Shop::At(&fettled.url);
    done(shop, &["move", "P-01", "--to", "van-a"]);
    wait_for(&url, "fettled_backups_total", 4.0);
    assert_eq!(page_figure(&url, "fettled_backup_failures_total"), 0.0);
    assert_eq!(page_figure(&url, "fettled_book_unsaved_entries"), 0.0);
    assert_eq!(page_figure(&url, "fettled_backup_interval_seconds"), 1.0);
    let head = json(shop, &["book", "where"])["book"]["headSeq"].clone();
    let told = json(shop, &["doctor"]);
    assert_eq!(told["condition"]["backupEveryS"], "1", "{told}");
    assert_eq!(told["condition"]["unsavedCount"], "0", "{told}");
    fettled.stop();
    // It may have been stopped while it made one, which then left nothing.
    let held = listed(&into);
    assert_eq!(held.len(), 3, "{held:?}");
    assert_eq!(fs::read_to_string(&held[2]).unwrap(), "not a backup");
    for (number, backup) in held[..2].iter().enumerate() {
        let to = folder.path().join(format!("again-{number}"));
        let (backup, to) = (backup.to_str().unwrap(), to.to_str().unwrap());
        let words = ["--json", "book", "restore", "--from", backup, "--to", to];
        let restored: serde_json::Value =
            serde_json::from_str(&done(Shop::Solo(&book), &words)).unwrap();
        assert_eq!(restored["verified"]["whole"], true);
        assert_eq!(restored["backup"]["headSeq"], head);
    }
}

#[test]
fn a_disk_without_room_is_told_and_takes_no_older_backup_away() {
    let Some(disk) = SmallDisk::mount() else {
        return;
    };
    let folder = tempfile::tempdir().unwrap();
    let book = kept_demo(folder.path(), &[]);
    let into = disk.path().join("backups");
    let (fettled, url) = serve(&book, &into);
    let shop = Shop::At(&fettled.url);
    wait_for(&url, "fettled_backups_total", 2.0);
    let little = disk.path().join("little");
    fs::write(&little, [7; 8192]).unwrap();
    disk.fill();
    wait_for(&url, "fettled_backup_failures_total", 1.0);
    let made = page_figure(&url, "fettled_backups_total");
    let held = listed(&into);
    wait_for(&url, "fettled_backup_failures_total", 3.0);
    assert_eq!(
        listed(&into),
        held,
        "the older ones stay, and nothing of those that failed"
    );
    assert_eq!(held.len(), 2);
    // Now it begins, and comes to the end of the disk half-way.
    fs::remove_file(&little).unwrap();
    wait_for(&url, "fettled_backup_failures_total", 6.0);
    assert_eq!(listed(&into), held);
    assert_eq!(page_figure(&url, "fettled_backups_total"), made);
    let (code, told) = doctor(shop);
    assert_eq!(code, Some(3), "{told}");
    assert!(told.contains("No space left on device"), "{told}");
    disk.make_room();
    wait_for(&url, "fettled_backups_total", made + 1.0);
    let (code, told) = doctor(shop);
    assert_eq!(code, Some(0), "{told}");
    fettled.stop();
}

/// The other way: a command that a timer runs.
#[test]
fn a_command_that_a_timer_runs_makes_the_same_row() {
    let folder = tempfile::tempdir().unwrap();
    let (book, into) = (kept_demo(folder.path(), &[]), folder.path().join("row"));
    let shop = Shop::Solo(&book);
    let into_word = into.to_str().unwrap();
    let words = ["book", "backup", "--into", into_word, "--keep", "1"];
    let first = json(shop, &words);
    // Names have whole seconds.
    std::thread::sleep(Duration::from_millis(1100));
    let second = json(shop, &words);
    assert_eq!(second["removed"][0], first["to"]);
    assert_eq!(
        listed(&into),
        [PathBuf::from(second["to"].as_str().unwrap())]
    );
    let told = json(shop, &["doctor"]);
    assert_eq!(told["condition"]["unsavedCount"], "0", "{told}");
    std::thread::sleep(Duration::from_millis(1100));
    let told = done(
        shop,
        &["book", "backup", "--into", into_word, "--keep", "1"],
    );
    assert!(told.contains("1 older backup was taken away."), "{told}");
    let both = ["book", "backup", "--into", into_word, "--to", "elsewhere"];
    assert_eq!(fettle(shop, &both).status.code(), Some(2));
    let neither = fettle(shop, &["book", "backup"]);
    assert_eq!(neither.status.code(), Some(2));
}
