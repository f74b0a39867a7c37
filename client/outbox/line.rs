//! One line of the outbox, as it is written: a deed that was kept, or what became of one.
//!
//! It serves the outbox and its mending. Fields are added, never renamed: an outbox outlives the
//! program that wrote it.

use data_encoding::BASE64;
use serde::{Deserialize, Serialize};

use crate::fault::Fault;
use crate::outbox::ToKeep;

/// The newest format of a line that this program reads; a line that names none is of the first.
pub(crate) const FORMAT_NEWEST: u32 = 1;

/// Every kind of line that this program knows, as `line` names it.
pub(super) const KINDS: [&str; 8] = [
    "kept", "sent", "parked", "again", "dropped", "refused", "missed", "lost",
];

/// Why a line is not read, as the rest of a sentence.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Unread {
    /// A later program wrote it.
    Newer(String),
    /// It is no line, or does not follow.
    Spoilt(String),
}

/// What is read of a line that is not understood.
#[derive(Deserialize)]
struct Marked {
    #[serde(default)]
    format: Option<u64>,
    line: Option<String>,
}

/// A line.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "line", rename_all = "snake_case")]
pub(crate) enum Line {
    /// A deed was kept.
    Kept {
        /// Its number on this device, dense from 1.
        number: i64,
        /// Its request id.
        request_id: String,
        /// Path of the rpc.
        method: String,
        /// The request, in base64.
        body: String,
        /// When it was kept, RFC 3339.
        kept_time: String,
        /// What it is, for people.
        told: String,
    },
    /// The shop has it.
    Sent {
        /// Number of the deed.
        number: i64,
        /// Number of its entry in the book.
        seq: i64,
        /// The incarnation of the book that the number is of; absent where it is not known.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        incarnation_id: String,
    },
    /// The shop refused it later; a person has to look at it.
    Parked {
        /// Number of the deed.
        number: i64,
        /// The stable reason.
        reason: String,
        /// What was wrong, a sentence.
        message: String,
        /// What to do, a sentence; may be empty.
        #[serde(default)]
        todo: String,
    },
    /// It is to be sent again.
    Again {
        /// Number of the deed.
        number: i64,
    },
    /// The person gave it up.
    Dropped {
        /// Number of the deed.
        number: i64,
    },
    /// The shop refused it at once, and the person was told.
    Refused {
        /// Number of the deed.
        number: i64,
        /// The stable reason.
        reason: String,
    },
    /// The book had it and has lost it since, as one that was restored has: it is to be sent again.
    Missed {
        /// Number of the deed.
        number: i64,
    },
    /// Nothing can be read of it: its line was damaged.
    Lost {
        /// Number of the deed.
        number: i64,
    },
}

impl Line {
    /// The line of a deed that is kept.
    pub(super) fn kept(number: i64, deed: ToKeep) -> Self {
        Self::Kept {
            number,
            request_id: deed.request_id,
            method: deed.method,
            body: BASE64.encode(&deed.body),
            kept_time: deed.kept_time.to_string(),
            told: deed.told,
        }
    }

    /// The line as it is written.
    pub(super) fn to_json(&self) -> Result<Vec<u8>, Fault> {
        serde_json::to_vec(self).map_err(|_| Fault::answer("a line that can be written"))
    }

    /// Reads a line.
    ///
    /// # Errors
    /// Why it is not read.
    pub(super) fn from_json(bytes: &[u8]) -> Result<Self, Unread> {
        if let Some(why) = newer(bytes) {
            return Err(Unread::Newer(why));
        }
        serde_json::from_slice(bytes)
            .map_err(|error| Unread::Spoilt(format!("cannot be read: {error}")))
    }
}

/// What shows that a later program wrote a line; none where nothing does.
fn newer(bytes: &[u8]) -> Option<String> {
    let Marked { format, line } = serde_json::from_slice(bytes).ok()?;
    if format.is_some_and(|format| format > u64::from(FORMAT_NEWEST)) {
        return Some("was written by a later fettle, in a format of its own".to_owned());
    }
    let is_unknown = line.is_some_and(|line| !KINDS.contains(&line.as_str()));
    is_unknown.then(|| {
        "was written by a later fettle, and is of a kind that this one does not know".to_owned()
    })
}
