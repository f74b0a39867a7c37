//! One line of the outbox, as it is written: a deed that was kept, or what became of one.
//!
//! It serves the outbox and its mending. Fields are added, never renamed: an outbox outlives the
//! program that wrote it.

use data_encoding::BASE64;
use serde::{Deserialize, Serialize};

use crate::fault::Fault;
use crate::outbox::ToKeep;

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

    /// Reads a line; what is wrong with it, as the rest of a sentence.
    pub(super) fn from_json(bytes: &[u8]) -> Result<Self, String> {
        serde_json::from_slice(bytes).map_err(|error| format!("cannot be read: {error}"))
    }
}
