//! When a node that waits for a book takes it.
//!
//! What it sees of the holder it sees by the engine. Only how long that stays the same is measured here, by this
//! machine's own stopwatch: what clocks show is compared with nothing.

use std::time::Instant;

use uuid::Uuid;

use crate::limits::{HOLDER_GONE_MAX, HOLDER_SILENT_MAX};
use crate::store::{Seen, Sessions};

/// What to do now.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Verdict {
    /// Wait: the holder goes on, or may.
    Wait,
    /// Take the book, if the lock says that nobody is there.
    Take,
    /// Take it whatever the lock says: its holder is silent.
    TakeOver,
}

/// What was seen of a holder so far.
#[derive(Debug, Default)]
pub(super) struct Patience {
    last: Option<Last>,
}

/// What was seen last, and since when it is so.
#[derive(Debug, Clone, Copy)]
struct Last {
    right: Option<Uuid>,
    sessions: Sessions,
    since: Instant,
}

impl Patience {
    /// What to do about what is seen now; nothing is seen where there is no book yet.
    pub(super) fn judge(&mut self, seen: Option<&Seen>, now: Instant) -> Verdict {
        let holder = seen.and_then(|seen| Some((seen, seen.holder.as_ref()?)));
        let Some((seen, holder)) = holder else {
            return Verdict::Take;
        };
        if seen.is_own {
            // It was taken here and the engine did not get to say so: nobody else goes on with it.
            return Verdict::Take;
        }
        let (right, sessions) = (holder.right, seen.sessions);
        let before = self.last.filter(|last| last.right == right);
        let since = before
            .filter(|last| last.sessions == sessions)
            .map_or(now, |last| last.since);
        self.last = Some(Last {
            right,
            sessions,
            since,
        });
        let waited = now.saturating_duration_since(since);
        match sessions {
            // One that was never seen here is not about to come back.
            Sessions::Gone if before.is_none() || waited >= HOLDER_GONE_MAX => Verdict::Take,
            Sessions::AskedAt(_) if waited >= HOLDER_SILENT_MAX => Verdict::TakeOver,
            Sessions::Hidden => Verdict::Take,
            Sessions::Gone | Sessions::AskedAt(_) => Verdict::Wait,
        }
    }
}

#[cfg(test)]
mod tests {
    use std::time::Duration;

    use fettlebook_model::Moment;

    use super::*;
    use crate::store::Holder;

    const SECOND: Duration = Duration::from_secs(1);

    fn seen(right: u128, sessions: Sessions) -> Seen {
        let holder = Holder {
            process: 7,
            since: Moment::UNIX_EPOCH,
            address: None,
            right: Some(Uuid::from_u128(right)),
            node: Some(Uuid::from_u128(9)),
        };
        Seen {
            holder: Some(holder),
            is_own: false,
            sessions,
        }
    }

    #[test]
    fn what_nobody_has_is_taken_at_once() {
        let mut patience = Patience::default();
        let now = Instant::now();
        assert_eq!(patience.judge(None, now), Verdict::Take);
        let given_back = Seen {
            holder: None,
            ..seen(1, Sessions::Gone)
        };
        assert_eq!(patience.judge(Some(&given_back), now), Verdict::Take);
        assert_eq!(
            patience.judge(Some(&seen(1, Sessions::Gone)), now),
            Verdict::Take
        );
        let own = Seen {
            is_own: true,
            ..seen(1, Sessions::Gone)
        };
        let judged = Patience::default().judge(Some(&own), now);
        assert_eq!(judged, Verdict::Take);
    }

    #[test]
    fn a_holder_that_asks_is_waited_for_however_long() {
        let (mut patience, mut now) = (Patience::default(), Instant::now());
        for at in 0..60 {
            let asks = seen(1, Sessions::AskedAt(at));
            assert_eq!(patience.judge(Some(&asks), now), Verdict::Wait, "{at}");
            // Whoever waits may be held up too: what it sees then is what counts.
            now += if at % 7 == 0 { 9 * SECOND } else { SECOND };
        }
    }

    #[test]
    fn a_silent_holder_is_taken_from_after_five_seconds_and_the_next_has_five_of_its_own() {
        let (mut patience, start) = (Patience::default(), Instant::now());
        let silent = seen(1, Sessions::AskedAt(3));
        for second in 0..5 {
            let now = start + second * SECOND;
            assert_eq!(patience.judge(Some(&silent), now), Verdict::Wait);
        }
        let now = start + HOLDER_SILENT_MAX;
        assert_eq!(patience.judge(Some(&silent), now), Verdict::TakeOver);
        let other = seen(2, Sessions::AskedAt(3));
        assert_eq!(patience.judge(Some(&other), now), Verdict::Wait);
        assert_eq!(
            patience.judge(Some(&other), now + 4 * SECOND),
            Verdict::Wait
        );
    }

    #[test]
    fn a_holder_whose_sessions_end_has_a_moment_to_come_back() {
        let (mut patience, start) = (Patience::default(), Instant::now());
        let there = seen(1, Sessions::AskedAt(3));
        let gone = seen(1, Sessions::Gone);
        assert_eq!(patience.judge(Some(&there), start), Verdict::Wait);
        assert_eq!(patience.judge(Some(&gone), start + SECOND), Verdict::Wait);
        let back = seen(1, Sessions::AskedAt(8));
        assert_eq!(
            patience.judge(Some(&back), start + 2 * SECOND),
            Verdict::Wait
        );
        assert_eq!(
            patience.judge(Some(&gone), start + 3 * SECOND),
            Verdict::Wait
        );
        let late = start + 3 * SECOND + HOLDER_GONE_MAX;
        assert_eq!(patience.judge(Some(&gone), late), Verdict::Take);
    }
}
