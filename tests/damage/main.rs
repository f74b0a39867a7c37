//! Damage: whatever is done to the files of a closed book, the next opener is told or nothing is lost.
//!
//! Goal: no byte, line or file of a book can be changed, moved, doubled or lost without the book
//! being whole all the same or somebody being told. Method: a book with a long history of every kind
//! of entry, in many segments, is copied, its copy harmed by a seeded hand, opened and read through.
//! What is true is reckoned from the lines of the journal as they were and as they are, by nothing of
//! the service. Shelf and mark of the last close, which have seen how the journal ended, are often gone too.
//! Only where neither tells any more a history may come out shorter: then what is left is a true beginning,
//! and a client that has seen further can tell. Every byte of the journal is counted before and after:
//! it stays where it is or is put aside, and none is deleted.
//!
//! ```text
//! cargo test --test damage -- --nocapture
//! FETTLEBOOK_DAMAGE_TRIALS=20000 FETTLEBOOK_DAMAGE_SEED=1000 cargo test --test damage -- --nocapture
//! ```
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::indexing_slicing,
    clippy::panic,
    clippy::print_stdout,
    clippy::print_stderr,
    reason = "a test fails by panicking and says how the trials went"
)]

#[cfg(test)]
mod base;
#[cfg(test)]
mod deleted;
#[cfg(test)]
mod harm;
#[cfg(test)]
mod mending;
#[cfg(test)]
mod trial;

/// Random things said to a shop in memory, lent by the tests of the model.
#[cfg(test)]
#[path = "../../server/model/tests/ledger/laws"]
mod laws {
    pub(crate) mod act;
}

/// The shop they are said to, lent too.
#[cfg(test)]
#[path = "../../server/model/tests/ledger"]
#[allow(
    dead_code,
    unused_imports,
    reason = "the tests of the model use the rest"
)]
mod ledger {
    pub(crate) mod shop;
}

#[cfg(test)]
use ledger::shop;

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;
    use std::panic;
    use std::sync::Mutex;
    use std::sync::atomic::{AtomicU64, Ordering};
    use std::time::{Duration, Instant};

    use crate::base::Base;
    use crate::deleted::Gone;
    use crate::mending::{self, back_up};
    use crate::trial::{Outcome, trial};

    /// Trials of the quick form.
    const TRIALS: u64 = 300;

    /// Of so many trials one is of mending too, which takes as long as several.
    const MENDS_AMONG_TRIALS: u64 = 6;

    /// Threads and open files that the trials may leave behind in all.
    const LEFT_BEHIND_MAX: usize = 40;

    fn setting(name: &str, default: u64) -> u64 {
        std::env::var(name).map_or(default, |text| text.parse().expect("a whole number"))
    }

    /// Threads and open files of this process, where the system tells.
    fn held() -> [usize; 2] {
        ["task", "fd"].map(|kind| {
            std::fs::read_dir(format!("/proc/self/{kind}")).map_or(0, |entries| entries.count())
        })
    }

    /// Panics so far that are our own, and those of the shelf's store, which are caught.
    static PANICS: [AtomicU64; 2] = [AtomicU64::new(0), AtomicU64::new(0)];

    fn count_panics() {
        panic::set_hook(Box::new(|what| {
            let stores = what
                .location()
                .is_some_and(|place| place.file().contains("/sled-"));
            PANICS[usize::from(stores)].fetch_add(1, Ordering::SeqCst);
            if !stores {
                eprintln!("{what}");
            }
        }));
    }

    #[test]
    fn every_damage_is_harmless_or_told() {
        let (count, first) = (
            setting("FETTLEBOOK_DAMAGE_TRIALS", TRIALS),
            setting("FETTLEBOOK_DAMAGE_SEED", 0),
        );
        let base = Base::new();
        let before = held();
        count_panics();
        let next = AtomicU64::new(0);
        let tally: Mutex<BTreeMap<Outcome, u64>> = Mutex::default();
        let gone: Mutex<Gone> = Mutex::default();
        let wrong: Mutex<Vec<String>> = Mutex::default();
        let slowest: Mutex<(Duration, u64)> = Mutex::default();
        let start = Instant::now();
        std::thread::scope(|scope| {
            for _ in 0..std::thread::available_parallelism().map_or(2, usize::from) {
                scope.spawn(|| {
                    loop {
                        let at = next.fetch_add(1, Ordering::SeqCst);
                        if at >= count {
                            break;
                        }
                        let (seed, start) = (first + at, Instant::now());
                        match panic::catch_unwind(|| trial(&base, seed)) {
                            Ok(Ok((outcome, bytes))) => {
                                *tally.lock().unwrap().entry(outcome).or_default() += 1;
                                let mut gone = gone.lock().unwrap();
                                *gone = gone.and(bytes);
                            }
                            Ok(Err(what)) => wrong.lock().unwrap().push(what),
                            Err(_) => wrong.lock().unwrap().push(format!("seed {seed} broke off")),
                        }
                        let mut slowest = slowest.lock().unwrap();
                        *slowest = (*slowest).max((start.elapsed(), seed));
                    }
                });
            }
        });
        let _ = panic::take_hook();
        let [ours, stores] = [0, 1].map(|which| PANICS[which].load(Ordering::SeqCst));
        println!(
            "{count} trials on a book of {} entries in {} files, {:.1} s",
            base.entries.len(),
            base.segments.len(),
            start.elapsed().as_secs_f64()
        );
        for (outcome, count) in tally.into_inner().unwrap() {
            println!("{count:7}  {outcome}");
        }
        let gone = gone.into_inner().unwrap();
        println!(
            "deleted bytes: {}; line ends set right: {}",
            gone.deleted_bytes, gone.ends_set_right
        );
        let (took, seed) = slowest.into_inner().unwrap();
        println!("slowest: {:.2} s, seed {seed}", took.as_secs_f64());
        println!("panics: {ours}; caught in the shelf's store: {stores}");
        let after = held();
        println!("threads and open files: {before:?} before, {after:?} after");
        let wrong = wrong.into_inner().unwrap();
        assert!(
            wrong.is_empty(),
            "{} silent or wrong:\n{}",
            wrong.len(),
            wrong.join("\n")
        );
        assert_eq!(ours, 0, "panics");
        for (before, after) in before.into_iter().zip(after) {
            assert!(after <= before + LEFT_BEHIND_MAX, "left behind");
        }
    }

    /// Goal: after any harm a mended book has every line that still stands, and every other byte is kept
    /// aside. Method: as above; each harmed book is mended alone and with a backup.
    #[test]
    fn after_every_damage_mending_keeps_what_stands_and_loses_no_byte() {
        let (count, first) = (
            setting("FETTLEBOOK_DAMAGE_TRIALS", TRIALS) / MENDS_AMONG_TRIALS,
            setting("FETTLEBOOK_DAMAGE_SEED", 0),
        );
        let base = Base::new();
        let place = tempfile::tempdir().unwrap();
        let backup = place.path().join("backup");
        back_up(&base, &backup);
        let start = Instant::now();
        let wrong: Vec<String> = (first..first + count)
            .filter_map(|seed| mending::trial(&base, &backup, seed).err())
            .collect();
        println!(
            "{count} harmed books mended, {:.1} s",
            start.elapsed().as_secs_f64()
        );
        assert!(
            wrong.is_empty(),
            "{} wrong:\n{}",
            wrong.len(),
            wrong.join("\n")
        );
    }
}
