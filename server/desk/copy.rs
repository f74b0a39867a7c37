//! The copy of a shop's book on a device: what says of what it is a copy, and how it is opened.
//!
//! It serves looking at the book without a signal. A copy is an ordinary journal with `copy.json`
//! instead of `book.json`, so that it is never opened as a book and never goes on as a second one.
//!
//! Invariant: a folder that a copy is kept in has a `copy.json` before anything else, and that names
//! an end only once the journal holds it.

use std::fs;
use std::io;
use std::path::Path;

use fettlebook_model::{Moment, Seq};
use serde::{Deserialize, Serialize};
use uuid::Uuid;

use crate::access::Role;
use crate::journal::{Mark, RealDisk};
use crate::store::folder::{COPY_FILE, failed, format_in, write_whole};
use crate::store::{Identity, StoreError};

/// Format of a copy's folder.
pub(crate) const COPY_FORMAT: u32 = 1;

/// What a copy is of, and for whom.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CopyOf {
    /// The book.
    pub book_id: Uuid,
    /// The incarnation of it.
    pub incarnation_id: Uuid,
    /// Name of the device, as on the entries it reports.
    pub caller: String,
    /// What the device may do.
    pub role: Role,
    /// When the shop sent what is in it, by the shop's clock.
    pub as_of_time: Moment,
}

impl CopyOf {
    /// Whether what was copied for another may go on for this one: the same book in the same life,
    /// with as much of it to be seen.
    pub(crate) fn goes_on(&self, before: &Self) -> bool {
        self.book_id == before.book_id
            && self.incarnation_id == before.incarnation_id
            && self.role.sees_prices() == before.role.sees_prices()
    }
}

/// What stands in `copy.json`.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct CopyFile {
    format: u32,
    book_id: Uuid,
    incarnation_id: Uuid,
    as_of_time: Moment,
    head_seq: Seq,
    caller: String,
    role: Role,
    /// The last entry, where it is; none while there is none, or the copy has to begin anew.
    end: Option<Mark>,
}

/// What a folder says of the copy in it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct CopyNote {
    /// Of what and for whom it is.
    pub(crate) of: CopyOf,
    /// Its last entry when that was written; there may be more.
    pub(crate) end: Option<Mark>,
}

impl CopyNote {
    /// The note in a folder; none where there is none or it cannot be read: a copy that nobody can
    /// say anything of begins anew.
    ///
    /// # Errors
    /// When the disk fails, or it is of a later program.
    pub(crate) fn read(folder: &Path) -> Result<Option<Self>, StoreError> {
        let path = folder.join(COPY_FILE);
        let text = match fs::read(&path) {
            Ok(text) => text,
            Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
            Err(error) => return Err(failed("reading", &path)(error)),
        };
        if let Some(format) = format_in(&text).filter(|format| *format != COPY_FORMAT) {
            return Err(StoreError::Newer {
                folder: folder.to_owned(),
                format,
                known: COPY_FORMAT,
            });
        }
        let file: CopyFile = match serde_json::from_slice(&text) {
            Ok(file) => file,
            Err(error) => {
                tracing::warn!(%error, "copy.json cannot be read; the copy has to begin anew");
                return Ok(None);
            }
        };
        Ok(Some(Self {
            of: CopyOf {
                book_id: file.book_id,
                incarnation_id: file.incarnation_id,
                caller: file.caller,
                role: file.role,
                as_of_time: file.as_of_time,
            },
            end: file.end,
        }))
    }

    /// The note of a copy that has to begin anew.
    pub(super) fn without_end(self) -> Self {
        Self { end: None, ..self }
    }

    /// Writes the note, durably.
    ///
    /// # Errors
    /// What the system says.
    pub(crate) fn write(&self, folder: &Path) -> io::Result<()> {
        let of = self.of.clone();
        let file = CopyFile {
            format: COPY_FORMAT,
            book_id: of.book_id,
            incarnation_id: of.incarnation_id,
            as_of_time: of.as_of_time,
            head_seq: self.end.as_ref().map_or(Seq(0), |end| end.at.seq),
            caller: of.caller,
            role: of.role,
            end: self.end.clone(),
        };
        let text = serde_json::to_vec(&file).map_err(io::Error::other)?;
        write_whole(folder, COPY_FILE, &text, &RealDisk)
    }

    /// The identity of the book it is a copy of.
    pub(super) const fn identity(&self) -> Identity {
        Identity {
            book_id: self.of.book_id,
            incarnation_id: self.of.incarnation_id,
            since: Seq(0),
        }
    }

    /// Why nothing is recorded in it.
    pub(super) fn why_read_only(&self) -> String {
        let as_of = self.of.as_of_time.strftime("%Y-%m-%d %H:%M UTC");
        format!("this is a copy of the shop's book, as of {as_of}")
    }
}
