//! What the lines of an outbox come to: each deed and where it stands.
//!
//! It serves sending, and everything that says how many wait. The lines alone decide; a line that
//! does not follow from those before it is damage and never guessed at.

use std::collections::BTreeSet;

use data_encoding::BASE64;

use crate::fault::Fault;
use crate::outbox::line::{Line, Unread};

/// A deed of this device.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Deed {
    /// Its number, dense from 1.
    pub(crate) number: i64,
    /// Its request id.
    pub(crate) request_id: String,
    /// Path of the rpc.
    pub(crate) method: String,
    /// The request as it is sent; let go of once it can never be again.
    pub(crate) body: Vec<u8>,
    /// The incarnation of the book that has it; empty where it has not, or that is not known.
    pub(crate) incarnation_id: String,
    /// When it was kept, RFC 3339.
    pub(crate) kept_time: String,
    /// What it is, for people.
    pub(crate) told: String,
    /// Where it stands.
    pub(crate) standing: Standing,
}

/// Where a deed stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Standing {
    /// It is to be sent.
    Waiting,
    /// The shop has it, as this entry.
    Sent(i64),
    /// The shop refused it; a person has to look at it.
    Parked {
        /// The stable reason.
        reason: String,
        /// What was wrong.
        message: String,
        /// What to do.
        todo: String,
    },
    /// The shop refused it at once.
    Refused,
    /// The person gave it up.
    Dropped,
    /// Nothing can be read of it.
    Lost,
}

/// Every deed of an outbox, by number.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Folded {
    deeds: Vec<Deed>,
}

impl Folded {
    /// Reads the lines of an outbox.
    ///
    /// # Errors
    /// Names the first line that is not read or does not follow, as a clause.
    pub(super) fn read(lines: &[Vec<u8>]) -> Result<Self, Unread> {
        let mut folded = Self::default();
        for (at, bytes) in lines.iter().enumerate() {
            let named = |what| format!("its line {} {what}", at.saturating_add(1));
            let taken =
                Line::from_json(bytes).and_then(|line| folded.apply(line).map_err(Unread::Spoilt));
            taken.map_err(|why| match why {
                Unread::Newer(what) => Unread::Newer(named(what)),
                Unread::Spoilt(what) => Unread::Spoilt(named(what)),
            })?;
        }
        Ok(folded)
    }

    /// The number of the next deed.
    pub(crate) fn next_number(&self) -> i64 {
        i64::try_from(self.deeds.len())
            .unwrap_or(i64::MAX)
            .saturating_add(1)
    }

    /// Deeds that are to be sent, in order.
    pub(crate) fn waiting(&self) -> impl Iterator<Item = &Deed> {
        self.deeds
            .iter()
            .filter(|deed| deed.standing == Standing::Waiting)
    }

    /// Deeds that a person has to look at, in order.
    pub(crate) fn parked(&self) -> impl Iterator<Item = &Deed> {
        let is_parked = |deed: &&Deed| matches!(deed.standing, Standing::Parked { .. });
        self.deeds.iter().filter(is_parked)
    }

    /// A deed.
    pub(crate) fn deed(&self, number: i64) -> Option<&Deed> {
        self.deeds.get(place(number)?)
    }

    /// Takes a line in; what is wrong with it, as the rest of a sentence.
    pub(super) fn apply(&mut self, line: Line) -> Result<(), String> {
        match line {
            Line::Kept {
                number,
                request_id,
                method,
                body,
                kept_time,
                told,
            } => {
                self.follows(number)?;
                let body = BASE64.decode(body.as_bytes());
                self.deeds.push(Deed {
                    number,
                    request_id,
                    method,
                    body: body.map_err(|error| format!("has a request that is cut: {error}"))?,
                    kept_time,
                    told,
                    incarnation_id: String::new(),
                    standing: Standing::Waiting,
                });
                Ok(())
            }
            Line::Lost { number } => {
                self.follows(number)?;
                self.deeds.push(lost(number));
                Ok(())
            }
            Line::Sent {
                number,
                seq,
                incarnation_id,
            } => {
                self.step(number, Standing::Sent(seq))?;
                if let Some(deed) = place(number).and_then(|place| self.deeds.get_mut(place)) {
                    deed.incarnation_id = incarnation_id;
                }
                Ok(())
            }
            Line::Missed { number } => self.miss(number),
            Line::Parked {
                number,
                reason,
                message,
                todo,
            } => {
                let parked = Standing::Parked {
                    reason,
                    message,
                    todo,
                };
                self.step(number, parked)
            }
            Line::Again { number } => self.step(number, Standing::Waiting),
            Line::Dropped { number } => self.step(number, Standing::Dropped),
            Line::Refused { number, .. } => self.step(number, Standing::Refused),
        }
    }

