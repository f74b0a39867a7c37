//! Reading the journal through after a fast start.
//!
//! A book that opens from its shelf has read only the journal's end; a line changed further back
//! would go unseen. What is not proven to be whole is read through: before the book opens when it is
//! little, else beside the work, and then orders wait for it. Nothing may be recorded behind what was
//! not read, nor on top of a journal that was found damaged.

use std::sync::Arc;
use std::sync::mpsc::SyncSender;
use std::thread;
use std::time::Duration;

use fettlebook_model::Seq;

use super::Shared;
use super::error::OpenError;
use crate::journal::{Head, JournalError, Proof, Reached, Reader};

/// Who found what an audit found.
pub(super) const AUDIT: &str = "the audit";

/// How soon a journal is read through again when what keeps it did not answer.
const AGAIN_AFTER: Duration = Duration::from_secs(1);

/// What is wrong with a journal.
pub(super) struct Fault {
    /// The first bad entry, unless a file could not be read.
    pub(super) first_bad: Option<Seq>,
    /// What is wrong, naming the first bad entry.
    pub(super) reason: String,
    /// Whether it says nothing of the journal: what keeps it did not answer just now.
    pub(super) passes: bool,
}

impl From<JournalError> for Fault {
    fn from(error: JournalError) -> Self {
        let reason = error.to_string();
        let passes = error.passes();
        let first_bad = match error {
            JournalError::Damaged(damage) => Some(damage.seq),
            JournalError::HeadMoved { .. }
            | JournalError::RightLost { .. }
            | JournalError::Malformed(_)
            | JournalError::Stopped(_)
            | JournalError::Unready { .. }
            | JournalError::Engine { .. }
            | JournalError::Disk { .. } => None,
        };
        Self {
            first_bad,
            reason,
            passes,
        }
    }
}

/// What is wrong with the journal up to an entry, as far as that is not proven.
pub(super) fn first_fault(proof: &mut dyn Proof, until: Seq) -> Option<Fault> {
    proof.bring_up(until, &|| true).err().map(Fault::from)
}

/// What is wrong with the journal up to an entry that is known by its chain value.
pub(super) fn fault_before(reader: &dyn Reader, head: &Head) -> Option<Fault> {
    match reader.read_through(&Reached::NOTHING, head.seq, &|| true) {
        Err(error) => Some(error.into()),
        Ok(read) if read.end.chain != head.chain => Some(Fault {
            first_bad: Some(head.seq),
            reason: format!(
                "entry {} of the journal, or one before it, is not the one that was recorded",
                head.seq
            ),
            passes: false,
        }),
        Ok(_) => None,
    }
}

/// Reads what of a long journal is not proven beside the work, stops the book at a fault, and gives the
/// proof to whoever waits for it. When the desk is closed before, it is kept as far as it has come.
pub(super) fn beside_the_work(
    mut proof: Box<dyn Proof>,
    until: Seq,
    shared: Arc<Shared>,
    done: SyncSender<Box<dyn Proof>>,
) -> Result<(), OpenError> {
    let audit = move || {
        let byte_count = proof.unread_bytes();
        tracing::info!(
            byte_count,
            "the journal is read through; orders wait until it is"
        );
        let open = || shared.history.load().is_some();
        let mut bring_up = || proof.bring_up(until, &open).and_then(|()| proof.keep());
        let mut read = bring_up();
        while let Err(error) = &read
            && error.passes()
        {
            tracing::warn!(%error, "the journal is read through again");
            thread::sleep(AGAIN_AFTER);
            if !open() {
                return;
            }
            read = bring_up();
        }
        match read {
            Ok(()) if proof.until() >= until => drop(done.send(proof)),
            Ok(()) => {}
            Err(error) => shared.stop_for(&error.into(), AUDIT),
        }
    };
    let thread = thread::Builder::new().name("audit".to_owned());
    thread.spawn(audit).map_err(OpenError::Thread)?;
    Ok(())
}
