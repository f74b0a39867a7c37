//! What is said at the prompt reaches the book: the minutes of a log, a pick that is taken and given back.

use std::path::PathBuf;

use serde_json::Value;
use tempfile::TempDir;

use crate::binaries::{Shop, done, fettle, json, kept_demo};

/// A job of the invented shop that nobody has worked.
const JOB: &str = "black-suv";

/// A shop with a job to come.
struct Ready {
    _folder: TempDir,
    book: PathBuf,
}

impl Ready {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let book = kept_demo(folder.path(), &[]);
        Self {
            _folder: folder,
            book,
        }
    }

    fn shop(&self) -> Shop<'_> {
        Shop::Solo(&self.book)
    }

    /// What is taken for the job.
    fn taken(&self) -> Value {
        json(self.shop(), &["job", "show", JOB])["job"]["taken"].clone()
    }

    fn head(&self) -> Value {
        json(self.shop(), &["book", "where"])["book"]["headSeq"].clone()
    }
}

/// How long the machines ran by an entry, ms.
fn ran_ms(entry: &Value) -> i64 {
    let deeds = entry["deeds"].as_array().unwrap().iter();
    let machines = deeds.filter(|deed| deed["kind"] == "DEED_KIND_MACHINE_USED");
    machines
        .map(|deed| deed["timeMs"].as_str().unwrap().parse::<i64>().unwrap())
        .sum()
}

/// Source: arithmetic: 90 minutes are 5,400,000 ms, to a millisecond a step; a bare number is minutes.
#[test]
fn machines_ran_for_the_minutes_that_were_said() {
    let ready = Ready::new();
    let planned = json(ready.shop(), &["log", JOB, "--dry-run"]);
    assert!(ran_ms(&planned["entry"]) > 6_000_000, "{planned}");
    for minutes in ["90", "1.5 h", "5400 s"] {
        let told = json(
            ready.shop(),
            &["log", JOB, "--minutes", minutes, "--dry-run"],
        );
        let off = (ran_ms(&told["entry"]) - 5_400_000).abs();
        assert!(off <= 2, "{minutes}: {told}");
    }
    // The three machines that share the job's steps.
    let ran_s = || -> i64 {
        let machines = ["M-01", "M-02", "M-03"].iter();
        let shown = machines.map(|tag| json(ready.shop(), &["kit", "show", tag]));
        let times = shown.map(|shown| shown["piece"]["machine"]["runTimeS"].clone());
        times
            .map(|time| time.as_str().unwrap().parse::<i64>().unwrap())
            .sum()
    };
    let before = ran_s();
    done(ready.shop(), &["log", JOB, "--minutes", "90"]);
    let more = ran_s() - before;
    assert!((more - 5_400).abs() <= 3, "{more}");
}

#[test]
fn what_a_take_shows_is_taken_and_given_back() {
    let ready = Ready::new();
    let before = ready.head();
    let shown = json(ready.shop(), &["take", JOB, "--dry-run"]);
    assert_eq!(ready.head(), before, "it was only looked at");
    assert_eq!(ready.taken(), Value::Null);
    let mut tags: Vec<&Value> = Vec::new();
    for picked in shown["picked"].as_array().unwrap() {
        if !tags.contains(&&picked["tag"]) {
            tags.push(&picked["tag"]);
        }
    }
    assert!(tags.len() > 10, "{shown}");
    let page = done(ready.shop(), &["take", JOB]);
    // What each piece is can be read: a bottle by how much of it goes, towels by their number.
    for told in ["liquids", " mL", "towels", "pads", "spare"] {
        assert!(page.contains(told), "{told}: {page}");
    }
    let taken = ready.taken();
    assert_eq!(
        taken["tags"].as_array().unwrap().iter().collect::<Vec<_>>(),
        tags
    );
    let page = done(ready.shop(), &["take", JOB, "--release"]);
    assert!(page.contains("given back"), "{page}");
    assert_eq!(ready.taken(), Value::Null);
}

/// A stop is passed by a sentence, which stays with the job, and never by an example.
#[test]
fn a_stop_is_passed_only_by_who_says_why() {
    const WHY: &str = "the customer waits at the door";
    let ready = Ready::new();
    done(ready.shop(), &["bin", "T-01", "--because", "lost"]);
    let before = ready.head();
    for option in ["--note", "--yes"] {
        let value = (option == "--note").then_some("soon");
        let args: Vec<&str> = ["take", option]
            .into_iter()
            .chain(value)
            .chain([JOB])
            .collect();
        let refused = fettle(ready.shop(), &args);
        let said = String::from_utf8(refused.stderr).unwrap();
        assert_eq!(refused.status.code(), Some(3), "{said}");
        let (_, example) = said.split_once("For example: ").unwrap();
        assert!(example.trim().ends_with(&format!("check {JOB}")), "{said}");
    }
    assert_eq!(ready.head(), before);
    done(ready.shop(), &["take", JOB, "--despite", WHY]);
    let taken = ready.taken();
    assert_eq!(taken["despite"], WHY);
    assert!(taken["passed"][0].as_str().unwrap().contains("Short by"));
}
