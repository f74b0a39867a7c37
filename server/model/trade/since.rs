//! What was done to what is left of a piece since its newest reading, in the order in which it was done.
//!
//! Serves the levels of bottles, sundries and bundles, which go by when things were done and never by when
//! they were told: a reading replaces the level, and what was done after it changes it.

use std::sync::Arc;

use serde::{Deserialize, Serialize};

use crate::Moment;
use crate::ground::ids::Seq;

/// So many deeds are kept apart; earlier ones are added up, so that a piece's record stays small. A reading
/// from before what was added up cannot be set against it any more.
pub(crate) const KEPT_APART_MAX: usize = 64;

/// When something was done, among all that was done to a piece: by its time; of one moment first what was
/// sent at once, in the order of the book, then what devices kept, each in the order of its numbers.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub(crate) struct When {
    pub(crate) done_at: Moment,
    turn: Turn,
}

#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
enum Turn {
    AtOnce(Seq),
    Kept { by: Arc<str>, number: i64 },
}

impl When {
    /// Of what was sent at once.
    pub(crate) const fn at_once(done_at: Moment, seq: Seq) -> Self {
        let turn = Turn::AtOnce(seq);
        Self { done_at, turn }
    }

    /// When it was, and by which device or in which entry, as the end of a clause.
    pub(crate) fn told(&self) -> String {
        match &self.turn {
            Turn::AtOnce(seq) => format!("of {} in entry {seq}", self.done_at),
            Turn::Kept { by, .. } => format!("of {} by {by}", self.done_at),
        }
    }

    /// After all that was sent at once at a moment.
    pub(crate) const fn last_at(done_at: Moment) -> Self {
        Self::at_once(done_at, Seq(u64::MAX))
    }

    /// Of what a device kept, under this number.
    pub(crate) fn kept(done_at: Moment, by: &str, number: i64) -> Self {
        let by = by.into();
        let turn = Turn::Kept { by, number };
        Self { done_at, turn }
    }
}

/// Where a reading stands among what is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Standing {
    /// None is newer: it says what was left.
    Newest,
    /// Another is newer.
    Older,
    /// What was done after it is added up with what was done before it.
    CannotBeTold,
}

/// The newest reading of a piece and what was done since.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) struct Since<T> {
    /// The newest reading.
    read: Option<When>,
    /// The last of what was added up into the level since.
    added_up: Option<When>,
    /// What was done after both, in order; a little of it may be from before what was added up.
    done: Vec<(When, T)>,
    /// Whether all is known; records of earlier programs have only the level.
    is_whole: bool,
}

impl<T> Default for Since<T> {
    /// Of a record of an earlier program.
    fn default() -> Self {
        Self {
            is_whole: false,
            ..Self::begun()
        }
    }
}

impl<T> Since<T> {
    /// Of a piece that nothing was done to.
    pub(crate) const fn begun() -> Self {
        Self {
            read: None,
            added_up: None,
            done: Vec::new(),
            is_whole: true,
        }
    }

    /// Whether only the level is known, from a record of an earlier program.
    pub(crate) const fn is_whole(&self) -> bool {
        self.is_whole
    }

    /// Takes the level of such a record for what all came to up to here.
    pub(crate) fn add_up(&mut self, until: When) {
        *self = Self {
            added_up: Some(until),
            ..Self::begun()
        };
    }

    /// Where a reading would stand.
    pub(crate) fn standing(&self, when: &When) -> Standing {
        if self.is_read_after(when) {
            Standing::Older
        } else if self.added_up.as_ref().is_some_and(|added| when < added) {
            Standing::CannotBeTold
        } else {
            Standing::Newest
        }
    }

    /// When the newest reading was done.
    pub(crate) const fn newest(&self) -> Option<&When> {
        self.read.as_ref()
    }

    /// Whether the newest reading is from after this, so that it was in what was read.
    pub(crate) fn is_read_after(&self, when: &When) -> bool {
        self.read.as_ref().is_some_and(|read| when < read)
    }

    /// Whether anything is known that was done after this.
    pub(crate) fn is_anything_after(&self, when: &When) -> bool {
        let last = self.done.last().map(|(done, _)| done);
        let known = [self.read.as_ref(), self.added_up.as_ref(), last];
        known.into_iter().flatten().any(|known| when < known)
    }

    /// Sets the newest reading, and forgets what was done before it.
    pub(crate) fn read(&mut self, when: &When) {
        self.done.retain(|(done, _)| done > when);
        self.read = Some(when.clone());
    }

    /// Puts what was done in its place. Gives back what is to be added up because there is too much.
    pub(crate) fn put(&mut self, when: When, what: T) -> Option<(When, T)> {
        let at = self.done.partition_point(|(done, _)| *done <= when);
        let oldest = if self.done.len() < KEPT_APART_MAX {
            self.done.insert(at, (when, what));
            return None;
        } else if let Some(behind_the_oldest) = at.checked_sub(1) {
            // Out before in: the list of a piece that is much used is full, and never grows.
            let oldest = self.done.remove(0);
            self.done.insert(behind_the_oldest, (when, what));
            oldest
        } else {
            (when, what)
        };
        self.added_up = self.added_up.take().max(Some(oldest.0.clone()));
        Some(oldest)
    }

    /// What was done since and is kept apart, in order.
    pub(crate) fn done(&self) -> impl DoubleEndedIterator<Item = (&When, &T)> {
        self.done.iter().map(|(when, what)| (when, what))
    }

    /// What of it was done after a moment.
    pub(crate) fn after(&self, moment: Moment) -> impl Iterator<Item = &T> {
        let late = self.done().rev();
        late.take_while(move |(when, _)| when.done_at > moment)
            .map(|(_, what)| what)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(second: i64) -> When {
        When::at_once(Moment::from_second(second).unwrap(), Seq(1))
    }

    /// A list that is full, of what was done at the seconds from 100 on.
    fn full() -> Since<i64> {
        let mut since = Since::begun();
        for second in (100..).take(KEPT_APART_MAX) {
            assert_eq!(since.put(at(second), second), None);
        }
        since
    }

    fn kept(since: &Since<i64>) -> Vec<i64> {
        since.done().map(|(_, what)| *what).collect()
    }

    #[test]
    fn a_full_list_adds_up_its_oldest_and_stays_as_long_as_it_was() {
        let mut since = full();
        assert_eq!(since.put(at(500), 500), Some((at(100), 100)));
        let last = 100 + KEPT_APART_MAX as i64;
        assert_eq!(kept(&since), (101..last).chain([500]).collect::<Vec<_>>());
        assert_eq!(since.added_up, Some(at(100)));
        assert_eq!(since.put(at(102), -102), Some((at(101), 101)));
        assert_eq!(kept(&since)[..3], [102, -102, 103]);
    }

    #[test]
    fn what_is_older_than_all_of_a_full_list_is_added_up_itself() {
        let mut since = full();
        assert_eq!(since.put(at(7), 7), Some((at(7), 7)));
        assert_eq!(kept(&since), kept(&full()));
        assert_eq!(since.added_up, Some(at(7)));
        assert_eq!(since.put(at(3), 3), Some((at(3), 3)));
        assert_eq!(since.added_up, Some(at(7)), "the last of what was added up");
    }
}
