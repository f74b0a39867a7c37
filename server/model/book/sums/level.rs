//! What is left of a piece: its newest reading, less what was taken after that.

use crate::trade::since::{KEPT_APART_MAX, When};

/// A level, from what it came with.
pub(super) struct Level {
    /// At the newest reading, less what was added up since.
    base: i64,
    read: Option<When>,
    /// A reading from before this cannot be set against what was taken since.
    added_up: Option<When>,
    taken: Vec<(When, i64)>,
}

impl Level {
    /// Of a piece that came with so much.
    pub(super) const fn of(base: i64) -> Self {
        Self {
            base,
            read: None,
            added_up: None,
            taken: Vec::new(),
        }
    }

    /// So much was taken.
    pub(super) fn take(&mut self, when: When, quantity: i64) {
        if self.read.as_ref().is_some_and(|read| when < *read) {
            return;
        }
        self.taken.push((when, quantity));
        self.taken.sort();
        if self.taken.len() > KEPT_APART_MAX {
            let (when, quantity) = self.taken.remove(0);
            self.base = self.base.saturating_sub(quantity);
            self.add_up(when);
        }
    }

    /// What is known up to here is one sum.
    pub(super) fn add_up(&mut self, until: When) {
        self.added_up = self.added_up.take().max(Some(until));
    }

    /// Whether a reading would be the newest.
    pub(super) fn is_newest(&self, when: &When) -> bool {
        let known = [&self.read, &self.added_up];
        known.into_iter().flatten().all(|known| known <= when)
    }

    /// So much was read, where it is the newest. Says whether it is.
    pub(super) fn read(&mut self, when: &When, left: i64) -> bool {
        let newest = self.is_newest(when);
        if newest {
            self.base = left;
            self.read = Some(when.clone());
            self.taken.retain(|(taken, _)| taken > when);
        }
        newest
    }

    /// What is left.
    pub(super) fn left(&self) -> i64 {
        let taken = self.taken.iter().map(|(_, quantity)| *quantity);
        taken.fold(self.base, i64::saturating_sub)
    }
}
