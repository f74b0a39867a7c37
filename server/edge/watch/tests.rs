//! A watch that stands still is ended with the place to go on, its room is free again, and nothing
//! that was handed over is lost.

use std::sync::Arc;
use std::time::Duration;

use fettlebook_model::Seq;
use tempfile::TempDir;
use tokio_stream::StreamExt as _;
use tokio_test::assert_pending;
use tonic_types::StatusExt as _;
use uuid::Uuid;

use super::{Watch, Watches};
use crate::desk::{Desk, DeskOptions};
use crate::edge::prices::Prices;
use crate::edge::sought::Sought;
use crate::edge::status::EdgeError;
use crate::limits::WATCH_AHEAD_COUNT_MAX;
use crate::store::FolderStore;
use crate::testing::{TestClock, new_car, order};

/// A book of some cars.
async fn cars(count: usize) -> (TempDir, Desk) {
    let folder = tempfile::tempdir().unwrap();
    let clock = TestClock::at("2026-03-02T08:00:00Z");
    let options = DeskOptions::new(Arc::clone(&clock) as _, Uuid::now_v7());
    let (desk, _) = Desk::open(Arc::new(FolderStore::at(folder.path())), &options).unwrap();
    for number in 0..count {
        let order = order(new_car(&format!("car-{number}")));
        desk.submit(order).await.unwrap();
    }
    (folder, desk)
}

/// The numbers a watch still gives, and where it says to go on.
async fn rest(mut watch: Watch) -> (Vec<i64>, String, String) {
    let mut seqs = Vec::new();
    loop {
        match watch.next().await.unwrap() {
            Ok(answer) => seqs.push(answer.entry.unwrap().seq),
            Err(status) => {
                let info = status.get_details_error_info().unwrap();
                return (seqs, info.reason, info.metadata["after_seq"].clone());
            }
        }
    }
}

#[tokio::test]
async fn a_watch_that_stands_still_is_ended_and_goes_on_where_it_says() {
    let count = WATCH_AHEAD_COUNT_MAX + 5;
    let (_folder, desk) = cars(count).await;
    let watches = Watches::new(1, Duration::from_millis(50));
    let slow = watches
        .open(&desk, Seq(0), Sought::default(), Prices::Shown)
        .unwrap();
    while watches.room.available_permits() == 0 {
        tokio::time::sleep(Duration::from_millis(5)).await;
    }
    let (seqs, reason, after) = rest(slow).await;
    let ahead = i64::try_from(WATCH_AHEAD_COUNT_MAX).unwrap();
    assert_eq!(seqs, (1..=ahead).collect::<Vec<_>>());
    assert_eq!(
        (reason.as_str(), after),
        ("WATCH_TOO_SLOW", ahead.to_string())
    );

    let mut again = watches
        .open(
            &desk,
            Seq(after_of(&seqs)),
            Sought::default(),
            Prices::Shown,
        )
        .unwrap();
    for seq in ahead + 1..=i64::try_from(count).unwrap() {
        let answer = again.next().await.unwrap().unwrap();
        assert_eq!(answer.entry.unwrap().seq, seq);
    }
}

fn after_of(seqs: &[i64]) -> u64 {
    u64::try_from(*seqs.last().unwrap()).unwrap()
}

#[tokio::test]
async fn a_watch_that_is_quiet_because_nothing_comes_goes_on() {
    let (_folder, desk) = cars(1).await;
    let stall_max = Duration::from_millis(20);
    let watches = Watches::new(1, stall_max);
    let mut watch = watches
        .open(&desk, Seq(1), Sought::default(), Prices::Shown)
        .unwrap();
    let mut next = tokio_test::task::spawn(watch.next());
    assert_pending!(next.poll());
    // Whoever waits for something sets their alarm before the time goes on.
    tokio::task::yield_now().await;
    tokio::time::pause();
    tokio::time::advance(stall_max * 10).await;
    tokio::time::resume();
    assert_pending!(next.poll());
    desk.submit(order(new_car("late"))).await.unwrap();
    assert_eq!(next.await.unwrap().unwrap().entry.unwrap().seq, 2);
}

#[tokio::test]
async fn there_is_room_for_so_many_and_a_client_that_leaves_makes_room() {
    let (_folder, desk) = cars(1).await;
    let watches = Watches::new(1, Duration::from_secs(60));
    let first = watches
        .open(&desk, Seq(0), Sought::default(), Prices::Shown)
        .unwrap();
    let full = watches
        .open(&desk, Seq(0), Sought::default(), Prices::Shown)
        .err();
    assert_eq!(full, Some(EdgeError::WatchesFull));
    drop(first);
    while watches
        .open(&desk, Seq(0), Sought::default(), Prices::Shown)
        .is_err()
    {
        tokio::time::sleep(Duration::from_millis(1)).await;
    }
}

#[tokio::test]
async fn a_service_that_stops_ends_every_watch_and_says_where_to_go_on() {
    let (_folder, desk) = cars(3).await;
    let watches = Watches::new(8, Duration::from_secs(60));
    let mut read = watches
        .open(&desk, Seq(0), Sought::default(), Prices::Shown)
        .unwrap();
    for _ in 0..3 {
        read.next().await.unwrap().unwrap();
    }
    watches.end();
    let stopping = ("STOPPING".to_owned(), "3".to_owned());
    let (seqs, reason, after) = rest(read).await;
    assert_eq!((seqs, (reason, after)), (Vec::new(), stopping));
    let late = watches
        .open(&desk, Seq(2), Sought::default(), Prices::Shown)
        .unwrap();
    let (seqs, reason, after) = rest(late).await;
    assert_eq!(
        (seqs.len(), reason.as_str(), after.as_str()),
        (0, "STOPPING", "2")
    );
}
