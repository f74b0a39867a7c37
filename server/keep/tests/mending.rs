//! Mending keeps every entry that can be proved, leaves nothing unaccounted for, and never touches
//! the damaged book.

use std::fs;
use std::path::PathBuf;

use uuid::Uuid;

use super::{World, contents};
use crate::keep::{KeepError, mend};
use fettlebook_solo::{SoloMend, SoloMended};

/// Mends `book` into `to` and checks that the damaged folder is as it was.
fn mended(world: &World, to: &str, backup: Option<&str>) -> Result<SoloMended, KeepError> {
    let before = contents(&world.path("book"));
    let found = mend(
        &SoloMend {
            from: world.path("book"),
            to: world.path(to),
            backup: backup.map(|name| world.path(name)),
            write: true,
        },
        Uuid::now_v7(),
    );
    assert_eq!(contents(&world.path("book")), before);
    found
}

/// A book of seven entries whose fourth was changed, and a backup from before that.
async fn with_a_changed_entry() -> (World, Vec<String>) {
    let world = World::with_counts(5).await;
    world.back_up("backup").await;
    let whole = world.lines("book");
    let mut lines = whole.clone();
    lines[3] = lines[3].replacen("\"left_quantity\":1", "\"left_quantity\":9", 1);
    assert_ne!(lines, whole);
    world.write_lines("book", &lines);
    (world, whole)
}

async fn assert_opens_whole(world: &World, name: &str, entry_count: u64) {
    let desk = world.open(name);
    let verified = desk.verify().await.unwrap();
    assert_eq!(verified.findings, Vec::<String>::new());
    assert_eq!(verified.entry_count, entry_count);
    desk.close().await.unwrap();
}

#[tokio::test]
async fn without_a_backup_the_beginning_is_kept_and_the_rest_left_out_byte_for_byte() {
    let (world, whole) = with_a_changed_entry().await;
    let found = mended(&world, "mended", None).unwrap();
    assert_eq!((found.head_seq, found.first_bad_seq), (3, 4));
    assert_eq!(world.lines("mended"), whole[..3]);
    let bytes = fs::read(world.path("mended").join("left-out.bytes")).unwrap();
    let damaged = fs::read(world.segment("book")).unwrap();
    assert!(damaged.ends_with(&bytes));
    let kept: usize = whole[..3].iter().map(|line| line.len() + 1).sum();
    assert_eq!(bytes.len(), damaged.len() - kept);
    assert_opens_whole(&world, "mended", 3).await;
}

#[tokio::test]
async fn a_backup_bridges_the_damage_and_the_own_lines_go_on_behind_it() {
    let (world, whole) = with_a_changed_entry().await;
    let found = mended(&world, "mended", Some("backup")).unwrap();
    assert_eq!(found.taken, [(4, 4)]);
    assert_eq!(world.lines("mended"), whole);
    assert_eq!(found.left_out.len(), 1);
    assert_opens_whole(&world, "mended", 7).await;
}

#[tokio::test]
async fn lines_in_disorder_and_twice_are_put_in_order_without_a_backup() {
    let world = World::with_counts(5).await;
    let whole = world.lines("book");
    let mut lines = whole.clone();
    lines.swap(3, 5);
    lines.insert(1, lines[0].clone());
    world.write_lines("book", &lines);
    let found = mended(&world, "mended", None).unwrap();
    assert_eq!(world.lines("mended"), whole);
    assert_eq!(found.left_out.len(), 1);
    assert_eq!(found.left_out[0].byte_count, lines[0].len() as i64 + 1);
}

#[tokio::test]
async fn what_a_shortened_journal_lacks_comes_from_the_backup() {
    let world = World::with_counts(5).await;
    world.back_up("backup").await;
    let whole = world.lines("book");
    world.write_lines("book", &whole[..4]);
    let found = mended(&world, "mended", Some("backup")).unwrap();
    assert_eq!((found.damage.as_str(), found.left_out.len()), ("", 0));
    assert_eq!(world.lines("mended"), whole);
}

#[tokio::test]
async fn room_after_the_end_that_was_never_written_is_not_left_out() {
    let (world, _) = with_a_changed_entry().await;
    let mut bytes = fs::read(world.segment("book")).unwrap();
    let length = bytes.len() as u64;
    bytes.extend_from_slice(&[0; 4096]);
    fs::write(world.segment("book"), bytes).unwrap();
    let found = mended(&world, "mended", None).unwrap();
    let last = found.left_out.last().unwrap();
    assert_eq!(last.offset + last.byte_count, length as i64);
}

#[tokio::test]
async fn a_write_that_was_cut_off_is_no_damage() {
    let world = World::with_counts(2).await;
    let mut bytes = fs::read(world.segment("book")).unwrap();
    bytes.extend_from_slice(b"{\"chain\":\"0123");
    fs::write(world.segment("book"), bytes).unwrap();
    assert!(mended(&world, "mended", None).unwrap().only_torn);
    let (world, _) = with_a_changed_entry().await;
    assert!(!mended(&world, "mended", None).unwrap().only_torn);
}

#[tokio::test]
async fn nothing_is_made_unless_asked() {
    let (world, _) = with_a_changed_entry().await;
    let asked = SoloMend {
        from: world.path("book"),
        to: world.path("mended"),
        backup: None,
        write: false,
    };
    assert_eq!(mend(&asked, Uuid::now_v7()).unwrap().head_seq, 3);
    assert!(!world.path("mended").exists());
}

#[tokio::test]
async fn a_lost_book_json_is_made_up_for_by_a_backup_of_that_very_book_only() {
    let (world, _) = with_a_changed_entry().await;
    fs::remove_file(world.path("book").join("book.json")).unwrap();
    let other = World::with_counts(5).await;
    other.back_up("backup").await;
    let moved: PathBuf = world.path("other");
    fs::rename(other.path("backup"), &moved).unwrap();
    let refused = mended(&world, "none", Some("other"));
    assert!(
        matches!(refused, Err(KeepError::OtherBook { .. })),
        "{refused:?}"
    );
    let found = mended(&world, "mended", Some("backup")).unwrap();
    let book_id = world.book_id.to_string();
    assert_eq!((found.book_id, found.head_seq), (book_id, 7));
}

#[tokio::test]
async fn a_book_that_is_in_use_is_not_mended() {
    let world = World::with_counts(2).await;
    let desk = world.open("book");
    let refused = mended(&world, "mended", None);
    assert!(
        matches!(refused, Err(KeepError::InUse { .. })),
        "{refused:?}"
    );
    desk.close().await.unwrap();
}
