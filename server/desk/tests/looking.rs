//! A book opened only to look at it is shown as a usual start would show it, and left as it was.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::time::SystemTime;

use super::{World, copy_folder, take};
use crate::desk::{Desk, DeskError, OpenReport, ShelfFound};
use crate::limits::LOOK_BYTES_MAX;
use crate::testing::{count_gloves, new_car};

/// Every file below a folder but the lock, with its bytes and the time of its last change.
fn files(folder: &Path) -> BTreeMap<String, (Vec<u8>, SystemTime)> {
    let mut found = BTreeMap::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            found.extend(files(&path));
        } else if !path.ends_with("book.lock") {
            let changed = path.metadata().unwrap().modified().unwrap();
            found.insert(
                path.display().to_string(),
                (fs::read(&path).unwrap(), changed),
            );
        }
    }
    found
}

/// Harms a book.
type Harm<'a> = &'a dyn Fn(&World);

impl World {
    /// Opens the book only to look at it.
    fn look(&self) -> (Desk, OpenReport) {
        let mut options = self.options.clone();
        options.only_looks = true;
        Desk::open(self.store(), &options).unwrap()
    }
}

#[tokio::test]
async fn a_look_shows_what_a_usual_start_shows_and_changes_nothing() {
    let world = World::new().with_counts(5).await;
    let usual = world
        .with(async |desk| {
            let entries = desk.entries(None, false, None, 100).await.unwrap();
            (desk.standing(), desk.book().pieces().count(), entries)
        })
        .await;
    let before = files(world.path());
    let (desk, report) = world.look();
    assert_eq!(
        (report.shelf, report.torn, report.read_only),
        (ShelfFound::Unopened, None, None)
    );
    let entries = desk.entries(None, false, None, 100).await.unwrap();
    let subject = entries[6].deeds[0].subject();
    assert_eq!(
        (desk.standing(), desk.book().pieces().count(), entries),
        usual
    );
    let touched = desk
        .entries(Some(subject.clone()), true, None, 2)
        .await
        .unwrap();
    desk.close().await.unwrap();
    assert_eq!(files(world.path()), before);
    let wanted = world
        .with(async |desk| desk.entries(Some(subject), true, None, 2).await.unwrap())
        .await;
    assert_eq!((touched.len(), touched), (2, wanted));
}

#[tokio::test]
async fn nothing_is_recorded_by_who_only_looks() {
    let world = World::new().with_counts(1).await;
    let before = world.journal();
    let (desk, _) = world.look();
    assert_eq!(take(&desk, new_car("saloon")).await, Err(DeskError::Closed));
    desk.close().await.unwrap();
    assert_eq!(world.journal(), before);
    world
        .with(async |desk| take(desk, new_car("saloon")).await.unwrap())
        .await;
}

#[tokio::test]
async fn whatever_is_not_as_the_last_close_left_it_is_for_the_usual_start() {
    let changed = |world: &World| {
        let text = world.journal();
        fs::write(
            world.segment(),
            text.replacen("\"left_quantity\":1", "\"left_quantity\":9", 1),
        )
        .unwrap();
    };
    let torn = |world: &World| {
        fs::write(world.segment(), world.journal() + r#"{"chain":"0123"#).unwrap();
    };
    let shortened = |world: &World| {
        let text = world.journal();
        let (kept, _) = text.trim_end().rsplit_once('\n').unwrap();
        fs::write(world.segment(), format!("{kept}\n")).unwrap();
    };
    let unmarked = |world: &World| fs::remove_file(world.path().join("closed.json")).unwrap();
    let cases: [(&str, Harm); 4] = [
        ("a byte was changed", &changed),
        ("the end is torn", &torn),
        ("the last entry is gone", &shortened),
        ("no mark of a close", &unmarked),
    ];
    for (what, harm) in cases {
        let (world, beside) = (World::new().with_counts(5).await, World::new());
        harm(&world);
        copy_folder(world.path(), beside.path());
        let (looking, report) = world.look();
        let (usual, wanted) = beside.try_open().unwrap();
        assert_ne!(report.shelf, ShelfFound::Unopened, "{what}");
        assert_eq!(report, wanted, "{what}");
        assert_eq!(looking.standing(), usual.standing(), "{what}");
        looking.close().await.unwrap();
        usual.close().await.unwrap();
    }
}

/// What was found wrong before stays told, though the journal has been put right by hand.
#[tokio::test]
async fn a_finding_is_told_to_who_only_looks() {
    let world = World::new().with_counts(5).await;
    let whole = world.journal();
    let harmed = whole.replacen("\"left_quantity\":1", "\"left_quantity\":9", 1);
    fs::write(world.segment(), harmed).unwrap();
    let (desk, _) = world.try_open().unwrap();
    desk.close().await.unwrap();
    fs::write(world.segment(), &whole).unwrap();
    let (desk, report) = world.look();
    assert!(report.read_only.unwrap().contains("entry 4"));
    desk.close().await.unwrap();
}

#[tokio::test]
async fn a_long_journal_is_read_by_way_of_the_shelf() {
    let world = World::new().with_counts(1).await;
    world
        .with(async |desk| {
            while fs::metadata(world.segment()).unwrap().len() <= 2 * LOOK_BYTES_MAX {
                for left in 0..50 {
                    take(desk, count_gloves(left)).await.unwrap();
                }
            }
        })
        .await;
    let (desk, report) = world.look();
    assert_eq!(report.shelf, ShelfFound::Current);
    desk.close().await.unwrap();
}
