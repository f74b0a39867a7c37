//! A journal stays bound to its book in backups, in restored and mended books and in copies.

use std::fs;

use uuid::Uuid;

use super::copy::Shop;
use super::{World, contents};
use crate::keep::{KeepError, extend_copy, mend, restore, verify_backup};
use crate::store::StoreError;
use crate::testing::{append_raw, raw_entry};
use fettlebook_solo::SoloMend;

fn asked(world: &World) -> SoloMend {
    SoloMend {
        from: world.path("book"),
        to: world.path("mended"),
        backup: None,
        write: true,
    }
}

#[tokio::test]
async fn a_backup_that_is_said_to_be_of_another_book_is_not_restored() {
    let world = World::with_counts(3).await;
    world.back_up("backup").await;
    let manifest = world.path("backup").join("backup.json");
    let (id, other) = (world.book_id.to_string(), Uuid::now_v7().to_string());
    let text = fs::read_to_string(&manifest).unwrap();
    fs::write(&manifest, text.replace(&id, &other)).unwrap();
    let error = verify_backup(&world.path("backup")).unwrap_err();
    let said = format!("its first entry is of the book {id}, and its backup.json says {other}");
    assert!(error.to_string().contains(&said), "{error}");
    let refused = restore(&world.path("backup"), &world.path("back"), Uuid::now_v7());
    assert!(matches!(refused, Err(KeepError::BackupDamaged { .. })));
    assert!(!world.path("back").exists());
}

#[tokio::test]
async fn a_journal_of_another_book_is_not_mended() {
    let (world, other) = (World::with_counts(3).await, World::with_counts(3).await);
    fs::copy(other.segment("book"), world.segment("book")).unwrap();
    let before = contents(&world.path("book"));
    let refused = mend(&asked(&world), Uuid::now_v7()).unwrap_err();
    assert!(
        matches!(refused, KeepError::Store(StoreError::OtherBook { .. })),
        "{refused}"
    );
    assert_eq!(contents(&world.path("book")), before);
    assert!(!world.path("mended").exists());
}

/// The story: `book.json` is lost, and there is no backup.
#[tokio::test]
async fn a_book_that_nothing_else_names_is_named_by_its_first_entry() {
    let world = World::with_counts(3).await;
    fs::remove_file(world.path("book").join("book.json")).unwrap();
    let mended = mend(&asked(&world), Uuid::now_v7()).unwrap();
    assert_eq!(mended.book_id, world.book_id.to_string());
    let desk = world.open("mended");
    assert_eq!(desk.standing().identity.book_id, world.book_id);
    desk.close().await.unwrap();
    assert_eq!(world.lines("mended"), world.lines("book"));
}

/// As above, but the first entry names none, as those of the first books.
#[tokio::test]
async fn a_book_that_nothing_names_is_not_mended() {
    let world = World::with_counts(0).await;
    fs::remove_dir_all(world.path("book")).unwrap();
    world.open("book").close().await.unwrap();
    append_raw(&world.path("book"), &[&raw_entry("", "[]")]);
    fs::remove_file(world.path("book").join("book.json")).unwrap();
    let refused = mend(&asked(&world), Uuid::now_v7()).unwrap_err();
    assert!(matches!(refused, KeepError::NoIdentity { .. }), "{refused}");
    assert!(!world.path("mended").exists());
}

/// A device that was paired with another shop since: its copy is thrown away, and the other's comes.
#[tokio::test]
async fn a_copy_of_another_book_begins_anew() {
    let (mut shop, other) = (Shop::with_counts(3).await, Shop::with_counts(2).await);
    shop.extend(0, 5).unwrap();
    shop.of = other.of.clone();
    shop.sent = other.sent.clone();
    assert!(shop.extend(3, 4).is_err());
    assert_eq!(shop.head(), None);
    shop.extend(0, 4).unwrap();
    assert_eq!(shop.head(), Some(4));
}

#[tokio::test]
async fn a_copy_takes_no_entries_of_another_book() {
    let (shop, other) = (Shop::with_counts(3).await, Shop::with_counts(3).await);
    let refused = extend_copy(&shop.path(), &shop.of, &other.sent).unwrap_err();
    assert!(
        refused.to_string().contains("is of another book"),
        "{refused}"
    );
    shop.extend(0, 5).unwrap();
    fs::copy(
        other.world.segment("book"),
        shop.path().join("journal/000000000001.jsonl"),
    )
    .unwrap();
    // What cannot be gone on with begins anew.
    assert_eq!(shop.head(), None);
}
