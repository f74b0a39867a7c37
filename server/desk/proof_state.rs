//! The proof that the journal is whole, in the hands of the writer.
//!
//! Invariant: nothing is written behind a part of the journal that was not read through.

use std::sync::mpsc::{Receiver, RecvTimeoutError};
use std::time::Duration;

use crate::journal::{Journal, JournalError, Mark, Proof};

/// Where the proof is.
pub(super) enum ProofState {
    /// There is none, because nothing is written here.
    Nowhere,
    /// The audit that makes it goes on.
    Coming(Receiver<Box<dyn Proof>>),
    /// The journal was read through.
    Here(Box<dyn Proof>),
}

/// Why nothing may be written.
#[derive(Debug)]
pub(super) enum Halt {
    /// The audit has not ended.
    Unread,
    /// The audit broke off or found something.
    NoProof,
    /// Others changed the journal, or it cannot be looked at.
    Failed(JournalError),
}

impl ProofState {
    /// Waits until the journal was read through, so long at most, and looks whether it is still what
    /// was read.
    pub(super) fn before_group(&mut self, wait: Duration) -> Result<(), Halt> {
        if let Self::Coming(audit) = self {
            let proof = audit.recv_timeout(wait).map_err(|error| match error {
                RecvTimeoutError::Timeout => Halt::Unread,
                RecvTimeoutError::Disconnected => Halt::NoProof,
            })?;
            *self = Self::Here(proof);
        }
        match self {
            Self::Here(proof) => proof.look().map_err(Halt::Failed),
            Self::Nowhere | Self::Coming(_) => Ok(()),
        }
    }

    /// Takes in a group that was written.
    pub(super) fn after_group(&mut self, marks: &[Mark], journal: &dyn Journal) {
        if let Self::Here(proof) = self {
            proof.extend(marks, journal.reached());
        }
    }

    /// Gives back what the journal had set aside, without taking what others did for this.
    pub(super) fn close_journal(&mut self, journal: &mut dyn Journal) -> Result<(), JournalError> {
        let Self::Here(proof) = self else {
            return journal.close();
        };
        proof.notice();
        let closed = journal.close();
        proof.refresh();
        closed
    }

    /// Keeps the proof for the next process, also one that has not come to its end, which is waited
    /// for so long at most.
    pub(super) fn end(self, wait: Duration) -> Result<(), JournalError> {
        match self {
            Self::Here(mut proof) => proof.keep(),
            // It is kept by the audit itself.
            Self::Coming(audit) => {
                drop(audit.recv_timeout(wait));
                Ok(())
            }
            Self::Nowhere => Ok(()),
        }
    }
}

#[cfg(test)]
mod tests {
    use std::sync::mpsc::sync_channel;

    use super::*;

    #[test]
    fn nothing_is_written_before_the_audit_has_ended() {
        let (sender, audit) = sync_channel(1);
        let mut proof_state = ProofState::Coming(audit);
        let halted = proof_state.before_group(Duration::from_millis(1));
        assert!(matches!(halted, Err(Halt::Unread)));
        drop(sender);
        let halted = proof_state.before_group(Duration::from_millis(1));
        assert!(matches!(halted, Err(Halt::NoProof)));
    }
}
