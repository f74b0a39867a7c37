//! What of a journal was read through is not read again, and what others do to its files while the
//! book is open is found by whoever writes next.

use std::fs::{self, File};
use std::path::{Path, PathBuf};

use super::{World, assert_whole, copy_folder, take};
use crate::desk::{Desk, DeskError};
use crate::journal::Proof;
use crate::limits::{GROUPS_UNREAD_MAX, LOCK_WAIT_MAX};
use crate::store::Asked;
use crate::testing::stores::ToldFolder;
use crate::testing::{count_gloves, new_car};

/// A book of 22 entries in several files.
async fn several_files() -> World {
    let world = World::of(Box::new(ToldFolder::new(Some(1_000))));
    world.with_counts(20).await
}

/// What is proven of a book that is closed.
fn proof(world: &World) -> Box<dyn Proof> {
    let asked = Asked {
        new_book_id: world.options.new_book_id,
        now: fettlebook_model::Moment::UNIX_EPOCH,
        wait: LOCK_WAIT_MAX,
        mid_move: false,
    };
    world.store().take(&asked).unwrap().proof()
}

/// The files of the journal, in order.
fn segments(world: &World) -> Vec<PathBuf> {
    let files = fs::read_dir(world.path().join("journal")).unwrap();
    let mut files: Vec<PathBuf> = files.map(|file| file.unwrap().path()).collect();
    files.sort();
    files
}

/// Changes a count in a file, which stays as long as it was and gets its old time back.
fn flip(file: &Path) {
    let times = fs::metadata(file).unwrap().modified().unwrap();
    let mut bytes = fs::read(file).unwrap();
    let at = bytes.len() - 10;
    bytes[at] ^= 1;
    fs::write(file, bytes).unwrap();
    let file = File::options().write(true).open(file).unwrap();
    file.set_modified(times).unwrap();
}

/// The reason for which a car is not recorded.
async fn refused(desk: &Desk) -> String {
    match take(desk, new_car("saloon")).await {
        Err(DeskError::ReadOnly { reason }) => reason.to_string(),
        other => panic!("{other:?}"),
    }
}

#[tokio::test]
async fn a_book_that_was_closed_is_proven_up_to_its_end() {
    let world = several_files().await;
    assert_eq!(
        (proof(&world).unread_bytes(), proof(&world).until().0),
        (0, 22)
    );
    world
        .with(async |desk| take(desk, new_car("saloon")).await.unwrap())
        .await;
    assert_eq!(
        (proof(&world).unread_bytes(), proof(&world).until().0),
        (0, 23)
    );
    world.with(async |desk| assert_whole(desk, 23).await).await;
    assert_eq!(
        (proof(&world).unread_bytes(), proof(&world).until().0),
        (0, 23)
    );
}

#[tokio::test]
async fn a_proof_counts_up_to_the_first_file_that_differs() {
    let world = several_files().await;
    let files = segments(&world);
    let first = |file: &Path| -> u64 {
        let name = file.file_stem().unwrap().to_str().unwrap();
        name.parse().unwrap()
    };
    let last = files.last().unwrap();
    // The same bytes, written anew.
    fs::write(last, fs::read(last).unwrap()).unwrap();
    assert_eq!(proof(&world).until().0, first(last) - 1);
    flip(&files[1]);
    assert_eq!(proof(&world).until().0, first(&files[1]) - 1);
    fs::rename(&files[0], world.path().join("aside")).unwrap();
    assert_eq!(proof(&world).until().0, 0);
}

#[tokio::test]
async fn a_proof_that_is_not_what_was_written_or_is_gone_counts_for_nothing() {
    let world = several_files().await;
    let path = world.path().join("audited.json");
    let text = fs::read_to_string(&path).unwrap();
    let mut other = world.options.new_book_id.to_string();
    other.replace_range(..1, if other.starts_with('0') { "1" } else { "0" });
    let of_another = text.replace(&world.options.new_book_id.to_string(), &other);
    for harmed in [
        of_another,
        text.replacen("\"seq\":23", "\"seq\":24", 1),
        String::new(),
    ] {
        assert_ne!(harmed, text);
        fs::write(&path, harmed).unwrap();
        assert_eq!(proof(&world).until().0, 0);
    }
    fs::remove_file(&path).unwrap();
    assert_eq!(proof(&world).until().0, 0);
    world.with(async |desk| assert_whole(desk, 22).await).await;
    assert_eq!(proof(&world).until().0, 22);
}

/// A copy of the folder of a running service is what a killed one leaves: its files are others.
#[tokio::test]
async fn a_book_that_was_not_closed_is_read_again() {
    let world = several_files().await;
    let desk = world.open();
    take(&desk, new_car("saloon")).await.unwrap();
    let killed = World::new();
    copy_folder(world.path(), killed.path());
    desk.close().await.unwrap();
    flip(&segments(&killed)[1]);
    let desk = killed.open();
    assert!(refused(&desk).await.contains("of the journal"));
    desk.close().await.unwrap();
}

