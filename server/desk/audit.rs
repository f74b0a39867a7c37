//! Reading the whole journal again after a fast start.
//!
//! A book that opens from its shelf has read only the journal's end; a line changed further back
//! would go unseen. A short journal is read through before the book opens, a long one beside the
//! work. Nothing may be recorded on top of a journal that was found damaged.

use std::path::Path;
use std::sync::Arc;

use fettlebook_model::Seq;

use super::Shared;
use super::error::OpenError;
use crate::journal::{Head, JournalError, Reached, Reader};

/// Who found what an audit found.
pub(super) const AUDIT: &str = "the audit";

/// Whether a journal is short enough to be read through before the book opens.
pub(super) fn is_short(folder: &Path, bytes_max: u64) -> bool {
    let sizes = std::fs::read_dir(folder).map(|entries| {
        let metadata = entries.filter_map(|entry| entry.ok()?.metadata().ok());
        metadata.map(|file| file.len()).sum::<u64>()
    });
    sizes.is_ok_and(|byte_count| byte_count <= bytes_max)
}

/// What is wrong with a journal.
pub(super) struct Fault {
    /// The first bad entry, unless a file could not be read.
    pub(super) first_bad: Option<Seq>,
    /// What is wrong, naming the first bad entry.
    pub(super) reason: String,
}

impl From<JournalError> for Fault {
    fn from(error: JournalError) -> Self {
        let reason = error.to_string();
        let first_bad = match error {
            JournalError::Damaged(damage) => Some(damage.seq),
            JournalError::HeadMoved { .. }
            | JournalError::Malformed(_)
            | JournalError::Stopped(_)
            | JournalError::Unready { .. }
            | JournalError::Disk { .. } => None,
        };
        Self { first_bad, reason }
    }
}

/// What is wrong with the journal up to an entry; `None` when it is whole or `go_on` ended the
/// reading.
pub(super) fn first_fault(
    reader: &dyn Reader,
    until: Seq,
    go_on: &(dyn Fn() -> bool + Sync),
) -> Option<Fault> {
    let read = reader.read_through(&Reached::NOTHING, until, go_on);
    read.err().map(Fault::from)
}

/// What is wrong with the journal up to an entry that is known by its chain value.
pub(super) fn fault_before(reader: &dyn Reader, head: &Head) -> Option<Fault> {
    match reader.read_through(&Reached::NOTHING, head.seq, &|| true) {
        Err(error) => Some(error.into()),
        Ok(Some(read)) if read.end.chain != head.chain => Some(Fault {
            first_bad: Some(head.seq),
            reason: format!(
                "entry {} of the journal, or one before it, is not the one that was recorded",
                head.seq
            ),
        }),
        Ok(_) => None,
    }
}

/// Reads a long journal through beside the work, and stops the book at a fault.
pub(super) fn beside_the_work(
    reader: Arc<dyn Reader>,
    until: Seq,
    shared: Arc<Shared>,
) -> Result<(), OpenError> {
    let audit = move || {
        let open = || shared.history.load().is_some();
        if let Some(fault) = first_fault(reader.as_ref(), until, &open) {
            shared.stop_for(&fault, AUDIT);
        }
    };
    let thread = std::thread::Builder::new().name("audit".to_owned());
    thread.spawn(audit).map_err(OpenError::Thread)?;
    Ok(())
}
