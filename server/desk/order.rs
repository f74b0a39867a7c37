//! An order: a command on its way to the one writer, and the entry that comes of it.

use fettlebook_model::decide::Decision;
use fettlebook_model::{BodyHash, Command, Entry, Format, Moment, Seq};
use uuid::Uuid;

/// A command with what makes it this command and no other.
#[derive(Debug, Clone)]
pub struct Order {
    /// Id of the request, made by the client before it first sent it.
    pub request: Uuid,
    /// Hash of the request's body, to tell a retry from another command.
    pub body: BodyHash,
    /// Who or what reports it.
    pub by: String,
    /// The command.
    pub command: Command,
}

impl Order {
    /// The entry that comes of it.
    pub(crate) fn entry(&self, decision: Decision, seq: Seq, recorded_at: Moment) -> Entry {
        Entry {
            seq,
            format: Format::of(&decision.deeds, decision.comes_late),
            book_id: None,
            recorded_at,
            done_at: decision.done_at,
            request: self.request,
            body: self.body,
            by: self.by.clone(),
            deeds: decision.deeds,
            flags: decision.flags,
            note: decision.note,
            kept: decision.kept,
        }
    }
}
