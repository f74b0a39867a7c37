//! The end of a book's journal: made certain before anything is read of it, and judged afterwards.
//!
//! What stands behind the last whole entry was never acknowledged when it is a write that was cut
//! off; but the end of an entry that was recorded and harmed looks the same. What was there last, the
//! shelf and the mark of the last close tell; where neither is there, a person has to.

use std::path::Path;

use fettlebook_model::Seq;

use super::CaughtUp;
use crate::desk::error::StoppedBy;
use crate::desk::folder::{Identity, journal_folder};
use crate::journal::{Closed, ClosedPlace, Disk, TornTail, Uncertain, make_certain};

/// What is known of the end of a journal before it is read.
pub(super) struct End {
    /// Where it is said how the journal was closed.
    pub(super) place: ClosedPlace,
    closed: Option<Closed>,
    uncertain: Option<Uncertain>,
}

impl End {
    /// Makes the end of a book's journal certain.
    pub(super) fn of(folder: &Path, identity: &Identity, disk: &dyn Disk) -> Self {
        let place = ClosedPlace {
            folder: folder.to_owned(),
            owner: identity.incarnation_id,
        };
        let closed = place.read();
        let certain = make_certain(&journal_folder(folder), disk, closed.as_ref());
        Self {
            place,
            closed,
            uncertain: certain.err(),
        }
    }

    /// The mark of the last close, where the journal ends exactly as it says.
    pub(super) fn proven(&self, folder: &Path) -> Option<&Closed> {
        let closed = self.closed.as_ref().filter(|_| self.uncertain.is_none())?;
        closed
            .is_the_end_of(&journal_folder(folder))
            .then_some(closed)
    }

    /// The last entry that may be shown; none where all may be.
    pub(super) fn until(&self) -> Option<Seq> {
        self.uncertain.as_ref().and_then(|what| what.until)
    }

    /// Ends writing where the end is not certain, or lacks what was there, or where nobody can tell.
    pub(super) fn judge(&self, found: &mut CaughtUp, was_shelved: bool) {
        if found.read_only.is_some() {
            return;
        }
        if let Some(Uncertain { until, error }) = &self.uncertain {
            let reason = match until {
                Some(until) => format!(
                    "nothing after entry {until} can be relied on, because the end of the journal \
                     could not be written again: {error}"
                ),
                None => error.to_string(),
            };
            found.read_only = Some(reason.into());
            found.stopped_by = until.map(|_| StoppedBy::Disk);
            return;
        }
        let missing = self
            .closed
            .as_ref()
            .map(|closed| closed.missing_in(&found.survey));
        if let Some(damage) = missing.flatten() {
            found.first_bad = Some(damage.seq);
            found.read_only = Some(damage.to_string().into());
        } else if let (Some(TornTail::Cut { after, byte_count }), false) =
            (&found.survey.torn, was_shelved || self.closed.is_some())
        {
            found.read_only = Some(ask(*after, *byte_count).into());
        }
    }
}

/// What a person has to say of an end that is not whole.
fn ask(after: Seq, byte_count: u64) -> String {
    format!(
        "behind entry {after} of the journal stand {byte_count} bytes that are no whole entry, and \
         nothing tells whether they are a write that was cut off or entry {} harmed; if {after} was \
         the last entry, say so with 'fettle book mend --from DIR --accept-end {after}', which keeps \
         the bytes, else bring the book back from a backup or mend it",
        after.next()
    )
}
