//! What a sync came to: what went, what waits, what a person has to look at, and how the copy stands.

use fettlebook_contract::v1::Verdict;
use jiff::Timestamp;

use crate::fault::Fault;
use crate::outbox::Deed;
use crate::solo::SoloCopy;
use crate::transport::delivery::Sent;

/// What a sync came to.
pub(crate) struct Synced {
    /// Numbers that were lost in a damaged outbox, and where that is kept.
    pub(crate) mended: Option<(String, Vec<i64>)>,
    /// Deeds that the book had and has lost since; they wait again, or are sent.
    pub(crate) missed: Vec<Deed>,
    /// Deeds that were given up just now.
    pub(crate) dropped: Vec<Deed>,
    /// Deeds the shop has now, each with its entry.
    pub(crate) sent: Vec<(Deed, Sent)>,
    /// Deeds that are still to be sent.
    pub(crate) waiting: Vec<Deed>,
    /// Deeds that a person has to look at.
    pub(crate) parked: Vec<Deed>,
    /// What changed for the jobs ahead, a sentence each.
    pub(crate) news: Vec<String>,
    /// How the copy stands, or why it did not come so far.
    pub(crate) ended: Result<SoloCopy, Fault>,
}

/// A job ahead, as far as it matters to whoever goes there.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Ahead {
    /// When it starts.
    pub(crate) start: Timestamp,
    /// Where.
    pub(crate) place: String,
    /// What the check says.
    pub(crate) verdict: Verdict,
    /// Why, where it does not say go: its gravest line.
    pub(crate) why: String,
}
