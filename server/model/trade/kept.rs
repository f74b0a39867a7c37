//! Deeds that a device kept while it had no signal, and what the book must know to see where two
//! devices met.
//!
//! It serves the taking in of such deeds. Each device knows what it had seen of the book and nothing
//! of what others did meanwhile; a trail tells, for any device, whether somebody else was there.

use std::sync::Arc;

use serde::{Deserialize, Serialize};

use crate::Moment;
use crate::ground::ids::Seq;

/// How a device kept a deed before it was sent.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Kept {
    /// Number, last entry seen and time, as they go on the entry.
    pub mark: KeptMark,
    /// Name of the device, as on the entries it reports.
    pub by: String,
    /// Letter that it puts behind those of a sort in the tags that it gives itself, which no other device
    /// has.
    pub tag_letter: Option<char>,
}

/// The mark of a kept deed on its entry.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct KeptMark {
    /// Number of the deed on its device, dense from 1.
    pub number: i64,
    /// The last entry of the book that the device had seen; 0 for none.
    pub seen: Seq,
    /// When it was kept, by the device's clock.
    pub kept_at: Moment,
}

/// An entry and who reported it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Told {
    /// Number of the entry.
    pub seq: Seq,
    /// Who reported it.
    pub by: Arc<str>,
}

/// The last entry of a sort about a subject, and the last one by anybody else than its reporter.
///
/// With these two it can be said for any reporter and any entry whether another reporter came after
/// it, however many entries there are.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Trail {
    last: Told,
    other: Option<Told>,
}

impl Trail {
    /// Puts the next entry on a trail, which may be the first.
    pub(crate) fn add(trail: &mut Option<Self>, seq: Seq, by: &str) {
        match trail {
            Some(trail) if *trail.last.by == *by => trail.last.seq = seq,
            _ => {
                let by = by.into();
                let last = Told { seq, by };
                let other = trail.take().map(|trail| trail.last);
                *trail = Some(Self { last, other });
            }
        }
    }

    /// The latest entry after `seen` that another than `by` reported.
    pub(crate) fn met(&self, by: &str, seen: Seq) -> Option<&Told> {
        let last = Some(&self.last).filter(|told| *told.by != *by);
        last.or(self.other.as_ref())
            .filter(|told| *told.by != *by && told.seq > seen)
    }
}

/// The latest entry after `seen` on a trail that another than `by` reported.
pub(crate) fn met<'a>(trail: Option<&'a Trail>, by: &str, seen: Seq) -> Option<&'a Told> {
    trail.and_then(|trail| trail.met(by, seen))
}

/// A wash that was told of a piece.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) struct Wash {
    /// Its entry, and who reported it.
    pub(crate) told: Told,
    /// When it was done.
    pub(crate) done_at: Moment,
}

/// Washes that are remembered of a piece.
const WASHES_MAX: usize = 4;

/// The washes that were told last of a piece, in the order of the book.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Washes(Vec<Wash>);

impl Washes {
    /// Adds the next one; the earliest told makes room.
    pub(crate) fn add(&mut self, wash: Wash) {
        if self.0.len() >= WASHES_MAX {
            self.0.remove(0);
        }
        self.0.push(wash);
    }

    /// Those that another than `by` told after `seen`, the last told first.
    pub(crate) fn met(&self, by: &str, seen: Seq) -> impl Iterator<Item = &Wash> {
        let told_last = self.0.iter().rev();
        told_last.filter(move |wash| *wash.told.by != *by && wash.told.seq > seen)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::collection::vec;
    use proptest::prelude::{prop_assert_eq, proptest};

    proptest! {
        /// A trail answers as the whole list of its entries would.
        #[test]
        fn a_trail_knows_whether_anybody_else_came_after_an_entry(
            reporters in vec(0_usize..3, 1..12), asks in 0_usize..4, seen in 0_u64..12,
        ) {
            const NAMES: [&str; 4] = ["van-a", "van-b", "bench", "laptop"];
            let (mut trail, mut all) = (None, Vec::new());
            for (at, reporter) in (1..).zip(reporters) {
                Trail::add(&mut trail, Seq(at), NAMES[reporter]);
                all.push((Seq(at), NAMES[reporter]));
            }
            let by = NAMES[asks];
            let others = all.iter().filter(|(seq, other)| *other != by && *seq > Seq(seen));
            let latest = others.max().map(|(seq, _)| *seq);
            let met = met(trail.as_ref(), by, Seq(seen)).map(|told| told.seq);
            prop_assert_eq!(met, latest);
        }
    }
}