#[tokio::test]
async fn nothing_is_recorded_behind_a_byte_that_was_changed_in_any_file() {
    let count = segments(&several_files().await).len();
    assert!(count > 3);
    for at in 0..count {
        for audit_bytes_max in [0, u64::MAX] {
            let mut world = several_files().await;
            world.options.audit_bytes_max = audit_bytes_max;
            flip(&segments(&world)[at]);
            let desk = world.open();
            let reason = refused(&desk).await;
            assert!(reason.contains("of the journal"), "file {at}: {reason}");
            assert_eq!(desk.standing().head.seq.0, 22);
            desk.close().await.unwrap();
            assert!(world.path().join("damaged.json").exists());
        }
    }
}

/// Ways of harming a file of an open book.
const HARMS: [&str; 5] = [
    "flipped",
    "removed",
    "replaced",
    "cut shorter",
    "made longer",
];

fn harm(how: &str, file: &Path) {
    let bytes = fs::read(file).unwrap();
    match how {
        "flipped" => flip(file),
        "removed" => fs::remove_file(file).unwrap(),
        "replaced" => {
            let other = file.with_extension("other");
            fs::write(&other, &bytes[..bytes.len() / 2]).unwrap();
            fs::rename(other, file).unwrap();
        }
        "cut shorter" => fs::write(file, &bytes[..bytes.len() / 2]).unwrap(),
        _ => fs::write(file, [&bytes[..], b"{\"chain\":"].concat()).unwrap(),
    }
}

#[tokio::test]
async fn a_file_that_others_harm_while_the_book_is_open_stops_it_for_good() {
    let count = segments(&several_files().await).len();
    for at in 0..count {
        for how in HARMS {
            let world = several_files().await;
            let desk = world.open();
            harm(how, &segments(&world)[at]);
            let reason = refused(&desk).await;
            assert!(reason.contains("of the journal"), "{how} {at}: {reason}");
            desk.close().await.unwrap();
            if how != "made longer" {
                let desk = world.open();
                assert_eq!(refused(&desk).await, reason, "{how} {at}");
                desk.close().await.unwrap();
            }
        }
    }
}

/// The file that is written to is looked at before each group, however lately the others were.
#[tokio::test]
async fn the_file_that_is_written_to_is_looked_at_before_every_group() {
    for how in ["removed", "replaced", "cut shorter"] {
        let world = World::new().with_counts(5).await;
        let desk = world.open();
        take(&desk, new_car("coupe")).await.unwrap();
        harm(how, &world.segment());
        assert!(refused(&desk).await.contains("of the journal"), "{how}");
        assert_eq!(desk.standing().head.seq.0, 8);
        desk.close().await.unwrap();
    }
}

/// A file with the same bytes in the place of the one that is open: nothing is lost yet, and nothing
/// is written where it could not be found.
#[tokio::test]
async fn a_file_replaced_by_its_like_ends_writing_in_this_process_alone() {
    let world = World::new().with_counts(5).await;
    let desk = world.open();
    take(&desk, new_car("saloon")).await.unwrap();
    let other = world.path().join("other");
    fs::copy(world.segment(), &other).unwrap();
    fs::rename(other, world.segment()).unwrap();
    let reason = match take(&desk, new_car("coupe")).await {
        Err(DeskError::ReadOnly { reason }) => reason.to_string(),
        other => panic!("{other:?}"),
    };
    assert!(reason.contains("was replaced"), "{reason}");
    desk.close().await.unwrap();
    let desk = world.open();
    take(&desk, new_car("coupe")).await.unwrap();
    assert_whole(&desk, 9).await;
    desk.close().await.unwrap();
}

/// What is written into a file between two groups does not show once the next group is written.
#[tokio::test]
async fn what_was_changed_between_groups_is_found_at_the_latest_when_the_book_is_closed() {
    for group_count in [1, GROUPS_UNREAD_MAX as i64 + 1] {
        let world = World::new().with_counts(5).await;
        let desk = world.open();
        take(&desk, new_car("saloon")).await.unwrap();
        let changed = world
            .journal()
            .replacen("\"left_quantity\":1", "\"left_quantity\":9", 1);
        fs::write(world.segment(), changed).unwrap();
        for left in 0..group_count {
            let _ = take(&desk, count_gloves(left)).await;
        }
        desk.close().await.unwrap();
        let desk = world.open();
        assert!(refused(&desk).await.contains("entry 4 of the journal"));
        desk.close().await.unwrap();
    }
}
