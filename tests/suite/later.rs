//! A book in which a later `fettle` wrote: it is not damaged, and this one says so everywhere.
//!
//! The story: the bench was updated and recorded something new; then somebody opens the book with the
//! client of last year.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use serde_json::Value;
use sha2::{Digest as _, Sha256};

use crate::binaries::{Shop, done, fettle, kept_demo};
use crate::python::root;

/// Deeds of a kind that comes later.
pub(crate) const LENT: &str = r#"[{"did":"lent","tag":"P-01","to":"van-b"}]"#;

fn segment(book: &Path) -> PathBuf {
    book.join("journal/000000000001.jsonl")
}

/// Writes an entry with these deeds behind the others, as the documented format says, and gives its
/// number.
pub(crate) fn append(book: &Path, deeds: &str) -> usize {
    let text = fs::read_to_string(segment(book)).unwrap();
    let lines: Vec<&str> = text.lines().filter(|line| line.starts_with('{')).collect();
    let (seq, last) = (lines.len() + 1, lines.last().unwrap());
    let entry = format!(
        r#"{{"seq":{seq},"recorded_at":"2026-03-13T18:00:00Z","done_at":"2026-03-13T18:00:00Z","request":"01a2249c-1a52-71ac-8e2e-1bfee5a0e320","body":"00000000000000000000000000000000","by":"solo","deeds":{deeds}}}"#
    );
    let hash = Sha256::new()
        .chain_update(&last[10..74])
        .chain_update(&entry);
    let chain: String = hash.finalize().iter().map(|b| format!("{b:02x}")).collect();
    let line = format!("{{\"chain\":\"{chain}\",\"entry\":{entry}}}\n");
    fs::write(segment(book), lines.join("\n") + "\n" + &line).unwrap();
    seq
}

/// The journal without space set aside.
fn lines(book: &Path) -> String {
    let text = fs::read_to_string(segment(book)).unwrap();
    text.trim_end_matches('\0').to_owned()
}

fn talk(bytes: &[u8]) -> String {
    let words = String::from_utf8_lossy(bytes).into_owned();
    words.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn a_book_in_which_a_later_fettle_wrote_is_looked_at_and_not_written_to() {
    let folder = tempfile::tempdir().unwrap();
    let book = kept_demo(folder.path(), &[]);
    let shop = Shop::Solo(&book);
    let kit = done(shop, &["kit", "list"]);
    let seq = append(&book, LENT);
    let before = fs::read(segment(&book)).unwrap();
    let said = format!("entry {seq} of the journal was written by a later fettle");

    let washed = fettle(shop, &["--json", "wash", "P-01"]);
    assert_eq!(washed.status.code(), Some(1));
    let error: Value = serde_json::from_slice(&washed.stdout).unwrap();
    assert_eq!(error["error"]["reason"], "NEWER_THAN_THIS");
    let message = error["error"]["message"].as_str().unwrap();
    assert!(message.contains(&said), "{message}");

    let verified = fettle(shop, &["book", "verify"]);
    assert_eq!(verified.status.code(), Some(1));
    let told = talk(&verified.stdout);
    assert!(told.contains("update this one"), "{told}");
    assert!(!told.to_lowercase().contains("backup"), "{told}");
    let verified = fettle(shop, &["--json", "book", "verify"]);
    let found: Value = serde_json::from_slice(&verified.stdout).unwrap();
    assert!(!found["damaged"].as_bool().unwrap_or_default());
    assert_eq!(found["newerSeq"], seq.to_string());

    assert_eq!(done(shop, &["kit", "list"]), kit);
    assert_eq!(fs::read(segment(&book)).unwrap(), before);
}

#[test]
fn a_backup_and_a_restored_book_hold_the_entry_of_a_later_fettle_and_agree() {
    let folder = tempfile::tempdir().unwrap();
    let book = kept_demo(folder.path(), &[]);
    append(&book, LENT);
    let shop = Shop::Solo(&book);
    let [backup, to] = ["backup", "back"].map(|name| folder.path().join(name));
    let words = [&backup, &to].map(|path| path.display().to_string());
    done(shop, &["book", "backup", "--to", &words[0]]);
    let against = fettle(shop, &["book", "verify", "--against", &words[0]]);
    assert_eq!(against.status.code(), Some(1), "{}", talk(&against.stdout));
    let restored = fettle(
        shop,
        &["book", "restore", "--from", &words[0], "--to", &words[1]],
    );
    assert_eq!(
        restored.status.code(),
        Some(1),
        "{}",
        talk(&restored.stderr)
    );
    assert_eq!(lines(&to), lines(&book));
}

#[test]
fn mending_and_the_independent_verifier_leave_the_entry_of_a_later_fettle_as_it_is() {
    let folder = tempfile::tempdir().unwrap();
    let book = kept_demo(folder.path(), &[]);
    let seq = append(&book, LENT);
    let to = folder.path().join("mended");
    let words = [&book, &to].map(|path| path.display().to_string());
    let mended = fettle(
        Shop::Solo(&book),
        &[
            "book", "mend", "--from", &words[0], "--to", &words[1], "--write",
        ],
    );
    assert_eq!(mended.status.code(), Some(1), "{}", talk(&mended.stderr));
    assert_eq!(lines(&to), lines(&book));

    let script = root().join("tests/verify_journal.py");
    let verified = Command::new("python3")
        .arg(script)
        .arg(to.join("journal"))
        .output();
    match verified {
        Ok(output) => {
            let told = talk(&output.stdout);
            assert!(output.status.success(), "{}", talk(&output.stderr));
            let said = format!("entry {seq} was written by a later fettle");
            assert!(told.contains(&said), "{told}");
        }
        Err(error) => println!("SKIPPED: python3 cannot be started ({error})"),
    }
}
