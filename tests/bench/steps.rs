//! What each step of an order costs by itself: deciding, encoding, applying, chaining, shelving;
//! and what a check and the statistics behind it cost.
//!
//! It serves whoever looks for where the time of a commit or of a check goes.

#[allow(
    dead_code,
    clippy::indexing_slicing,
    clippy::unwrap_used,
    reason = "the year uses the rest of it, and what is said in it is taken"
)]
#[path = "../year/ledger.rs"]
mod ledger;
mod machines;
#[allow(dead_code, reason = "the load uses the rest of it")]
mod shop;
mod supply;

use std::sync::Arc;

use divan::counter::ItemsCount;
use divan::{Bencher, black_box};
use fettlebook_model::chance::{PadAhead, Precision, carry_chance};
use fettlebook_model::check::check_jobs;
use fettlebook_model::life::{Belief, Life, Lives, Prior, fit_weibull};
use fettlebook_model::reorder::reorder_list;
use fettlebook_model::{Book, Command, Entry, Moment, decide};
use fettlebook_server::journal::{Head, Mark, Position};
use fettlebook_server::shelf::{Furthest, Shelf, ShelfMark, ShelfSize, Shelved};
use uuid::Uuid;

/// Uses in a group.
const GROUP_COUNT: usize = 64;

/// Entries in a batch for the shelf.
const BATCH_COUNT: usize = 1024;

fn main() {
    divan::main();
}

/// The shop after some uses, and those uses.
fn after(use_count: usize) -> (Book, Vec<Entry>) {
    let (mut book, mut entries) = (Book::new(), Vec::new());
    for command in shop::set_up() {
        book.apply(&shop::entry(&book, &command));
    }
    for at in 0..use_count {
        let entry = shop::entry(&book, &shop::usage(at % 64, at / 64));
        book.apply(&entry);
        entries.push(entry);
    }
    (book, entries)
}

fn commands() -> Vec<Command> {
    (0..GROUP_COUNT)
        .map(|caller| shop::usage(caller, 9))
        .collect()
}

/// A check of a booked job in a shop of 200 pieces that has seen some uses.
#[divan::bench]
fn check_a_job(bencher: Bencher) {
    let (mut book, _) = after(1000);
    for command in shop::saloon_tomorrow(Moment::UNIX_EPOCH) {
        book.apply(&shop::entry(&book, &command));
    }
    let job: Vec<_> = book.jobs().map(|job| job.id.clone()).collect();
    bencher.bench(|| check_jobs(&book, &job, Moment::UNIX_EPOCH));
}

/// A check of five jobs of one day in a shop of 500 pieces, some pads of which have worn out.
#[divan::bench]
fn check_a_day_of_five_jobs(bencher: Bencher) {
    let (book, jobs, now) = supply::busy_day();
    bencher.bench(|| check_jobs(&book, &jobs, now));
}

/// The same where three machines share each step.
#[divan::bench]
fn check_a_day_of_five_jobs_on_three_machines(bencher: Bencher) {
    let (book, jobs, now) = machines::shared_day();
    bencher.bench(|| check_jobs(&book, &jobs, now));
}

/// The reorder list of a shop of 500 pieces with 40 booked jobs and 12 suppliers.
#[divan::bench(sample_count = 20)]
fn reorder_for_forty_jobs(bencher: Bencher) {
    let (book, now) = supply::busy_shop();
    bencher.bench(|| reorder_list(&book, None, None, now));
}

/// The life of a make from 10,000 lives, every second of them cut off.
#[divan::bench]
#[allow(clippy::unwrap_used, reason = "the lives are made here")]
fn fit_ten_thousand_lives(bencher: Bencher) {
    let life = |at: u32| Life::whole(1.0 + f64::from(at % 997) / 250.0, at.is_multiple_of(2));
    let lives = Lives::new((0..10_000).map(life).collect()).unwrap();
    bencher.bench(|| fit_weibull(&lives));
}

