//! The times at which entries are recorded: they never go back, but where a person says that the clock
//! is right. A clock that jumped far ahead would pin every later time, so that it is asked about first.

use fettlebook_model::Moment;
use fettlebook_model::decide::Decision;
use fettlebook_model::deed::Flag;

use super::error::DeskError;
use crate::limits::{CLOCK_BEHIND_S_MAX, CLOCK_JUMP_S_MAX};

/// When the last entry was recorded, and what follows for the next.
#[derive(Debug, Clone, Copy)]
pub(super) struct RecordedTimes {
    last: Moment,
}

impl RecordedTimes {
    /// Those that go on after the last entry's; or, where a person says that the clock is right, from
    /// what it shows at the opening, whether that is long after it or before.
    pub(super) const fn new(last: Moment, accepted: Option<Moment>) -> Self {
        match accepted {
            Some(now) => Self { last: now },
            None => Self { last },
        }
    }

    /// When the next entry is recorded.
    ///
    /// # Errors
    /// `ClockAhead` when the clock is so far ahead of the last entry that it may be wrong.
    pub(super) fn next(self, now: Moment) -> Result<Moment, DeskError> {
        let ahead_s = now.as_second().saturating_sub(self.last.as_second());
        if self.last != Moment::MIN && ahead_s > CLOCK_JUMP_S_MAX {
            let last = self.last;
            return Err(DeskError::ClockAhead { now, last });
        }
        Ok(self.last.max(now))
    }

    /// Goes on from an entry that was recorded.
    pub(super) const fn recorded(&mut self, at: Moment) {
        self.last = at;
    }
}

/// Says on an entry that the clock is well behind the time it is recorded at.
pub(super) fn flag_behind(decision: &mut Decision, now: Moment, recorded_at: Moment) {
    let behind_s = recorded_at.as_second().saturating_sub(now.as_second());
    if behind_s <= CLOCK_BEHIND_S_MAX {
        return;
    }
    let Some(deed) = decision.deeds.first() else {
        return;
    };
    let subject = deed.subject();
    let text = format!(
        "The clock of the book shows {now}, but an entry before was recorded at {recorded_at}, and so \
         is this one. If the clock is right, open the book with --accept-clock once, and the next \
         entry is recorded at the true time."
    );
    let count = false;
    decision.flags.push(Flag {
        subject,
        text,
        count,
    });
}
