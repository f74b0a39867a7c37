//! Killing a real `fettled` at random moments, over and over, and looking what became of the book.
//!
//! Goal: what was acknowledged is there, once and whole, whatever moment the service ended at, and
//! it always opens again. Method: callers on real connections send washes, weigh-ins, counts,
//! deliveries, uses and reversals; the process gets SIGKILL somewhere in the first 150 ms; it is
//! started again on the same folder, every request is sent again, and the book is held against the
//! callers' own ledger. Some kills come while the book opens, or while its shelf is built again.
//!
//! The moments are drawn from a seed that is printed. The same seed gives the same requests and the
//! same moments; what the machine had reached by then may differ.
//!
//! ```text
//! cargo test --test kill
//! FETTLEBOOK_KILLS=200 cargo test --profile bench --test kill -- --nocapture
//! FETTLEBOOK_KILL_SEED=7 cargo test --test kill -- --nocapture
//! ```
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::indexing_slicing,
    clippy::panic,
    clippy::print_stdout,
    reason = "a test fails by panicking and prints its figures"
)]

mod audit;
mod callers;
mod deed;
mod fettled;
mod follow;
mod keep;
mod ledger;
mod rounds;
mod shop;
mod soak;
mod walk;

use std::time::Duration;

use keep::Copies;
use rounds::{Rounds, from_env};

/// Kills of the quick form.
const KILLS: u64 = 12;
/// Callers at work at once.
const CALLERS: u64 = 6;
/// Latest moment of a kill after the callers began.
const KILL_AFTER_MAX: Duration = Duration::from_millis(150);
/// Rounds between two verifications of the whole book in the long form.
const THOROUGH_EVERY: usize = 20;

/// Kills that were asked for; none for the quick form.
fn asked_kills() -> Option<u64> {
    from_env("FETTLEBOOK_KILLS")
}

#[tokio::test(flavor = "multi_thread")]
async fn what_was_acknowledged_outlives_every_kill() {
    let kills = usize::try_from(asked_kills().unwrap_or(KILLS)).unwrap();
    let mut rounds = Rounds::new(0).await;
    let mut round = 0;
    while rounds.kills() < kills {
        let thorough = asked_kills().is_none() || round % THOROUGH_EVERY == 0;
        let after = rounds.moment(KILL_AFTER_MAX);
        rounds.kill_at_work(CALLERS, after, thorough).await;
        round += 1;
    }
    rounds.end().await;
}

/// The shelf is thrown away, or left as the kill before left it, and the service is killed while it
/// builds it again.
#[tokio::test(flavor = "multi_thread")]
async fn a_shelf_that_is_killed_while_it_is_built_loses_nothing() {
    let (kills, work_s) = asked_kills().map_or((6, 1), |kills| (kills.min(40), 20));
    let mut rounds = Rounds::new(1).await;
    let work = Duration::from_secs(work_s);
    rounds.kill_at_work(4 * CALLERS, work, true).await;
    rounds.throw_shelf_away();
    let build = rounds.time_to_open().await;
    println!("building the shelf and opening takes {build:?}");
    for kill in 0..kills {
        if kill % 2 == 0 {
            rounds.throw_shelf_away();
        }
        rounds.kill_while_opening(build);
    }
    rounds.end().await;
}

#[tokio::test(flavor = "multi_thread")]
async fn a_backup_or_a_restore_that_is_killed_is_whole_or_refused() {
    let kills = usize::try_from(asked_kills().map_or(5, |kills| kills / 2)).unwrap();
    let mut rounds = Rounds::new(2).await;
    rounds
        .kill_at_work(4 * CALLERS, Duration::from_secs(1), true)
        .await;
    let book = rounds.book();
    let mut copies = Copies::of(book);
    let [backups, restores] = copies.kill_both(&mut rounds, kills);
    println!("backups: {backups:?}");
    println!("restores: {restores:?}");
    rounds.end().await;
}

/// A few seconds of the soak. Memory is only held against growth in the long form: a service that
/// has just begun still fills its caches.
#[tokio::test(flavor = "multi_thread")]
async fn many_callers_at_once_get_nothing_worse_than_being_turned_away() {
    let outcome = soak::run(&soak::Plan {
        callers: 64,
        time: Duration::from_secs(3),
        growth_percent_max: 100,
    })
    .await;
    println!("{outcome}");
    assert_eq!(outcome.broken(), None);
}
