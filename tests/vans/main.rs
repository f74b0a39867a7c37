//! Two vans that lose their signal, log on, and join again, over and over.
//!
//! Goal: whatever moment a link is cut at, every deed is in the book once, in the order of its van,
//! and what the two did to the same thing is flagged. Method: a real `fettled` over TLS, two paired
//! devices that are real `fettle` processes, each behind a link of its own that is cut after a
//! random number of bytes. In each round both vans are cut off in the middle of a log, record twenty
//! deeds each without signal, and send them over links that are cut again and again. Then the journal
//! is read from its files, with nothing of ours, and held against what the vans did.
//!
//! ```text
//! cargo test --test vans
//! FETTLEBOOK_ROUNDS=200 cargo test --profile bench --test vans -- --nocapture
//! FETTLEBOOK_QUEUED=1000 cargo test --profile bench --test vans queue -- --nocapture
//! FETTLEBOOK_VANS_SEED=7 cargo test --test vans -- --nocapture
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
mod deeds;
mod hub;
mod link;
mod queue;
mod rounds;
mod van;
mod week;

use rounds::{ROUNDS, Rounds, from_env};

/// Rounds of the quick form.
const QUICK: u64 = 3;

#[test]
fn two_vans_without_signal_lose_nothing_and_double_nothing() {
    let count = from_env(ROUNDS).unwrap_or(QUICK);
    let mut rounds = Rounds::begin();
    for _ in 0..count {
        rounds.run();
    }
    let score = rounds.end();
    println!("{score}");
    assert_eq!(score.faults(), [""; 0]);
    assert!(score.cut_short > 0, "no link was ever cut in the middle");
    assert!(score.flagged > 0, "the vans never met");
}
