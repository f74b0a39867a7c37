//! The access folder when a process is killed, another goes on, and the power goes: what was written,
//! or read by a process that went on from it, is there.

use std::io;

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use super::{Drafts, settle, write_whole};
use crate::testing::cuts::cuts_of_each;
use crate::testing::faulty::{Fault, FaultyDisk};
use crate::testing::faulty_folder::{FaultyDraft, FaultyFolder};

/// Versions of the file that a process writes.
const VERSIONS: u64 = 4;

const NAME: &str = "devices.json";

impl Drafts for FaultyFolder {
    type Draft = FaultyDraft;

    fn draft(&self, name: &str) -> io::Result<FaultyDraft> {
        Self::draft(self, name)
    }

    fn sync_draft(&self, draft: &mut FaultyDraft) -> io::Result<()> {
        draft.sync()
    }

    fn rename(&self, from: &str, to: &str) -> io::Result<()> {
        Self::rename(self, from, to)
    }

    fn sync(&self) -> io::Result<()> {
        Self::sync(self)
    }
}

/// A version of the file: its number, many times.
fn version(number: u64) -> Vec<u8> {
    format!("{number:08}\n")
        .repeat(1 + number as usize % 300)
        .into_bytes()
}

/// The version that can be read; 0 where there is none.
fn read(held: &FaultyFolder, story: &str) -> u64 {
    let Ok(bytes) = std::fs::read(held.folder.join(NAME)) else {
        return 0;
    };
    let number = bytes
        .get(..8)
        .and_then(|digits| std::str::from_utf8(digits).ok());
    let number = number.and_then(|digits| digits.parse().ok());
    let number = number.unwrap_or_else(|| panic!("{story}: {} bytes", bytes.len()));
    assert_eq!(bytes, version(number), "{story}");
    number
}

/// A process: what it reads or writes may be relied on, and is given back.
fn work(held: &FaultyFolder, certain: u64, story: &str) -> u64 {
    if settle(held).is_err() {
        return certain;
    }
    let mut now = read(held, story);
    assert!(
        now >= certain,
        "{story}: {certain} was certain, {now} is there"
    );
    for _ in 0..VERSIONS {
        if write_whole(held, NAME, &version(now + 1)).is_err() {
            break;
        }
        now += 1;
    }
    now
}

#[test]
fn cuts_after_kills_lose_nothing_of_the_access_folder() {
    let folder = tempfile::tempdir().unwrap();
    let whole = FaultyFolder {
        disk: FaultyDisk::new(0),
        folder: folder.path().to_owned(),
    };
    assert_eq!(work(&whole, 0, "whole"), VERSIONS);
    let (cuts, mut written) = (cuts_of_each(), 0);
    for seed in 0..cuts {
        let mut dice = ChaCha8Rng::seed_from_u64(seed);
        let folder = tempfile::tempdir().unwrap();
        let held = FaultyFolder {
            disk: FaultyDisk::new(seed),
            folder: folder.path().to_owned(),
        };
        let (mut certain, mut story) = (0, format!("seed {seed}"));
        for _ in 0..dice.random_range(1..=3) {
            let at = dice.random_range(0..whole.disk.operation_count());
            story.push_str(&format!(", killed at {at}"));
            held.disk.fail_after(at, Fault::Kill);
            certain = work(&held, certain, &story);
            held.disk.recover();
        }
        let at = dice.random_range(0..whole.disk.operation_count());
        story.push_str(&format!(", the power gone at {at}"));
        held.disk.fail_after(at, Fault::PowerLoss);
        certain = work(&held, certain, &story);
        held.disk.cut_power();
        held.disk.recover();
        assert!(
            read(&held, &story) >= certain,
            "{story}: {certain} was certain"
        );
        written += certain;
    }
    println!("access folder: {cuts} cuts, {written} versions written, 0 lost, 0 damaged");
    assert!(written > cuts, "hardly anything was written");
}
