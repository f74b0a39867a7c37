//! The name of a folder that is made is durable before anything in it counts, and so is the name of
//! every folder that had to be made on the way to it.

use std::path::PathBuf;
use std::sync::Arc;
use std::time::Duration;

use uuid::Uuid;

use super::World;
use super::copy::Shop;
use crate::keep::backup::BackupFolder;
use crate::keep::copy::extend_copy_on;
use crate::keep::outbox::Outbox;
use crate::keep::restore::restore_on;
use crate::store::folder::make_folder;
use crate::testing::TestDisk;

/// Asserts that the names of `shelves`, `shelves/upper` and `shelves/upper/<last>` were made durable.
fn assert_named(world: &World, disk: &TestDisk, what: &str) {
    let synced = disk.synced_folders();
    for above in ["", "shelves", "shelves/upper"] {
        let folder = world.folder.path().join(above);
        let is_named = synced.contains(&folder);
        assert!(
            is_named,
            "{what}: {} was not synced: {synced:?}",
            folder.display()
        );
    }
}

fn far(world: &World, last: &str) -> PathBuf {
    world.path("shelves/upper").join(last)
}

#[tokio::test]
async fn a_backup_and_a_restored_book_are_found_again_after_a_loss_of_power() {
    let world = World::with_counts(2).await;
    world.back_up("backup").await;
    let disk = TestDisk::new();
    let (to, backup) = (far(&world, "restored"), world.path("backup"));
    restore_on(&backup, &to, Uuid::now_v7(), Arc::new(disk.clone())).unwrap();
    assert_named(&world, &disk, "a restored book");

    std::fs::remove_dir_all(world.path("shelves")).unwrap();
    let disk = TestDisk::new();
    BackupFolder::begin_on(&far(&world, "backup"), Arc::new(disk.clone())).unwrap();
    assert_named(&world, &disk, "a backup");
}

#[tokio::test]
async fn a_copy_is_found_again_after_a_loss_of_power() {
    let shop = Shop::with_counts(2).await;
    let disk = TestDisk::new();
    let to = far(&shop.world, "copy");
    extend_copy_on(&to, &shop.of, &shop.sent, &disk).unwrap();
    assert_named(&shop.world, &disk, "a copy");
}

#[tokio::test]
async fn an_outbox_is_found_again_after_a_loss_of_power() {
    let world = World::with_counts(0).await;
    let disk = TestDisk::new();
    let wait = Duration::from_millis(100);
    Outbox::open_on(&far(&world, "outbox"), Arc::new(disk.clone()), wait).unwrap();
    assert_named(&world, &disk, "an outbox");
}

#[test]
fn a_bare_name_is_made_durable_in_the_folder_that_the_program_is_in() {
    let disk = TestDisk::new();
    make_folder("keep".as_ref(), &disk).unwrap();
    assert_eq!(disk.synced_folders(), [PathBuf::from(".")]);
}
