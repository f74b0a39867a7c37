//! Acknowledged is durable; what fails stops the book and says why; what is refused leaves no trace.

use std::sync::Arc;

use fettlebook_model::{Moment, Seq};

use super::{World, assert_whole, take};
use crate::desk::{Clock, DeskError, StoppedBy};
use crate::testing::stores::{Kind, on_every_store};
use crate::testing::{count_gloves, new_car, order};

async fn a_refused_command_leaves_the_journal_as_it_was(kind: &Kind) {
    let world = World::on(kind).with_counts(2).await;
    let journal = world.journal();
    world
        .with(async |desk| {
            let appends = world.told.append_count();
            for command in [crate::testing::reverse(99), crate::testing::reverse(0)] {
                take(desk, command).await.unwrap_err();
            }
            assert_eq!(world.told.append_count(), appends);
            assert_eq!(desk.book().head(), Seq(4));
        })
        .await;
    assert_eq!(world.journal(), journal);
}

/// Nor does it stop a book whose store finds out what became of it: that is recorded once.
async fn a_failed_sync_stops_the_book_and_is_never_tried_again(kind: &Kind) {
    let world = World::on(kind).with_counts(1).await;
    let request = order(count_gloves(7));
    let desk = world.open();
    let before = desk.book();
    let syncs = world.told.sync_count();
    world.told.fail_sync_after(0);
    if kind.settles {
        let entry = desk.submit(request.clone()).await.unwrap();
        assert_eq!(desk.submit(request).await.unwrap(), entry);
        assert_eq!(desk.standing().read_only, None);
        return desk.close().await.unwrap();
    }
    let failed = desk.submit(request.clone()).await.unwrap_err();
    assert!(
        matches!(&failed, DeskError::DiskFailed { reason } if reason.contains("does not answer"))
    );
    for _ in 0..3 {
        let again = desk.submit(request.clone()).await.unwrap_err();
        let by = StoppedBy::Disk;
        assert!(matches!(&again, DeskError::Stopped { by: found, .. } if *found == by));
        assert_eq!(again.todo(), failed.todo(), "the same helps as at first");
    }
    assert_eq!(world.told.sync_count(), syncs + 1);
    assert!(
        desk.standing()
            .read_only
            .unwrap()
            .contains("does not answer")
    );
    assert_eq!(
        desk.book(),
        before,
        "reads go on, and show nothing that is not durable"
    );
    assert_eq!(desk.entry(Seq(3)).await.unwrap().seq, Seq(3));
    desk.close().await.unwrap();
    world
        .with(async |desk| {
            desk.submit(request.clone()).await.unwrap();
            assert_whole(desk, 4).await;
        })
        .await;
}

/// As on a file system that copies on writing, or under a quota: no room even where space was set aside.
async fn a_disk_that_is_full_in_the_midst_of_a_group_is_asked_again(kind: &Kind) {
    let world = World::on(kind).with_counts(1).await;
    let desk = world.open();
    let request = order(count_gloves(7));
    world.told.fail_append_after(0);
    let failed = desk.submit(request.clone()).await.unwrap_err();
    // What is to be done about a disk is nothing for an engine.
    let is_right = match world.told.folder() {
        Some(_) => matches!(&failed, DeskError::DiskRefuses { .. }),
        None => matches!(&failed, DeskError::EngineUnready { .. }),
    };
    assert!(is_right, "{failed:?}");
    assert_eq!(desk.standing().read_only, None);
    desk.submit(request).await.unwrap();
    assert_whole(&desk, 4).await;
    desk.close().await.unwrap();
    let (desk, report) = world.try_open().unwrap();
    assert_eq!(report.torn, None, "half a group was left");
    assert_whole(&desk, 4).await;
    desk.close().await.unwrap();
}

/// A clock that breaks off, standing in for a fault in the program while a command is decided.
struct BrokenClock(std::sync::atomic::AtomicBool);

impl Clock for BrokenClock {
    fn now(&self) -> Moment {
        assert!(
            !self.0.load(std::sync::atomic::Ordering::SeqCst),
            "the clock broke off"
        );
        Moment::UNIX_EPOCH
    }
}

async fn a_command_that_breaks_the_program_stops_the_book_aloud(kind: &Kind) {
    let mut world = World::on(kind);
    let clock = Arc::new(BrokenClock(false.into()));
    world.options.clock = Arc::clone(&clock) as _;
    let desk = world.open();
    let kept = order(new_car("saloon"));
    let first = desk.submit(kept.clone()).await.unwrap();
    clock.0.store(true, std::sync::atomic::Ordering::SeqCst);
    let failed = take(&desk, new_car("suv")).await.unwrap_err();
    let DeskError::Stopped { by, .. } = failed else {
        panic!("{failed:?}")
    };
    assert_eq!(by, StoppedBy::Program);
    assert!(desk.standing().read_only.is_some());
    assert_eq!(
        desk.submit(kept).await.unwrap(),
        first,
        "what is done can still be asked for"
    );
    assert_whole_but_stopped(&desk).await;
    desk.close().await.unwrap();
}

