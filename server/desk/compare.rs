//! What a client saw of the journal, against what the journal has.
//!
//! It serves the promise that a history never gets shorter in silence: a journal that was cut at a
//! line's end, with its shelf gone, looks whole, and only who has seen further can tell. A seen
//! entry is compared by its chain value, which stands for all entries before it too.

use fettlebook_model::Seq;
use uuid::Uuid;

use super::error::DeskError;
use super::history::History;
use crate::journal::{Chain, Damage, Head, JournalError, NotAChain};

/// The last entry that a client saw, and of which incarnation.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Seen {
    /// Id of the incarnation.
    pub incarnation_id: Uuid,
    /// The entry.
    pub head: Head,
}

impl Seen {
    /// An entry by its number and the digits of its chain value.
    ///
    /// # Errors
    /// When the digits are not a chain value's.
    pub fn new(incarnation_id: Uuid, seq: Seq, chain: &str) -> Result<Self, NotAChain> {
        let chain = chain.parse()?;
        Ok(Self {
            incarnation_id,
            head: Head { seq, chain },
        })
    }
}

/// How the journal stands to what a client saw.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Compared {
    /// It has that entry.
    Agrees,
    /// It ends before that entry.
    Missing {
        /// The entry seen.
        seen: Seq,
        /// Where it ends.
        head: Seq,
    },
    /// It has another entry with that number.
    Different {
        /// The entry seen.
        seen: Seq,
    },
    /// The client saw another incarnation, whose numbers say nothing of this one.
    OtherIncarnation,
}

impl Compared {
    /// The first missing or different entry, and why nothing can be recorded any more; none when
    /// nothing is wrong.
    pub fn fault(&self) -> Option<(Seq, String)> {
        match self {
            Self::Agrees | Self::OtherIncarnation => None,
            Self::Missing { seen, head } => {
                let first = head.next();
                let reason = format!(
                    "entry {first} of the journal is missing: it ends at entry {head}, but a \
                     client has seen entry {seen}"
                );
                Some((first, reason))
            }
            Self::Different { seen } => {
                let reason = format!(
                    "entry {seen} of the journal, or one before it, is not the one that a client \
                     has seen: the journal was rewritten, or was cut and went on, though its lines \
                     fit each other"
                );
                Some((*seen, reason))
            }
        }
    }
}

impl History {
    /// Compares an entry that a client saw with a journal that ends at `head`.
    pub(super) fn compare(&self, seen: &Head, head: &Head) -> Result<Compared, DeskError> {
        let chain = match seen.seq {
            Seq(0) => return Ok(Compared::Agrees),
            seq if seq > self.until(head) => {
                let (seen, head) = (seq, self.until(head));
                return Ok(Compared::Missing { seen, head });
            }
            seq if seq == head.seq => head.chain,
            seq => self.chain_at(seq)?,
        };
        Ok(if chain == seen.chain {
            Compared::Agrees
        } else {
            Compared::Different { seen: seen.seq }
        })
    }

    /// The last entry of the journal, those of a later program counted, which follow on `head`.
    fn until(&self, head: &Head) -> Seq {
        let newer = self.newer.as_ref().map(|newer| newer.until.seq);
        newer.unwrap_or_default().max(head.seq)
    }

    /// The chain value of an entry that was acknowledged, as the journal has it.
    fn chain_at(&self, seq: Seq) -> Result<Chain, DeskError> {
        let line = self.reader.read(self.place_before(seq)?, seq)?.last();
        match line.transpose()? {
            Some(line) if line.mark.at.seq == seq => Ok(line.mark.chain),
            _ => Err(DeskError::from(JournalError::from(Damage {
                seq,
                what: "is missing".to_owned(),
            }))),
        }
    }
}
