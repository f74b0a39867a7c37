//! Opening: what can be set right is and says so, what cannot is named and left alone, and one
//! process has a book at a time.

use std::fs;
use std::sync::Arc;
use std::time::{Duration, Instant};

use fettlebook_model::{Moment, Seq};

use super::{World, assert_whole, copy_folder, take};
use crate::desk::{Clock, Desk, DeskError, OpenError, ShelfFound};
use crate::journal::RealDisk;
use crate::journal::TornTail;
use crate::store::folder::write_identity;
use crate::store::{Identity, StoreError};
use crate::testing::{TestClock, count_gloves, new_car};

#[tokio::test]
async fn a_torn_last_line_is_cut_and_reported() {
    let world = World::new().with_counts(3).await;
    let whole = world.journal();
    fs::write(world.segment(), whole.clone() + r#"{"chain":"0123"#).unwrap();
    let (desk, report) = world.try_open().unwrap();
    assert_eq!(
        report.torn,
        Some(TornTail::Cut {
            after: Seq(5),
            byte_count: 14
        })
    );
    assert_eq!(
        (report.shelf, report.read_only),
        (ShelfFound::Current, None)
    );
    assert_eq!(world.journal(), whole);
    assert_whole(&desk, 5).await;
    desk.close().await.unwrap();
}

#[tokio::test]
async fn a_broken_chain_opens_read_only_and_names_the_first_bad_entry() {
    let world = World::new().with_counts(5).await;
    fs::remove_dir_all(world.path().join("shelf")).unwrap();
    let broken = world
        .journal()
        .replacen("\"left_quantity\":1", "\"left_quantity\":9", 1);
    fs::write(world.segment(), &broken).unwrap();
    for _ in 0..2 {
        let (desk, report) = world.try_open().unwrap();
        let reason = report.read_only.unwrap();
        assert!(reason.contains("entry 4 of the journal"), "{reason}");
        assert_eq!(
            desk.book().head(),
            Seq(3),
            "the book is as it was before that entry"
        );
        assert_eq!(desk.entries(None, true, None, 10).await.unwrap().len(), 3);
        let refused = take(&desk, new_car("saloon")).await;
        assert_eq!(
            refused,
            Err(DeskError::ReadOnly {
                reason: Arc::clone(&reason)
            })
        );
        assert!(
            desk.verify()
                .await
                .unwrap()
                .findings
                .contains(&reason.to_string())
        );
        desk.close().await.unwrap();
        assert_eq!(world.journal(), broken, "nothing is repaired in silence");
    }
}

/// A line far back is changed while the shelf is current, which a start from the shelf would miss.
#[tokio::test]
async fn a_line_changed_far_back_opens_read_only_although_the_shelf_is_current() {
    let world = World::new().with_counts(5).await;
    let changed = world
        .journal()
        .replacen("\"left_quantity\":1", "\"left_quantity\":9", 1);
    fs::write(world.segment(), &changed).unwrap();
    let (desk, report) = world.try_open().unwrap();
    let reason = report.read_only.unwrap();
    assert!(reason.contains("entry 4 of the journal"), "{reason}");
    let refused = take(&desk, new_car("saloon")).await;
    assert_eq!(refused, Err(DeskError::ReadOnly { reason }));
    desk.close().await.unwrap();
    assert_eq!(world.journal(), changed);
}

#[tokio::test]
async fn a_long_journal_is_read_through_beside_the_work_and_stops_it_at_a_fault() {
    let mut world = World::new().with_counts(5).await;
    world.options.audit_bytes_max = 0;
    let changed = world
        .journal()
        .replacen("\"left_quantity\":1", "\"left_quantity\":9", 1);
    fs::write(world.segment(), &changed).unwrap();
    let (desk, report) = world.try_open().unwrap();
    assert_eq!(report.read_only, None);
    let mut waited = 0;
    while desk.standing().read_only.is_none() && waited < 500 {
        tokio::time::sleep(std::time::Duration::from_millis(10)).await;
        waited += 1;
    }
    let reason = desk.standing().read_only.unwrap();
    assert!(reason.contains("entry 4 of the journal"), "{reason}");
    let refused = take(&desk, new_car("saloon")).await;
    assert_eq!(refused, Err(DeskError::ReadOnly { reason }));
    desk.close().await.unwrap();
}

#[tokio::test]
async fn damage_behind_the_shelf_is_named_too() {
    let world = World::new().with_counts(2).await;
    let shelf = world.path().join("shelf");
    let aside = tempfile::tempdir().unwrap();
    copy_folder(&shelf, aside.path());
    world
        .with(async |desk| {
            for left in 50..55 {
                take(desk, count_gloves(left)).await.unwrap();
            }
        })
        .await;
    fs::remove_dir_all(&shelf).unwrap();
    copy_folder(aside.path(), &shelf);
    let broken = world
        .journal()
        .replacen("\"left_quantity\":52", "\"left_quantity\":25", 1);
    fs::write(world.segment(), broken).unwrap();
    let (desk, report) = world.try_open().unwrap();
    assert!(report.read_only.unwrap().contains("entry 7 of the journal"));
    assert_eq!(desk.book().head(), Seq(6));
    desk.close().await.unwrap();
}

#[tokio::test]
async fn a_journal_shorter_than_the_shelf_has_seen_opens_read_only() {
    let world = World::new().with_counts(4).await;
    let lines: Vec<String> = world.journal().lines().map(str::to_owned).collect();
    for kept in [
        lines[..4].join("\n") + "\n",
        lines[..4].join("\n") + "\n{\"chain",
        String::new(),
    ] {
        fs::write(world.segment(), &kept).unwrap();
        let (desk, report) = world.try_open().unwrap();
        let reason = report.read_only.unwrap();
        assert!(reason.contains("the shelf has seen entry 6"), "{reason}");
        assert_eq!(report.shelf, ShelfFound::Ahead);
        assert!(matches!(
            take(&desk, new_car("saloon")).await,
            Err(DeskError::ReadOnly { .. })
        ));
        let about = Some("piece/S-01".parse().unwrap());
        let listed = desk.entries(about, true, None, 10).await.unwrap();
        assert_eq!(
            listed.len(),
            desk.book().head().0.saturating_sub(1) as usize
        );
        desk.close().await.unwrap();
        assert_eq!(world.journal(), kept, "not even a torn line is cut");
    }
}

#[tokio::test]
async fn a_shelf_that_is_gone_or_damaged_is_built_again() {
    let world = World::new().with_counts(30).await;
    let shelf = world.path().join("shelf");
    let spoil: [&dyn Fn(); 4] = [
        &|| fs::remove_dir_all(&shelf).unwrap(),
        &|| fs::write(shelf.join("db"), [0xa5; 4096]).unwrap(),
        &|| fs::write(shelf.join("conf"), "segment_size: many").unwrap(),
        &|| {
            let mut bytes = fs::read(shelf.join("db")).unwrap();
            for at in (64..bytes.len()).step_by(97) {
                bytes[at] ^= 0x40;
            }
            fs::write(shelf.join("db"), bytes).unwrap();
        },
    ];
    for spoil in spoil {
        spoil();
        let (desk, report) = world.try_open().unwrap();
        assert!(
            matches!(report.shelf, ShelfFound::Rebuilt { .. }),
            "{report:?}"
        );
        assert_eq!(report.read_only, None);
        assert_whole(&desk, 32).await;
        desk.close().await.unwrap();
        let (desk, report) = world.try_open().unwrap();
        assert_eq!(report.shelf, ShelfFound::Current);
        desk.close().await.unwrap();
    }
}

#[tokio::test]
async fn the_shelf_of_another_book_is_not_used() {
    let (world, other) = (
        World::new().with_counts(3).await,
        World::new().with_counts(9).await,
    );
    fs::remove_dir_all(world.path().join("shelf")).unwrap();
    copy_folder(&other.path().join("shelf"), &world.path().join("shelf"));
    let (desk, report) = world.try_open().unwrap();
    assert!(matches!(report.shelf, ShelfFound::Rebuilt { why } if why.contains("another book")));
    assert_whole(&desk, 5).await;
    desk.close().await.unwrap();
}

/// The story: the journal has entries that the shelf has not, as after a kill between the two.
#[tokio::test]
async fn a_stop_between_journal_and_shelf_loses_nothing() {
    let world = World::new().with_counts(3).await;
    let aside = tempfile::tempdir().unwrap();
    copy_folder(&world.path().join("shelf"), aside.path());
    world
        .with(async |desk| {
            for left in 50..150 {
                take(desk, count_gloves(left)).await.unwrap();
            }
        })
        .await;
    fs::remove_dir_all(world.path().join("shelf")).unwrap();
    copy_folder(aside.path(), &world.path().join("shelf"));
    let (desk, report) = world.try_open().unwrap();
    assert_eq!(report.shelf, ShelfFound::Behind { entry_count: 100 });
    assert_whole(&desk, 105).await;
    desk.close().await.unwrap();
}

/// A clock that says when it is asked: whoever opens a book asks it just before the lock.
struct Asked(Arc<TestClock>, std::sync::mpsc::Sender<()>);

impl Clock for Asked {
    fn now(&self) -> Moment {
        // It is asked again later, when nobody listens any more.
        let _ = self.1.send(());
        self.0.now()
    }
}

/// The lock file may still say who had the book before, in more words: nothing is left of them.
#[tokio::test]
async fn a_second_opener_waits_and_is_told_who_has_the_book() {
    let world = World::new();
    for before in ["", "{}", &"x".repeat(500)] {
        fs::write(world.path().join("book.lock"), before).unwrap();
        let desk = world.open();
        let error = world.try_open().map(|_| ()).unwrap_err();
        let OpenError::Store(StoreError::InUse { holder, .. }) = &error else {
            panic!("{error}")
        };
        assert_eq!(holder.as_ref().unwrap().process, std::process::id());
        desk.close().await.unwrap();
    }
    let desk = world.open();
    let start = Instant::now();
    let Err(error) = world.try_open() else {
        panic!("two desks on one book")
    };
    assert!(start.elapsed() >= world.options.lock_wait);
    let OpenError::Store(StoreError::InUse { holder, .. }) = &error else {
        panic!("{error}")
    };
    let holder = holder.clone().unwrap();
    assert_eq!(holder.process, std::process::id());
    let said = error.to_string();
    assert!(
        said.contains(&format!("process {}", std::process::id())),
        "{said}"
    );
    assert!(said.contains("2026-03-02T08:00:00Z"), "{said}");

    let mut patient = world.options.clone();
    patient.lock_wait = Duration::from_secs(5);
    let (told, asked) = std::sync::mpsc::channel();
    patient.clock = Arc::new(Asked(Arc::clone(&world.clock), told));
    let store = world.store();
    let second = std::thread::spawn(move || Desk::open(store, &patient));
    asked.recv().unwrap();
    desk.close().await.unwrap();
    let (second, _) = second.join().unwrap().unwrap();
    second.close().await.unwrap();
}

#[tokio::test]
async fn a_book_keeps_its_identity() {
    let mut world = World::new();
    let first = world
        .with(async |desk| desk.standing().identity.book_id)
        .await;
    assert_eq!(first, world.options.new_book_id);
    world.options.new_book_id = uuid::Uuid::now_v7();
    assert_eq!(
        world
            .with(async |desk| desk.standing().identity.book_id)
            .await,
        first
    );
}

/// The story: a book from before there were incarnations.
#[tokio::test]
async fn a_book_without_an_incarnation_id_is_as_it_was_begun() {
    let world = World::new().with_counts(1).await;
    let id = world.options.new_book_id;
    let text = format!("{{\"format\":1,\"book_id\":\"{id}\"}}\n");
    fs::write(world.path().join("book.json"), text).unwrap();
    let (desk, report) = world.try_open().unwrap();
    assert_eq!(desk.standing().identity, Identity::begun(id));
    assert_eq!(report.shelf, ShelfFound::Current);
    desk.close().await.unwrap();
}

#[tokio::test]
async fn a_shelf_of_another_incarnation_is_not_used() {
    let world = World::new().with_counts(3).await;
    let identity = Identity {
        incarnation_id: uuid::Uuid::now_v7(),
        since: Seq(5),
        ..Identity::begun(world.options.new_book_id)
    };
    write_identity(world.path(), &identity, &RealDisk).unwrap();
    let (desk, report) = world.try_open().unwrap();
    assert!(
        matches!(report.shelf, ShelfFound::Rebuilt { .. }),
        "{report:?}"
    );
    assert_eq!(desk.standing().identity, identity);
    assert_whole(&desk, 5).await;
    desk.close().await.unwrap();
}

#[tokio::test]
async fn a_folder_that_is_not_a_whole_book_is_refused_and_left_alone() {
    let world = World::new().with_counts(1).await;
    let identity = world.path().join("book.json");
    let text = fs::read_to_string(&identity).unwrap();
    let refused = |text: Option<&str>| {
        match text {
            Some(text) => fs::write(&identity, text).unwrap(),
            None => fs::remove_file(&identity).unwrap(),
        }
        let Err(error) = world.try_open() else {
            panic!("opened with {text:?}")
        };
        assert_eq!(fs::read_to_string(&identity).ok().as_deref(), text);
        error
    };
    assert!(matches!(
        refused(Some("{")),
        OpenError::Store(StoreError::Identity { .. })
    ));
    let newer = text.replace("\"format\":1", "\"format\":2");
    assert!(matches!(
        refused(Some(&newer)),
        OpenError::Store(StoreError::Newer {
            format: 2,
            known: 1,
            ..
        })
    ));
    assert!(matches!(
        refused(None),
        OpenError::Store(StoreError::NoIdentity { .. })
    ));
}