async fn assert_whole_but_stopped(desk: &crate::desk::Desk) {
    let verified = desk.verify().await.unwrap();
    assert_eq!(
        verified.findings,
        [desk.standing().read_only.unwrap().to_string()]
    );
    assert_eq!(verified.entry_count, 1);
}

async fn recorded_time_never_runs_back(kind: &Kind) {
    let world = World::on(kind);
    world
        .with(async |desk| {
            let first = take(desk, new_car("saloon")).await.unwrap();
            world.clock.shift(-3600);
            assert_eq!(
                take(desk, new_car("suv")).await.unwrap().recorded_at,
                first.recorded_at
            );
        })
        .await;
    world
        .with(async |desk| {
            let first = desk.entry(Seq(1)).await.unwrap();
            let third = take(desk, new_car("van")).await.unwrap();
            assert_eq!(third.recorded_at, first.recorded_at, "nor after a restart");
            world.clock.shift(7200);
            assert!(take(desk, new_car("city")).await.unwrap().recorded_at > first.recorded_at);
        })
        .await;
}

async fn closing_takes_what_waits_and_lets_go(kind: &Kind) {
    let world = World::on(kind);
    let desk = world.open();
    let other = desk.clone();
    world.told.hold();
    let cars: Vec<_> = ["a", "b", "c"]
        .map(|id| {
            let (desk, order) = (desk.clone(), order(new_car(id)));
            tokio::spawn(async move { desk.submit(order).await })
        })
        .into_iter()
        .collect();
    tokio::task::yield_now().await;
    let closing = tokio::spawn(desk.close());
    tokio::task::yield_now().await;
    world.told.release();
    closing.await.unwrap().unwrap();
    for car in cars {
        car.await.unwrap().unwrap();
    }
    assert_eq!(take(&other, new_car("d")).await, Err(DeskError::Closed));
    assert_eq!(other.entry(Seq(1)).await, Err(DeskError::Closed));
    assert_eq!(other.clone().close().await, Err(DeskError::Closed));
    world.with(async |desk| assert_whole(desk, 3).await).await;
}

/// A file where the shelf's folder should be stands for a disk that does not let it be opened.
async fn a_book_without_a_shelf_is_read_and_takes_orders_once_it_has_one_again(kind: &Kind) {
    let world = World::on(kind).with_counts(3).await;
    let (shelf, retried) = (world.store().shelf_folder(), order(count_gloves(9)));
    world
        .with(async |desk| desk.submit(retried.clone()).await.unwrap())
        .await;
    std::fs::remove_dir_all(&shelf).unwrap();
    std::fs::write(&shelf, "not a folder").unwrap();
    let desk = world.open();
    assert_eq!(desk.standing().read_only, None);
    assert_eq!(desk.entry(Seq(4)).await.unwrap().seq, Seq(4));
    let about = desk.entries(None, true, None, 10).await.unwrap();
    assert_eq!(about.len(), 6);
    for order in [order(count_gloves(1)), retried.clone()] {
        let refused = desk.submit(order).await.unwrap_err();
        assert!(
            matches!(refused, DeskError::DiskRefuses { .. }),
            "{refused}"
        );
    }
    std::fs::remove_file(&shelf).unwrap();
    let again = loop {
        match desk.submit(retried.clone()).await {
            Err(DeskError::DiskRefuses { .. }) => {
                tokio::time::sleep(std::time::Duration::from_millis(50)).await;
            }
            answer => break answer.unwrap(),
        }
    };
    assert_eq!(again.seq, Seq(6), "the retry gets the first answer again");
    take(&desk, count_gloves(2)).await.unwrap();
    assert_whole(&desk, 7).await;
    desk.close().await.unwrap();
}

on_every_store!(
    async a_refused_command_leaves_the_journal_as_it_was,
    a_failed_sync_stops_the_book_and_is_never_tried_again,
    a_disk_that_is_full_in_the_midst_of_a_group_is_asked_again,
    a_command_that_breaks_the_program_stops_the_book_aloud,
    recorded_time_never_runs_back,
    closing_takes_what_waits_and_lets_go,
    a_book_without_a_shelf_is_read_and_takes_orders_once_it_has_one_again,
);
