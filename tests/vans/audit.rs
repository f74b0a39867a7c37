//! What is in the journal, read from its files with nothing of ours.
//!
//! It serves the end of each round. A journal is JSON Lines; that is all that is taken for granted.

use std::collections::HashMap;
use std::fs;
use std::path::Path;

use jiff::Timestamp;
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

/// The entry objects of a journal, in the order of the book.
pub(crate) fn entries(book: &Path) -> Vec<Value> {
    let mut files: Vec<_> = fs::read_dir(book.join("journal"))
        .unwrap()
        .map(|file| file.unwrap().path())
        .collect();
    files.sort();
    let mut entries = Vec::new();
    for file in files {
        let text = fs::read(file).unwrap();
        let lines = text.split(|&byte| byte == b'\n');
        for line in lines.filter(|line| line.first() == Some(&b'{')) {
            // The service may be writing the last one.
            if let Ok(mut line) = serde_json::from_slice::<Value>(line) {
                entries.push(line["entry"].take());
            }
        }
    }
    entries
}

/// Every entry that a device reported, in the order of the book.
pub(crate) fn reported(book: &Path, by: &[&str]) -> Vec<Found> {
    let mut found = Vec::new();
    for entry in entries(book) {
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
    found
}

/// What the deeds of a journal come to: of each piece its newest reading by when that was done, less what was
/// taken after it.
pub(crate) struct Levels(Vec<Value>);

impl Levels {
    pub(crate) fn read(book: &Path) -> Self {
        Self(entries(book))
    }

    /// Deeds about pieces, each with its entry.
    fn deeds(&self) -> impl Iterator<Item = (&Value, &Value)> {
        self.0.iter().flat_map(|entry| {
            let deeds = entry["deeds"].as_array().unwrap();
            deeds.iter().map(move |deed| (entry, deed))
        })
    }

    /// What is left of a sundry, or of a bottle, µL.
    pub(crate) fn of(&self, tag: &str) -> i64 {
        let mut done: Vec<_> = self
            .deeds()
            .filter(|(_, deed)| deed["tag"] == tag)
            .collect();
        // The devices tell the time by one clock, to the nanosecond; a weight goes with the use before it.
        done.sort_by_key(|(entry, _)| {
            entry["done_at"]
                .as_str()
                .unwrap()
                .parse::<Timestamp>()
                .unwrap()
        });
        let number = |value: &Value| value.as_i64().unwrap();
        done.into_iter()
            .fold(0, |left, (_, deed)| match deed["did"].as_str().unwrap() {
                "received" => {
                    let state = &deed["state"];
                    let bottle = state["bottle"]["left_ul"].as_i64();
                    bottle
                        .or(state["sundry"]["left_quantity"].as_i64())
                        .unwrap()
                }
                "sundry_counted" => number(&deed["left_quantity"]),
                "sundry_used" => left - number(&deed["quantity"]),
                "liquid_used" => left - number(&deed["volume_ul"]),
                "weighed" => {
                    let net_mg = number(&deed["gross_mg"]) - number(&deed["tare_mg"]);
                    let density = number(&deed["density_mg_per_ml"]);
                    (2_000 * net_mg + density).div_euclid(2 * density)
                }
                _ => left,
            })
    }

    /// Tags that two pieces were given, a sentence each.
    pub(crate) fn tags_given_twice(&self) -> Vec<String> {
        let mut given: HashMap<&str, usize> = HashMap::new();
        for (_, deed) in self.deeds().filter(|(_, deed)| deed["did"] == "received") {
            *given.entry(deed["tag"].as_str().unwrap()).or_default() += 1;
        }
        let twice = given.into_iter().filter(|(_, count)| *count > 1);
        twice
            .map(|(tag, count)| format!("{tag} was given {count} times"))
            .collect()
    }

    /// How many pieces these devices received.
    pub(crate) fn received_by(&self, names: &[&str]) -> usize {
        let theirs = self.deeds().filter(|(entry, deed)| {
            deed["did"] == "received" && names.contains(&entry["by"].as_str().unwrap_or_default())
        });
        theirs.count()
    }

    /// How many cars came into the book with the log of their job.
    pub(crate) fn walked_in(&self) -> usize {
        let with_log = self.0.iter().filter(|entry| {
            let deeds = entry["deeds"].as_array().unwrap();
            let has = |did: &str| deeds.iter().any(|deed| deed["did"] == did);
            has("car_set") && has("job_set") && has("job_done")
        });
        with_log.count()
    }
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
