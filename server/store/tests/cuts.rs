//! Two faults in a row: a process is killed, or its sync fails, another goes on, and the power goes.
//!
//! The story: at an operation drawn from all that a run asks of the disk, the process ends. What it
//! wrote and did not sync is read by the next one, which takes further groups. At another operation
//! the power goes. Nothing that any of them acknowledged may be gone, and nothing called damaged.

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use super::faults::Run;
use crate::testing::cuts::cuts_of_each;
use crate::testing::faulty::Fault;
use crate::testing::stores::{Kind, on_every_store};

/// Segments that a run never fills, and such that nearly every group begins one.
const ONE_SEGMENT_BYTES: u64 = 1_000_000;
const MANY_SEGMENTS_BYTES: u64 = 700;

/// Kills, goes on, and cuts the power; how many entries had been acknowledged by then.
fn chain(kind: &Kind, seed: u64, segment_bytes_max: u64, operation_count: u64) -> u64 {
    let mut dice = ChaCha8Rng::seed_from_u64(seed);
    let mut run = Run::new(kind, seed, segment_bytes_max);
    let mut story = format!("seed {seed}");
    for _ in 0..dice.random_range(1..=3) {
        let kinds = [Fault::Kill, Fault::Kill, Fault::Kill, Fault::FailedSync];
        let fault = kinds[dice.random_range(0..kinds.len())];
        let at = dice.random_range(0..operation_count);
        story.push_str(&format!(", {fault:?} at {at}"));
        run.broken.fail_after(at, fault);
        run.work();
        run.broken.recover();
        run.assert_kept(&story);
    }
    let at = dice.random_range(0..operation_count);
    story.push_str(&format!(", the power gone at {at}"));
    run.broken.fail_after(at, Fault::PowerLoss);
    run.work();
    run.broken.cut_power();
    run.broken.recover();
    run.assert_kept(&story);
    let acknowledged = run.acknowledged;
    run.work();
    run.assert_kept(&format!("{story}, then a whole run"));
    acknowledged
}

fn chains(kind: &Kind, what: &str, segment_bytes_max: u64) {
    let mut whole = Run::new(kind, 0, segment_bytes_max);
    whole.work();
    let operation_count = whole.operation_count();
    let cuts = cuts_of_each();
    let acknowledged: u64 = (0..cuts)
        .map(|seed| chain(kind, seed, segment_bytes_max, operation_count))
        .sum();
    println!("{what}: {cuts} cuts, {acknowledged} entries acknowledged, 0 lost, 0 called damaged");
    assert!(acknowledged > cuts, "hardly anything was acknowledged");
}

fn cuts_after_kills_lose_nothing_at_the_journals_end(kind: &Kind) {
    chains(kind, "journal's end", ONE_SEGMENT_BYTES);
}

fn cuts_after_kills_lose_nothing_where_a_segment_begins(kind: &Kind) {
    chains(kind, "segments", MANY_SEGMENTS_BYTES);
}

on_every_store!(
    breaking
    cuts_after_kills_lose_nothing_at_the_journals_end,
    cuts_after_kills_lose_nothing_where_a_segment_begins,
);
