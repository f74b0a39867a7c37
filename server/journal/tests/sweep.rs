//! Reading a journal through on all processors says the same of every journal as the walk, line by
//! line, does.
//!
//! Goal: speed must not cost a finding. Method: journals of several files are harmed at random, swept
//! in small blocks by several threads, and the verdict is held against that of the reader.

use std::fs;

use fettlebook_model::Seq;
use rand::{RngExt as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;

use super::{World, mark_of};
use crate::journal::sweep::{Reached, ReadThrough, Sweep};
use crate::journal::{FileReader, JournalError, Position, Reader as _};

/// Harmed journals of the test.
const HARM_COUNT: u64 = 800;

/// Entries in a journal before it is harmed.
const ENTRY_COUNT: u64 = 40;

/// A journal in four files or so.
fn several_files() -> World {
    let mut world = World::new();
    world.segment_bytes_max = 1_500;
    world.with_entries(ENTRY_COUNT)
}

fn sweep(
    world: &World,
    from: &Reached,
    until: u64,
    block_bytes: usize,
) -> Result<ReadThrough, JournalError> {
    let sweep = Sweep {
        folder: world.path(),
        until: Seq(until),
        go_on: &|| true,
        block_bytes,
        thread_count: 3,
    };
    sweep.run(from)
}

/// What the reader says of the journal up to an entry: nothing, or what is wrong.
fn walked(world: &World, until: u64) -> Option<String> {
    let reader = FileReader::new(world.path().to_owned());
    match reader.read(Position::START, Seq(until)) {
        Err(error) => Some(error.to_string()),
        Ok(lines) => lines.filter_map(Result::err).next().map(|e| e.to_string()),
    }
}

/// Names of the files in the journal, in order.
fn names(world: &World) -> Vec<String> {
    let mut names: Vec<String> = fs::read_dir(world.path())
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    names
}

/// Does one thing to one file.
fn harm(world: &World, dice: &mut ChaCha8Rng) {
    let names = names(world);
    let path = world.path().join(&names[dice.random_range(0..names.len())]);
    let mut bytes = fs::read(&path).unwrap();
    let at = dice.random_range(0..bytes.len());
    let line_start = |at: usize| {
        bytes[..at]
            .iter()
            .rposition(|b| *b == b'\n')
            .map_or(0, |n| n + 1)
    };
    match dice.random_range(0..9) {
        0 => bytes[at] ^= 1 << dice.random_range(0..8),
        1 => bytes[at] = b"0\n}\0"[dice.random_range(0..4)],
        2 => bytes.truncate(at),
        3 => bytes.truncate(line_start(at)),
        4 => bytes.extend(vec![0; at]),
        5 => bytes.drain(line_start(at)..at).for_each(drop),
        6 => {
            let line = bytes[line_start(at)..].to_vec();
            bytes.extend(line);
        }
        7 => return fs::remove_file(path).unwrap(),
        _ => return fs::rename(&path, world.segment(dice.random_range(1..60))).unwrap(),
    }
    fs::write(path, bytes).unwrap();
}

#[test]
fn a_sweep_and_a_walk_say_the_same_of_every_harmed_journal() {
    let whole = several_files();
    assert!(names(&whole).len() > 3);
    let (mut faults, mut sound) = (0, 0);
    for seed in 0..HARM_COUNT {
        let mut dice = ChaCha8Rng::seed_from_u64(seed);
        let world = World::new();
        for name in names(&whole) {
            fs::copy(whole.path().join(&name), world.path().join(name)).unwrap();
        }
        harm(&world, &mut dice);
        let until = [ENTRY_COUNT, dice.random_range(1..=ENTRY_COUNT)][dice.random_range(0..2)];
        let block_bytes = dice.random_range(1..2_000);
        let swept = sweep(&world, &Reached::NOTHING, until, block_bytes);
        let said = swept.as_ref().err().map(ToString::to_string);
        assert_eq!(said, walked(&world, until), "seed {seed}");
        match swept {
            Ok(read) => {
                sound += 1;
                assert_eq!(read.end.next.seq, Seq(until + 1), "seed {seed}");
                assert_eq!(read.end.chain, mark_of(&world, until).chain, "seed {seed}");
            }
            Err(_) => faults += 1,
        }
    }
    assert!(faults > 250 && sound > 50, "{faults} faults, {sound} sound");
}

#[test]
fn a_sweep_goes_on_from_the_beginning_of_each_file_and_from_its_own_end() {
    let world = several_files();
    let whole = sweep(&world, &Reached::NOTHING, ENTRY_COUNT, 700).unwrap();
    let firsts: Vec<String> = whole.segments.iter().map(|s| s.next.file_name()).collect();
    assert_eq!(firsts, names(&world));
    for from in whole.segments.iter().chain([&whole.end]) {
        let rest = sweep(&world, from, ENTRY_COUNT, 700).unwrap();
        assert_eq!(rest.end, whole.end);
    }
    // What stands before is not read again.
    fs::write(world.segment(1), "").unwrap();
    let from = whole.segments.last().unwrap();
    assert_eq!(
        sweep(&world, from, ENTRY_COUNT, 700).unwrap().end,
        whole.end
    );
    let half = sweep(&world, from, ENTRY_COUNT - 1, 700).unwrap().end;
    assert_eq!(
        sweep(&world, &half, ENTRY_COUNT, 700).unwrap().end,
        whole.end
    );
    let other = Reached {
        chain: whole.segments[0].chain,
        ..half
    };
    let error = sweep(&world, &other, ENTRY_COUNT, 700).unwrap_err();
    let named = format!("entry {ENTRY_COUNT} of the journal does not fit the chain");
    assert!(error.to_string().starts_with(&named), "{error}");
}
