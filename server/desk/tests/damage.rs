//! Damage that the trials of `tests/damage` found unnoticed or named wrongly, one case each.
//!
//! It serves whoever changes how a book is opened.

use std::fs;

use super::World;
use crate::desk::{OpenError, ShelfFound};
use crate::store::StoreError;
use crate::testing::stores::ToldFolder;

/// The shelf knows where the end of the journal was, and a file that has become the last one hides
/// nothing further back.
#[tokio::test]
async fn a_file_of_the_journal_renamed_to_the_end_is_named_where_it_is_missing() {
    let world = World::of(Box::new(ToldFolder::new(Some(1_000))));
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

/// With the shelf gone too, an empty book would come of it.
#[tokio::test]
async fn a_book_whose_journal_is_gone_is_refused() {
    let world = World::new().with_counts(1).await;
    fs::remove_dir_all(world.path().join("journal")).unwrap();
    fs::remove_dir_all(world.path().join("shelf")).unwrap();
    let Err(error) = world.try_open() else {
        panic!("a book without a journal opened")
    };
    assert!(
        matches!(error, OpenError::Store(StoreError::NoJournal { .. })),
        "{error}"
    );
    assert!(!world.path().join("journal").exists());
}

/// Another id would make it another book, whose history nobody has seen.
#[tokio::test]
async fn a_book_id_with_a_changed_digit_is_refused() {
    let world = World::new().with_counts(1).await;
    let identity = world.path().join("book.json");
    let text = fs::read_to_string(&identity).unwrap();
    let id = world.options.new_book_id.to_string();
    let last = if id.ends_with('0') { '1' } else { '0' };
    let other = format!("{}{last}", &id[..id.len() - 1]);
    fs::write(&identity, text.replace(&id, &other)).unwrap();
    let Err(error) = world.try_open() else {
        panic!("it opened as {other}")
    };
    assert!(
        matches!(error, OpenError::Store(StoreError::Identity { .. })),
        "{error}"
    );
}

#[tokio::test]
async fn a_book_begun_before_the_check_was_written_opens() {
    let world = World::new().with_counts(1).await;
    let id = world.options.new_book_id;
    let text = format!("{{\"format\":1,\"book_id\":\"{id}\"}}\n");
    fs::write(world.path().join("book.json"), text).unwrap();
    let (desk, report) = world.try_open().unwrap();
    assert_eq!(
        (report.read_only, report.shelf),
        (None, ShelfFound::Current)
    );
    desk.close().await.unwrap();
}