/// The carry chance of two steps with twelve pads each.
#[divan::bench]
#[allow(clippy::unwrap_used, reason = "the lives are made here")]
fn carry_chance_of_two_steps(bencher: Bencher) {
    let pads: Vec<PadAhead> = (0..12_u32)
        .map(|at| PadAhead {
            age: f64::from(at) / 12.0,
            more: 0.13,
        })
        .collect();
    let lives = pads.iter().map(|pad| Life::whole(pad.age, false));
    let lives = Lives::new(lives.collect()).unwrap();
    let belief = Belief::from_prior(3.0, Prior::rating(), &lives).unwrap();
    bencher.bench(|| {
        let step = || carry_chance(&belief, 0.3, 11, black_box(&pads), Precision::Fine);
        step() * step()
    });
}

#[divan::bench]
fn decide_group(bencher: Bencher) {
    let ((book, _), commands, now) = (after(1000), commands(), Moment::UNIX_EPOCH);
    bencher.counter(ItemsCount::new(GROUP_COUNT)).bench(|| {
        for command in &commands {
            let _ = black_box(decide(&book, command, now));
        }
    });
}

#[divan::bench]
fn encode_group(bencher: Bencher) {
    let (_, entries) = after(GROUP_COUNT);
    bencher.counter(ItemsCount::new(GROUP_COUNT)).bench(|| {
        for entry in &entries {
            let _ = black_box(serde_json::to_vec(entry));
        }
    });
}

#[divan::bench]
fn decode_group(bencher: Bencher) {
    let (_, entries) = after(GROUP_COUNT);
    let lines: Vec<Vec<u8>> = entries
        .iter()
        .filter_map(|e| serde_json::to_vec(e).ok())
        .collect();
    bencher.counter(ItemsCount::new(GROUP_COUNT)).bench(|| {
        for line in &lines {
            let _ = black_box(serde_json::from_slice::<Entry>(line));
        }
    });
}

#[divan::bench]
fn apply_group(bencher: Bencher) {
    let (book, entries) = after(GROUP_COUNT);
    bencher.counter(ItemsCount::new(GROUP_COUNT)).bench(|| {
        let mut scratch = book.clone();
        for entry in &entries {
            scratch.apply(entry);
        }
        scratch
    });
}

#[divan::bench]
fn chain_group(bencher: Bencher) {
    let (_, entries) = after(GROUP_COUNT);
    let lines: Vec<Vec<u8>> = entries
        .iter()
        .filter_map(|e| serde_json::to_vec(e).ok())
        .collect();
    bencher.counter(ItemsCount::new(GROUP_COUNT)).bench(|| {
        lines
            .iter()
            .fold(Head::EMPTY.chain, |chain, line| chain.link(line))
    });
}

#[divan::bench(sample_count = 20, sample_size = 1)]
#[allow(
    clippy::unwrap_used,
    reason = "a bench without a shelf has nothing to say"
)]
fn shelve_batch(bencher: Bencher) {
    let (book, entries) = after(BATCH_COUNT);
    let folder = tempfile::tempdir_in("target").unwrap();
    let shelf = Shelf::open(folder.path(), ShelfSize::Alone).unwrap();
    bencher
        .counter(ItemsCount::new(BATCH_COUNT))
        .with_inputs(|| {
            let batch: Vec<Shelved> = entries
                .iter()
                .map(|entry| {
                    let entry = Entry {
                        request: Uuid::now_v7(),
                        ..entry.clone()
                    };
                    let at = Position {
                        seq: entry.seq,
                        segment: 1,
                        offset: 0,
                    };
                    let mark = Mark {
                        at,
                        chain: Head::EMPTY.chain,
                    };
                    Shelved {
                        entry: Arc::new(entry),
                        mark,
                    }
                })
                .collect();
            batch
        })
        .bench_values(|batch| {
            let last = batch.last().unwrap();
            let mark = ShelfMark::new(Uuid::nil(), last.mark.clone(), Furthest::NONE);
            shelf.put(&batch, &book, &mark).unwrap();
        });
}
