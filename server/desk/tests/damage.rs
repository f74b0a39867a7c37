//! Damage that the trials of `tests/damage` found unnoticed or named wrongly, one case each.
//!
//! It serves whoever changes how a book is opened.

use std::fs;

use super::World;
use crate::desk::ShelfFound;

/// The shelf knows where the end of the journal was, and a file that has become the last one hides
/// nothing further back.
#[tokio::test]
async fn a_file_of_the_journal_renamed_to_the_end_is_named_where_it_is_missing() {
    let mut world = World::new();
    world.options.segment_bytes_max = 1_000;
    let world = world.with_counts(20).await;
    let journal = world.path().join("journal");
    let mut names: Vec<_> = (fs::read_dir(&journal).unwrap())
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    let first: u64 = names[2][..12].parse().unwrap();
    fs::rename(journal.join(&names[2]), journal.join("000000000900.jsonl")).unwrap();
    let (desk, report) = world.try_open().unwrap();
    let reason = report.read_only.unwrap();
    assert!(reason.contains(&format!("entry {first} of")), "{reason}");
    assert_eq!(report.shelf, ShelfFound::Current);
    desk.close().await.unwrap();
}
