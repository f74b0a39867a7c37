//! What is told of a book that is mended, in the same words wherever it is kept.

use std::fmt;

use super::{SoloHistories, SoloLeftOut, SoloMended};

impl SoloMended {
    /// What is kept, where it comes from, and how much is left out, as sentences.
    pub fn kept(&self) -> String {
        let mut text = format!("Kept: {}", entries(1, self.head_seq));
        let runs = self
            .taken
            .iter()
            .map(|(first, last)| entries(*first, *last));
        let runs: Vec<String> = runs.collect();
        if !runs.is_empty() {
            text.push_str(&format!(", of which from the backup: {}", runs.join(", ")));
        }
        let left_out = self.left_out.iter();
        match left_out.map(|stretch| stretch.byte_count).sum() {
            0 => text.push_str(". Nothing is left out."),
            byte_count => text.push_str(&format!(". Left out: {}.", bytes(byte_count))),
        }
        text
    }
}

impl SoloHistories {
    /// What a backup with such a history gave to a book that is mended, as sentences; nothing where there is
    /// nothing to say.
    pub fn told(&self) -> Option<String> {
        match self {
            Self::Agree | Self::Lacks(_) => None,
            Self::Rewritten(first) => Some(format!(
                "Entry {first} of the backup is another one, though the lines of each fit each other: \
                 one of the two was rewritten from there on, or the book was cut and went on. Kept is \
                 what the damaged book has."
            )),
            Self::OtherIncarnation(first) => Some(format!(
                "In the backup {} None of those is taken.",
                other_way(*first)
            )),
        }
    }
}

impl fmt::Display for SoloLeftOut {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self {
            file, offset, why, ..
        } = self;
        let bytes = bytes(self.byte_count);
        write!(f, "{bytes} of {file} from byte {offset}: {why}")
    }
}

/// A history that goes its own way because it is of another incarnation, as a clause and what follows.
pub fn other_way(first: i64) -> String {
    format!(
        "other entries follow from entry {first} on: it is from before or after the book was restored \
         or mended, and from there on each goes its own way, which is no damage."
    )
}

/// A run of entries.
pub fn entries(first: i64, last: i64) -> String {
    if first == last {
        format!("entry {first}")
    } else {
        format!("entries {first} to {last}")
    }
}

fn bytes(count: i64) -> String {
    match count {
        1 => "1 byte".to_owned(),
        count => format!("{count} bytes"),
    }
}
