//! An outbox whose process is killed, another goes on, and the power goes: nothing that was kept is
//! gone, and nothing is called damaged.

use std::path::Path;
use std::sync::Arc;
use std::time::Duration;

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use super::super::outbox::Outbox;
use crate::testing::cuts::cuts_of_each;
use crate::testing::faulty::{Fault, FaultyDisk};

/// Lines that a process keeps.
const LINES: usize = 6;

fn line(number: usize) -> Vec<u8> {
    let told = "wash P-01 ".repeat(1 + number % 60);
    format!("{{\"line\":\"kept\",\"number\":{number},\"told\":\"{told}\"}}").into_bytes()
}

/// Keeps lines until the disk does not take one; how many are certainly kept.
fn work(outbox: &Path, disk: &FaultyDisk, mut kept: usize, story: &str) -> usize {
    let wait = Duration::from_millis(50);
    let Ok(mut open) = Outbox::open_on(outbox, Arc::new(disk.clone()), wait) else {
        return kept;
    };
    assert_kept(&open, kept, story);
    for _ in 0..LINES {
        let number = open.lines().len() + 1;
        if open.append(&[line(number)]).is_err() {
            break;
        }
        kept = number;
    }
    kept
}

fn assert_kept(open: &Outbox, kept: usize, story: &str) {
    let there = open.lines().len();
    assert!(
        there >= kept,
        "{story}: {kept} were kept, {there} are there"
    );
    let lines: Vec<Vec<u8>> = (1..=there).map(line).collect();
    assert_eq!(open.lines(), lines, "{story}");
}

#[test]
fn cuts_after_kills_lose_no_line_of_an_outbox() {
    let whole = FaultyDisk::new(0);
    let folder = tempfile::tempdir().unwrap();
    assert_eq!(
        work(&folder.path().join("outbox"), &whole, 0, "whole"),
        LINES
    );
    let (cuts, mut kept_in_all) = (cuts_of_each(), 0);
    for seed in 0..cuts {
        let mut dice = ChaCha8Rng::seed_from_u64(seed);
        let (folder, disk) = (tempfile::tempdir().unwrap(), FaultyDisk::new(seed));
        let outbox = folder.path().join("outbox");
        let (mut kept, mut story) = (0, format!("seed {seed}"));
        for _ in 0..dice.random_range(1..=3) {
            let kinds = [Fault::Kill, Fault::Kill, Fault::Kill, Fault::FailedSync];
            let fault = kinds[dice.random_range(0..kinds.len())];
            let at = dice.random_range(0..whole.operation_count());
            story.push_str(&format!(", {fault:?} at {at}"));
            disk.fail_after(at, fault);
            kept = work(&outbox, &disk, kept, &story);
            disk.recover();
        }
        let at = dice.random_range(0..whole.operation_count());
        story.push_str(&format!(", the power gone at {at}"));
        disk.fail_after(at, Fault::PowerLoss);
        kept = work(&outbox, &disk, kept, &story);
        disk.cut_power();
        disk.recover();
        let open = Outbox::open(&outbox).unwrap_or_else(|error| panic!("{story}: {error}"));
        assert_kept(&open, kept, &story);
        kept_in_all += kept;
    }
    println!("outbox: {cuts} cuts, {kept_in_all} lines kept, 0 lost, 0 called damaged");
    assert!(kept_in_all as u64 > cuts, "hardly anything was kept");
}
