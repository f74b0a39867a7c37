//! A journal is bound to its book: its first entry names it, and no other is taken for it.

use std::fs;

use fettlebook_model::Seq;

use super::{World, copy_folder, take};
use crate::desk::OpenError;
use crate::store::StoreError;
use crate::testing::{append_raw, count_gloves, raw_entry};

#[tokio::test]
async fn the_first_entry_of_a_book_names_the_book_and_no_other_does() {
    let world = World::new().with_counts(2).await;
    let id = world.options.new_book_id;
    let lines: Vec<String> = world.journal().lines().map(str::to_owned).collect();
    assert!(lines[0].contains(&format!("{{\"seq\":1,\"book_id\":\"{id}\",")));
    for line in lines.iter().skip(1).filter(|line| line.starts_with('{')) {
        assert!(!line.contains("book_id"), "{line}");
    }
}

/// The story: somebody brings a journal back from a copy, and it is the other shop's.
#[tokio::test]
async fn a_journal_of_another_book_is_refused_and_nothing_is_written() {
    let (mine, other) = (
        World::new().with_counts(2).await,
        World::new().with_counts(3).await,
    );
    let journal = mine.path().join("journal");
    fs::remove_dir_all(&journal).unwrap();
    copy_folder(&other.path().join("journal"), &journal);
    let shelf = mine.path().join("shelf");
    fs::remove_dir_all(&shelf).unwrap();
    let before = mine.journal();
    let Err(error) = mine.try_open() else {
        panic!("the journal of another book opened");
    };
    let OpenError::Store(StoreError::OtherBook { said, found, .. }) = &error else {
        panic!("{error}");
    };
    assert_eq!(*said, mine.options.new_book_id);
    assert_eq!(*found, other.options.new_book_id);
    assert!(error.to_string().contains("files of two books"), "{error}");
    assert_eq!(mine.journal(), before);
    assert!(!shelf.exists());
}

/// Books that were begun before entries named them stay as they are, and go on.
#[tokio::test]
async fn a_book_whose_first_entry_names_none_opens_and_goes_on() {
    let world = World::new();
    world.with(async |_| ()).await;
    append_raw(world.path(), &[&raw_entry("", "[]")]);
    world
        .with(async |desk| {
            let gloves = crate::testing::gloves();
            for command in gloves {
                take(desk, command).await.unwrap();
            }
            let counted = take(desk, count_gloves(7)).await.unwrap();
            assert_eq!((counted.seq, counted.book_id), (Seq(4), None));
            assert_eq!(desk.entry(Seq(1)).await.unwrap().book_id, None);
        })
        .await;
}

/// A file that a later program laid out anew is not a spoilt one.
#[tokio::test]
async fn what_says_which_book_it_is_may_be_of_a_later_format() {
    let world = World::new().with_counts(1).await;
    let file = world.path().join("book.json");
    fs::write(&file, "{\"format\":2,\"books\":[\"a\",\"b\"]}\n").unwrap();
    let Err(error) = world.try_open() else {
        panic!("it opened");
    };
    assert!(
        matches!(error, OpenError::Store(StoreError::Newer { format: 2, .. })),
        "{error}"
    );
    assert!(error.to_string().contains("written by a later fettle"));
}
