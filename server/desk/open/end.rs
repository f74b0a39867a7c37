//! The end of a book's journal, judged once it was read.
//!
//! What stands behind the last whole entry was never acknowledged when it is a write that was cut
//! off; but the end of an entry that was recorded and harmed looks the same. What was there last, the
//! shelf and the mark of the last close tell; where neither is there, a person has to.

use fettlebook_model::Seq;

use super::CaughtUp;
use crate::desk::error::StoppedBy;
use crate::journal::{TornTail, Uncertain};
use crate::store::End;

/// Ends writing where the end is not certain, or lacks what was there, or where nobody can tell.
pub(super) fn judge(end: &End, found: &mut CaughtUp, was_shelved: bool) {
    if found.read_only.is_some() {
        return;
    }
    if let Some(Uncertain { until, error }) = &end.uncertain {
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
    let closed = end.closed.as_ref();
    let missing = closed.map(|closed| closed.missing_in(&found.survey));
    if let Some(damage) = missing.flatten() {
        found.first_bad = Some(damage.seq);
        found.read_only = Some(damage.to_string().into());
    } else if let (Some(TornTail::Cut { after, byte_count }), false) =
        (&found.survey.torn, was_shelved || closed.is_some())
    {
        found.read_only = Some(ask(*after, *byte_count).into());
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
