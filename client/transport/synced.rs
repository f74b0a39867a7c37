//! What a sync came to: what went, what waits, what a person has to look at, and how the copy stands.

use crate::fault::Fault;
use crate::outbox::Deed;
use crate::solo::SoloCopy;
use crate::transport::delivery::Sent;

/// What a sync came to.
pub(crate) struct Synced {
    /// Numbers that were lost in a damaged outbox, and where that is kept.
    pub(crate) mended: Option<(String, Vec<i64>)>,
    /// Deeds that were given up just now.
    pub(crate) dropped: Vec<Deed>,
    /// Deeds the shop has now, each with its entry.
    pub(crate) sent: Vec<(Deed, Sent)>,
    /// Deeds that are still to be sent.
    pub(crate) waiting: Vec<Deed>,
    /// Deeds that a person has to look at.
    pub(crate) parked: Vec<Deed>,
    /// How the copy stands, or why it did not come so far.
    pub(crate) ended: Result<SoloCopy, Fault>,
}
