//! An independent walk over a journal folder, from its documented format alone.
//!
//! It serves the kill loop as the last word. It is `tests/verify_journal.py` in Rust and shares no
//! code with the service: names of files, chain, dense numbers, whole lines.

use std::fs;
use std::path::Path;

use serde_json::Value;
use sha2::{Digest as _, Sha256};

/// Walks over the journal and gives the request id of every entry, in order.
pub(crate) fn requests_of(journal: &Path) -> Vec<String> {
    let mut files: Vec<_> = fs::read_dir(journal)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|ending| ending == "jsonl"))
        .collect();
    files.sort();
    let (mut chain, mut requests) = ("0".repeat(64), Vec::new());
    for path in files {
        let mut bytes = fs::read(&path).unwrap();
        // Zeros at its end are space set aside.
        bytes.truncate(
            bytes
                .iter()
                .rposition(|byte| *byte != 0)
                .map_or(0, |at| at + 1),
        );
        let first: usize = path.file_stem().unwrap().to_str().unwrap().parse().unwrap();
        assert!(bytes.is_empty() || first == requests.len() + 1, "{path:?}");
        for line in bytes.split_inclusive(|byte| *byte == b'\n') {
            let seq = requests.len() + 1;
            let (head, rest) = line.split_at(84);
            let entry = rest
                .strip_suffix(b"}\n")
                .unwrap_or_else(|| panic!("entry {seq}"));
            let hash = Sha256::new().chain_update(&chain).chain_update(entry);
            chain = hash.finalize().iter().map(|b| format!("{b:02x}")).collect();
            assert_eq!(
                head,
                format!("{{\"chain\":\"{chain}\",\"entry\":").as_bytes()
            );
            let entry: Value = serde_json::from_slice(entry).unwrap();
            assert_eq!(entry["seq"], seq);
            requests.push(entry["request"].as_str().unwrap().to_owned());
        }
    }
    requests
}
