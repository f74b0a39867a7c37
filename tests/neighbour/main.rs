//! Hostile neighbours on the network: what they cost a real `fettled`, and the shop that it serves.
//!
//! Goal: whoever has no token takes little memory, gives it back, and keeps nobody out. Method: from
//! many addresses of this machine come connections that say nothing once they are sealed, or each open
//! one pairing or as many as they may and never end one, or begin a head of HTTP/1.1 and never end it; what is closed comes again a second later.
//! Meanwhile a paired device calls, on a connection that it keeps and on new ones, a new device is
//! paired, and somebody comes from an address that nobody came from before. The memory of the process
//! is looked at all the time, and after the neighbours have gone.
//!
//! ```text
//! cargo test --test neighbour -- --nocapture
//! FETTLEBOOK_NEIGHBOURS=512 cargo test --profile bench --test neighbour -- --nocapture
//! ```
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::indexing_slicing,
    clippy::panic,
    clippy::print_stdout,
    reason = "a test fails by panicking and prints its figures"
)]
#![cfg(target_os = "linux")]

mod attack;
mod device;
mod dial;
mod fettled;

use std::net::Ipv4Addr;
use std::time::{Duration, Instant};

use attack::{Attack, Kind};
use device::Calls;
use fettled::Fettled;

/// Connections of the quick form.
const NEIGHBOURS: usize = 64;
/// How long they go on in the quick form.
const GO_ON_FOR: Duration = Duration::from_secs(5);
/// How long in the long form: until every deadline has come at least once.
const GO_ON_FOR_LONG: Duration = Duration::from_secs(25);
/// Connections of one address.
const EACH: usize = 4;
/// Bytes of memory that neighbours may cost. Source: the demand, 150 MB above idle.
const COST_BYTES_MAX: u64 = 150_000_000;
/// Bytes above idle that count as given back: what the shop's own calls leave behind.
const BACK_BYTES: u64 = 16_000_000;
/// How soon they are given back. Source: the demand, 30 s.
const BACK_WITHIN: Duration = Duration::from_secs(30);
/// The 99th of a hundred calls of a paired device. Source: the demand, 100 ms.
const CALL_TIME_MAX: Duration = Duration::from_millis(100);
/// The same in the quick form, in which neither the service nor the neighbours that share its processors
/// are optimised: it only tells a call that is answered from one that is not.
const CALL_TIME_MAX_QUICK: Duration = Duration::from_secs(10);
/// An address that neither neighbours nor the shop come from.
const NEWCOMER: Ipv4Addr = Ipv4Addr::new(127, 2, 0, 1);
/// How long a newcomer may wait until its connection is sealed: `fettle` gives up a little later
/// (`CONNECT_WAIT` in `client/shop/wire.rs`, 3 s).
const NEWCOMER_TIME_MAX: Duration = Duration::from_millis(2_500);
/// Bytes that the log may grow by a second, however many are refused.
const LOG_BYTES_PER_S_MAX: u64 = 20_000;

/// Connections that were asked for; none for the quick form.
fn asked() -> Option<usize> {
    let text = std::env::var("FETTLEBOOK_NEIGHBOURS").ok()?;
    Some(text.parse().expect("FETTLEBOOK_NEIGHBOURS is a number"))
}

#[tokio::test(flavor = "multi_thread")]
async fn neighbours_without_a_token_cost_little_and_keep_nobody_out() {
    let folder = tempfile::tempdir().unwrap();
    let fettled = Fettled::start(folder.path());
    let owner = fettled.pair("bench", "own");
    for kind in [Kind::Silent, Kind::Pairings, Kind::Patient, Kind::Heads] {
        suffer(&fettled, &owner, kind).await;
    }
    fettled.stop();
}

/// One attack, from before it until its memory is given back.
async fn suffer(fettled: &Fettled, owner: &str, kind: Kind) {
    let (count, go_on_for, call_time_max) = match asked() {
        Some(count) => (count, GO_ON_FOR_LONG, CALL_TIME_MAX),
        None => (NEIGHBOURS, GO_ON_FOR, CALL_TIME_MAX_QUICK),
    };
    let way = fettled.way();
    Calls::begin(&way, owner)
        .for_time(Duration::from_secs(1))
        .await;
    let (idle, log_before) = (fettled.memory_bytes(), fettled.log_bytes());
    let attack = Attack::begin(&way, kind, count, EACH);
    let calling = Calls::begin(&way, owner).for_time(go_on_for);
    let looking = most(fettled, go_on_for);
    let name = format!("van-{}", kind.word());
    let pairing = async {
        tokio::time::sleep(go_on_for / 2).await;
        let begun = Instant::now();
        tokio::task::block_in_place(|| fettled.pair(&name, "work"));
        let paired = begun.elapsed();
        let begun = Instant::now();
        way.dial(NEWCOMER).await.unwrap();
        (paired, begun.elapsed())
    };
    let (times, most, (paired, sealed)) = tokio::join!(calling, looking, pairing);
    let met = attack.end().await;
    let log = fettled.log_bytes() - log_before;
    let back = back(fettled, idle).await;
    println!(
        "{count} connections, {}: {met}\n  memory {} MB idle, {} MB at most; back after {back:?}\n  \
         paired device: {times}\n  a new device was paired in {paired:.1?}, a newcomer's connection \
         sealed in {sealed:.1?}; the log grew by {log} bytes",
        kind.told(),
        idle / 1_000_000,
        most / 1_000_000,
    );
    assert!(
        most.saturating_sub(idle) <= COST_BYTES_MAX,
        "{most} - {idle}"
    );
    assert!(times.worst_of_100() <= call_time_max, "{times}");
    // The quick form only tells whether one is sealed at all.
    assert!(sealed <= NEWCOMER_TIME_MAX.max(call_time_max), "{sealed:?}");
    assert!(back.is_some(), "memory is not given back");
    let log_max = LOG_BYTES_PER_S_MAX * (go_on_for.as_secs() + 10);
    assert!(log <= log_max, "the log grew by {log} bytes");
}

/// The most memory that the process had in a time.
async fn most(fettled: &Fettled, time: Duration) -> u64 {
    let begun = Instant::now();
    let mut most = 0;
    while begun.elapsed() < time {
        most = most.max(fettled.memory_bytes());
        tokio::time::sleep(Duration::from_millis(50)).await;
    }
    most
}

/// How long it takes until the memory is back; nothing when it is not in time.
async fn back(fettled: &Fettled, idle: u64) -> Option<Duration> {
    let begun = Instant::now();
    while begun.elapsed() < BACK_WITHIN {
        if fettled.memory_bytes() <= idle + BACK_BYTES {
            return Some(begun.elapsed());
        }
        tokio::time::sleep(Duration::from_millis(100)).await;
    }
    None
}
