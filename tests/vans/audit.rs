//! What is in the journal, read from its files with nothing of ours.
//!
//! It serves the end of each round. A journal is JSON Lines; that is all that is taken for granted.

use std::collections::HashMap;
use std::fs;
use std::path::Path;

use serde_json::Value;

/// One entry, as far as the audit wants it.
pub(crate) struct Found {
    pub(crate) by: String,
    pub(crate) note: String,
    /// Number of the deed on its device.
    pub(crate) number: u64,
    /// Sentences of its flags.
    pub(crate) flags: Vec<String>,
}

/// Every entry that a device reported, in the order of the book.
pub(crate) fn reported(book: &Path, by: &[&str]) -> Vec<Found> {
    let mut files: Vec<_> = fs::read_dir(book.join("journal"))
        .unwrap()
        .map(|file| file.unwrap().path())
        .collect();
    files.sort();
    let mut found = Vec::new();
    for file in files {
        let text = fs::read(file).unwrap();
        let lines = text.split(|&byte| byte == b'\n');
        for line in lines.filter(|line| line.first() == Some(&b'{')) {
            // The service may be writing the last one.
            let Ok(line) = serde_json::from_slice::<Value>(line) else {
                continue;
            };
            let entry = &line["entry"];
            let reporter = entry["by"].as_str().unwrap_or_default();
            if by.contains(&reporter) {
                found.push(Found {
                    by: reporter.to_owned(),
                    note: entry["note"].as_str().unwrap_or_default().to_owned(),
                    number: entry["kept"]["number"].as_u64().unwrap_or_default(),
                    flags: texts(&entry["flags"]),
                });
            }
        }
    }
    found
}

fn texts(flags: &Value) -> Vec<String> {
    let flags = flags.as_array().into_iter().flatten();
    flags
        .filter_map(|flag| flag["text"].as_str().map(str::to_owned))
        .collect()
}

/// What is wrong with what one van's deeds came to, a sentence each.
pub(crate) fn faults(name: &str, did: &[String], found: &[Found]) -> Vec<String> {
    let mut faults = Vec::new();
    let mut seen: HashMap<&str, usize> = HashMap::new();
    let own: Vec<&Found> = found.iter().filter(|entry| entry.by == name).collect();
    for entry in &own {
        *seen.entry(&entry.note).or_default() += 1;
    }
    for note in did {
        match seen.remove(note.as_str()) {
            None => faults.push(format!("'{note}' is lost")),
            Some(1) => {}
            Some(count) => faults.push(format!("'{note}' is there {count} times")),
        }
    }
    faults.extend(seen.keys().map(|note| format!("'{note}' was never done")));
    if !own.is_sorted_by(|a, b| a.note < b.note && a.number < b.number) {
        faults.push(format!("the deeds of {name} are not in their order"));
    }
    faults
}