    /// Deeds that the shop has, with the number of their entry.
    pub(crate) fn sent(&self) -> impl Iterator<Item = (&Deed, i64)> {
        self.deeds.iter().filter_map(|deed| match deed.standing {
            Standing::Sent(seq) => Some((deed, seq)),
            _ => None,
        })
    }

    /// The ids of all requests that were kept.
    pub(crate) fn request_ids(&self) -> BTreeSet<String> {
        let ids = self.deeds.iter().map(|deed| deed.request_id.clone());
        ids.collect()
    }

    /// Has a deed wait again that the book has lost.
    fn miss(&mut self, number: i64) -> Result<(), String> {
        let deed = place(number).and_then(|place| self.deeds.get_mut(place));
        let deed = deed.filter(|deed| matches!(deed.standing, Standing::Sent(_)));
        let deed = deed.ok_or_else(|| format!("misses deed {number}, which was not sent"))?;
        deed.standing = Standing::Waiting;
        deed.incarnation_id = String::new();
        Ok(())
    }

    fn follows(&self, number: i64) -> Result<(), String> {
        let next = self.next_number();
        if number == next {
            return Ok(());
        }
        Err(format!("keeps deed {number} where deed {next} belongs"))
    }

    /// Moves a deed on, where that step may follow.
    fn step(&mut self, number: i64, to: Standing) -> Result<(), String> {
        let deed = place(number).and_then(|place| self.deeds.get_mut(place));
        let deed = deed.ok_or_else(|| format!("is about deed {number}, which was never kept"))?;
        // That a deed was sent may be learnt twice: its first note of it can get lost.
        let may = match (&deed.standing, &to) {
            (Standing::Waiting, Standing::Waiting) => false,
            (Standing::Waiting, _) => true,
            (Standing::Parked { .. }, Standing::Waiting | Standing::Dropped) => true,
            (Standing::Sent(before), Standing::Sent(after)) => before == after,
            _ => false,
        };
        if !may {
            return Err(format!("takes deed {number} where it cannot go from there"));
        }
        deed.standing = to;
        if matches!(deed.standing, Standing::Dropped | Standing::Refused) {
            deed.body = Vec::new();
        }
        Ok(())
    }
}

fn place(number: i64) -> Option<usize> {
    usize::try_from(number.checked_sub(1)?).ok()
}

fn lost(number: i64) -> Deed {
    Deed {
        number,
        request_id: String::new(),
        method: String::new(),
        body: Vec::new(),
        kept_time: String::new(),
        told: String::new(),
        incarnation_id: String::new(),
        standing: Standing::Lost,
    }
}

/// What is made of a damaged outbox.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Mended {
    /// The lines of the new one; those that could be read byte for byte as they were.
    pub(crate) lines: Vec<Vec<u8>>,
    /// Numbers that nothing can be read of.
    pub(crate) lost: Vec<i64>,
}

/// Most numbers passed over in one place: more than any device keeps in its life.
const GAP_MAX: i64 = 100_000;

/// Makes the lines of a whole outbox of those of a damaged one, nothing standing where a line cannot
/// be read. No number is given twice: what cannot be read at the end may have been a deed, so its
/// number is passed over.
///
/// # Errors
/// When a later program wrote one of the lines: it must not be taken for one that is lost.
pub(crate) fn mend(found: &[Option<Vec<u8>>]) -> Result<Mended, Unread> {
    let mut mended = Mended::default();
    let mut folded = Folded::default();
    let mut unread_at_end = 0_i64;
    for bytes in found {
        let read = bytes
            .as_deref()
            .map(|bytes| (bytes, Line::from_json(bytes)));
        let (bytes, line) = match read {
            Some((bytes, Ok(line))) => (bytes, line),
            Some((_, Err(Unread::Newer(what)))) => {
                return Err(Unread::Newer(format!("one of its lines {what}")));
            }
            Some((_, Err(Unread::Spoilt(_)))) | None => {
                unread_at_end = unread_at_end.saturating_add(1);
                continue;
            }
        };
        if let Line::Kept { number, .. } | Line::Lost { number } = &line {
            let gap = number.saturating_sub(folded.next_number());
            pass_over(&mut folded, &mut mended, gap.min(GAP_MAX))?;
            unread_at_end = 0;
        }
        if folded.apply(line.clone()).is_ok() {
            if let Line::Lost { number } = &line {
                mended.lost.push(*number);
            }
            mended.lines.push(bytes.to_vec());
        }
    }
    pass_over(&mut folded, &mut mended, unread_at_end)?;
    Ok(mended)
}

/// Takes the next numbers for deeds that nothing can be read of.
fn pass_over(folded: &mut Folded, mended: &mut Mended, count: i64) -> Result<(), Unread> {
    for _ in 0..count {
        let number = folded.next_number();
        folded.deeds.push(lost(number));
        let line = Line::Lost { number }.to_json();
        mended
            .lines
            .push(line.map_err(|fault: Fault| Unread::Spoilt(fault.message))?);
        mended.lost.push(number);
    }
    Ok(())
}
