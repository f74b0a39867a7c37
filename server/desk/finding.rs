//! What was found wrong with a journal, remembered where the book is kept.
//!
//! ```text
//! damaged.json  {"format":1,"incarnation_id":"…","first_bad_seq":4,"what":"…","found_by":"…","found_time":"…","check":"<64 hex digits>"}
//! ```
//!
//! Invariant: a book in which something was found wrong is not written to by any later process, until
//! that is settled. A finding is about one incarnation: a mended or restored book begins another.

use std::io;
use std::sync::Arc;

use fettlebook_model::{Moment, Seq};
use serde::{Deserialize, Serialize};
use uuid::Uuid;

use crate::journal::Chain;
use crate::store::{About, Store};

/// Format of that file.
const FINDING_FORMAT: u32 = 1;

/// What was found wrong with a journal.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Finding {
    /// The first bad entry; none where even the finding cannot be read.
    pub(super) first_bad: Option<Seq>,
    /// What is wrong, as a clause.
    pub(super) what: Arc<str>,
}

/// What stands in `damaged.json`.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct FindingFile {
    format: u32,
    incarnation_id: Uuid,
    first_bad_seq: Seq,
    what: String,
    found_by: String,
    found_time: Moment,
    /// Tells a changed byte.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    check: Option<Chain>,
}

impl FindingFile {
    /// The check of the other fields.
    fn sum(&self) -> Option<Chain> {
        let mut unchecked = self.clone();
        unchecked.check = None;
        let text = serde_json::to_vec(&unchecked).ok()?;
        Some(Chain::ZERO.link(&text))
    }
}

/// Where the findings about one incarnation of a book are kept.
#[derive(Debug, Clone)]
pub(super) struct Findings {
    pub(super) store: Arc<dyn Store>,
    pub(super) incarnation_id: Uuid,
}

impl Findings {
    /// What was found before and is not settled. Where that cannot be read, it counts all the same.
    pub(super) fn read(&self) -> Option<Finding> {
        let text = match self.store.note(About::Damage) {
            Ok(text) => text?,
            Err(error) => return Some(unreadable(&error.to_string())),
        };
        let file: FindingFile = match serde_json::from_slice(&text) {
            Ok(file) => file,
            Err(error) => return Some(unreadable(&error.to_string())),
        };
        if file.format != FINDING_FORMAT || file.check.is_none() || file.check != file.sum() {
            return Some(unreadable("it is not what was written"));
        }
        (file.incarnation_id == self.incarnation_id).then(|| Finding {
            first_bad: Some(file.first_bad_seq),
            what: file.what.into(),
        })
    }

    /// Remembers what is wrong, durably. The first finding stays.
    pub(super) fn remember(&self, first_bad: Seq, what: &str, by: &str, now: Moment) {
        if self.read().is_some() {
            return;
        }
        let mut file = FindingFile {
            format: FINDING_FORMAT,
            incarnation_id: self.incarnation_id,
            first_bad_seq: first_bad,
            what: what.to_owned(),
            found_by: by.to_owned(),
            found_time: now,
            check: None,
        };
        file.check = file.sum();
        let text = serde_json::to_vec(&file).map_err(io::Error::other);
        let written = text.and_then(|text| self.store.keep_note(About::Damage, &text));
        if let Err(error) = written {
            let store = &self.store;
            tracing::warn!(%error, ?store, "what was found could not be written down");
        }
    }
}

fn unreadable(why: &str) -> Finding {
    Finding {
        first_bad: None,
        what: format!(
            "damaged.json in the book's folder, which says what was found wrong before, cannot be \
             read: {why}"
        )
        .into(),
    }
}
