//! Feeds a target, which is a test that takes bytes, its corpus and what random edits make of it.
//!
//! It serves the tests named `fuzz…` in every package: each sees the private parts it aims at, and a
//! file added to `tests/fuzz/corpus/<target>/` is tried on every run from then on. A failing input is
//! shrunk to the fewest edits and printed; it must never be forgotten, so put it into the corpus.
//!
//! ```text
//! cargo test --workspace fuzz                                          the quick form, always the same
//! FETTLEBOOK_FUZZ_SECONDS=60 cargo test --workspace fuzz -- --nocapture   the long one, never the same
//! ```
//!
//! The edits are proptest's, so that a failure shrinks. An engine that watches the coverage can be put
//! in its place here: a target is nothing but a function of bytes.
#![allow(
    clippy::panic,
    clippy::print_stderr,
    reason = "it is part of tests, which fail by panicking and say how much was tried"
)]

mod edit;

use std::cell::Cell;
use std::fmt;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use proptest::strategy::Strategy;
use proptest::test_runner::{Config, RngAlgorithm, TestCaseError, TestRng, TestRunner};

/// Seconds that each target is given in the long form.
const SECONDS: &str = "FETTLEBOOK_FUZZ_SECONDS";

/// Inputs between two looks at the clock in the long form.
const ROUND_COUNT: u32 = 64;

/// Bytes that are shown as a byte string when they fail.
#[derive(Clone)]
pub(crate) struct Input(Vec<u8>);

impl fmt::Debug for Input {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "b\"{}\"", self.0.escape_ascii())
    }
}

/// Gives a target every file of its corpus, then `count` inputs made of them: edited, joined, or
/// random. `words` are pieces of its language, to be put in anywhere.
///
/// # Panics
/// When the target does: it names the file, or shows the shrunk input.
pub fn run(name: &str, words: &[&str], count: u32, target: impl Fn(&[u8])) {
    let samples = corpus(name);
    for (path, bytes) in &samples {
        eprintln!("{}", path.display());
        target(bytes);
    }
    let samples: Vec<Vec<u8>> = samples.into_iter().map(|(_, bytes)| bytes).collect();
    let words = words.iter().map(|word| word.as_bytes().to_vec()).collect();
    let inputs = edit::inputs(samples, words).prop_map(Input);
    drive(name, &inputs, count, |input| target(&input.0));
}

/// Gives a target `count` values of a strategy, or as many as the seconds of the long form allow.
///
/// # Panics
/// When the target does; it shows the shrunk value.
pub fn drive<S: Strategy>(name: &str, values: &S, count: u32, target: impl Fn(S::Value)) {
    let start = Instant::now();
    let tried = Cell::new(0_u64);
    let once = |value: S::Value| -> Result<(), TestCaseError> {
        tried.set(tried.get() + 1);
        target(value);
        Ok(())
    };
    let config = |cases| Config {
        cases,
        failure_persistence: None,
        ..Config::default()
    };
    let told = match seconds() {
        None => {
            let rng = TestRng::deterministic_rng(RngAlgorithm::ChaCha);
            TestRunner::new_with_rng(config(count), rng).run(values, once)
        }
        Some(given) => loop {
            let ran = TestRunner::new(config(ROUND_COUNT.min(count))).run(values, once);
            if ran.is_err() || start.elapsed() >= given {
                break ran;
            }
        },
    };
    eprintln!(
        "{name}: {} inputs in {:.1} s",
        tried.get(),
        start.elapsed().as_secs_f64()
    );
    if let Err(failed) = told {
        panic!("{name}: {failed}");
    }
}

/// Seconds each target is given; `None` for the quick form.
fn seconds() -> Option<Duration> {
    let text = std::env::var(SECONDS).ok()?;
    match text.parse() {
        Ok(seconds) => Some(Duration::from_secs(seconds)),
        Err(_) => panic!("{SECONDS} is a whole number of seconds, not '{text}'"),
    }
}

/// The files of a target's corpus, by name.
fn corpus(name: &str) -> Vec<(PathBuf, Vec<u8>)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("corpus")
        .join(name);
    let read = || {
        let mut files = std::fs::read_dir(&folder)?
            .map(|entry| {
                let path = entry?.path();
                std::fs::read(&path).map(|bytes| (path, bytes))
            })
            .collect::<Result<Vec<_>, std::io::Error>>()?;
        files.sort();
        Ok::<_, std::io::Error>(files)
    };
    match read() {
        Ok(files) if !files.is_empty() => files,
        Ok(_) => panic!("{} is empty", folder.display()),
        Err(error) => panic!("{} cannot be read: {error}", folder.display()),
    }
}

#[cfg(test)]
mod tests {
    use std::cell::RefCell;
    use std::collections::HashSet;
    use std::panic::{AssertUnwindSafe, catch_unwind};

    use super::run;

    #[test]
    fn a_target_gets_its_corpus_and_then_other_inputs() {
        let seen = RefCell::new(Vec::new());
        run("tried", &[], 200, |bytes| {
            seen.borrow_mut().push(bytes.to_vec())
        });
        let seen = seen.into_inner();
        assert!(seen.contains(&b"a pad, a plate\n".to_vec()));
        let others: HashSet<&Vec<u8>> = seen.iter().collect();
        assert!(others.len() > 100, "{} different inputs", others.len());
    }

    #[test]
    fn a_failure_two_edits_away_is_found_and_shrunk() {
        let failed = catch_unwind(AssertUnwindSafe(|| {
            run("tried", &["towel", "wash"], 20_000, |bytes| {
                let has = |word: &[u8]| bytes.windows(word.len()).any(|part| part == word);
                assert!(!(has(b"towel") && has(b"wash")), "found");
            });
        }));
        let told = failed.unwrap_err().downcast::<String>().unwrap();
        assert!(told.contains("found"), "{told}");
        assert!(told.contains("minimal failing input: b\""), "{told}");
    }
}
