//! A journal that ends in the midst of a line, with nothing left that could tell why: the book asks, a
//! person answers with the real client, and the book goes on.

use std::fs::{self, OpenOptions};
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use serde_json::Value;

use crate::binaries::{Shop, done, fettle_of, kept_demo};
use crate::python::root;

/// Bytes that are lost of the last line.
const LOST_BYTES: u64 = 40;

/// What was said and printed, in one line: sentences are wrapped to the page.
fn words(output: &Output) -> String {
    let words = [&output.stdout, &output.stderr].map(|bytes| String::from_utf8_lossy(bytes));
    words
        .concat()
        .split_whitespace()
        .collect::<Vec<_>>()
        .join(" ")
}

fn segment(book: &Path) -> PathBuf {
    book.join("journal/000000000001.jsonl")
}

/// What the verifier that knows nothing but the documented format says of a journal; nothing where
/// there is no Python.
fn verified_independently(book: &Path) -> Option<String> {
    let script = root().join("tests/verify_journal.py");
    let journal = book.join("journal");
    match Command::new("python3").arg(script).arg(journal).output() {
        Ok(output) => {
            assert!(output.status.success(), "{}", words(&output));
            Some(words(&output))
        }
        Err(error) => {
            eprintln!("SKIPPED: python3 cannot be started ({error})");
            None
        }
    }
}

#[test]
fn a_person_says_where_a_journal_ends_and_the_book_goes_on() {
    let folder = tempfile::tempdir().unwrap();
    let book = kept_demo(folder.path(), &[]);
    let solo = Shop::Solo(&book);
    done(solo, &["wash", "P-01"]);
    let text = fs::read_to_string(segment(&book)).unwrap();
    let whole: Vec<&str> = text.lines().filter(|line| line.starts_with('{')).collect();
    let last = (whole.len() - 1).to_string();
    let behind = whole[whole.len() - 1].len() as u64 + 1 - LOST_BYTES;

    let file = OpenOptions::new().write(true).open(segment(&book)).unwrap();
    let length = text.trim_end_matches('\0').len() as u64;
    file.set_len(length - LOST_BYTES).unwrap();
    let torn = fs::read(segment(&book)).unwrap();
    for mark in ["closed.json", "audited.json"] {
        fs::remove_file(book.join(mark)).unwrap();
    }

    // A machine that has never seen the book, so that nothing remembers its last entry.
    let machine = folder.path().join("machine");
    let run = |args: &[&str]| fettle_of(&machine, solo, args);
    for _ in 0..2 {
        let _ = fs::remove_dir_all(book.join("shelf"));
        let refused = run(&["wash", "P-02"]);
        let said = words(&refused);
        assert_eq!(refused.status.code(), Some(7), "{said}");
        let way = format!("fettle book mend --from DIR --accept-end {last}");
        assert!(said.contains(&way), "{said}");
        assert_eq!(fs::read(segment(&book)).unwrap(), torn, "it was written to");
    }

    let from = book.display().to_string();
    let wrong = run(&["book", "mend", "--from", &from, "--accept-end", "3"]);
    let said = words(&wrong);
    assert!(!wrong.status.success(), "{said}");
    assert!(said.contains(&format!("ends with entry {last}")), "{said}");
    assert_eq!(fs::read(segment(&book)).unwrap(), torn, "it was written to");

    let mend = ["--json", "book", "mend", "--from", &from, "--accept-end"];
    let answered = run(&[&mend[..], &[&last]].concat());
    assert!(answered.status.success(), "{}", words(&answered));
    let told: Value = serde_json::from_slice(&answered.stdout).unwrap();
    assert_eq!(told["cutOffByteCount"], behind);
    assert_eq!(told["verified"]["whole"], true);
    let aside: Vec<PathBuf> = fs::read_dir(book.join("journal/cut-off"))
        .unwrap()
        .map(|file| file.unwrap().path())
        .collect();
    let kept: Vec<u8> = aside
        .iter()
        .flat_map(|file| fs::read(file).unwrap())
        .collect();
    assert_eq!(kept, torn[torn.len() - behind as usize..]);

    let washed = run(&["wash", "P-02"]);
    assert!(washed.status.success(), "{}", words(&washed));
    let verified = run(&["book", "verify"]);
    assert!(verified.status.success(), "{}", words(&verified));
    if let Some(told) = verified_independently(&book) {
        let count = whole.len();
        assert!(
            told.starts_with(&format!("{count} entries, head ")),
            "{told}"
        );
    }

    // Whoever had seen the entry that is gone is told all the same.
    let seen_further = fettle_of(crate::binaries::state_folder(), solo, &["wash", "P-03"]);
    let said = words(&seen_further);
    assert!(
        said.contains("The book has lost what this machine saw of it"),
        "{said}"
    );
    assert_eq!(seen_further.status.code(), Some(7), "{said}");
}
