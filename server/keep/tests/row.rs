//! Backups in one folder: their names sort by time, the oldest go, and nothing else is ever touched.

use std::fs;
use std::path::{Path, PathBuf};

use fettlebook_model::Moment;
use jiff::SignedDuration;
use uuid::Uuid;

use super::{World, contents};
use crate::keep::{BackupRow, KeepError, verify_backup};

/// The moment so many hours after the first backup.
fn hour(number: i64) -> Moment {
    let first: Moment = "2026-03-02T23:30:00Z".parse().unwrap();
    first + SignedDuration::from_hours(number)
}

impl World {
    fn row(&self) -> BackupRow {
        let book = self.path("book");
        BackupRow::open(&self.path("row"), self.book_id, Some(&book)).unwrap()
    }

    async fn back_up_at(&self, now: Moment) -> PathBuf {
        let (path, mut folder) = self.row().begin(now).unwrap();
        let desk = self.open("book");
        let mut parts = desk.backup().unwrap();
        while let Some(part) = parts.recv().await {
            let part = part.unwrap();
            folder.take(&part.file, &part.content).unwrap();
        }
        desk.close().await.unwrap();
        folder.finish().unwrap();
        path
    }

    fn names(&self) -> Vec<String> {
        let held = fs::read_dir(self.path("row")).unwrap();
        let names = held.map(|entry| entry.unwrap().file_name().into_string().unwrap());
        let mut names: Vec<String> = names.collect();
        names.sort();
        names
    }
}

fn name_of(path: &Path) -> String {
    path.file_name().unwrap().to_str().unwrap().to_owned()
}

#[tokio::test]
async fn names_sort_by_time_and_the_oldest_go() {
    let world = World::with_counts(3).await;
    let mut made = Vec::new();
    // The last of them is made in the next year, and not last.
    for number in [0, 1, 24 * 365, 2] {
        made.push(world.back_up_at(hour(number)).await);
    }
    let digits = world.book_id.simple().to_string();
    let name = format!("20260302T233000Z-fettlebook-{}", &digits[20..]);
    assert_eq!(name_of(&made[0]), name);
    let pruned = world.row().prune(2, hour(3)).unwrap();
    assert_eq!(pruned.removed, [made[0].clone(), made[1].clone()]);
    assert_eq!(world.names(), [name_of(&made[3]), name_of(&made[2])]);
    verify_backup(&made[3]).unwrap();
    assert_eq!(
        world.row().prune(2, hour(4)).unwrap().removed,
        [""; 0].map(PathBuf::from)
    );
    // One is always kept.
    world.row().prune(0, hour(5)).unwrap();
    assert_eq!(world.names(), [name_of(&made[2])]);
}

#[cfg(unix)]
#[tokio::test]
async fn nothing_but_backups_of_this_book_is_taken_away() {
    let world = World::with_counts(3).await;
    let other = World::with_counts(2).await;
    let mut made = Vec::new();
    for number in 0..4 {
        made.push(world.back_up_at(hour(number)).await);
    }
    let row = world.path("row");
    // Backups of another book, one of them under a name of ours; one that a person put something into; a folder with a name of ours and no
    // backup in it; a link with such a name; and what has another name.
    let foreign = other.back_up_at(hour(0)).await;
    fs::rename(&foreign, row.join(name_of(&foreign))).unwrap();
    let ending = name_of(&made[0]).split_off(16);
    let renamed = other.back_up_at(hour(1)).await;
    fs::rename(&renamed, row.join(format!("20250103T000000Z{ending}"))).unwrap();
    fs::write(made[0].join("why-kept.txt"), "the day before the move").unwrap();
    let empty = row.join(format!("20250101T000000Z{ending}"));
    fs::create_dir(&empty).unwrap();
    fs::write(empty.join("photo.jpg"), "a photo").unwrap();
    let elsewhere = world.back_up("elsewhere").await;
    let link = row.join(format!("20250102T000000Z{ending}"));
    std::os::unix::fs::symlink(world.path("elsewhere"), &link).unwrap();
    fs::write(row.join("readme.txt"), "backups of the bench").unwrap();
    let kept = |world: &World| {
        let mut all = contents(&world.path("row"));
        all.retain(|(path, _)| !path.starts_with(&made[1]) && !path.starts_with(&made[2]));
        all
    };
    let before = kept(&world);
    let pruned = world.row().prune(1, hour(9)).unwrap();
    assert_eq!(pruned.removed, [made[1].clone(), made[2].clone()]);
    assert_eq!(pruned.left, [made[0].clone()]);
    assert_eq!(kept(&world), before);
    assert!(!made[1].exists() && !made[2].exists());
    verify_backup(&made[0]).unwrap();
    assert_eq!(verify_backup(&world.path("elsewhere")).unwrap(), elsewhere);
}

#[tokio::test]
async fn one_that_nobody_finished_goes_after_a_day_and_one_that_failed_at_once() {
    let world = World::with_counts(3).await;
    let whole = world.back_up_at(hour(0)).await;
    let (begun, _) = world.row().begin(hour(1)).unwrap();
    // Another process may be writing it.
    assert_eq!(world.row().prune(5, hour(24)).unwrap().removed.len(), 0);
    let newest = world.row().newest().unwrap().unwrap();
    assert_eq!(newest, verify_backup(&whole).unwrap());
    assert_eq!(world.row().prune(5, hour(25)).unwrap().removed, [begun]);
    let (failed, mut folder) = world.row().begin(hour(26)).unwrap();
    folder.take("journal/000000000001.jsonl", b"half").unwrap();
    drop(folder);
    world.row().give_up(&failed).unwrap();
    assert_eq!(world.names(), [name_of(&whole)]);
}

#[tokio::test]
async fn backups_do_not_go_into_the_book_itself() {
    let world = World::with_counts(1).await;
    let book = world.path("book");
    let inside = BackupRow::open(&book.join("backups"), Uuid::nil(), Some(&book));
    assert!(matches!(inside, Err(KeepError::Inside { .. })));
    assert!(!book.join("backups").exists());
}
